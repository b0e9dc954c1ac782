//! Which trips a run is over.

use super::honesty::Honesty;
use super::knobs::Knobs;
use super::trial::{Effort, Trial, Without, trials};
use super::trip::{OTHER, Trip};
use rayon::prelude::*;

/// A set of trips.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Set {
    /// What the estimation may be tuned against.
    Tuning,
    /// What it may not.
    HeldOut,
    /// The other simulator's: other weather, dice, sizes and diaries, in the southern half of the
    /// world.
    Other,
    /// More of these, to tune against.
    OtherTuning,
    /// Trips on which no figure of the simulator is the forecaster's own: [`Knobs::scattered`].
    Scattered,
}

impl Set {
    pub const ALL: [Set; 5] =
        [Set::Tuning, Set::HeldOut, Set::Other, Set::OtherTuning, Set::Scattered];

    /// What it is called on a command line.
    pub fn name(self) -> &'static str {
        match self {
            Set::Tuning => "tuning",
            Set::HeldOut => "held-out",
            Set::Other => "other",
            Set::OtherTuning => "other-tuning",
            Set::Scattered => "scattered",
        }
    }

    /// Seed of its first trip.
    pub fn first(self) -> u64 {
        match self {
            Set::Tuning => 1000,
            Set::HeldOut => 9000,
            Set::Other => OTHER,
            Set::OtherTuning => OTHER + 5_000,
            Set::Scattered => 20_000,
        }
    }

    /// The trip of a seed.
    pub fn trip(self, seed: u64) -> Trip {
        match self {
            Set::Scattered => Trip::set(seed, &Knobs::scattered(seed)),
            _ => Trip::new(seed),
        }
    }

    /// Its first trips.
    pub fn seeds(self, count: u64) -> std::ops::Range<u64> {
        self.first()..self.first() + count
    }

    /// Puts all forecasters to its first trips, and compares what was learned with the truth.
    pub fn run(self, count: u64, effort: Effort, without: Without) -> (Vec<Trial>, Honesty) {
        let each = self.seeds(count).into_par_iter();
        let all: Vec<(Trip, Vec<Trial>)> = each
            .map(|seed| {
                let trip = self.trip(seed);
                let trials = trials(&trip, effort, without);
                (trip, trials)
            })
            .collect();
        let mut honesty = Honesty::default();
        for (trip, trials) in &all {
            if let Some(last) = trials.last() {
                honesty.add(trip, &last.learned);
            }
        }
        (all.into_iter().flat_map(|(_, trials)| trials).collect(), honesty)
    }
}
