//! Is something wrong with the van? Water that falls with no use logged, grey that rises less
//! than it should, a battery that falls with no load, a gauge that never moves.
//!
//! For stocks that only add up, the past is replayed once more with one more unknown per stock:
//! a steady change that nothing explains, which begins some days ago. How many standard errors
//! it lies from zero is the evidence; what the base use and every coefficient may still turn out
//! to be is already counted in. Such a test of a change at an unknown moment is a generalised
//! likelihood ratio (Willsky and Jones, IEEE Transactions on Automatic Control 21, 1976; from
//! memory). The battery is carried by draws, so its readings' misfits are summed instead: a
//! cumulative sum that forgets what a sound battery would bring (Page, Biometrika 41, 1954; from
//! memory).

use super::Beliefs;
use super::past::Past;
use super::replay;
use crate::domain::estimate::Estimate;
use crate::domain::journal::Standing;
use crate::domain::rig::Rig;
use crate::domain::stock::{Direction, Gauge};
use crate::domain::time::{Moment, hours_between};
use crate::domain::unit::Unit;
use crate::mechanism::climate::heater_fuel;
use chrono::Duration;

/// A change that nothing explains.
#[derive(Debug, Clone, PartialEq)]
pub struct Unexplained {
    /// Index of the stock.
    pub stock: usize,
    /// Since about when.
    pub since: Moment,
    /// Signed change a day, in the stock's unit.
    pub per_day: Estimate,
    /// How certain: 1 is just enough for an alarm.
    pub strength: f64,
    /// Readings and services since then.
    pub readings: usize,
    /// Whether every reading since then was the same while the stock should have moved on.
    pub stuck: bool,
}

/// How far back a change may have begun, in days.
const WINDOWS: [i64; 6] = [3, 4, 6, 8, 12, 20];
/// Standard errors that are certain enough for a tank that loses what nobody used. Chosen, like
/// those below, on simulated trips: on fourteen others, a sound van gave ten false alarms in 657
/// days over all its stocks together. Ten litres a day are found within four days (three on a fine
/// gauge), three litres within eleven on a fine gauge and often not at all on a coarse one.
const LOSS: f64 = 2.0;
/// The same for every other change, which is more often a habit of writing than a fault.
const OTHER: f64 = 6.0;
/// The same for fuel that a heater burns: how the van loses heat in wind and rain is not modelled.
const FUEL: f64 = 8.0;
/// The same for a stock that no gauge shows: a guess can be further off than its last digit.
const GUESSED: f64 = 9.0;
/// Changes smaller than this share of capacity a day are not worth an alarm.
const SMALLEST: f64 = 0.007;
/// Days of history before anything can be called strange.
const LEARNING_DAYS: f64 = 10.0;
/// Readings that a change needs to show in.
const READINGS: usize = 2;

/// Everything that is wrong, as far as the journal shows, most certain first.
pub fn watch(rig: &Rig, standing: &[Standing], beliefs: &Beliefs, now: Moment) -> Vec<Unexplained> {
    watch_past(&Past::of(rig, standing, now), beliefs)
}

/// The same over a past that is laid out already, from which `beliefs` were learned.
pub fn watch_past(past: &Past, beliefs: &Beliefs) -> Vec<Unexplained> {
    let mut found = candidates_in(past, beliefs);
    found.retain(|change| change.strength >= 1.0);
    found.sort_by(|a, b| b.strength.total_cmp(&a.strength));
    found
}

/// Evidence that is certain enough for a change of this stock.
fn certain(beliefs: &Beliefs, stock: usize, per_day: f64) -> f64 {
    let known = &beliefs.mechanism.stocks()[stock];
    let litres = known.unit.factor_to(&Unit::Litre, None).is_some();
    // What arrives in a tank is sure only where it is a share of what another one gave.
    let fed = beliefs.mechanism.flows.iter().any(|f| f.stock == stock && f.share.is_some());
    let tank = litres && (known.runs == Direction::Down || fed);
    if heater_fuel(&beliefs.mechanism) == Some(stock) {
        FUEL
    } else if tank && per_day < 0.0 {
        LOSS
    } else if known.gauge == Gauge::None {
        GUESSED
    } else {
        OTHER
    }
}

