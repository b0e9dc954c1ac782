//! What every question goes by.

use super::Beliefs;
use crate::domain::{Counts, Moment, Rig, Standing, Zone};

/// The van, its journal, what was learned from it, and the moment of the question.
#[derive(Clone, Copy)]
pub struct Basis<'a> {
    /// The rig, with its places.
    pub rig: &'a Rig,
    /// The entries that stand, past and planned, in order of time.
    pub standing: &'a [Standing],
    /// What is believed about levels, coefficients and habits at `now`.
    pub beliefs: &'a Beliefs,
    /// The moment that counts as now.
    pub now: Moment,
}

impl Basis<'_> {
    /// The van's time zone.
    pub fn zone(&self) -> Zone {
        self.rig.zone(self.now)
    }

    /// What the journal plans: entries that count as ahead.
    pub fn planned(&self) -> impl Iterator<Item = &Standing> {
        self.standing.iter().filter(|entry| entry.counts == Counts::Ahead)
    }
}
