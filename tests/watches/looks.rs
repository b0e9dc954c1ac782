//! Whether the reading that is recommended is the one to take.

use super::super::trips::diary::{Diary, Manner};
use super::super::trips::dice::Dice;
use super::super::trips::sky::Place;
use super::super::trips::trip::{Origin, Trip};
use super::super::trips::van::Role;
use rayon::prelude::*;
use waystock::belief;
use waystock::domain::entry::Entry;
use waystock::domain::journal;
use waystock::domain::time::Moment;
use waystock::forecast::answer::{Options, ReadingTime};
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
    let now = looks.into_iter().filter(|look| look.when == ReadingTime::Tonight);
    (width, now.map(|look| (look.stock, look.narrows)).collect())
}

/// By how much readings narrowed the band of the next stop, as shares of it, on average.
pub struct Narrowed {
    /// Over so many evenings.
    pub evenings: usize,
    /// The reading that was recommended.
    pub recommended: f64,
    /// What was foretold of it.
    pub foretold: f64,
    /// Always the same one.
    pub always: Vec<(Role, f64)>,
}

/// Band before, band after the recommended reading, what it promised, band after each fixed one.
type Row = (f64, f64, f64, Vec<f64>);

const FIXED: [Role; 6] =
    [Role::Fresh, Role::Grey, Role::Liquids, Role::Food, Role::Battery, Role::Diesel];

/// Takes the recommended reading and each fixed one on up to `most` evenings of these trips.
pub fn narrowed(seeds: std::ops::Range<u64>, most: usize, lives: usize) -> Narrowed {
    let each = seeds.into_par_iter();
    let rows: Vec<Row> = each.flat_map_iter(|seed| rows(seed, most, lives)).collect();
    let n = rows.len() as f64;
    let mean = |of: &dyn Fn(&Row) -> f64| rows.iter().map(of).sum::<f64>() / n;
    let by = |place: usize| mean(&|r| 1.0 - r.3[place] / r.0.max(1.0));
    Narrowed {
        evenings: rows.len(),
        recommended: mean(&|r| 1.0 - r.1 / r.0.max(1.0)),
        foretold: mean(&|r| r.2),
        always: FIXED.into_iter().enumerate().map(|(place, role)| (role, by(place))).collect(),
    }
}

fn rows(seed: u64, most: usize, lives: usize) -> Vec<Row> {
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
        rows.push((before, chosen, says, FIXED.map(of).to_vec()));
    }
    rows
}
