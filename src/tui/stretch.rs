//! A stretch that is thought of: the values a person sets, and the answer to them as it comes.

use crate::domain::time::{Moment, Zone};
use crate::forecast::answer::Options;
use crate::plan::{Request, Stretch};
use chrono::{Days, NaiveTime};
use std::sync::Arc;

/// A value that can be set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Field {
    /// Nights without service.
    Nights,
    /// Days until it begins; 0 = now.
    From,
    /// People aboard; 0 = as the journal says and plans.
    People,
    /// Whether everything is serviced first; 1 = yes.
    FillFirst,
    /// How sure to be, in percent.
    Sure,
}

impl Field {
    /// All, in the order of the screen.
    pub const ALL: [Field; 5] =
        [Field::Nights, Field::From, Field::People, Field::FillFirst, Field::Sure];

    /// Lowest and highest value, and how far one key press goes.
    fn range(self) -> (u32, u32, u32) {
        match self {
            Field::Nights => (1, 30, 1),
            Field::From => (0, 21, 1),
            Field::People => (0, 12, 1),
            Field::FillFirst => (0, 1, 1),
            Field::Sure => (50, 99, 5),
        }
    }
}

/// Values set, the one that keys change, and what was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Planner {
    values: [u32; 5],
    /// Index into [`Field::ALL`] of the value that keys change.
    pub field: usize,
    /// Digits typed into it so far.
    typed: Option<u32>,
    /// Number of the question asked last.
    pub generation: u64,
    /// Whether its answer is still incomplete.
    pub working: bool,
    /// The answer to that question, or to an earlier one until it comes.
    pub answer: Option<Arc<Stretch>>,
    /// Whether the answer belongs to the values as they stand.
    pub current: bool,
}

impl Default for Planner {
    fn default() -> Planner {
        Planner {
            values: [3, 0, 0, 0, 90],
            field: 0,
            typed: None,
            generation: 0,
            working: false,
            answer: None,
            current: false,
        }
    }
}

impl Planner {
    /// A value.
    pub fn value(&self, field: Field) -> u32 {
        self.values[field as usize]
    }

    /// Chooses the value that keys change.
    pub fn choose(&mut self, field: usize) {
        self.field = field.min(Field::ALL.len() - 1);
        self.typed = None;
    }

    /// The chosen value goes up, or down; in the grain of its steps. Whether that changed it.
    pub fn step(&mut self, up: bool) -> bool {
        let (_, _, grain) = Field::ALL[self.field].range();
        let value = self.values[self.field];
        let next = match (up, value % grain) {
            (true, past) => value + grain - past,
            (false, 0) => value.saturating_sub(grain),
            (false, past) => value - past,
        };
        self.typed = None;
        self.set(next)
    }

    /// A digit is typed behind those typed before. Whether that changed the value.
    pub fn digit(&mut self, digit: u32) -> bool {
        let typed = (self.typed.unwrap_or(0) % 100) * 10 + digit;
        self.typed = Some(typed);
        self.set(typed)
    }

    fn set(&mut self, value: u32) -> bool {
        let (low, high, _) = Field::ALL[self.field].range();
        let before = std::mem::replace(&mut self.values[self.field], value.clamp(low, high));
        before != self.values[self.field]
    }

    /// When the stretch begins: 10:00 of its first day; `None` = now.
    pub fn from(&self, now: Moment, zone: Zone) -> Option<Moment> {
        let days = self.value(Field::From);
        let date = zone.date(now).checked_add_days(Days::new(u64::from(days)))?;
        let morning = NaiveTime::from_hms_opt(10, 0, 0)?;
        (days > 0).then(|| zone.moment(date.and_time(morning)))
    }

    /// What is asked.
    pub fn request(&self, now: Moment, zone: Zone, options: &Options) -> Request {
        let people = self.value(Field::People);
        Request {
            from: self.from(now, zone),
            crew: (people > 0).then(|| f64::from(people)),
            fill_first: self.value(Field::FillFirst) == 1,
            confidence: f64::from(self.value(Field::Sure)) / 100.0,
            lives: options.lives,
            seed: options.seed,
            ..Request::nights(self.value(Field::Nights))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_stay_within_what_can_be_asked() {
        let mut planner = Planner::default();
        assert!(planner.digit(1) && planner.digit(2));
        assert_eq!(planner.value(Field::Nights), 12);
        planner.digit(9);
        assert_eq!(planner.value(Field::Nights), 30);
        assert!(!planner.step(true) && planner.step(false));
        assert_eq!(planner.value(Field::Nights), 29);
        planner.choose(4);
        planner.digit(9);
        assert_eq!(planner.value(Field::Sure), 50);
        planner.digit(7);
        assert_eq!(planner.value(Field::Sure), 97);
        assert!(planner.step(false));
        assert_eq!(planner.value(Field::Sure), 95);
        (0..20).for_each(|_| _ = planner.step(true));
        assert_eq!(planner.value(Field::Sure), 99);
        planner.choose(99);
        assert_eq!(planner.field, 4);
    }
}
