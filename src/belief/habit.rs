//! Habits: how often people do what they log, learned by counting.
//!
//! Each activity has a Gamma belief about its daily rate (per person or per van), sharpened by
//! the days on which the journal was kept, old days fading. Day-to-day regularity is measured as
//! well: a crew that showers every second evening is far more predictable than a Poisson law.

use super::manner::Manner;
use super::past::{DayRecord, Past, usual_entry};
use super::practice::{ENOUGH_USES, FADE_DAYS, FANOS, NEVER_DONE, NEVER_WRITTEN, UNLOGGED_SHARE};
use super::regularity::{self, DayCount, Regularity};
use crate::domain::{Activity, Estimate, Event, Per};
use crate::mechanism::driver::person_hour_share;
use chrono::{Duration, NaiveDate};
use std::cell::LazyCell;
use std::collections::{BTreeMap, BTreeSet};

/// What we think of one activity's habit.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// Shape of the Gamma belief about the rate.
    pub shape: f64,
    /// Rate parameter of that belief, in person-days or days of which all uses are told: those of
    /// the rig file, and closed ones.
    pub exposure: f64,
    /// The same of days that are not closed: of them only what is written was counted.
    pub open: f64,
    /// Amount of one occurrence in the activity's unit (1 for times, typical hours for work).
    pub size: f64,
    /// Variance over mean of counts: 1 is random, near 0 is like clockwork.
    pub fano: Regularity,
    /// Occurrences logged within memory.
    pub logged: f64,
    /// Whether the rate is a person's, or the van's.
    pub per: Per,
    /// What is done without being logged, over what is logged, on a day that is not closed.
    pub unwritten: Estimate,
    /// Share of days on which anybody is at home.
    pub at_home: f64,
}

impl Habit {
    /// Rate parameter where so much is done without being logged, over what is logged. Who writes
    /// half of it does twice what is counted; what the rig file says of a crew is of all it does.
    pub fn exposed(&self, unwritten: f64) -> f64 {
        self.exposure + self.open / (1.0 + unwritten)
    }

    /// True amount per person-day or day at home, in the activity's unit, where so much goes
    /// unwritten over what is written.
    pub(super) fn at_home_with(&self, unwritten: f64) -> f64 {
        self.shape / self.exposed(unwritten) * self.size
    }

    /// What is done of it and not written, where so much goes unwritten over what is written, as a
    /// multiple of what is written where `own` goes unwritten; all that is done, as a multiple of what is
    /// done there; and how much more of either for each unit. A rig file says how much a crew does,
    /// not how much it writes: the more goes unwritten, the fewer uses it foresaw are written.
    pub(super) fn with_unwritten(&self, own: f64, unwritten: f64) -> [(f64, f64); 2] {
        let (whole, exposed) = (1.0 + unwritten, self.exposed(unwritten));
        let all = self.exposed(own) / exposed;
        let all_more = all * self.open / (whole * whole * exposed);
        let hidden = (1.0 + own) * unwritten * all / whole;
        let hidden_more = (1.0 + own) * (all / whole + unwritten * all_more) / whole;
        [(hidden, hidden_more), (all, all_more)]
    }

    /// True amount per person-day or day, with what is not logged and days out: mean and spread.
    pub fn true_rate(&self) -> Estimate {
        let Estimate { mean: unwritten, sd } = self.unwritten;
        let mean = self.at_home_with(unwritten) * self.at_home;
        let whole = 1.0 + unwritten;
        let counted = self.open / whole / self.exposed(unwritten);
        let sd = (1.0 / self.shape).sqrt().hypot(counted * sd / whole);
        Estimate { mean, sd: mean * sd }
    }

    /// Makes it so many times as often.
    pub fn multiply(&mut self, factor: f64) {
        self.exposure /= factor;
        self.open /= factor;
    }

    /// Takes what was learned of days and of writing.
    pub(super) fn put(&mut self, manner: &Manner) {
        (self.unwritten, self.at_home) = (manner.unwritten, 1.0 - manner.out().mean);
        self.fano = self.fano.of_more((1.0 + manner.unwritten.mean) * (1.0 - UNLOGGED_SHARE));
    }