/// The strongest candidate of each stock, certain or not.
pub fn candidates(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    now: Moment,
) -> Vec<Unexplained> {
    candidates_in(&Past::of(rig, standing, now), beliefs)
}

fn candidates_in(past: &Past, beliefs: &Beliefs) -> Vec<Unexplained> {
    let now = past.now;
    if hours_between(past.from, now) < 24.0 * LEARNING_DAYS {
        return Vec::new();
    }
    let mut best: Vec<Option<Unexplained>> = vec![None; beliefs.mechanism.stocks().len()];
    let known = |days: &i64| {
        let since = now - Duration::days(*days);
        hours_between(past.from, since) >= 24.0 * (LEARNING_DAYS - 3.0)
    };
    let windows: Vec<i64> = WINDOWS.into_iter().filter(known).collect();
    let starts: Vec<Moment> = windows.iter().map(|days| now - Duration::days(*days)).collect();
    let found = replay::unexplained(past, &beliefs.habits, &starts);
    for ((days, since), found) in windows.into_iter().zip(starts).zip(found) {
        for (stock, per_day) in found {
            let capacity = beliefs.mechanism.stocks()[stock].capacity;
            let evidence = per_day.mean.abs() / per_day.sd.max(1e-9 * capacity);
            let strength = evidence / certain(beliefs, stock, per_day.mean);
            let inside = beliefs.readings[stock].iter().filter(|r| r.at > since);
            let readings = inside.count();
            let small = per_day.mean.abs() < SMALLEST * capacity;
            if small || readings < READINGS {
                continue;
            }
            if best[stock].as_ref().is_none_or(|known| known.strength < strength) {
                let stuck = stuck(beliefs, stock, since, per_day.mean * days as f64);
                let change = Unexplained { stock, since, per_day, strength, readings, stuck };
                best[stock] = Some(change);
            }
        }
    }
    best.into_iter().flatten().chain(battery(beliefs, now)).collect()
}

/// Whether all readings since then say the same, at least three of them and no service, although
/// the level should have moved by more than their width.
fn stuck(beliefs: &Beliefs, stock: usize, since: Moment, unexplained: f64) -> bool {
    let recent: Vec<_> = beliefs.readings[stock].iter().filter(|r| r.at > since).collect();
    let [first, .., last] = &recent[..] else { return false };
    let same = recent.iter().all(|r| !r.service && r.low == first.low && r.high == first.high);
    same && recent.len() >= 3 && unexplained.abs() > 0.7 * (last.high - last.low)
}

/// Misfit per reading that a sound battery is allowed, and the sum that counts as certain, in
/// standard deviations. Chosen as [`LOSS`] was.
const ALLOWED: f64 = 0.5;
const SUM: f64 = 7.5;

/// A battery that keeps falling below what load and sun explain.
fn battery(beliefs: &Beliefs, now: Moment) -> Option<Unexplained> {
    let stock = beliefs.mechanism.electric?;
    let (mut sum, mut since, mut off, mut readings) = (0.0, None, 0.0, 0);
    for innovation in &beliefs.innovations[stock] {
        // One wild reading is a slip, not a draw.
        let z = (innovation.off / innovation.sd.max(1e-9)).clamp(-3.0, 3.0);
        sum += -z - ALLOWED;
        if sum <= 0.0 {
            (sum, since, off, readings) = (0.0, None, 0.0, 0);
            continue;
        }
        since = since.or(Some(innovation.since));
        off += innovation.off;
        readings += 1;
    }
    let since = since.filter(|_| readings >= 3)?;
    let days = (hours_between(since, now) / 24.0).max(0.5);
    let per_day = Estimate { mean: off / days, sd: off.abs() / days / sum.max(1.0) };
    Some(Unexplained { stock, since, per_day, strength: sum / SUM, readings, stuck: false })
}
