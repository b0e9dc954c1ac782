//! What a battery that falls too far suffers from: a draw that never rests, or panels in the dark.
//!
//! Both leave less in it, but not at the same hours. The past is run through once more with each:
//! a draw takes as much by night as by day, dark panels cost most on bright days and nothing while
//! the sun would have been too weak to matter or the battery full anyway. How much better one
//! foretold the readings than the other is the evidence.

use super::chance::{normals, shares};
use super::{Draws, Ground, run_with};
use crate::belief::Beliefs;
use crate::belief::normal::density;
use crate::belief::past::Past;
use crate::belief::replay::suspect;
use crate::belief::unlogged::Unlogged;
use crate::domain::estimate::Estimate;
use crate::domain::time::Moment;
use chrono::Duration;
use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;
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

/// What goes wrong with the draws at a moment.
pub(super) struct Begins {
    pub at: Moment,
    wrong: Wrong,
}

#[derive(Clone, Copy)]
enum Wrong {
    /// The coefficient of a draw, and how much it may be a day, in Wh: median.
    Draw(usize, f64),
    /// The panels' factor.
    Panels(usize),
}

/// A draw's size, as a share of capacity a day, and the spread of its logarithm.
const SIZE: (f64, f64) = (0.1, 0.8);
/// Least and greatest share that dark panels may still bring.
const LEFT: (f64, f64) = (0.02, 0.7);
/// Natural logarithm of how many times more probable one of them must have made the readings.
const CLEAR: f64 = 2.0;
/// Days from when the battery first fell too far to when it may have begun: nobody knows the hour,
/// and all of them are weighed together.
const STARTS: [i64; 3] = [-3, -1, 1];
/// Share of readings that are slips, which may say anything.
const SLIP: f64 = 0.02;
/// Seed of what the rivals differ in: they are told apart the same way every evening.
const SEED: u64 = 1;

impl Begins {
    /// Lets it befall each draw, as badly as chance has it.
    pub fn befall(self, draws: &mut Draws) {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(SEED ^ 0x6361_7573);
        match self.wrong {
            Wrong::Draw(coefficient, median) => {
                draws.coefficients[coefficient] =
                    normals(&mut random).map(|z| median * (SIZE.1 * z).exp());
            }
            Wrong::Panels(factor) => {
                let left = shares(&mut random).map(|share| LEFT.0 + (LEFT.1 - LEFT.0) * share);
                draws.coefficients[factor].iter_mut().zip(&left).for_each(|(c, left)| *c *= left);
            }
        }
    }
}

/// Which of both it is, if it began about `since`. Without panels it is a draw.
pub fn told_apart(past: &Past, beliefs: &Beliefs, since: Moment) -> Option<Cause> {
    let mut mechanism = beliefs.mechanism.clone();
    let electric = mechanism.electric?;
    let store = mechanism.stocks()[electric].clone();
    let Some(panels) = mechanism.climate.panels else { return Some(Cause::Draw) };
    let draw = suspect(&mut mechanism, &store.name, -1.0)?;
    let count = mechanism.stocks().len();
    let mut known: Vec<Estimate> =
        (0..draw).map(|index| beliefs.joint.estimate(count + index)).collect();
    known.push(Estimate { mean: 0.0, sd: 0.0 });
    let unlogged = Unlogged::of(&past.parts, &beliefs.habits);
    let ground =
        Ground { past, mechanism: &mechanism, known: &known, unlogged: &unlogged, seed: SEED };
    let first = since + Duration::days(STARTS[0]);
    let evidence = |(wrong, days): &(Wrong, i64)| -> f64 {
        let begins = Begins { at: since + Duration::days(*days), wrong: *wrong };
        let (_, misfits) = run_with(&ground, Some(begins));
        let after = misfits.iter().filter(|misfit| misfit.at > first);
        after.map(|m| foretold(m.off, m.sd, store.capacity)).sum()
    };
    let both = [Wrong::Draw(draw, SIZE.0 * store.capacity), Wrong::Panels(panels)];
    let rivals: Vec<(Wrong, i64)> =
        both.iter().flat_map(|wrong| STARTS.map(|days| (*wrong, days))).collect();
    let evidence: Vec<f64> = rivals.par_iter().map(evidence).collect();
    let (by_draw, by_panels) = evidence.split_at(STARTS.len());
    Some(match mean(by_draw) - mean(by_panels) {
        more if more > CLEAR => Cause::Draw,
        more if more < -CLEAR => Cause::Panels,
        _ => Cause::Either,
    })
}

/// Logarithm of the mean of what these are logarithms of, but for their number.
fn mean(logarithms: &[f64]) -> f64 {
    let most = logarithms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most + logarithms.iter().map(|each| (each - most).exp()).sum::<f64>().ln()
}

/// Logarithm of how probable a reading was that lay so far off.
fn foretold(off: f64, sd: f64, capacity: f64) -> f64 {
    ((1.0 - SLIP) * density(off / sd) / sd + SLIP / capacity).ln()
}