    /// True amount per day with `aboard` people, unlogged occurrences included.
    pub fn daily_amount(&self, aboard: f64) -> f64 {
        self.true_rate().mean * self.people(aboard)
    }

    /// What the rate multiplies: people, or one van with someone in it.
    pub fn people(&self, aboard: f64) -> f64 {
        match self.per {
            Per::Person => aboard,
            Per::Van => f64::from(u8::from(aboard > 0.0)),
        }
    }
}

/// Counts every activity's habit over the remembered past.
pub fn count(past: &Past) -> Vec<Habit> {
    let activities = &past.parts.activities;
    let mut days: Vec<BTreeMap<NaiveDate, f64>> = vec![BTreeMap::new(); activities.len()];
    for span in &past.uses.spans {
        *days[span.activity].entry(past.day_of(span)).or_default() += span.amount;
    }
    let exposures = exposures(past);
    let each = activities.iter().zip(&days);
    let uses =
        each.clone().map(|(activity, days)| days.values().sum::<f64>() / usual_entry(activity));
    let enough = uses.sum::<f64>() >= ENOUGH_USES;
    let counts: Vec<Counts> = each.map(|each| Counts::of(past, each, &exposures)).collect();
    let told: Vec<_> = counts.iter().map(|counts| (counts.timed, counts.likelihoods())).collect();
    let read = LazyCell::new(|| stocks_read(past));
    let is_seen =
        |activity: &Activity| activity.moves.iter().any(|step| read.contains(step.stock.as_str()));
    let fanos = regularity::of_crew(&told);
    let each = activities.iter().zip(counts.iter().zip(fanos));
    each.map(|(activity, (counts, fano))| {
        let mut habit = counts.habit(activity.per, fano);
        if habit.logged <= 0.0 && enough {
            let after = (habit.shape, habit.exposed(habit.unwritten.mean));
            let unseen = if is_seen(activity) { 0.0 } else { NEVER_WRITTEN };
            let never = perhaps_never(counts.prior, after, unseen);
            (habit.shape, habit.exposure, habit.open) = (never.0, never.1, 0.0);
        }
        habit
    })
    .collect()
}

/// What a day tells of habits.
#[derive(Debug, Clone, Copy, Default)]
struct DayExposure {
    /// Person-days and van-days on which a usual share of uses is logged.
    people: f64,
    van: f64,
    /// Chance that its uses are told.
    told: f64,
    /// Of those, the share that may go unwritten: 0 on a closed day, 1 on others.
    open: f64,
}

/// Exposure per day. The day still running counts for what has passed of it.
fn exposures(past: &Past) -> BTreeMap<NaiveDate, DayExposure> {
    let mut days: BTreeMap<NaiveDate, DayExposure> = BTreeMap::new();
    for (at, hour) in past.zone.hours(past.from, past.hours.len()).iter().zip(&past.hours) {
        let day = days.entry(at.date_naive()).or_default();
        let share = person_hour_share(hour.hour);
        day.people += share * hour.aboard;
        day.van += share * f64::from(u8::from(hour.aboard > 0.0));
        day.told = 1.0 - hour.day.untold;
        day.open = f64::from(u8::from(hour.day.record != DayRecord::Closed));
    }
    days
}

/// The Gamma belief about an activity's rate before any journal: shape, and rate parameter.
fn prior(activity: &Activity, size: f64) -> (f64, f64) {
    let spread = activity.usual_spread.max(0.3);
    let shape = 1.0 / (spread * spread);
    (shape, shape / (activity.usual_per_day / size).max(1e-4))
}

/// What was counted of one activity.
struct Counts {
    timed: bool,
    /// What is believed of its rate before: shape, and rate parameter.
    prior: (f64, f64),
    size: f64,
    /// Occurrences, exposure, and that of days that are not closed: of all days, old ones fading.
    sums: [f64; 3],
    /// How much more these days tell than their weight.
    telling: f64,
    /// The rate that fits them, drawn a little to the one before.
    rate: f64,
    days: Vec<DayCount>,
    /// Amount in all.
    total: f64,
}

