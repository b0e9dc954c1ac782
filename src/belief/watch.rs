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
use super::habit;
use super::past::Past;
use super::replay;
use crate::domain::estimate::Estimate;
use crate::domain::journal::Standing;
use crate::domain::rig::Rig;
use crate::domain::time::{Moment, hours_between};
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
    /// How many standard errors from zero.
    pub evidence: f64,
    /// Readings and services since then.
    pub readings: usize,
    /// Whether every reading since then was the same while the stock should have moved on.
    pub stuck: bool,
}

/// How far back a change may have begun, in days.
pub const WINDOWS: [i64; 4] = [3, 5, 8, 14];
/// Standard errors that count as certain enough. Chosen on simulated trips so that a sound van
/// gives less than one false alarm in sixty days.
pub const CERTAIN: f64 = 4.0;
/// Changes smaller than this share of capacity a day are not worth an alarm.
const SMALLEST: f64 = 0.007;
/// Days of history before anything can be called strange.
const LEARNING_DAYS: f64 = 10.0;
/// Readings that a change needs to show in.
const READINGS: usize = 2;

/// Everything that is wrong, as far as the journal shows, most certain first.
pub fn watch(rig: &Rig, standing: &[Standing], beliefs: &Beliefs, now: Moment) -> Vec<Unexplained> {
    let mut found: Vec<Unexplained> = candidates(rig, standing, beliefs, now)
        .into_iter()
        .filter(|change| change.evidence >= CERTAIN)
        .collect();
    found.extend(battery(beliefs, now));
    found.sort_by(|a, b| b.evidence.total_cmp(&a.evidence));
    found
}

/// The strongest candidate of each stock that only adds up, certain or not.
pub fn candidates(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    now: Moment,
) -> Vec<Unexplained> {
    let past = Past::of(rig, standing, now);
    if hours_between(past.from, now) < 24.0 * LEARNING_DAYS {
        return Vec::new();
    }
    let habits = habit::count(&past);
    let mut best: Vec<Option<Unexplained>> = vec![None; beliefs.mechanism.stocks().len()];
    for days in WINDOWS {
        let since = now - Duration::days(days);
        if hours_between(past.from, since) < 24.0 * (LEARNING_DAYS - 3.0) {
            continue;
        }
        for (stock, per_day) in replay::unexplained(&past, &habits, since) {
            let capacity = beliefs.mechanism.stocks()[stock].capacity;
            let evidence = per_day.mean.abs() / per_day.sd.max(1e-9 * capacity);
            let inside = beliefs.readings[stock].iter().filter(|r| r.at > since);
            let readings = inside.count();
            let small = per_day.mean.abs() < SMALLEST * capacity;
            if small || readings < READINGS {
                continue;
            }
            if best[stock].as_ref().is_none_or(|known| known.evidence < evidence) {
                let stuck = stuck(beliefs, stock, since, per_day.mean * days as f64);
                let change = Unexplained { stock, since, per_day, evidence, readings, stuck };
                best[stock] = Some(change);
            }
        }
    }
    best.into_iter().flatten().collect()
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
/// standard deviations. Chosen as [`CERTAIN`] was.
const ALLOWED: f64 = 0.5;
const SUM: f64 = 8.0;

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
    let since = since.filter(|_| sum >= SUM && readings >= 3)?;
    let days = (hours_between(since, now) / 24.0).max(0.5);
    let per_day = Estimate { mean: off / days, sd: off.abs() / days / sum.max(1.0) };
    Some(Unexplained { stock, since, per_day, evidence: sum, readings, stuck: false })
}
