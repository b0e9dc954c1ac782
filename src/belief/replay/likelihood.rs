//! How much more probable the readings are if a stock changes, from some day on, by more than
//! anything written down explains.

use super::hypotheses::Alternative;
use super::spent::{SpentSpan, spent};
use super::state::{Happening, Replay, Stops, happenings};
use super::sums::{Clock, Sums};
use crate::belief::beliefs::Beliefs;
use crate::belief::manner::Manner;
use crate::belief::past::Past;
use crate::belief::unlogged::Unlogged;
use crate::domain::heating::Heating;
use crate::domain::{Estimate, Event, Moment, Parts};
use crate::mechanism::Mechanism;

/// That a stock changes by so much a day more than was written down.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::belief) struct Hypothesis {
    /// Name of the stock.
    pub stock: String,
    /// How much a day, signed, in the stock's unit.
    pub per_day: Estimate,
    /// Its share among the hypotheses of the same kind.
    pub weight: f64,
}

/// What the readings make of a hypothesis whose change began at one of the starts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::belief) struct HypothesisFit {
    /// Index of the hypothesis.
    pub hypothesis: usize,
    /// Index of the start.
    pub start: usize,
    /// Logarithm of how many times more probable they are with the change than without.
    pub log_likelihood_ratio: f64,
    /// The change a day, as far as they tell.
    pub per_day: Estimate,
}

/// A past with what lies between its entries summed once, for replaying it several times.
pub(in crate::belief) struct SummedPast<'a> {
    past: &'a Past<'a>,
    beliefs: &'a Beliefs,
    /// The moment of the entry that a step leads to, what is summed up to it, and what happens.
    steps: Vec<(Moment, Sums, Happening<'a>)>,
    /// What was used in all by then.
    spent: Vec<SpentSpan<'a>>,
}

impl<'a> SummedPast<'a> {
    /// Sums up the past from which `beliefs` were learned, as far as `until`. Fuel is burnt by
    /// what is believed of the heat loss now.
    pub fn of(past: &'a Past<'a>, beliefs: &'a Beliefs, until: Moment) -> SummedPast<'a> {
        let unlogged = Unlogged::of(&beliefs.mechanism, &beliefs.habits, beliefs.manner);
        let mut clock = Clock::of(past, &unlogged, &beliefs.mechanism);
        let (mut steps, mut before) = (Vec::new(), Vec::new());
        let spent = spent(past, until);
        for (at, happening) in happenings(past, until, &spent) {
            if let Happening::Entry(entry) = happening {
                // Uses are spread over their hours already.
                match entry.event {
                    Event::Use { .. } | Event::Outlook(_) | Event::Note(_) => continue,
                    _ => {}
                }
            }
            let mut sums = Sums::none(&beliefs.mechanism);
            clock.advance(at, &beliefs.joint, &mut sums);
            before.push((sums, happening));
            if matches!(happening, Happening::Entry(_) | Happening::Spent(..)) {
                steps.extend(before.drain(..).map(|(sums, happening)| (at, sums, happening)));
            }
        }
        SummedPast { past, beliefs, steps, spent }
    }

    /// Replays these stocks, and only these, beside the hypotheses about them: the likelihood
    /// ratio of each, for a change that began at each of `starts`, which are in time order.
    pub(in crate::belief) fn likelihood_ratios(
        &self,
        stocks: &[&str],
        hypotheses: &[Hypothesis],
        starts: &[Moment],
    ) -> Vec<HypothesisFit> {
        let mut mechanism = Mechanism::of(&only(&self.past.parts, stocks));
        let unexplained: Vec<usize> =
            stocks.iter().filter_map(|name| mechanism.add_unexplained(name, 1.0)).collect();
        let count = mechanism.stocks().len();
        let coefficient = |hypothesis: &Hypothesis| {
            let place = stocks.iter().position(|name| *name == hypothesis.stock)?;
            unexplained.get(place).map(|coefficient| count + coefficient)
        };
        // What is learned of days and writing holds the change already: it is learned again, up to
        // where the change may begin.
        let before = Manner::before(self.past);
        let unlogged = Unlogged::of(&mechanism, &self.beliefs.habits, before);
        let mut replay = Replay::begin(self.past, &unlogged, &mechanism, &self.spent);
        replay.stops = Stops::Unheard;
        let (mut next, mut settled) = (0, None);
        for (at, sums, happening) in &self.steps {
            while next < starts.len() && starts[next] < *at {
                replay.apply();
                if next == 0 {
                    replay.hypotheses.merge();
                    settled = Some(replay.days.clone());
                }
                for (index, hypothesis) in hypotheses.iter().enumerate() {
                    if let Some(place) = coefficient(hypothesis) {
                        replay.hypotheses.add((next, index), 1.0, &[(place, hypothesis.per_day)]);
                    }
                }
                next += 1;
            }
            if let Some(days) = &settled {
                replay.days.clone_from(days);
            }
            replay.sums.add(sums);
            replay.take(*happening);
        }
        let outcome = |of: &Alternative| {
            let (start, hypothesis) = of.tag;
            let per_day = of.joint.estimate(coefficient(&hypotheses[hypothesis])?);
            let log_likelihood_ratio = of.log_likelihood_ratio;
            Some(HypothesisFit { hypothesis, start, log_likelihood_ratio, per_day })
        };
        replay.hypotheses.alternatives.iter().filter_map(outcome).collect()
    }
}

/// The parts with these stocks alone, and with heat but no electricity.
fn only(parts: &Parts, stocks: &[&str]) -> Parts {
    let mut parts = parts.clone();
    parts.stocks =
        stocks.iter().filter_map(|name| parts.stock(name).map(|s| s.1.clone())).collect();
    parts.electrics = None;
    // All sources, if any: what is summed of each fuel goes by its place among them.
    let heats = |heating: &Heating| heating.fuels().iter().any(|fuel| stocks.contains(fuel));
    parts.heating = parts.heating.take().filter(heats);
    parts
}
