//! What drives a flow, and how much of each driver an interval holds.

use super::practice::{AWAKE, NIGHT_SHARE, PUNCTUAL, RECALLED};
use crate::domain::Driver;
use crate::domain::time::NIGHT_ENDS;

/// What drives a flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// Occurrences of the activity of that index.
    Activity(usize),
    /// Base use, by the person or by the day, in the rhythm of that index.
    Base(usize),
    /// What runs or is driven now and then, and is told in hours or kilometres.
    Driver(Driver),
    /// Sun or cold: not a linear flow.
    Climate,
}

/// All drivers that are told of, in the order of [`Exposure::drivers`].
pub const DRIVERS: [Driver; 4] =
    [Driver::DriveHour, Driver::DriveKm, Driver::GeneratorHour, Driver::ShoreHour];

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
    /// Person-days, or days, per rhythm of base use.
    pub base: Vec<f64>,
    /// Amount per driver, in the order of [`DRIVERS`].
    pub drivers: [f64; 4],
}

impl Exposure {
    /// Nothing, for a rig with so many activities and rhythms of base use.
    pub fn none(activities: usize, rhythms: usize) -> Exposure {
        Exposure {
            activities: vec![0.0; activities],
            unlogged_variance: vec![0.0; activities],
            base: vec![0.0; rhythms],
            drivers: [0.0; 4],
        }
    }

    /// How much of one source it holds.
    pub fn of(&self, source: Source) -> f64 {
        match source {
            Source::Activity(index) => self.activities[index],
            Source::Base(rhythm) => self.base[rhythm],
            Source::Driver(driver) => self.drivers[position(driver)],
            Source::Climate => 0.0,
        }
    }

    /// Adds so much of one source.
    pub fn put(&mut self, source: Source, amount: f64) {
        match source {
            Source::Activity(index) => self.activities[index] += amount,
            Source::Base(rhythm) => self.base[rhythm] += amount,
            Source::Driver(driver) => self.drivers[position(driver)] += amount,
            Source::Climate => {}
        }
    }

    /// Adds what another interval holds.
    pub fn add(&mut self, other: &Exposure) {
        let pairs = |own: &mut [f64], more: &[f64]| {
            own.iter_mut().zip(more).for_each(|(own, more)| *own += more);
        };
        pairs(&mut self.activities, &other.activities);
        pairs(&mut self.unlogged_variance, &other.unlogged_variance);
        pairs(&mut self.base, &other.base);
        pairs(&mut self.drivers, &other.drivers);
    }

    /// Empties it for the next interval.
    pub fn clear(&mut self) {
        self.activities.fill(0.0);
        self.unlogged_variance.fill(0.0);
        self.base.fill(0.0);
        self.drivers = [0.0; 4];
    }
}

/// Share of a person's day that a civil hour has: mostly of the hours that people are awake.
pub fn person_hour_share(hour: usize) -> f64 {
    const WHOLE: f64 = AWAKE_HOURS + (24.0 - AWAKE_HOURS) * NIGHT_SHARE;
    if AWAKE.contains(&(hour % 24)) { 1.0 / WHOLE } else { NIGHT_SHARE / WHOLE }
}

/// How late in people's day a civil hour is, in seven hours from two in the afternoon: -1 at seven in
/// the morning, 1 at nine in the evening. The small hours are the latest of the day before.
pub fn lateness(hour: usize) -> f64 {
    let morning = NIGHT_ENDS as usize;
    let since = (hour + 24 - morning) % 24;
    (since as f64 - (14 - morning) as f64) / 7.0
}

/// How many hours later a usual waking hour is done for each unit of such a tilt: for small ones the
/// variance of the hours over seven, by the derivative of a mean in its tilt.
pub const HOURS_LATER: f64 = (AWAKE_HOURS * AWAKE_HOURS - 1.0) / 12.0 / 7.0;

const AWAKE_HOURS: f64 = (AWAKE.end - AWAKE.start) as f64;

/// Chance that an occurrence of an activity falls in each civil hour: mostly at the hours that the
/// rig names for it, now and then at any waking hour, always so when it names none.
pub fn hour_shares(hours: &[(u8, f64)]) -> [f64; 24] {
    shares_of(hours, PUNCTUAL)
}

/// As [`hour_shares`], of what has been written down already, at an hour of its own or in the
/// evening.
pub fn recalled_hour_shares(hours: &[(u8, f64)]) -> [f64; 24] {
    shares_of(hours, RECALLED)
}

fn shares_of(hours: &[(u8, f64)], punctual: f64) -> [f64; 24] {
    let mut usual = [0.0; 24];
    for (hour, weight) in hours {
        usual[usize::from(*hour) % 24] += weight;
    }
    let sum: f64 = usual.iter().sum();
    let (punctual, loose) = if sum > 0.0 { (punctual / sum, 1.0 - punctual) } else { (0.0, 1.0) };
    let mut shares = usual.map(|share| share * punctual);
    shares[AWAKE].iter_mut().for_each(|share| *share += loose / AWAKE_HOURS);
    shares
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_begins_in_the_morning() {
        assert_eq!([7, 14, 21].map(lateness), [-1.0, 0.0, 1.0]);
        assert!(lateness(4) > lateness(23) && lateness(5) < lateness(6));
    }

    #[test]
    fn people_keep_to_their_hours_mostly() {
        for shares in [hour_shares(&[(8, 1.0), (19, 3.0)]), recalled_hour_shares(&[(19, 2.0)])] {
            assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            assert!(shares[19] > 5.0 * shares[12] && shares[12] > 0.0, "{shares:?}");
            assert_eq!(shares[3], 0.0, "nobody does it asleep");
        }
        assert!((hour_shares(&[])[7] - 1.0 / 16.0).abs() < 1e-12);
        assert_eq!(hour_shares(&[(3, 1.0)])[3], PUNCTUAL);
    }
}
