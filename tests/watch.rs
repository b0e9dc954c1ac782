//! Alarms and the reading to take, on simulated trips.
//!
//! The plain run is small. `WAYSTOCK_WATCH=40 cargo test --release --test watch -- --nocapture`
//! prints the tables over that many trips.
#![allow(clippy::disallowed_methods, reason = "the size of the run comes from the environment")]
#![allow(clippy::disallowed_macros, reason = "the tables are printed")]

#[allow(dead_code, reason = "the trips are shared with the scores")]
mod trips {
    pub mod diary;
    pub mod dice;
    pub mod living;
    pub mod rig_text;
    pub mod sky;
    pub mod trip;
    pub mod van;
}

use rayon::prelude::*;
use trips::diary::{Diary, Manner};
use trips::dice::Dice;
use trips::sky::Place;
use trips::trip::{Origin, Trip};
use trips::van::{Gauge, Role};
use waystock::belief::{self, watch};
use waystock::domain::entry::{Entry, Event};
use waystock::domain::journal;
use waystock::domain::time::{Moment, hours_between};
use waystock::forecast::answer::Options;
use waystock::forecast::evening::forecast_and_looks;

/// Seeds that neither the alarms nor the estimation were tuned on.
const FIRST: u64 = 40_000;

fn count() -> Option<u64> {
    std::env::var("WAYSTOCK_WATCH").ok().and_then(|n| n.parse().ok())
}

/// Each evening of a trip, by its number of days since the start.
fn evenings(trip: &Trip) -> Vec<Moment> {
    let speaks =
        |e: &&Entry| !matches!(e.body, waystock::domain::entry::Body::Happened(Event::Outlook(_)));
    let (first, last) =
        (trip.entries[0].at, trip.entries.iter().filter(speaks).map(|e| e.recorded).max());
    let days = (hours_between(first, last.unwrap()) / 24.0) as i64;
    (1..=days).map(|day| first + chrono::Duration::hours(24 * day - 1)).collect()
}

/// What was called wrong on an evening: stock name, sign, strength.
type Called = (String, bool, f64);

fn called(trip: &Trip, at: Moment, least: f64) -> Vec<Called> {
    let standing = journal::standing(&trip.entries, at);
    let beliefs = belief::learn(&trip.rig, &standing, at, 1);
    let name = |stock: usize| beliefs.mechanism.stocks()[stock].name.clone();
    let mut all = watch::candidates(&trip.rig, &standing, &beliefs, at);
    all.extend(
        watch::watch(&trip.rig, &standing, &beliefs, at)
            .into_iter()
            .filter(|u| beliefs.mechanism.electric == Some(u.stock)),
    );
    let strong = all.into_iter().filter(|u| u.evidence >= least);
    strong.map(|u| (name(u.stock), u.per_day.mean < 0.0, u.evidence)).collect()
}

/// Times that an alarm begins: a stock is called wrong that was not within the week before.
fn alarms(trip: &Trip, least: f64) -> Vec<(usize, Called)> {
    let mut last: Vec<(String, usize)> = Vec::new();
    let mut begun = Vec::new();
    for (day, at) in evenings(trip).into_iter().enumerate() {
        for call in called(trip, at, least) {
            match last.iter_mut().find(|known| known.0 == call.0) {
                Some(known) => {
                    if day > known.1 + 7 {
                        begun.push((day, call.clone()));
                    }
                    known.1 = day;
                }
                None => {
                    last.push((call.0.clone(), day));
                    begun.push((day, call));
                }
            }
        }
    }
    begun
}

/// Days until a leak of so many litres a day, which begins on day 24, is called.
fn days_to_find(seed: u64, litres: f64, least: f64) -> f64 {
    let trip = Trip::with(seed, |van| van.faults.push((Role::Fresh, 24 * 24, -litres)));
    let found = evenings(&trip).into_iter().enumerate().skip(23).find(|(_, at)| {
        called(&trip, *at, least).iter().any(|(name, falls, _)| name == "fresh" && *falls)
    });
    found.map_or(f64::INFINITY, |(day, _)| (day + 1) as f64 - 24.0)
}

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// A sound van is called wrong less than once in sixty days; leaks are found.
#[test]
fn leaks_are_found_and_a_sound_van_is_left_alone() {
    let trips = count().unwrap_or(6);
    let levels: &[f64] =
        if count().is_some() { &[3.0, 3.5, 4.0, 4.5, 5.0] } else { &[watch::CERTAIN] };
    for least in levels {
        let clean: Vec<(f64, Vec<(usize, Called)>)> = (FIRST..FIRST + trips)
            .into_par_iter()
            .map(|seed| {
                let trip = Trip::new(seed);
                (evenings(&trip).len() as f64, alarms(&trip, *least))
            })
            .collect();
        let days: f64 = clean.iter().map(|c| c.0).sum();
        let false_alarms: usize = clean.iter().map(|c| c.1.len()).sum();
        println!(
            "evidence {least}: {false_alarms} false alarms in {days} days, one in {:.0}",
            days / false_alarms as f64
        );
        let mut by: std::collections::BTreeMap<(String, bool), usize> = Default::default();
        for (_, call) in clean.iter().flat_map(|c| &c.1) {
            *by.entry((call.0.clone(), call.1)).or_default() += 1;
        }
        println!("  {by:?}");
        for litres in [10.0, 3.0, 1.0] {
            let found: Vec<f64> = (FIRST..FIRST + trips)
                .into_par_iter()
                .map(|seed| days_to_find(seed, litres, *least))
                .collect();
            let never = found.iter().filter(|d| d.is_infinite()).count();
            println!("  {litres} L a day: median {} days, never {never} of {trips}", middle(found));
        }
    }
}

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

/// The reading that is recommended narrows the band more, on average, than always reading any one
/// gauge does.
#[test]
fn the_recommended_reading_narrows_most() {
    let (trips, lives) = (count().unwrap_or(4), if count().is_some() { 1000 } else { 400 });
    let most = if count().is_some() { 6 } else { 4 };
    let roles = [Role::Fresh, Role::Grey, Role::Liquids, Role::Food, Role::Battery, Role::Diesel];
    let rows: Vec<(f64, f64, f64, Vec<f64>)> = (FIRST..FIRST + trips)
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
    let mean =
        |of: &dyn Fn(&(f64, f64, f64, Vec<f64>)) -> f64| rows.iter().map(of).sum::<f64>() / n;
    let chosen = mean(&|r| 1.0 - r.1 / r.0.max(1.0));
    let fixed: Vec<f64> =
        (0..roles.len()).map(|i| mean(&|r| 1.0 - r.3[i] / r.0.max(1.0))).collect();
    println!("{n} evenings: recommended narrows by {chosen:.3} (foretold {:.3})", mean(&|r| r.2));
    for (role, narrows) in roles.iter().zip(&fixed) {
        println!("  always {}: {narrows:.3}", role.name());
    }
    let best = fixed.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    assert!(chosen > best, "recommended {chosen:.3}, best fixed {best:.3}");
    let _ = Gauge::Guess;
}
