//! Hypotheses beside each other: that what was written explains everything, and others, each with
//! one change that nothing explains. All see the same readings; how much better one foretold them
//! is the evidence for it.

use crate::belief::joint::{Fit, Joint, Observation};
use crate::domain::estimate::Estimate;

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
    /// Adds an alternative that believes the same as the main one, but for quantity `i`.
    pub fn add(&mut self, tag: (usize, usize), i: usize, believed: Estimate) {
        let mut joint = self.main.clone();
        joint.reset(i, believed);
        self.alternatives.push(Alternative { joint, tag, log_likelihood_ratio: 0.0 });
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
}
