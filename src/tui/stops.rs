//! A trip that is thought of: the values a person sets, and the schedule as it is found.

use super::form::{Form, Range};
use super::host::Asking;
use super::pending::Pending;
use crate::domain::time::{Moment, Zone};
use crate::forecast::answer::Options;
use crate::plan::stops::Progress;
use crate::plan::stops::answer::{Against, CERTAINTY};
use crate::plan::stops::answer::{Trip, TripRequest};
use crate::plan::suppose::Suppose;

/// A value that can be set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// Days of the trip.
    Days,
    /// Days until it begins, everything serviced then; 0 = now, with levels as they are.
    From,
    /// How sure to be, in percent.
    Sure,
    /// People aboard; 0 = as the journal says and plans.
    People,
    /// People beside those.
    Guests,
    /// Camps: 0 = as planned in the journal, 1 = the van stays around here.
    Camps,
}

impl Field {
    /// All, in the order of the screen.
    pub const ALL: [Field; 6] =
        [Field::Days, Field::From, Field::Sure, Field::Camps, Field::People, Field::Guests];

    /// What it can be.
    pub fn range(self) -> Range {
        let range = |low, high, grain, start| Range { low, high, grain, start };
        match self {
            Field::Days => range(1.0, 45.0, 1.0, 14.0),
            Field::From => range(0.0, 21.0, 1.0, 0.0),
            Field::Sure => range(50.0, 99.0, 5.0, 90.0),
            Field::People | Field::Guests => range(0.0, 12.0, 1.0, 0.0),
            Field::Camps => range(0.0, 1.0, 1.0, 0.0),
        }
    }
}

/// Values set, and the schedule found.
#[derive(Debug, Clone, PartialEq)]
pub struct Planner {
    /// Values that were set, and the one that keys change.
    pub form: Form<Field>,
    /// The question and its answer.
    pub asked: Pending<Trip>,
    /// How far the search is.
    pub so_far: Option<SoFar>,
    /// Whether other plans are set beside it.
    pub compares: bool,
}

/// How far a search is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SoFar {
    /// Seconds since it began.
    pub seconds: u64,
    /// What is known.
    pub progress: Progress,
}

impl Default for Planner {
    fn default() -> Planner {
        Planner {
            form: Form::new(Field::Days),
            asked: Pending::default(),
            so_far: None,
            compares: false,
        }
    }
}

impl Planner {
    /// A value, set or not.
    pub fn value(&self, field: Field) -> f64 {
        self.form.get(field).unwrap_or(field.range().start)
    }

    /// It is asked anew; returns its number.
    pub fn begin(&mut self) -> u64 {
        self.so_far = None;
        self.asked.begin()
    }

    /// Whether the search has found any schedule so far.
    pub(super) fn has_found(&self) -> bool {
        self.so_far.is_some_and(|so_far| so_far.progress.found.is_some())
    }

    /// The search got further.
    pub fn searched(&mut self, generation: u64, so_far: SoFar) {
        if generation == self.asked.generation && self.asked.working {
            self.so_far = Some(so_far);
        }
    }

    /// Sets the chosen value from words, which may name a day so many `days` ahead.
    ///
    /// # Errors
    /// What was expected.
    pub(super) fn type_in(&mut self, text: &str, days: Option<i64>) -> Result<(), String> {
        let field = self.form.chosen();
        let range = field.range();
        let text = match (field, days) {
            (Field::From, Some(days)) => days.to_string(),
            _ => text.to_string(),
        };
        match text.trim().trim_end_matches('%').trim().parse::<f64>() {
            Ok(number) if (range.low..=range.high).contains(&number) => {
                self.form.put(field, number.round(), range);
                Ok(())
            }
            _ => Err(expects(field)),
        }
    }

    /// When the van sets out, everything serviced: 10:00 of that day; `None` = now, as it is.
    pub fn from(&self, now: Moment, zone: Zone) -> Option<Moment> {
        super::stretch::morning_after(self.value(Field::From) as u64, now, zone)
    }

    /// Plans to set beside this one: surer and less sure, a stop more, a day longer, and each place
    /// of the answer closed.
    fn others(&self) -> Vec<Against> {
        let stops = self.asked.answer.iter().flat_map(|trip| &trip.stops);
        let mut places: Vec<usize> = stops.map(|stop| stop.place).collect();
        places.sort_unstable();
        places.dedup();
        let closed = places.into_iter().map(Against::Without);
        CERTAINTY.into_iter().chain([Against::OneMore, Against::Longer]).chain(closed).collect()
    }

    /// What is asked. The days until it begins are part of the trip.
    pub fn asking(&self, now: Moment, zone: Zone, options: &Options) -> Asking<TripRequest> {
        let (people, guests) = (self.value(Field::People), self.value(Field::Guests));
        Asking {
            request: TripRequest {
                days: (self.value(Field::Days) + self.value(Field::From)) as u32,
                confidence: self.value(Field::Sure) / 100.0,
                crew: (people > 0.0).then_some(people + guests),
                lives: options.lives,
                seed: options.seed,
                against: if self.compares { self.others() } else { Vec::new() },
            },
            suppose: Suppose {
                guests: if people > 0.0 { 0.0 } else { guests },
                stay: self.value(Field::Camps) == 1.0,
                serviced: self.from(now, zone).map(|at| (at, SERVICED.to_string())),
                ..Suppose::default()
            },
        }
    }
}

/// The remark of a service that is supposed.
const SERVICED: &str = "everything serviced on setting out";

/// What can be typed into a field.
pub fn expects(field: Field) -> String {
    let range = field.range();
    match field {
        Field::Camps => "0 as planned, 1 around here".to_string(),
        Field::From => super::stretch::days_ahead(range),
        _ => format!("a number from {} to {}", range.low, range.high),
    }
}
