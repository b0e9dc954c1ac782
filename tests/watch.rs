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
use std::collections::BTreeMap;
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

/// Seeds of the trips that the alarms' thresholds were chosen on, and of those that they were not.
const TUNING: u64 = 40_000;
const HELD_OUT: u64 = 60_000;

fn first() -> u64 {
    let tuning = std::env::var("WAYSTOCK_WATCH_SET").is_ok_and(|set| set == "tuning");
    if tuning { TUNING } else { HELD_OUT }
}

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

/// What may be wrong on an evening: stock name, whether it loses, strength.
type Called = (String, bool, f64);

fn called(trip: &Trip, at: Moment) -> Vec<Called> {
    let standing = journal::standing(&trip.entries, at);
    let beliefs = belief::learn(&trip.rig, &standing, at, 1);
    let name = |stock: usize| beliefs.mechanism.stocks()[stock].name.clone();
    let all = watch::candidates(&trip.rig, &standing, &beliefs, at);
    all.into_iter().map(|u| (name(u.stock), u.per_day.mean < 0.0, u.strength)).collect()
}

/// Times that an alarm begins: a stock is called wrong that was not within the week before.
fn alarms(calls: &[Vec<Called>], least: f64) -> Vec<Called> {
    let mut last: BTreeMap<&str, usize> = BTreeMap::new();
    let mut begun = Vec::new();
    for (day, calls) in calls.iter().enumerate() {
        for call in calls.iter().filter(|call| call.2 >= least) {
            if last.insert(&call.0, day).is_none_or(|before| day > before + 7) {
                begun.push(call.clone());
            }
        }
    }
    begun
}

/// A fault begins on this day.
const BEGINS: usize = 24;

/// Evenings from the fault's first on: the strength with which the tank is called leaking.
fn leaking(seed: u64, role: Role, per_day: f64, fine: bool) -> Vec<f64> {
    let trip = Trip::with(seed, |van| {
        van.faults.push((role, 24 * BEGINS, per_day));
        for tank in van.tanks.iter_mut().filter(|tank| fine && tank.role == role) {
            tank.gauge = Gauge::Step(0.02);
        }
    });
    let strength = |at: Moment| {
        let calls = called(&trip, at);
        calls.iter().filter(|c| c.0 == role.name() && c.1).map(|c| c.2).fold(0.0, f64::max)
    };
    evenings(&trip).into_iter().skip(BEGINS - 1).map(strength).collect()
}

/// Median days until a leak is called, and in how many trips it never was. Trips in which the
/// tank was called leaking before it did are left out.
fn found(strengths: &[Vec<f64>], least: f64) -> (f64, usize, usize) {
    let sound = strengths.iter().filter(|s| s[0] < least);
    let days = sound.map(|s| {
        let day = s.iter().position(|strength| *strength >= least);
        day.map_or(f64::INFINITY, |day| day as f64)
    });
    let mut days: Vec<f64> = days.collect();
    days.sort_by(f64::total_cmp);
    let never = days.iter().filter(|d| d.is_infinite()).count();
    (days[days.len() / 2], never, days.len())
}

/// A sound van is called wrong less than once in sixty days; leaks are found.
#[test]
fn leaks_are_found_and_a_sound_van_is_left_alone() {
    let trips = count().unwrap_or(4);
    let levels: &[f64] = if count().is_some() { &[0.8, 0.9, 1.0, 1.1, 1.2] } else { &[1.0] };
    let seeds = first()..first() + trips;
    let clean: Vec<Vec<Vec<Called>>> = seeds
        .clone()
        .into_par_iter()
        .map(|seed| {
            let trip = Trip::new(seed);
            evenings(&trip).into_iter().map(|at| called(&trip, at)).collect()
        })
        .collect();
    let days: usize = clean.iter().map(Vec::len).sum();
    for least in levels {
        let all: Vec<Called> = clean.iter().flat_map(|calls| alarms(calls, *least)).collect();
        let mut by: BTreeMap<(&str, bool), usize> = BTreeMap::new();
        all.iter().for_each(|call| *by.entry((&call.0, call.1)).or_default() += 1);
        println!("at {least}: {} false alarms in {days} days of {trips} trips: {by:?}", all.len());
        if *least == 1.0 && count().is_none() {
            // A small run may have a little bad luck.
            let most = days as f64 / 60.0 + 2.0;
            assert!(all.len() as f64 <= most, "{} false alarms in {days} days", all.len());
        }
    }
    let kinds = [
        (Role::Fresh, -10.0, false),
        (Role::Fresh, -10.0, true),
        (Role::Fresh, -3.0, false),
        (Role::Fresh, -3.0, true),
        (Role::Fresh, -1.0, false),
        (Role::Fresh, -1.0, true),
        (Role::Grey, -10.0, false),
        (Role::Battery, -500.0, false),
    ];
    let some = if count().is_some() { &kinds[..] } else { &kinds[..1] };
    for &(role, per_day, fine) in some {
        let each = seeds.clone().into_par_iter().map(|seed| leaking(seed, role, per_day, fine));
        let strengths: Vec<Vec<f64>> = each.collect();
        for least in levels {
            let (median, never, of) = found(&strengths, *least);
            let gauge = if fine { "fine gauge" } else { "its own gauge" };
            println!(
                "at {least}: {per_day} a day of {}, {gauge}: median {median} days, never {never} of {of}",
                role.name()
            );
            assert!(count().is_some() || median <= 7.0, "found after {median} days");
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
