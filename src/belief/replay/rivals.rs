//! The belief that the crew's entries explain everything, and rival beliefs beside it, each with
//! one change that nothing explains. All see the same readings; how much better a rival foretold
//! them is the evidence for it.

use super::super::joint::{Fit, Joint, Observation};
use crate::domain::estimate::Estimate;

/// A rival belief.
#[derive(Debug, Clone)]
pub(super) struct Rival {
    pub joint: Joint,
    /// Which one it is, to whoever put it up.
    pub tag: usize,
    /// Logarithm of how many times more probable the readings were to it, since it was put up.
    pub evidence: f64,
}

/// The main belief and its rivals.
#[derive(Debug, Clone)]
pub(super) struct Rivals {
    pub main: Joint,
    pub rivals: Vec<Rival>,
}

impl Rivals {
    pub fn alone(main: Joint) -> Rivals {
        Rivals { main, rivals: Vec::new() }
    }

    /// A rival that believes the same as the main one, but for quantity `i`.
    pub fn put_up(&mut self, tag: usize, i: usize, believed: Estimate) {
        let mut joint = self.main.clone();
        joint.reset(i, believed);
        self.rivals.push(Rival { joint, tag, evidence: 0.0 });
    }

    pub fn each(&mut self, mut act: impl FnMut(&mut Joint)) {
        act(&mut self.main);
        self.rivals.iter_mut().for_each(|rival| act(&mut rival.joint));
    }

    pub fn observe(&mut self, i: usize, seen: Observation) -> Fit {
        let fit = self.main.observe(i, seen);
        for rival in &mut self.rivals {
            let likelihood = rival.joint.observe(i, seen).likelihood;
            rival.evidence += (likelihood / fit.likelihood).ln();
        }
        fit
    }

    pub fn reset(&mut self, i: usize, to: Estimate) {
        self.each(|joint| joint.reset(i, to));
    }

    pub fn shift(&mut self, i: usize, amount: f64, slopes: &[(usize, f64)]) {
        self.each(|joint| joint.shift(i, amount, slopes));
    }

    pub fn disturb(&mut self, direction: &[(usize, f64)], variance: f64) {
        self.each(|joint| joint.disturb(direction, variance));
    }

    pub fn clamp(&mut self, i: usize, low: f64, high: f64) {
        self.each(|joint| joint.clamp(i, low, high));
    }
}
