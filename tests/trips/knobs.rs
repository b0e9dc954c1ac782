//! What can be set about a simulated trip beyond its seed.
//!
//! The plain trips share some figures with the forecaster, so on them its assumptions are true by
//! construction: how an outlook's error grows with its lead, how long warm and cold spells last,
//! how far gauges and guesses are off, and the share of uses that nobody writes down. The knobs
//! take each of these elsewhere, one or all of them at a time.

use super::diary::Manner;
use super::dice::Dice;
use super::sky::PERSISTENCE;
use super::van::{Gauge, Life, Role, Van};

/// When uses are written down.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Writes {
    /// As the crew was drawn: half of them at once, half in the evening.
    AsDrawn,
    AtOnce,
    NextMorning,
}

/// What the gauges of everything but the battery are.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Gauges {
    AsDrawn,
    Step(f64),
    /// None, and nobody guesses.
    Nothing,
}

/// The time of year at which a trip begins.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Season {
    Any,
    /// In December, north of 45 degrees.
    Winter,
    /// In June, there too.
    Summer,
}

/// How much days may differ, over what is usual, and the share of crews of each: as the forecaster
/// supposes (common practice, no source).
const DAY_SPREADS: [(f64, f64); 6] =
    [(0.39, 0.15), (0.59, 0.2), (0.78, 0.3), (1.1, 0.2), (1.56, 0.1), (2.19, 0.05)];

/// Who is aboard.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum People {
    /// One to three adults, some with one or two children, whom the rig file counts like them.
    AsDrawn,
    /// The same without the children.
    Grown,
    /// So many adults.
    Adults(usize),
}

/// Everything that can be set.
#[derive(Clone, Debug)]
pub struct Knobs {
    /// Errors of outlooks, of gauges and guesses, as multiples of the plain ones.
    pub outlook_error: f64,
    pub gauge_error: f64,
    /// Day-to-day correlation of temperature.
    pub persistence: f64,
    /// Share of uses that nobody writes down; `None` = as the crew was drawn.
    pub forgets: Option<f64>,
    /// Chance that a whole day is lived as usual and goes by without a word.
    pub silent: f64,
    /// Chance that everyone is out all day, from midnight to midnight.
    pub out: f64,
    /// Chance that the battery is read at eight in the morning, beside what is read as drawn.
    pub breakfast: f64,
    pub life: Option<Life>,
    /// Whether one factor of the day is in all that people use, drawn for each crew as wide as the
    /// forecaster supposes of crews; else each thing differs by itself, and less.
    pub days_together: bool,
    /// Whether people do everything at the hours that the forecaster supposes.
    pub usual_hours: bool,
    /// Whether half of the crews write a guess as if a gauge in tenths had shown it.
    pub guesses_as_read: bool,
    pub writes: Writes,
    pub gauges: Gauges,
    pub people: People,
    pub season: Season,
}

impl Knobs {
    /// The plain trips.
    pub fn plain() -> Knobs {
        Knobs {
            outlook_error: 1.0,
            gauge_error: 1.0,
            persistence: PERSISTENCE,
            forgets: None,
            silent: 0.0,
            out: 0.0,
            breakfast: 0.0,
            life: None,
            days_together: false,
            usual_hours: false,
            guesses_as_read: true,
            writes: Writes::AsDrawn,
            gauges: Gauges::AsDrawn,
            people: People::AsDrawn,
            season: Season::Any,
        }
    }

    /// Plain trips on which every figure that they share with the forecaster is drawn anew for
    /// each of them: errors of outlooks and of gauges half to twice the plain ones, spells that
    /// last by 0.5 to 0.88 from day to day, none to 15 % of uses forgotten.
    pub fn scattered(seed: u64) -> Knobs {
        let mut dice = Dice::new(seed, 6);
        Knobs {
            outlook_error: 2f64.powf(dice.between(-1.0, 1.0)),
            gauge_error: 2f64.powf(dice.between(-1.0, 1.0)),
            persistence: dice.between(0.5, 0.88),
            forgets: Some(dice.between(0.0, 0.15)),
            ..Knobs::plain()
        }
    }

    /// Draws the van.
    pub(super) fn van(&self, dice: &mut Dice) -> Van {
        let mut van = match self.people {
            People::AsDrawn => Van::new(dice),
            People::Grown => {
                let adults = Van::adults(dice);
                Van::of(dice, adults, 0)
            }
            People::Adults(adults) => Van::of(dice, adults, 0),
        };
        van.out_all_day = self.out;
        van.usual_hours = self.usual_hours;
        for tank in van.tanks.iter_mut().filter(|tank| tank.role != Role::Battery) {
            match self.gauges {
                Gauges::AsDrawn => {}
                Gauges::Step(step) => tank.gauge = Gauge::Step(step),
                Gauges::Nothing => tank.gauge = Gauge::Blind,
            }
        }
        if self.days_together {
            let mut left = dice.aside().unit();
            let drawn = DAY_SPREADS.iter().find(|(_, share)| {
                left -= share;
                left < 0.0
            });
            van.days_together = drawn.map(|(spread, _)| *spread).or(Some(1.0));
        }
        if let Some(life) = self.life {
            van.life = life;
            // No moods, no weekdays, no wind: what is left is what the forecaster believes in.
            (van.mood_swing, van.windy, van.week) = (0.0, 0.0, [1.0; 7]);
            // As far from what the rig file says as it allows for.
            let mut aside = dice.aside();
            van.is.solids = van.says.solids * aside.factor(0.25);
            van.is.work_h = van.says.work_h * aside.factor(0.5);
        }
        van
    }

    /// The same in a crew's manner of keeping a diary.
    pub(super) fn put_into(&self, manner: &mut Manner) {
        manner.gauge_error = self.gauge_error;
        manner.says_step &= self.guesses_as_read;
        (manner.silent, manner.breakfast) = (self.silent, self.breakfast);
        if let Some(share) = self.forgets {
            // A day that is declared complete would hide that nothing is.
            (manner.forgets, manner.closes) = (share, 0.0);
        }
        match self.writes {
            Writes::AsDrawn => {}
            Writes::AtOnce => manner.in_one_go = false,
            Writes::NextMorning => (manner.in_one_go, manner.next_morning) = (true, true),
        }
    }
}
