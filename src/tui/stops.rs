//! A trip that is thought of: the values a person sets, and the schedule as it is found.

use super::Pending;
use super::host::Asking;
use super::values::{Field, Values};
use crate::domain::{Moment, Zone};
use crate::forecast::Options;
use crate::plan::stops::answer::{Against, CERTAINTY};
use crate::plan::{Progress, Suppose, Trip, TripRequest};

/// Values set, and the schedule found.
#[derive(Debug, Clone, PartialEq)]
pub struct TripPlanner {
    /// The values.
    pub values: Values,
    /// The question and its answer.
    pub asked: Pending<Trip>,
    /// How far the search is.
    pub so_far: Option<SoFar>,
    /// Whether other plans are set beside it.
    pub compares: bool,
}

/// How far a search is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoFar {
    /// Seconds since it began.
    pub seconds: u64,
    /// What is known.
    pub progress: Progress,
}

impl Default for TripPlanner {
    fn default() -> TripPlanner {
        TripPlanner {
            values: Values::new(Field::Days),
            asked: Pending::default(),
            so_far: None,
            compares: false,
        }
    }
}

impl TripPlanner {
    /// It is asked anew; returns its number.
    pub fn begin(&mut self) -> u64 {
        self.so_far = None;
        self.asked.begin()
    }

    /// Whether the search has found any schedule so far.
    pub(super) fn has_found(&self) -> bool {
        let known = self.so_far.map(|so_far| so_far.progress);
        known.is_some_and(|progress| progress.found.is_some() || progress.beside.is_some())
    }

    /// The other plan that it was last looking for, and of how many.
    pub(super) fn comparing(&self) -> Option<(usize, usize)> {
        let (_, number, of) = self.so_far?.progress.beside?;
        Some((number, of))
    }

    /// The search got further.
    pub fn searched(&mut self, generation: u64, so_far: SoFar) {
        if generation == self.asked.generation && self.asked.working {
            self.so_far = Some(so_far);
        }
    }

    /// Plans to set beside this one: surer and less sure, a stop more, a day longer, and each place
    /// of the answer closed.
    fn others(&self) -> Vec<Against> {
        let stops = self.asked.answer.iter().flat_map(|trip| &trip.stops);
        let mut places: Vec<usize> = stops.flat_map(|stop| stop.places()).collect();
        places.sort_unstable();
        places.dedup();
        let closed = places.into_iter().map(Against::Without);
        CERTAINTY.into_iter().chain([Against::OneMore, Against::Longer]).chain(closed).collect()
    }

    /// What is asked. The days until it begins, everything serviced then, are part of the trip.
    pub fn asking(&self, now: Moment, zone: Zone, options: &Options) -> Asking<TripRequest> {
        let values = &self.values;
        let (crew, suppose) = values.crew();
        Asking {
            request: TripRequest {
                days: (values.value(Field::Days) + values.value(Field::From)) as u32,
                confidence: values.value(Field::Sure) / 100.0,
                crew,
                lives: options.lives,
                seed: options.seed,
                against: if self.compares { self.others() } else { Vec::new() },
            },
            suppose: Suppose {
                stay: values.value(Field::Camps) == 1.0,
                serviced: values.from(now, zone).map(|at| (at, SERVICED.to_string())),
                ..suppose
            },
        }
    }
}

/// The remark of a service that is supposed.
const SERVICED: &str = "everything serviced on setting out";
