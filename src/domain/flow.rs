//! Flows: what an activity, or the van by itself, takes from stocks and gives to them.
//!
//! One form serves everything that moves a stock by an amount per occurrence: a shower, the
//! day's unlogged water, a drive's alternator charge, a generator hour that burns diesel. What
//! depends on sun or cold (panels, heater, fridge) is described in `rig` and joins the same
//! stocks in the forecast.

use super::unit::Unit;

/// What one flow does to one stock, per occurrence of its process.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// The stock it acts on.
    pub stock: String,
    /// How much.
    pub measure: Measure,
    /// For water drawn: the temperature that it is heated to, in degrees Celsius.
    pub warmed_to_c: Option<f64>,
    /// For electricity drawn: it passes the inverter, with its loss.
    pub through_inverter: bool,
}

/// The size of a move.
#[derive(Debug, Clone, PartialEq)]
pub enum Measure {
    /// Signed amount in the stock's unit: negative is taken, positive is given.
    /// `spread` is the standard deviation of its logarithm; 0 = exactly known.
    Amount {
        /// Signed amount per occurrence.
        per_time: f64,
        /// Log standard deviation of what we believe, at least 0.
        spread: f64,
    },
    /// A share of what the same process takes from another stock arrives here.
    ShareOf {
        /// The stock that the same process draws from.
        stock: String,
        /// Share in `[0, 1]`.
        share: f64,
        /// Standard deviation of the share, at least 0.
        spread: f64,
    },
}

/// Whether a habit grows with the people aboard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Per {
    /// Each person does it (showers).
    Person,
    /// The van as a whole does it (a wash-up, a cooked meal).
    Van,
}

/// Something people do and log.
#[derive(Debug, Clone, PartialEq)]
pub struct Activity {
    /// Its name in the singular, unique in the rig.
    pub name: String,
    /// Its plural, as an echo writes it for amounts other than one.
    pub plural: String,
    /// Other words that mean it in a log line.
    pub also: Vec<String>,
    /// What is counted: times, minutes, hours, uses.
    pub counted_in: Unit,
    /// Usual occurrences a day (per person or per van, in `counted_in`) before the journal
    /// knows better; at least 0.
    pub usual_per_day: f64,
    /// Log standard deviation of `usual_per_day`.
    pub usual_spread: f64,
    /// Whether guests do it too.
    pub per: Per,
    /// When in the day it usually happens: `(hour 0..24, weight)`; empty = waking hours.
    pub hours: Vec<(u8, f64)>,
    /// What one occurrence does to the stocks.
    pub moves: Vec<Move>,
}

impl Activity {
    /// Whether it is told by how long it was done, not by how often.
    pub fn is_timed(&self) -> bool {
        matches!(self.counted_in, Unit::Hour | Unit::Minute)
    }
}

/// What drives a flow that nobody logs occurrence by occurrence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Driver {
    /// Each person aboard, each day.
    PersonDay,
    /// Each day.
    Day,
    /// Each hour driven.
    DriveHour,
    /// Each kilometre driven.
    DriveKm,
    /// Each hour that a generator runs.
    GeneratorHour,
    /// Each hour on shore power.
    ShoreHour,
}

impl Driver {
    /// Whether its amount is how many hours something went on for.
    pub fn is_by_the_hour(self) -> bool {
        matches!(self, Driver::DriveHour | Driver::GeneratorHour | Driver::ShoreHour)
    }
}

/// Base use: a flow that goes on without being logged.
#[derive(Debug, Clone, PartialEq)]
pub struct BaseUse {
    /// Its name, unique among base uses.
    pub name: String,
    /// What it goes with.
    pub per: Driver,
    /// When in the day it goes on, by the person or by the day: `(hour 0..24, weight)`; empty = as
    /// is usual for what it moves.
    pub hours: Vec<(u8, f64)>,
    /// What one unit of the driver does to the stocks.
    pub moves: Vec<Move>,
}
