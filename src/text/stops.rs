//! Stops in words, shared by both fronts and the exported papers.

use super::quantity;
use super::stretch::percent_down;
use super::when::{self, Form};
use crate::domain::rig::{Place, Rig};
use crate::domain::stock::Direction;
use crate::domain::time::Zone;
use crate::domain::unit::UnitSystem;
use crate::plan::stops::answer::{Lead, Relaxation, Service, StockName, Stop, Trip};

/// "Yes, 3 stops carry you through 14 days: nothing runs out in 92 % of futures (90 % asked)".
pub fn verdict(trip: &Trip) -> String {
    let days = count(trip.days as usize, "day");
    let reached = percent_down(trip.probability);
    let asked = super::share::percent(trip.confidence);
    let futures = format!("nothing runs out in {reached} of futures ({asked} asked)");
    match (trip.works, trip.stops.len()) {
        (true, 0) => format!("No stop is needed for {days}: {futures}"),
        (true, 1) => format!("One stop carries you through {days}: {futures}"),
        (true, n) => format!("{n} stops carry you through {days}: {futures}"),
        (false, 0) => {
            format!("No schedule of stops carries you through {days}: without any, {futures}")
        }
        (false, _) => {
            format!("No schedule of stops is sure enough for {days}; the best: {futures}")
        }
    }
}

fn count(n: usize, word: &str) -> String {
    if n == 1 { format!("1 {word}") } else { format!("{n} {word}s") }
}

/// "Wed 21 Oct 11:00  Quillet Harbour (leave by 10:00; 43 km, cost 12)". The time to leave is
/// rounded down to the half hour.
pub fn stop(stop: &Stop, places: &[Place], zone: &Zone, system: UnitSystem) -> String {
    let at = zone.here(stop.at);
    let leave = zone.here(when::half_hour_before(zone.here(stop.leave_by)));
    let leave = match leave.date_naive() == at.date_naive() {
        true => when::clock(leave),
        false => when::date_time(leave, Form::Short),
    };
    let mut about = vec![format!("leave by {leave}"), distance(stop.km, system)];
    about.extend(stop.cost.map(|cost| format!("cost {}", money(cost))));
    format!(
        "{}  {} ({})",
        when::date_time(at, Form::Short),
        places.get(stop.place).map_or("", |p| p.name.as_str()),
        about.join("; ")
    )
}

/// "43 km", "27 mi", to the nearest whole.
pub fn distance(km: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => format!("{km:.0} km"),
        _ => format!("{:.0} mi", km / 1.609_344),
    }
}

/// A sum in the owner's currency, without it.
pub fn money(cost: f64) -> String {
    let text = format!("{cost:.2}");
    text.strip_suffix(".00").map(str::to_string).unwrap_or(text)
}

/// "empty grey (about 60 L)", "fill fresh to the brim (about 90 L)".
pub fn service(service: &Service, stocks: &[StockName], system: UnitSystem) -> String {
    let stock = &stocks[service.stock];
    let amount = quantity::amount(service.amount, stock.capacity, &stock.unit, system);
    match (stock.runs, service.hours) {
        (_, Some(hours)) => {
            format!("charge {} (about {amount}, {:.1} h)", stock.name, (hours * 2.0).ceil() / 2.0)
        }
        (Direction::Down, None) => format!("fill {} (about {amount})", stock.name),
        (Direction::Up, None) => format!("empty {} (about {amount})", stock.name),
    }
}

/// "pushes the next stop 2 days 4 h further away"; nothing under an hour.
pub fn push(service: &Service) -> Option<String> {
    (service.pushes_hours >= 1.0).then(|| {
        let hours = super::stretch::hours(service.pushes_hours);
        format!("pushes the next stop {hours} further away")
    })
}

/// "Quillet Harbour: be there by Thu 22 Oct 04:00, leave by Thu 22 Oct 03:00 (23 km)".
pub fn lead(lead: &Lead, rig: &Rig, zone: &Zone) -> String {
    let at = |moment| when::date_time(zone.here(when::half_hour_before(moment)), Form::Short);
    format!(
        "{}: be there by {}, leave by {} ({})",
        rig.places[lead.place].name,
        at(lead.by),
        at(lead.leave_by),
        distance(lead.km, rig.show)
    )
}

/// What would help, one sentence each.
pub fn relaxation(relaxation: &Relaxation, trip: &Trip) -> Vec<String> {
    let mut lines = Vec::new();
    if !relaxation.unserved.is_empty() {
        let names: Vec<&str> =
            relaxation.unserved.iter().map(|s| trip.stocks[*s].name.as_str()).collect();
        lines.push(format!(
            "No known place sees to {} in time: add one to places.ron, or use less",
            super::answer::listed(&names)
        ));
    }
    if let Some(days) = relaxation.days {
        lines.push(format!("{} would work as asked", count(days as usize, "day")));
    }
    match relaxation.confidence {
        Some(confidence) => {
            lines.push(format!("The whole trip works {} sure", super::share::percent(confidence)));
        }
        None => lines.push("The whole trip does not work even half sure".to_string()),
    }
    lines
}