impl Counts {
    /// From an activity's amount on each day, and the exposure of each day.
    fn of(
        past: &Past,
        (activity, counts): (&Activity, &BTreeMap<NaiveDate, f64>),
        exposures: &BTreeMap<NaiveDate, DayExposure>,
    ) -> Counts {
        // What a day with it takes of it as a rule; a prior of one such day keeps a single odd one in
        // place. Days, not entries, are counted: one entry or two halves of it say the same.
        let (total, usual) = (counts.values().sum::<f64>(), usual_entry(activity));
        let size = match activity.is_timed() {
            true => (total + usual) / (counts.len() as f64 + 1.0),
            false => 1.0,
        };
        let today = past.zone.date(past.now);
        let prior = prior(activity, size);
        let mut sums = [0.0; 3];
        let mut days = Vec::with_capacity(exposures.len());
        for (day, known) in exposures {
            let exposure = if activity.per == Per::Person { known.people } else { known.van };
            let told = if exposure > 0.0 { known.told } else { 0.0 };
            let weight = told * (-((today - *day).num_days() as f64) / FADE_DAYS).exp();
            let count = counts.get(day).copied().unwrap_or(0.0) / size;
            let exposure = if told > 0.0 { exposure } else { 0.0 };
            for (sum, more) in sums.iter_mut().zip([count, exposure, exposure * known.open]) {
                *sum += weight * more;
            }
            let written = 1.0 - known.open * UNLOGGED_SHARE;
            days.push(DayCount { weight, told, count, exposure, written });
        }
        // Days that weigh less tell a little more than their weight (Kish's effective sample size:
        // the square of the sum of the weights over the sum of their squares).
        let weights =
            days.iter().fold((0.0, 0.0), |(s, q), d| (s + d.weight, q + d.weight.powi(2)));
        let telling = if weights.1 > 0.0 { weights.0 / weights.1 } else { 1.0 };
        let rate = (sums[0] + 0.5 * prior.0 / prior.1) / (sums[1] + 0.5);
        Counts { timed: activity.is_timed(), prior, size, sums, telling, rate, days, total }
    }

    /// How probable they are, the more regular or clumped they may be; without any, all the same.
    fn likelihoods(&self) -> [f64; FANOS.len()] {
        match self.total > 0.0 {
            true => regularity::likelihoods(&self.days, self.rate, self.prior.0),
            false => [0.0; FANOS.len()],
        }
    }

    /// The habit, as regular as that.
    fn habit(&self, per: Per, fano: Regularity) -> Habit {
        let [count, exposure, open] = self.sums.map(|sum| sum * self.telling);
        let (shape, exposure) = counted(self.prior, (count, exposure - open), fano.mean());
        Habit {
            shape,
            exposure,
            open: open / fano.mean(),
            size: self.size,
            fano,
            logged: self.total,
            per,
            unwritten: Manner::PRIOR.unwritten,
            at_home: 1.0,
        }
    }
}

/// The Gamma belief (shape, rate parameter) about a rate after so many occurrences in so much
/// exposure. With a variance over mean of 1 the counts are Poisson and this is the conjugate rule;
/// regular habits tell their rate in fewer days, irregular ones need more.
fn counted(prior: (f64, f64), (count, exposure): (f64, f64), fano: f64) -> (f64, f64) {
    (prior.0 + count / fano, prior.1 + exposure / fano)
}

/// Stocks that were read a day after the journal began, or later: their gauges can have told of what
/// moves them and nobody wrote.
fn stocks_read<'a>(past: &Past<'a>) -> BTreeSet<&'a str> {
    let later = |at| at - past.from > Duration::days(1);
    let entries = past.entries.iter().filter(|entry| later(entry.at));
    entries
        .filter_map(|entry| match &entry.event {
            Event::Level { stock, .. } => Some(stock.as_str()),
            _ => None,
        })
        .collect()
}

