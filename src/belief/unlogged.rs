//! What the journal does not tell: uses that nobody wrote down.

use super::habit::Habit;
use super::past::{DayRecord, Past, PastHour};
use super::practice::{COMMON_DAY_SD, OCCURRENCE_SD, OWN_DAY_SD, UNLOGGED_SHARE, UNTOLD_DAY_SHARE};
use crate::mechanism::driver::{Exposure, hour_shares, position};
use crate::mechanism::{Mechanism, Rhythm};

/// How much of a day's spreads a process has, `[0, 1]`, by its relative spread between crews:
/// what differs little between crews (food is counted in person-days) differs little between
/// days.
pub fn day_felt(spread: f64) -> f64 {
    (7.0 * spread).min(1.0)
}

/// Variance of so many person-days of base use over so many days, for a coefficient of 1.
pub(super) fn base_variance(person_days: f64, days: f64, spread: f64) -> f64 {
    let aboard = person_days / days.max(1e-6);
    let each = COMMON_DAY_SD * COMMON_DAY_SD * aboard + OWN_DAY_SD * OWN_DAY_SD;
    day_felt(spread).powi(2) * each * person_days
}

/// Habits, and the hours at which they are usual.
#[derive(Debug, Clone)]
pub struct Unlogged<'a> {
    habits: &'a [Habit],
    /// Per activity, the usual amount per person-day or day.
    usual: Vec<f64>,
    shares: Vec<[f64; 24]>,
    rhythms: &'a [Rhythm],
}

impl<'a> Unlogged<'a> {
    /// Of a mechanism's activities, in their order.
    pub fn of(mechanism: &'a Mechanism, habits: &'a [Habit]) -> Unlogged<'a> {
        let shares = mechanism.parts.activities.iter().map(|a| hour_shares(&a.hours)).collect();
        let usual = habits.iter().map(|habit| habit.true_rate().mean).collect();
        Unlogged { habits, usual, shares, rhythms: &mechanism.rhythms }
    }

    /// Amount of each activity that one hour of the past may hide: the few that nobody logs on a
    /// kept day, nearly a usual day on a silent one, none on a closed one.
    pub fn amounts(&self, hour: &PastHour) -> impl Iterator<Item = f64> {
        let part = match hour.record {
            DayRecord::Closed => 0.0,
            DayRecord::Kept => UNLOGGED_SHARE,
            DayRecord::NoUses | DayRecord::Silent => UNTOLD_DAY_SHARE,
        };
        let (aboard, hour) = (hour.aboard, hour.hour);
        let hidden = move |((habit, usual), shares): ((&Habit, &f64), &[f64; 24])| {
            usual * habit.people(aboard) * shares[hour] * part
        };
        self.habits.iter().zip(&self.usual).zip(&self.shares).map(hidden)
    }

    /// Adds what an hour of a past held between two places of it, `[0, 1]`: base use, what it may
    /// hide, what was logged, and what ran.
    pub fn add_hour(&self, past: &Past, index: usize, (from, to): (f64, f64), sum: &mut Exposure) {
        let Some(hour) = past.hours.get(index) else { return };
        let part = to - from;
        for (amount, rhythm) in sum.base.iter_mut().zip(self.rhythms) {
            *amount += rhythm.in_hour(hour.hour, hour.aboard) * part;
        }
        for (activity, amount) in self.amounts(hour).enumerate() {
            sum.activities[activity] += amount * part;
            sum.unlogged_variance[activity] += self.variance(activity, amount * part, hour);
        }
        for used in &past.uses.by_hour[index] {
            sum.activities[used.activity] += used.between(from, to);
        }
        for run in &past.runs[index] {
            sum.drivers[position(run.driver)] += run.between(from, to);
        }
    }

    /// Variance of a hidden amount of one activity. Hidden occurrences are as random as a Poisson
    /// law, and whether a silent day was a usual one is not known either.
    pub fn variance(&self, activity: usize, amount: f64, hour: &PastHour) -> f64 {
        let doubt = if hour.record.tells_no_uses() { 2.0 } else { 1.0 };
        doubt * amount * self.habits[activity].size
    }

    /// Amount of one occurrence of an activity, in its unit.
    pub fn size(&self, activity: usize) -> f64 {
        self.habits[activity].size
    }

    /// Variance of what so much of an activity takes, for a coefficient of 1.
    pub(super) fn occurrence_variance(&self, activity: usize, amount: f64) -> f64 {
        OCCURRENCE_SD * OCCURRENCE_SD * amount * self.habits[activity].size
    }

    /// Variance of the part of a logged amount that lies before a moment, when each occurrence
    /// lies there with that chance.
    pub(super) fn count_variance(&self, activity: usize, amount: f64, before: f64) -> f64 {
        amount * self.habits[activity].size * before * (1.0 - before)
    }
}
