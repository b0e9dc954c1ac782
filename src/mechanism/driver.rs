//! What drives a flow, and how much of each driver an interval holds.

use crate::domain::flow::Driver;

/// What drives a flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Occurrences of the activity of that index.
    Activity(usize),
    /// A driver that nobody logs occurrence by occurrence.
    Driver(Driver),
    /// Sun or cold: not a linear flow.
    Climate,
}

/// All drivers, in the order of [`Exposure::drivers`].
pub const DRIVERS: [Driver; 6] = [
    Driver::PersonDay,
    Driver::Day,
    Driver::DriveHour,
    Driver::DriveKm,
    Driver::GeneratorHour,
    Driver::ShoreHour,
];

/// Position of a driver in [`DRIVERS`].
pub fn position(driver: Driver) -> usize {
    DRIVERS.iter().position(|d| *d == driver).unwrap_or(0)
}

/// How much of every source an interval of time holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Exposure {
    /// Occurrences per activity.
    pub activities: Vec<f64>,
    /// Variance of those occurrences: what may have happened without being logged.
    pub unlogged_variance: Vec<f64>,
    /// Amount per driver, in the order of [`DRIVERS`].
    pub drivers: [f64; 6],
}

impl Exposure {
    /// Nothing, for a rig with that many activities.
    pub fn none(activities: usize) -> Exposure {
        Exposure {
            activities: vec![0.0; activities],
            unlogged_variance: vec![0.0; activities],
            drivers: [0.0; 6],
        }
    }

    /// How much of one source it holds.
    pub fn of(&self, source: Source) -> f64 {
        match source {
            Source::Activity(index) => self.activities[index],
            Source::Driver(driver) => self.drivers[position(driver)],
            Source::Climate => 0.0,
        }
    }

    /// The interval grows by another one.
    pub fn add(&mut self, other: &Exposure) {
        let pairs = |own: &mut [f64], more: &[f64]| {
            own.iter_mut().zip(more).for_each(|(own, more)| *own += more);
        };
        pairs(&mut self.activities, &other.activities);
        pairs(&mut self.unlogged_variance, &other.unlogged_variance);
        pairs(&mut self.drivers, &other.drivers);
    }

    /// Empties it for the next interval.
    pub fn clear(&mut self) {
        self.activities.fill(0.0);
        self.unlogged_variance.fill(0.0);
        self.drivers = [0.0; 6];
    }
}

/// Share of a day's person-bound base use that falls in each civil hour: people drink, wash
/// hands and go to the toilet mostly while awake (7 to 23 h); nights count a quarter as much.
/// Common practice, no source.
pub fn person_hour_share(hour: usize) -> f64 {
    const NIGHT: f64 = 0.25;
    const WHOLE: f64 = 16.0 + 8.0 * NIGHT;
    if (7..23).contains(&(hour % 24)) { 1.0 / WHOLE } else { NIGHT / WHOLE }
}

/// Chance that an occurrence of an activity falls in each civil hour, from the hours that the
/// rig names for it; waking hours when it names none.
pub fn hour_shares(hours: &[(u8, f64)]) -> [f64; 24] {
    let mut shares = [0.0; 24];
    for (hour, weight) in hours {
        shares[usize::from(*hour) % 24] += weight;
    }
    let sum: f64 = shares.iter().sum();
    if sum <= 0.0 {
        for (hour, share) in shares.iter_mut().enumerate() {
            *share = if (7..23).contains(&hour) { 1.0 / 16.0 } else { 0.0 };
        }
        return shares;
    }
    shares.map(|share| share / sum)
}