/// The belief about a rate that may be zero, when nothing was logged so far: a Gamma law with the
/// mean and variance of "never", of `after`, and of "done, but not written" (in a share `unseen` of
/// crews, whose rate is the one `before`) together, by how well each foresaw the silence.
fn perhaps_never(before: (f64, f64), after: (f64, f64), unseen: f64) -> (f64, f64) {
    let silent = (before.1 / after.1).powf(before.0);
    let ever = (1.0 - NEVER_DONE - unseen) * silent;
    let all = ever + NEVER_DONE + unseen;
    let (mut mean, mut square) = (0.0, 0.0);
    for (weight, (shape, rate)) in [(ever / all, after), (unseen / all, before)] {
        mean += weight * shape / rate;
        square += weight * shape * (1.0 + shape) / (rate * rate);
    }
    let shape = mean * mean / (square - mean * mean);
    (shape, shape / mean)
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
            let (shape, exposure) = perhaps_never(prior, counted(prior, (0.0, days), 1.0), 0.0);
            shape / exposure
        };
        assert!(rate(1.0) > 0.7 * 0.5, "{}", rate(1.0));
        assert!(rate(60.0) < 0.001, "{}", rate(60.0));
        // A prior and a posterior that make "ever" as likely as "never".
        let silent: f64 = NEVER_DONE / (1.0 - NEVER_DONE);
        let (shape, exposure) = perhaps_never((1.0, 2.0 * silent), (4.0, 2.0), 0.0);
        assert!((shape / exposure - 1.0).abs() < 1e-12);
        assert!((shape / (exposure * exposure) - 1.5).abs() < 1e-12);
    }

    /// What no gauge shows may be done and never written down: after a long silence as likely as that
    /// it is never done, where as many crews are of either kind. By hand: half a chance of a rate of
    /// mean 0.5 and variance 0.04 has mean 0.25 and variance 0.5 (0.04 + 0.25) - 0.0625 = 0.0825.
    #[test]
    fn what_no_gauge_shows_may_be_done_unwritten() {
        let prior = (6.25, 12.5);
        let after = counted(prior, (0.0, 1e4), 1.0);
        let (shape, exposure) = perhaps_never(prior, after, NEVER_DONE);
        assert!((shape / exposure - 0.25).abs() < 1e-6, "{}", shape / exposure);
        assert!((shape / (exposure * exposure) - 0.0825).abs() < 1e-6);
    }

    /// The predictive count of the same belief over one unit of exposure is negative binomial: mean
    /// 0.857143, variance 0.979592 (computed: scipy 1.17.1). A rate drawn from the belief and then
    /// a Poisson count has the mean of the rate, and its own variance on top of that.
    #[test]
    fn the_predictive_count_is_negative_binomial() {
        let (shape, exposure) = counted((3.0, 5.0), (3.0, 2.0), 1.0);
        let habit = Habit {
            shape,
            exposure,
            size: 1.0,
            fano: regularity::tests::certain(1.0),
            logged: 3.0,
            per: Per::Van,
            unwritten: Estimate { mean: 0.0, sd: 0.0 },
            open: 0.0,
            at_home: 1.0,
        };
        let rate = habit.true_rate();
        assert!((rate.mean - 0.857_143).abs() < 1e-6);
        assert!((rate.mean * habit.fano.mean() + rate.sd * rate.sd - 0.979_592).abs() < 1e-6);
    }
    /// By hand: 10 days counted behind a belief of 5. With all written they make 15, with half of it 5 + 5;
    /// so half as much again is done, 3/2 of what is written and done where all is, half of it unwritten:
    /// u 15 / (5 (1 + u) + 10) is 3/4 at 1, and rises by 15 times 15 / 20^2 there, as 15 / (5 + 10 / (1 +
    /// u)) does by 15 times 10/4 / 10^2. Where the rig file says nothing, what is written is known.
    #[test]
    fn what_is_written_is_known_and_not_how_much_is_done() {
        let habit = |exposure: f64| Habit {
            shape: 12.0,
            exposure,
            open: 10.0,
            size: 1.0,
            fano: regularity::tests::certain(1.0),
            logged: 9.0,
            per: Per::Van,
            unwritten: Manner::PRIOR.unwritten,
            at_home: 1.0,
        };
        let [hidden, all] = habit(5.0).with_unwritten(0.0, 1.0);
        assert_eq!((hidden, all), ((0.75, 0.5625), (1.5, 0.375)));
        let [(hidden, more), _] = habit(0.0).with_unwritten(0.25, 1.0);
        assert!((hidden - 1.0).abs() < 1e-12 && (more - 1.0).abs() < 1e-12, "{hidden} {more}");
    }
}
