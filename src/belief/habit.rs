//! Habits: how often people do what they log, learned by counting.
//!
//! Each activity has a Gamma belief about its daily rate (per person or per van), sharpened by
//! the days on which the journal was kept, old days fading. Day-to-day regularity is measured as
//! well: a crew that showers every second evening is far more predictable than a Poisson law.

use super::past::{DayRecord, Past};
use super::practice::{
    ENOUGH_USES, FADE_DAYS, NEVER_DONE, UNLOGGED_SD, UNLOGGED_SHARE, USUAL_FANO,
};
use crate::domain::entry::Event;
use crate::domain::estimate::Estimate;
use crate::domain::flow::{Activity, Per};
use crate::domain::unit::Unit;
use crate::mechanism::driver::person_hour_share;
use chrono::{Duration, NaiveDate};
use std::collections::BTreeMap;

/// What we think of one activity's habit.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// Shape of the Gamma belief about the rate.
    pub shape: f64,
    /// Rate parameter of that belief, in person-days or days.
    pub exposure: f64,
    /// Amount of one occurrence in the activity's unit (1 for times, typical hours for work).
    pub size: f64,
    /// Variance over mean of a day's count: 1 is random, near 0 is like clockwork.
    pub fano: f64,
    /// Occurrences logged within memory.
    pub logged: f64,
    /// Whether the rate is per person.
    pub per_person: bool,
}

impl Habit {
    /// Logged amount per person-day or day, in the activity's unit: mean and spread.
    pub fn rate(&self) -> Estimate {
        let mean = self.shape / self.exposure * self.size;
        Estimate { mean, sd: mean / self.shape.sqrt() }
    }

    /// True amount per person-day or day, unlogged occurrences included: mean and spread.
    pub fn true_rate(&self) -> Estimate {
        let logged = self.rate();
        let mean = logged.mean / (1.0 - UNLOGGED_SHARE);
        Estimate { mean, sd: mean * (1.0 / self.shape).sqrt().hypot(UNLOGGED_SD) }
    }

    /// True amount per day with `aboard` people, unlogged occurrences included.
    pub fn daily_amount(&self, aboard: f64) -> f64 {
        self.true_rate().mean * self.people(aboard)
    }

    /// What the rate multiplies: people, or one van with someone in it.
    pub fn people(&self, aboard: f64) -> f64 {
        match self.per_person {
            true => aboard,
            false => f64::from(u8::from(aboard > 0.0)),
        }
    }
}

/// Counts every activity's habit over the remembered past.
pub fn count(past: &Past) -> Vec<Habit> {
    let activities = &past.parts.activities;
    let mut days: Vec<BTreeMap<NaiveDate, f64>> = vec![BTreeMap::new(); activities.len()];
    let mut entries = vec![(0usize, 0.0); activities.len()];
    for span in &past.uses.spans {
        *days[span.activity].entry(past.zone.date(span.ends)).or_default() += span.amount;
        entries[span.activity].0 += 1;
        entries[span.activity].1 += span.amount;
    }
    let person_days = person_days(past);
    activities
        .iter()
        .enumerate()
        .map(|(index, activity)| {
            of_counts(past, activity, &days[index], entries[index], &person_days)
        })
        .collect()
}

/// Exposure per day on which uses were told: person-days and van-days on which a usual share of
/// uses is logged. The day still running counts for what has passed of it.
fn person_days(past: &Past) -> BTreeMap<NaiveDate, (f64, f64)> {
    let mut days: BTreeMap<NaiveDate, (f64, f64)> = BTreeMap::new();
    let mut at = past.from;
    for hour in &past.hours {
        if !hour.record.tells_no_uses() {
            let day = days.entry(past.zone.date(at)).or_default();
            // A closed day tells all of its uses, any other kept day only those that get logged.
            let told = match hour.record {
                DayRecord::Closed => 1.0 / (1.0 - UNLOGGED_SHARE),
                _ => 1.0,
            };
            let share = told * person_hour_share(hour.hour);
            day.0 += share * hour.aboard;
            day.1 += share * f64::from(u8::from(hour.aboard > 0.0));
        }
        at += Duration::hours(1);
    }
    days
}

/// The habit of one activity, from its amount on each day, the number and sum of its entries, and
/// the exposure of each day.
fn of_counts(
    past: &Past,
    activity: &Activity,
    counts: &BTreeMap<NaiveDate, f64>,
    (entries, total): (usize, f64),
    person_days: &BTreeMap<NaiveDate, (f64, f64)>,
) -> Habit {
    let continuous = matches!(activity.counted_in, Unit::Hour | Unit::Minute);
    // What one entry usually says; a prior of one typical entry keeps a single odd one in place.
    let usual_size = if continuous { activity.usual_per_day.max(1e-3) } else { 1.0 };
    let size = match continuous {
        true => (total + usual_size) / (entries as f64 + 1.0),
        false => 1.0,
    };
    let today = past.zone.date(past.now);
    let per_person = activity.per == Per::Person;
    let spread = activity.usual_spread.max(0.3);
    let prior_shape = 1.0 / (spread * spread);
    let prior_rate = (activity.usual_per_day / size).max(1e-4);

    let mut sums = (0.0, 0.0);
    let mut samples: Vec<(f64, f64, f64)> = Vec::new();
    for (day, (people, van)) in person_days {
        let exposure = if per_person { *people } else { *van };
        if exposure <= 0.0 {
            continue;
        }
        let weight = (-((today - *day).num_days() as f64) / FADE_DAYS).exp();
        let n = counts.get(day).copied().unwrap_or(0.0) / size;
        sums.0 += weight * n;
        sums.1 += weight * exposure;
        samples.push((weight, n, exposure));
    }
    // Days that weigh less tell a little more than their weight (Kish's effective sample size:
    // the square of the sum of the weights over the sum of their squares).
    let weights = samples.iter().fold((0.0, 0.0), |(s, q), (w, ..)| (s + w, q + w * w));
    let telling = if weights.1 > 0.0 { weights.0 / weights.1 } else { 1.0 };
    let fano = regularity(&samples, (sums.0 + 0.5 * prior_rate) / (sums.1 + 0.5));
    let prior = (prior_shape, prior_shape / prior_rate);
    let told = (sums.0 * telling, sums.1 * telling);
    let (mut shape, mut exposure) = counted(prior, told, fano);
    if total <= 0.0 && past_uses(past) >= ENOUGH_USES {
        (shape, exposure) = perhaps_never(prior, (shape, exposure));
    }
    Habit { shape, exposure, size, fano, logged: total, per_person }
}

