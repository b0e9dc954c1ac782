//! What the journal does not tell: uses that nobody wrote down.

use super::habit::Habit;
use super::manner::{Manner, base_day_variance};
use super::past::{DayRecord, Past, PastHour};
use super::practice::OCCURRENCE_SD;
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
    day_felt(spread).powi(2) * base_day_variance(aboard) * aboard * person_days
}

/// What is not known of an hour of the past. All of it is linear in what is learned of days and of
/// writing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Hiding {
    /// Of a usual hour's written uses, what is multiplied by what nobody writes over that.
    pub unwritten: f64,
    /// Of a usual hour, uses and base use, what happened if all were at home on untold days, and
    /// what happened anyway.
    pub if_home: f64,
    pub anyway: f64,
    /// Of base use alone, what happened for certain.
    pub lived: f64,
    /// Chance that an empty day was idle times that it was not.
    doubt: f64,
}

impl Hiding {
    fn of(hour: &PastHour) -> Hiding {
        let (untold, late) = (hour.day.untold, hour.day.late);
        Hiding {
            unwritten: match hour.day.record {
                DayRecord::Closed => 0.0,
                _ => 1.0 - untold,
            },
            if_home: untold * (1.0 - late),
            anyway: untold * late,
            lived: 1.0 - untold,
            doubt: untold * (1.0 - untold),
        }
    }
}

/// Habits, and the hours at which they are usual.
#[derive(Debug, Clone)]
pub struct Unlogged<'a> {
    habits: &'a [Habit],
    manner: Manner,
    shares: Vec<[f64; 24]>,
    rhythms: &'a [Rhythm],
}

impl<'a> Unlogged<'a> {
    /// Of a mechanism's activities, in their order, and of what is known of days and writing.
    pub fn of(mechanism: &'a Mechanism, habits: &'a [Habit], manner: Manner) -> Unlogged<'a> {
        let shares = mechanism.parts.activities.iter().map(|a| hour_shares(&a.hours)).collect();
        Unlogged { habits, manner, shares, rhythms: &mechanism.rhythms }
    }

    /// What is known of days and writing.
    pub(super) fn manner(&self) -> &Manner {
        &self.manner
    }

    /// What one hour of the past may hide.
    pub(super) fn hiding(&self, hour: &PastHour) -> Hiding {
        Hiding::of(hour)
    }

    /// Amount of each activity that is usually written of such an hour, and all that usually
    /// happens in it.
    pub(super) fn usual(&self, hour: &PastHour) -> impl Iterator<Item = (f64, f64)> {
        let (aboard, hour, unwritten) = (hour.aboard, hour.hour, self.manner.unwritten.mean);
        self.habits.iter().zip(&self.shares).map(move |(habit, shares)| {
            let whole = habit.at_home_with(unwritten) * habit.people(aboard) * shares[hour];
            (whole / (1.0 + unwritten), whole)
        })
    }

    /// As [`Habit::with_unwritten`], over what is supposed here.
    pub(super) fn with_unwritten(&self, activity: usize, unwritten: f64) -> [(f64, f64); 2] {
        self.habits[activity].with_unwritten(self.manner.unwritten.mean, unwritten)
    }

    /// Amount of each activity that one hour of the past may hide: the few that nobody logs on a
    /// kept day, a usual day if they were at home on an untold one, none on a closed one.
    pub fn amounts(&self, hour: &PastHour) -> impl Iterator<Item = f64> {
        let (hiding, manner) = (Hiding::of(hour), self.manner);
        let happened = hiding.if_home * manner.at_home.mean + hiding.anyway;
        self.usual(hour).map(move |(written, whole)| {
            written * hiding.unwritten * manner.unwritten.mean + whole * happened
        })
    }

    /// Share of an hour's base use that happened: none on days on which all were out.
    pub fn lived(&self, hour: &PastHour) -> f64 {
        let hiding = Hiding::of(hour);
        hiding.lived + hiding.if_home * self.manner.at_home.mean + hiding.anyway
    }

    /// Adds what an hour of a past held between two places of it, `[0, 1]`: base use, what it may
    /// hide, what was logged, and what ran.
    pub fn add_hour(&self, past: &Past, index: usize, (from, to): (f64, f64), sum: &mut Exposure) {
        let Some(hour) = past.hours.get(index) else { return };
        let (part, lived) = (to - from, self.lived(hour));
        for (rhythm, amount) in self.base(hour).enumerate() {
            let share = if self.rhythms[rhythm].per_person { lived } else { 1.0 };
            sum.base[rhythm] += share * amount * part;
        }
        for (activity, amount) in self.amounts(hour).enumerate() {
            sum.activities[activity] += amount * part;
            sum.unlogged_variance[activity] += self.variance(activity, amount * part, hour);
        }
        self.add_told(past, index, (from, to), sum);
    }

    /// Person-days or days of each rhythm of base use in an hour, as if all were at home.
    pub(super) fn base(&self, hour: &PastHour) -> impl Iterator<Item = f64> {
        let (hour, aboard) = (hour.hour, hour.aboard);
        self.rhythms.iter().map(move |rhythm| rhythm.in_hour(hour, aboard))
    }

    /// By what share an hour has more of a rhythm for each unit that all is done later in the day.
    pub(super) fn later(&self, rhythm: usize, hour: &PastHour) -> f64 {
        self.rhythms[rhythm].later(hour.hour)
    }

    /// Whether people do what falls into a rhythm of base use, not the van by itself.
    pub(super) fn by_people(&self, rhythm: usize) -> bool {
        self.rhythms[rhythm].per_person
    }

    /// Adds what was logged between two places of an hour, and what ran.
    pub(super) fn add_told(
        &self,
        past: &Past,
        index: usize,
        (from, to): (f64, f64),
        sum: &mut Exposure,
    ) {
        for used in &past.uses.by_hour[index] {
            sum.activities[used.activity] += used.between(from, to);
        }
        for run in &past.runs[index] {
            sum.drivers[position(run.driver)] += run.between(from, to);
        }
    }

    /// Variance of a hidden amount of one activity. Hidden occurrences are as random as a Poisson
    /// law, and whether an untold day was a usual one is not known either.
    pub fn variance(&self, activity: usize, amount: f64, hour: &PastHour) -> f64 {
        let (habit, day) = (&self.habits[activity], self.usual_day(activity, hour));
        let (untold, home) = (hour.day.untold, self.manner.at_home.mean);
        amount * (habit.size + untold * (1.0 - untold * home) * day)
    }

    /// The part of that which belongs to the activity alone: who was out used nothing of anything.
    pub(super) fn own_variance(&self, activity: usize, amount: f64) -> f64 {
        amount * self.habits[activity].size
    }

    /// Variance of what an activity came to in a part of a day that may have been idle, from all
    /// that usually happens in it.
    pub(super) fn idle_variance(&self, activity: usize, usual: f64, hour: &PastHour) -> f64 {
        Hiding::of(hour).doubt * usual * self.usual_day(activity, hour)
    }

    /// What usually happens of an activity on such a day, if anybody is at home.
    fn usual_day(&self, activity: usize, hour: &PastHour) -> f64 {
        let habit = &self.habits[activity];
        habit.at_home_with(self.manner.unwritten.mean) * habit.people(hour.aboard)
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
