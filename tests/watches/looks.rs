//! Whether the reading that is recommended is the one to take.

use super::super::trips::diary::{Diary, Manner};
use super::super::trips::dice::Dice;
use super::super::trips::sky::Place;
use super::super::trips::trip::{Origin, Trip};
use super::super::trips::van::Role;
use super::super::{count, first};
use rayon::prelude::*;
use waystock::belief;
use waystock::domain::entry::Entry;
use waystock::domain::journal;
use waystock::domain::time::Moment;
use waystock::forecast::answer::Options;
use waystock::forecast::evening::forecast_and_looks;

/// The entries with one more: this tank read at this moment.
fn with_reading(trip: &Trip, origin: &Origin, tank: usize, dice: &mut Dice) -> Vec<Entry> {
    let place =
        Place { latitude: 0.0, longitude: 0.0, offset_h: 1.0, first: origin.at.date_naive() };
    let mut manner = Manner::new(&mut Dice::new(1, 1));
    manner.says_step = trip.manner.says_step;
    let mut diary = Diary::new(&place, manner);
    diary.look(0.0, &trip.van.tanks[tank], origin.state.levels[tank], dice);
    let mut entries: Vec<Entry> = trip.entries.clone();
    let mut read = diary.entries.remove(0);
    (read.at, read.recorded, read.id.sequence) = (origin.at, origin.at, u64::MAX);
    entries.push(read);
    entries
}

/// Hours from P10 to P90 of the next stop, and the stocks by how much a look should narrow it.
fn band(trip: &Trip, entries: &[Entry], at: Moment, lives: usize) -> (f64, Vec<(String, f64)>) {
    let standing = journal::standing(entries, at);
    let beliefs = belief::learn(&trip.rig, &standing, at, 1);
    let options = Options { lives, ..Options::at(at) };
    let (forecast, looks) = forecast_and_looks(&trip.rig, &standing, &beliefs, options);
    let hours = forecast.next.hours;
    let far = 720.0;
    let width = hours.p90.unwrap_or(far) - hours.p10.unwrap_or(far);
    (width, looks.into_iter().map(|look| (look.stock, look.narrows)).collect())
}

/// Band before, band after the recommended reading, what it promised, band after each fixed one.
type Row = (f64, f64, f64, Vec<f64>);

/// The reading that is recommended narrows the band more, on average, than always reading any one
/// gauge does.
#[test]
fn the_recommended_reading_narrows_most() {
    let (trips, lives) = (count().unwrap_or(10), if count().is_some() { 1000 } else { 400 });
    let most = if count().is_some() { 6 } else { 4 };
    let roles = [Role::Fresh, Role::Grey, Role::Liquids, Role::Food, Role::Battery, Role::Diesel];
    let rows: Vec<Row> = (first()..first() + trips)
        .into_par_iter()
        .flat_map_iter(|seed| {
            let trip = Trip::new(seed);
            let mut rows = Vec::new();
            for origin in trip.origins.iter().skip(1).take(most) {
                let (before, looks) = band(&trip, &trip.entries, origin.at, lives);
                let Some((best, says)) = looks.first().cloned() else { continue };
                let after: Vec<(Role, f64)> = trip
                    .van
                    .tanks
                    .iter()
                    .enumerate()
                    .map(|(i, tank)| {
                        let mut dice = Dice::new(seed + origin.hour as u64, 90 + i as u64);
                        let entries = with_reading(&trip, origin, i, &mut dice);
                        (tank.role, band(&trip, &entries, origin.at, lives).0)
                    })
                    .collect();
                let of = |role: Role| after.iter().find(|a| a.0 == role).map_or(before, |a| a.1);
                let chosen = after.iter().find(|a| a.0.name() == best).map_or(before, |a| a.1);
                rows.push((before, chosen, says, roles.map(of).to_vec()));
            }
            rows
        })
        .collect();
    let n = rows.len() as f64;
    let mean = |of: &dyn Fn(&Row) -> f64| rows.iter().map(of).sum::<f64>() / n;
    let chosen = mean(&|r| 1.0 - r.1 / r.0.max(1.0));
    let fixed: Vec<f64> =
        (0..roles.len()).map(|i| mean(&|r| 1.0 - r.3[i] / r.0.max(1.0))).collect();
    println!("{n} evenings: recommended narrows by {chosen:.3} (foretold {:.3})", mean(&|r| r.2));
    for (role, narrows) in roles.iter().zip(&fixed) {
        println!("  always {}: {narrows:.3}", role.name());
    }
    let best = fixed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    assert!(chosen > best, "recommended {chosen:.3}, best fixed {best:.3}");
}
