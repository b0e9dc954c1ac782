//! What an entry says in the units of the model: the levels that a reading stands for, how far
//! they lay from what was expected, and how much of which source a use, a drive or a charge is.

use super::practice::LONGEST_RUN_H;
use crate::domain::{
    Amount, ChargeSource, Driver, Estimate, Event, Moment, Parts, Quantity, Standing, Stock, Unit,
};
use crate::mechanism::driver::Source;
use chrono::Duration;

/// `quantity` in the stock's unit; percent is of its capacity. `None` when it does not convert.
pub fn in_unit(quantity: &Quantity, stock: &Stock, volts: Option<f64>) -> Option<f64> {
    let value = quantity.amount.value();
    match quantity.unit {
        Unit::Percent => Some(value / 100.0 * stock.capacity),
        _ => quantity.unit.factor_to(&stock.unit, volts).map(|factor| value * factor),
    }
}

/// The levels that a reading stands for, in the stock's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelsRead {
    /// The least.
    pub low: f64,
    /// The greatest.
    pub high: f64,
    /// Whether somebody estimated it, since no gauge shows such a level.
    pub guessed: bool,
}

/// What a reading of a stock stands for. `step` is the gauge's, if the entry tells it. `None` when
/// the reading does not convert.
pub fn levels_read(
    stock: &Stock,
    reading: &Quantity,
    step: Option<f64>,
    volts: Option<f64>,
) -> Option<LevelsRead> {
    let share = in_unit(reading, stock, volts)? / stock.capacity;
    let half = half_digit(stock, reading, volts) / stock.capacity;
    let (low, high) = stock.gauge.interval(share, step, half);
    let guessed = step.is_none() && !stock.gauge.shows(share);
    Some(LevelsRead { low: low * stock.capacity, high: high * stock.capacity, guessed })
}

/// A reading's innovation: how far it lay from what was expected of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Innovation {
    /// When.
    pub at: Moment,
    /// The reading before it, or its own moment for the first.
    pub since: Moment,
    /// Middle of what was read minus what was expected, in the stock's unit.
    pub amount: f64,
    /// Standard deviation that was expected of it.
    pub sd: f64,
    /// How probable the reading was. Of an exact amount, its density over a width that depends
    /// on the reading alone. Of the electric store, give or take what its gauge is off by.
    pub likelihood: f64,
}

/// A reading that nothing explains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outlier {
    /// Index of the stock.
    pub stock: usize,
    /// When it was read.
    pub at: Moment,
    /// The level that was expected, in the stock's unit.
    pub expected: Estimate,
}

/// The levels that a quantity stands for as it was written, whatever the gauge, in the stock's
/// unit: half of its last digit to either side.
pub fn as_written(stock: &Stock, level: &Quantity, volts: Option<f64>) -> (f64, f64) {
    let value = in_unit(level, stock, volts).unwrap_or(0.0);
    let half = half_digit(stock, level, volts);
    ((value - half).max(0.0), (value + half).min(stock.capacity))
}

/// Half of the last digit written, in the stock's unit.
fn half_digit(stock: &Stock, reading: &Quantity, volts: Option<f64>) -> f64 {
    let milli = reading.amount.milli();
    let last_digit = [10_000, 1000, 100, 10].into_iter().find(|d| milli % d == 0).unwrap_or(1);
    // Tens of per cent count as written to the nearest ten; litres to the nearest one.
    let last_digit = match (&reading.unit, last_digit) {
        (Unit::Percent, digit) => digit,
        (_, 10_000) => 1000,
        (_, digit) => digit,
    };
    let digit =
        Quantity::new(Amount::from_milli(last_digit).unwrap_or_default(), reading.unit.clone());
    in_unit(&digit, stock, volts).unwrap_or(0.0) / 2.0
}

/// What an event exposes: its source and the amount, in the unit that the flows are per.
pub fn exposure_of(event: &Event, parts: &Parts) -> Option<(Source, f64)> {
    let hours = |q: &Quantity| q.unit.factor_to(&Unit::Hour, None).map(|f| q.amount.value() * f);
    match event {
        Event::Use { activity, count } => {
            let (index, known) = parts.activity(activity)?;
            let factor = count.unit.factor_to(&known.counted_in, None)?;
            Some((Source::Activity(index), count.amount.value() * factor))
        }
        Event::Drive(driven) => match hours(driven) {
            Some(hours) => Some((Source::Driver(Driver::DriveHour), hours)),
            None => {
                let factor = driven.unit.factor_to(&Unit::Kilometre, None)?;
                Some((Source::Driver(Driver::DriveKm), driven.amount.value() * factor))
            }
        },
        Event::Charge { source, amount } => {
            let driver = match source {
                ChargeSource::Shore => Driver::ShoreHour,
                ChargeSource::Generator => Driver::GeneratorHour,
            };
            hours(amount).map(|hours| (Source::Driver(driver), hours))
        }
        _ => None,
    }
}

/// What an event exposes at the moment it is told: a drive in kilometres. Uses may have been
/// hours before, and what is told in hours took that long; both are spread over their hours.
pub fn at_once(event: &Event, parts: &Parts) -> Option<(Source, f64)> {
    let exposed = exposure_of(event, parts);
    exposed
        .filter(|(source, _)| matches!(source, Source::Driver(driver) if !driver.is_by_the_hour()))
}

/// Something that went on for as long as its amount says: so many hours of driving, on shore
/// power, of a generator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriverRun {
    /// What it drives, by the hour.
    pub driver: Driver,
    /// When it began.
    pub begins: Moment,
    /// How long it lasts, in hours.
    pub hours: f64,
}

/// The run that an entry is, if it is one. A plan begins at its time; what is written down when it
/// happened, or afterwards, ends there.
pub fn run_of(entry: &Standing, parts: &Parts) -> Option<DriverRun> {
    let Some((Source::Driver(driver), hours)) = exposure_of(&entry.event, parts) else {
        return None;
    };
    if !driver.is_by_the_hour() || hours <= 0.0 {
        return None;
    }
    let hours = hours.min(LONGEST_RUN_H);
    let lasts = Duration::milliseconds((hours * 3_600_000.0) as i64);
    let begins = if entry.recorded < entry.at { entry.at } else { entry.at - lasts };
    Some(DriverRun { driver, begins, hours })
}
