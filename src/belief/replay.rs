//! The replay: what was logged moves the levels, what was read corrects them and teaches the
//! coefficients. A Kalman filter with truncated updates over the journal, for all stocks but the
//! electric one.

mod entries;
mod hidden;
mod hypotheses;
mod likelihood;
mod spent;
mod state;
mod sums;

pub(super) use likelihood::{Hypothesis, HypothesisFit, SummedPast};

use super::evidence::{Innovation, Outlier};
use super::habit::Habit;
use super::joint::Joint;
use super::manner::Manner;
use super::past::Past;
use super::unlogged::Unlogged;
use crate::domain::estimate::PastReading;
use crate::mechanism::Mechanism;
use state::{Replay, happenings};
use sums::Clock;

/// What a replay leaves behind.
pub(super) struct Replayed {
    /// Levels and coefficients.
    pub joint: Joint,
    /// Readings and services per stock.
    pub readings: Vec<Vec<PastReading>>,
    /// Readings that nothing explains.
    pub outliers: Vec<Outlier>,
    /// Innovations of the readings, per stock.
    pub innovations: Vec<Vec<Innovation>>,
    /// What was learned of days and of writing.
    pub manner: Manner,
}

/// Replays the past.
pub(super) fn run(past: &Past, mechanism: &Mechanism, habits: &[Habit]) -> Replayed {
    let unlogged = Unlogged::of(mechanism, habits, Manner::before(past));
    let mut clock = Clock::of(past, &unlogged, mechanism);
    let spent = spent::spent(past, past.now);
    let mut replay = Replay::begin(past, &unlogged, mechanism, &spent);
    for (at, happening) in happenings(past, past.now, &spent) {
        clock.advance(at, &replay.hypotheses.main, &mut replay.sums);
        replay.take(happening);
        replay.hypotheses.lead();
    }
    clock.advance(past.now, &replay.hypotheses.main, &mut replay.sums);
    replay.apply();
    replay.hypotheses.merge();
    let Replay { hypotheses, days, marks, readings, outliers, innovations, .. } = replay;
    let manner = Manner::of(&hypotheses.main, days.square().sqrt());
    let joint = hypotheses.main.without(&marks.iter().map(|mark| mark.place).collect::<Vec<_>>());
    Replayed { joint, readings, outliers, innovations, manner }
}
