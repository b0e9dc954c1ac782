//! The past replayed once more beside rival beliefs in which a stock changes, from some day on, by
//! more than anything written down explains.

use super::super::Beliefs;
use super::super::past::Past;
use super::{Replay, Step};
use crate::domain::entry::Event;
use crate::domain::estimate::Estimate;
use crate::domain::flow::Driver;
use crate::domain::rig::Parts;
use crate::domain::time::Moment;
use crate::mechanism::coefficient::{Coefficient, Nature};
use crate::mechanism::driver::Source;
use crate::mechanism::{Flow, Mechanism};

/// A change a day that a stock is suspected of.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspicion {
    /// Name of the stock.
    pub stock: String,
    /// How much a day, signed, in the stock's unit.
    pub per_day: Estimate,
    /// Its share among the suspicions of the same kind.
    pub weight: f64,
}

/// What the readings make of a suspicion that began at one of the starts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Index of the suspicion.
    pub suspicion: usize,
    /// Index of the start.
    pub start: usize,
    /// Logarithm of how many times more probable they are with the change than without.
    pub evidence: f64,
    /// The change a day, as far as they tell.
    pub per_day: Estimate,
}

/// The past, summed up between its entries once for all trials.
#[derive(Debug, Clone)]
pub struct Trial<'a> {
    past: &'a Past<'a>,
    beliefs: &'a Beliefs,
    steps: Vec<(Moment, Step)>,
}

impl<'a> Trial<'a> {
    /// Sums up the past from which `beliefs` were learned, as far as `until`.
    pub fn of(past: &'a Past<'a>, beliefs: &'a Beliefs, until: Moment) -> Trial<'a> {
        let mut replay = Replay::begin(past, &beliefs.mechanism, &beliefs.habits);
        // Fuel is burnt by what is believed of the heat loss now.
        replay.joint.main = beliefs.joint.clone();
        replay.noted = Some(Vec::new());
        let mut steps: Vec<(Moment, Step)> = Vec::new();
        let told = past.entries.partition_point(|entry| entry.at <= until);
        let entries = past.entries[..told].iter().enumerate();
        // Uses are spread over their hours already.
        let idle =
            |event: &Event| matches!(event, Event::Use { .. } | Event::Outlook(_) | Event::Note(_));
        for (index, entry) in entries.filter(|(_, entry)| !idle(&entry.event)) {
            replay.advance(entry.at);
            let noted = replay.noted.replace(Vec::new()).unwrap_or_default();
            steps.extend(noted.into_iter().map(|step| (entry.at, step)));
            steps.push((entry.at, Step::Pass(replay.sums.take())));
            steps.push((entry.at, Step::Entry(index)));
        }
        Trial { past, beliefs, steps }
    }

    /// Hears the suspicions about these stocks, each as if it had begun at each of the starts,
    /// which are in time order. Only these stocks are replayed.
    pub fn hear(
        &self,
        stocks: &[&str],
        suspicions: &[Suspicion],
        starts: &[Moment],
    ) -> Vec<Outcome> {
        let mut mechanism = Mechanism::of(&only(&self.past.parts, stocks));
        let unexplained: Vec<usize> =
            stocks.iter().filter_map(|name| suspect(&mut mechanism, name, 1.0)).collect();
        let count = mechanism.stocks().len();
        let of = |suspicion: &Suspicion| {
            let place = stocks.iter().position(|name| *name == suspicion.stock)?;
            unexplained.get(place).map(|coefficient| count + coefficient)
        };
        let mut replay = Replay::begin(self.past, &mechanism, &self.beliefs.habits);
        let mut next = 0;
        for (at, step) in &self.steps {
            while next < starts.len() && starts[next] < *at {
                replay.apply();
                for (index, suspicion) in suspicions.iter().enumerate() {
                    if let Some(place) = of(suspicion) {
                        let tag = next * suspicions.len() + index;
                        replay.joint.put_up(tag, place, suspicion.per_day);
                    }
                }
                next += 1;
            }
            match step {
                Step::Pass(sums) => replay.sums.add(sums),
                Step::Kit(date) => {
                    replay.apply();
                    replay.put_stocks_of(*date);
                }
                Step::Entry(index) => {
                    let entry = &self.past.entries[*index];
                    replay.take(entry.at, &entry.event);
                }
            }
        }
        let outcome = |rival: &super::rivals::Rival| {
            let (start, suspicion) = (rival.tag / suspicions.len(), rival.tag % suspicions.len());
            let per_day = rival.joint.estimate(of(&suspicions[suspicion])?);
            Some(Outcome { suspicion, start, evidence: rival.evidence, per_day })
        };
        replay.joint.rivals.iter().filter_map(outcome).collect()
    }
}

/// The parts with these stocks alone, and with heat but no electricity.
fn only(parts: &Parts, stocks: &[&str]) -> Parts {
    let mut parts = parts.clone();
    parts.stocks =
        stocks.iter().filter_map(|name| parts.stock(name).map(|s| s.1.clone())).collect();
    parts.electrics = None;
    parts.heating = parts.heating.take().filter(|heating| {
        heating.burns.as_ref().is_some_and(|burns| stocks.contains(&burns.as_str()))
    });
    parts
}

/// Adds a change that nothing explains, of 0 times `scale` a day, and returns its coefficient.
pub fn suspect(mechanism: &mut Mechanism, stock: &str, scale: f64) -> Option<usize> {
    let (stock, known) = mechanism.parts.stock(stock)?;
    let (what, unit) = (format!("{} unexplained", known.name), known.unit.word().to_string());
    let source = Source::Driver(Driver::Day);
    let nature = Nature::Positive { spread: 0.0 };
    let coefficient = mechanism.add(Coefficient::new(what, unit, source, 0.0, nature));
    mechanism.flows.push(Flow { stock, source, coefficient, share: None, scale });
    Some(coefficient)
}
