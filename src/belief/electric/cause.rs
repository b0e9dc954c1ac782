//! What a battery that falls too far suffers from: a draw that never rests, or panels in the dark.
//!
//! Both leave less in it, but not at the same hours. The past is run through once more with each:
//! a draw takes as much by night as by day, dark panels cost most on bright days and nothing while
//! the sun would have been too weak to matter or the battery full anyway. How much better one
//! foretold the readings than the other is the evidence.

use super::fault::{ElectricFault, FaultOnset};
use super::run::{RunInputs, run_with};
use crate::belief::beliefs::Beliefs;
use crate::belief::normal::density;
use crate::belief::past::Past;
use crate::belief::practice::{CAUSE_EVIDENCE, CAUSE_SLIP, CAUSE_STARTS};
use crate::belief::unlogged::Unlogged;
use crate::domain::{Estimate, Moment};
use crate::mechanism::Mechanism;
use chrono::Duration;
use rayon::prelude::*;

/// Why a battery falls more than loads and sun explain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// Something draws on it by day and by night.
    Draw,
    /// Its panels bring less than they should.
    Panels,
    /// One of them: the readings do not tell which.
    Either,
}

/// Seed of what the hypotheses differ in: they are told apart the same way every evening.
const SEED: u64 = 1;

/// Which fault a battery has that falls too far since about `since`; without panels it is a draw.
/// `beliefs` are what was learned from `past` without any fault.
pub(in crate::belief) fn diagnose(
    past: &Past,
    mechanism: &Mechanism,
    beliefs: &Beliefs,
    since: Moment,
) -> Option<Cause> {
    let mut mechanism = mechanism.clone();
    let electric = mechanism.electric?;
    let store = mechanism.stocks()[electric].clone();
    let Some(panels) = mechanism.factors.panels else { return Some(Cause::Draw) };
    let draw = mechanism.add_unexplained(&store.name, -1.0)?;
    let count = mechanism.stocks().len();
    let mut known: Vec<Estimate> =
        (0..draw).map(|index| beliefs.joint.estimate(count + index)).collect();
    known.push(Estimate { mean: 0.0, sd: 0.0 });
    let unlogged = Unlogged::of(&mechanism, &beliefs.habits, beliefs.manner);
    let inputs =
        RunInputs { past, mechanism: &mechanism, known: &known, unlogged: &unlogged, seed: SEED };
    let first = since + Duration::days(CAUSE_STARTS[0]);
    let evidence = |(fault, days): &(ElectricFault, i64)| -> f64 {
        let onset = FaultOnset { at: since + Duration::days(*days), fault: *fault };
        let innovations = run_with(&inputs, Some(onset)).innovations;
        let after = innovations.iter().filter(|innovation| innovation.at > first);
        after.map(|i| log_likelihood(i.amount, i.sd, store.capacity)).sum()
    };
    let both = [ElectricFault::Draw(draw), ElectricFault::Panels(panels)];
    let hypotheses: Vec<(ElectricFault, i64)> =
        both.iter().flat_map(|fault| CAUSE_STARTS.map(|days| (*fault, days))).collect();
    let evidence: Vec<f64> = hypotheses.par_iter().map(evidence).collect();
    let (by_draw, by_panels) = evidence.split_at(CAUSE_STARTS.len());
    Some(match log_of_sum(by_draw) - log_of_sum(by_panels) {
        ratio if ratio > CAUSE_EVIDENCE => Cause::Draw,
        ratio if ratio < -CAUSE_EVIDENCE => Cause::Panels,
        _ => Cause::Either,
    })
}

/// Logarithm of the sum of what these are logarithms of.
fn log_of_sum(logarithms: &[f64]) -> f64 {
    let most = logarithms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most + logarithms.iter().map(|each| (each - most).exp()).sum::<f64>().ln()
}

/// Logarithm of how probable a reading was with that innovation; a slip may say anything.
fn log_likelihood(innovation: f64, sd: f64, capacity: f64) -> f64 {
    ((1.0 - CAUSE_SLIP) * density(innovation / sd) / sd + CAUSE_SLIP / capacity).ln()
}
