//! What is done at a stop, and why.

use crate::domain::{Direction, Rig, Stock, UnitSystem};
use crate::plan::Trip;
use crate::plan::stops::answer::{Service, Stop};
use crate::text::{quantity, when};

/// "empty grey (about 60 L)", "fill fresh to the brim (about 90 L)".
pub fn service(service: &Service, stocks: &[Stock], system: UnitSystem) -> String {
    let stock = &stocks[service.stock];
    let amount = quantity::amount(service.amount, stock.capacity, &stock.unit, system);
    match (stock.runs, service.hours) {
        (_, Some(sure)) => {
            let likely = service.likely_hours.filter(|likely| *likely < sure);
            let [hours, sure] = [likely.unwrap_or(sure), sure].map(|hours| format!("{hours} h"));
            let sure = likely.map_or(String::new(), |_| format!("; {sure} to be sure of it"));
            let are = |less: f64| if less == 1.0 { "is" } else { "are" };
            let less = service.enough_hours.map(|less| format!("; {less} h {} enough", are(less)));
            let less = less.unwrap_or_default();
            format!("charge {} (about {amount}, {hours} of hook-up{sure}{less})", stock.name)
        }
        (Direction::Down, None) => {
            let enough = service.enough.map(|enough| match enough > 0.0 {
                true => {
                    let enough = quantity::amount(enough, stock.capacity, &stock.unit, system);
                    let are = if enough.starts_with("1 ") { "is" } else { "are" };
                    format!("; {enough} {are} enough until a cheaper stop")
                }
                false => "; none is needed before a cheaper stop".to_string(),
            });
            let enough = enough.unwrap_or_default();
            format!("fill {} (about {amount}{enough}{})", stock.name, spare(service, stock, system))
        }
        (Direction::Up, None) => {
            format!("empty {} (about {amount}{})", stock.name, spare(service, stock, system))
        }
    }
}

/// The same of a stop with several places: "Fennel Cross: fill diesel (about 12 L)".
pub fn task(service: &Service, stop: &Stop, trip: &Trip, rig: &Rig) -> String {
    let said = self::service(service, &trip.stocks, rig.show);
    match stop.further.is_empty() {
        true => said,
        false => format!("{}: {said}", rig.places[service.place].name),
    }
}

/// ", 20 L of it in the spare"; nothing where none is taken along.
fn spare(service: &Service, stock: &Stock, system: UnitSystem) -> String {
    let amount = |spare: f64| quantity::amount(spare, stock.capacity, &stock.unit, system);
    match (service.spare, stock.runs) {
        (None, _) => String::new(),
        (Some(0.0), _) => "; the spare may stay empty".to_string(),
        (Some(spare), Direction::Down) => format!(", {} of it in the spare", amount(spare)),
        (Some(_), Direction::Up) => ", the spare with it".to_string(),
    }
}

/// "makes the next stop 2 days 4 h later"; nothing under an hour.
fn push(service: &Service) -> Option<String> {
    (service.pushes_hours >= 1.0).then(|| {
        let hours = when::lasting(service.pushes_hours);
        format!("makes the next stop {hours} later")
    })
}

/// Why a service is made: "needed", "makes the next stop 5 h later", "while you are there".
pub(in crate::text) fn why(service: &Service, stop: &Stop) -> String {
    let forces = stop.forced_by == Some(service.stock) && service.hours.is_some();
    match (service.needed, push(service)) {
        (true, _) => "needed".to_string(),
        // What cannot wait is seen to all the same.
        (false, _) if forces => "the drives there and back may do".to_string(),
        (false, Some(push)) => push,
        (false, None) if service.joins => "makes the next stop later, with the others".to_string(),
        (false, None) => "while you are there".to_string(),
    }
}
