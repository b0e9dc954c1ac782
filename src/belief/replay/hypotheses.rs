//! Hypotheses beside each other: that what was written explains everything, and others, each with
//! one change that nothing explains. All see the same readings; how much better one foretold them
//! is the evidence for it.

use crate::belief::joint::{Fit, Joint, Observation};
use crate::belief::manner::{Manner, MannerNumber};
use crate::belief::practice::{CARELESS, FEW_DAYS, HOPELESS, OUTGOING, OVERDUE};
use crate::domain::{Direction, Estimate, Stock};
use std::rc::Rc;

/// A hypothesis beside the main one.
#[derive(Debug, Clone)]
pub(super) struct Alternative {
    pub joint: Joint,
    /// Which one it is, to whoever added it: index of its start, and of the hypothesis.
    pub tag: (usize, usize),
    /// Logarithm of how many times more probable the readings since were to it than to the main
    /// one.
    pub log_likelihood_ratio: f64,
}

/// The main hypothesis and the alternatives.
#[derive(Debug, Clone)]
pub(super) struct Hypotheses {
    pub main: Joint,
    pub alternatives: Vec<Alternative>,
}

impl Hypotheses {
    /// Adds an alternative that believes the same as the main one, but for some quantities; `odds`
    /// are how many times as probable as the main one it is before any reading.
    pub fn add(&mut self, tag: (usize, usize), odds: f64, believed: &[(usize, Estimate)]) {
        let mut joint = self.main.clone();
        believed.iter().for_each(|(i, estimate)| joint.reset(*i, *estimate));
        self.alternatives.push(Alternative { joint, tag, log_likelihood_ratio: odds.ln() });
    }

    /// Adds other kinds of crews to the usual one: that write little, that are out on the days of
    /// which they tell nothing, and both. Where there are hardly any such days (their number is
    /// `untold`), nothing would tell the latter apart.
    pub fn suppose(&mut self, untold: f64) {
        let place = |what: MannerNumber| what.place(self.main.size());
        let crews =
            |(mean, sd, share): (f64, f64, f64)| (Estimate { mean, sd }, share / (1.0 - share));
        let (careless, few) = crews(CARELESS);
        let (outgoing, some) = crews(OUTGOING);
        let careless = (place(MannerNumber::Unwritten), careless);
        let outgoing = (place(MannerNumber::AtHome), outgoing);
        if untold < FEW_DAYS {
            self.main.reset(outgoing.0, Manner::ASSUMED.at_home);
            return self.add((0, 0), few, &[careless]);
        }
        self.add((0, 0), few, &[careless]);
        self.add((0, 1), some, &[outgoing]);
        self.add((0, 2), few * some, &[careless, outgoing]);
    }

    /// Makes the most probable one the main one, and drops those that are out of the question.
    pub fn lead(&mut self) {
        self.alternatives.retain(|other| other.log_likelihood_ratio > -HOPELESS);
        let ratio = |of: &Alternative| of.log_likelihood_ratio;
        let best =
            self.alternatives.iter().map(ratio).enumerate().max_by(|a, b| a.1.total_cmp(&b.1));
        let Some((best, by)) = best.filter(|(_, by)| *by > 0.0) else { return };
        std::mem::swap(&mut self.main, &mut self.alternatives[best].joint);
        self.alternatives[best].log_likelihood_ratio = 0.0;
        self.alternatives.iter_mut().for_each(|other| other.log_likelihood_ratio -= by);
    }

    /// Makes one of all of them: the one law of their mean and variance.
    pub(super) fn merge(&mut self) {
        let mut all = 1.0;
        self.lead();
        for other in self.alternatives.drain(..) {
            let weight = other.log_likelihood_ratio.exp();
            all += weight;
            if weight > 1e-9 {
                self.main.mix(&other.joint, weight / all);
            }
        }
    }

    /// Does the same to all of them.
    pub fn each(&mut self, mut act: impl FnMut(&mut Joint)) {
        act(&mut self.main);
        self.alternatives.iter_mut().for_each(|other| act(&mut other.joint));
    }

    /// All of them see a reading; returns how it fared with the main one.
    pub(super) fn observe(&mut self, i: usize, seen: Observation) -> Fit {
        let fit = self.main.observe(i, seen);
        for other in &mut self.alternatives {
            let likelihood = other.joint.observe(i, seen).likelihood;
            other.log_likelihood_ratio += (likelihood / fit.likelihood).ln();
        }
        fit
    }

    /// All of them hear something that each foresaw with the probability that it gives back.
    pub(super) fn hear(&mut self, hear: impl Fn(&mut Joint) -> f64) {
        let main = hear(&mut self.main);
        for other in &mut self.alternatives {
            other.log_likelihood_ratio += (hear(&mut other.joint) / main).ln();
        }
    }

    /// All of them hear that stocks which should be out by now, as the main one has it, have lasted:
    /// the most overdue first, as what one teaches moves the others, and the file's order of stocks
    /// may not matter. The `electric` one's level is the ensemble's to tell.
    pub(super) fn hear_what_lasted(&mut self, stocks: &[Rc<Stock>], electric: Option<usize>) {
        let mut quiet: Vec<usize> = (0..stocks.len()).filter(|i| electric != Some(*i)).collect();
        loop {
            let rooms = quiet.iter().map(|i| room_in_sds(&stocks[*i], self.main.estimate(*i)));
            let nearest = rooms.enumerate().min_by(|a, b| a.1.total_cmp(&b.1));
            let Some((place, _)) = nearest.filter(|(_, room)| *room < OVERDUE) else { return };
            let i = quiet.swap_remove(place);
            let (runs, within) = (stocks[i].runs, (0.0, stocks[i].capacity));
            self.hear(|joint| joint.lasted(i, runs, within));
        }
    }
}

/// Standard deviations between a level and the end that its stock runs to, negative beyond it;
/// infinite for what is certain.
fn room_in_sds(stock: &Stock, level: Estimate) -> f64 {
    let room = match stock.runs {
        Direction::Down => level.mean,
        Direction::Up => stock.capacity - level.mean,
    };
    if level.sd > 0.0 { room / level.sd } else { f64::INFINITY }
}
