//! Learning: the additive stocks' replay, then the ensemble, from one past.

use super::beliefs::Beliefs;
use super::electric::{self, RunInputs};
use super::habit;
use super::kit;
use super::past::{DayRecord, Past};
use super::replay;
use super::unlogged::Unlogged;
use crate::domain::{Estimate, Moment, Rig, Standing};
use crate::mechanism::Mechanism;

/// Learns from everything that stands at `now`. `standing` is in time order and holds plans as
/// well, which only the timeline looks at. `seed` drives the ensemble of the electric store.
pub fn learn(rig: &Rig, standing: &[Standing], now: Moment, seed: u64) -> Beliefs {
    learn_from(&Past::of(rig, standing, now), seed)
}

/// [`learn`], from a past that is laid out already.
pub fn learn_from(past: &Past, seed: u64) -> Beliefs {
    let (mechanism, mut habits) = (Mechanism::of(&past.parts), habit::count(past));
    let replayed = replay::run(past, &mechanism, &habits);
    let (joint, mut innovations) = (replayed.joint, replayed.innovations);
    let manner = replayed.manner;
    let count = mechanism.stocks().len();
    let coefficients = 0..mechanism.coefficients.len();
    let known: Vec<Estimate> = coefficients.map(|i| joint.estimate(count + i)).collect();
    let unlogged = Unlogged::of(&mechanism, &habits, manner);
    let inputs =
        RunInputs { past, mechanism: &mechanism, known: &known, unlogged: &unlogged, seed };
    let ran = electric::run(&inputs);
    if let Some(stock) = mechanism.electric {
        innovations[stock] = ran.innovations;
    }
    let silent = past.days.each.iter().filter(|(_, day)| day.record == DayRecord::Silent);
    habits.iter_mut().for_each(|habit| habit.put(&manner));
    Beliefs {
        joint,
        electric: ran.members,
        electric_hours: ran.levels_wh,
        learned_since: kit::learned_since(past, &mechanism),
        timeline: past.timeline.clone(),
        readings: replayed.readings,
        outliers: replayed.outliers,
        innovations,
        days_counted: past.days.each.len(),
        silent_days: silent.map(|(day, _)| *day).collect(),
        habits,
        manner,
        mechanism,
    }
}