/// The Gamma belief (shape, rate parameter) about a rate after so many occurrences in so much
/// exposure. With a variance over mean of 1 the counts are Poisson and this is the conjugate rule;
/// regular habits tell their rate in fewer days, irregular ones need more.
fn counted(prior: (f64, f64), (count, exposure): (f64, f64), fano: f64) -> (f64, f64) {
    (prior.0 + count / fano, prior.1 + exposure / fano)
}

fn past_uses(past: &Past) -> usize {
    past.entries.iter().filter(|entry| matches!(entry.event, Event::Use { .. })).count()
}

/// The belief about a rate that may be zero, when nothing was logged so far: a Gamma law with the
/// mean and variance of "never" and of `after` together, by how well each foresaw the silence.
fn perhaps_never(prior: (f64, f64), after: (f64, f64)) -> (f64, f64) {
    let silent = (prior.1 / after.1).powf(prior.0);
    let ever = (1.0 - NEVER_DONE) * silent / (NEVER_DONE + (1.0 - NEVER_DONE) * silent);
    let (mean, variance) = (after.0 / after.1, after.0 / (after.1 * after.1));
    let whole = ever * (variance + mean * mean) - (ever * mean).powi(2);
    let shape = (ever * mean).powi(2) / whole;
    (shape, shape / (ever * mean))
}

/// Variance over mean of the daily counts (weight, count, exposure) around `rate`, drawn towards
/// [`USUAL_FANO`] while days are few.
fn regularity(samples: &[(f64, f64, f64)], rate: f64) -> f64 {
    let (usual, mut weight) = USUAL_FANO;
    let mut sum = weight * usual;
    for (w, n, exposure) in samples {
        let expected = rate * exposure;
        if expected > 0.05 {
            weight += w;
            sum += w * (n - expected).powi(2) / expected;
        }
    }
    (sum / weight).clamp(0.15, 4.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Deaths from asthma: a Gamma(3, 5) belief, 3 in 2 units of exposure, then 30 in 20. Gelman
    /// et al., Bayesian Data Analysis, 3rd ed., page 45: means 0.86 and 1.32 (example and page
    /// confirmed, the prior from memory; digits computed with scipy 1.17.1).
    #[test]
    fn counting_follows_the_conjugate_rule() {
        let (shape, exposure) = counted((3.0, 5.0), (3.0, 2.0), 1.0);
        assert_eq!((shape, exposure), (6.0, 7.0));
        assert!((shape / exposure - 0.857_143).abs() < 1e-6);
        let (shape, exposure) = counted((3.0, 5.0), (30.0, 20.0), 1.0);
        assert_eq!((shape, exposure), (33.0, 25.0));
        assert!((shape / exposure - 1.32).abs() < 1e-12);
    }

    /// Nothing logged for long means "never" far more than a slow habit; after a day or two it
    /// means nothing yet. The mixture's mean and variance are kept (worked by hand: half a chance
    /// of a rate of mean 2 and variance 1 has mean 1 and variance 1.5).
    #[test]
    fn what_is_never_logged_is_probably_never_done() {
        let prior = (6.25, 12.5);
        let rate = |days: f64| {
            let (shape, exposure) = perhaps_never(prior, counted(prior, (0.0, days), 1.0));
            shape / exposure
        };
        assert!(rate(1.0) > 0.7 * 0.5, "{}", rate(1.0));
        assert!(rate(60.0) < 0.001, "{}", rate(60.0));
        // A prior and a posterior that make "ever" as likely as "never".
        let silent: f64 = NEVER_DONE / (1.0 - NEVER_DONE);
        let (shape, exposure) = perhaps_never((1.0, 2.0 * silent), (4.0, 2.0));
        assert!((shape / exposure - 1.0).abs() < 1e-12);
        assert!((shape / (exposure * exposure) - 1.5).abs() < 1e-12);
    }

    /// The predictive count of the same belief over one unit of exposure is negative binomial: mean
    /// 0.857143, variance 0.979592 (computed: scipy 1.17.1). A rate drawn from the belief and then
    /// a Poisson count has the mean of the rate, and its own variance on top of that.
    #[test]
    fn the_predictive_count_is_negative_binomial() {
        let (shape, exposure) = counted((3.0, 5.0), (3.0, 2.0), 1.0);
        let habit = Habit { shape, exposure, size: 1.0, fano: 1.0, logged: 3.0, per_person: false };
        let rate = habit.rate();
        assert!((rate.mean - 0.857_143).abs() < 1e-6);
        assert!((rate.mean * habit.fano + rate.sd * rate.sd - 0.979_592).abs() < 1e-6);
    }
}
