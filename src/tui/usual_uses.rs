//! What the crew usually does on such a day, and what it has not written for too long: read off the
//! uses of the last weeks.

use crate::domain::{Activity, Amount, Event, Moment, Parts, Per, Quantity, Standing, Zone};
use crate::forecast::answer::Lesson;
use crate::forecast::{Evening, LearnedValue};
use crate::logline::{Vocabulary, answers};
use chrono::{Datelike, Days, Duration, NaiveDate};
use std::collections::BTreeMap;

/// Days of uses that say what is usual.
const USUAL_DAYS: u64 = 28;
/// So much more than any other day counts the same day of the week.
const SAME_WEEKDAY: f64 = 3.0;
/// Share of such days on which a use was logged, from which on it is asked for; 0.3 to 0.6.
const USUALLY: f64 = 0.4;

/// So many of a thing are usual since any was written that it was hardly left undone: at random, none
/// of three comes once in twenty times (Poisson); 2 to 4.
const UNSAID: f64 = 3.0;

/// How much of an activity was logged on a day, in thousandths of what it is counted in.
pub type LoggedUses = BTreeMap<(NaiveDate, String), i64>;

/// What was logged of every activity on each of the last weeks' days; a day is over when people go
/// to bed, not at midnight.
pub(super) fn recent_uses(
    standing: &[Standing],
    zone: Zone,
    now: Moment,
    parts: &Parts,
) -> LoggedUses {
    let mut uses = LoggedUses::new();
    let today = zone.waking_date(now);
    let first = today.checked_sub_days(Days::new(USUAL_DAYS)).unwrap_or(NaiveDate::MIN);
    for entry in standing.iter().rev().filter(|entry| entry.is_fact()) {
        let date = zone.waking_date(entry.at);
        if date < first {
            break;
        }
        let Event::Use { activity, count } = &entry.event else { continue };
        let known = parts.activity(activity).map(|(_, known)| &known.counted_in);
        if let Some(by) = known.and_then(|unit| count.unit.factor_to(unit, None)) {
            let milli = (count.amount.milli() as f64 * by).round() as i64;
            *uses.entry((date, activity.to_string())).or_default() += milli;
        }
    }
    uses
}

/// Adds that there was none of what a note of today says so: `no showers today`.
pub(super) fn add_none(
    uses: &mut LoggedUses,
    standing: &[Standing],
    (known, zone): (&Vocabulary, Zone),
    now: Moment,
) {
    let today = zone.waking_date(now);
    let own = |entry: &&Standing| entry.is_fact() && zone.waking_date(entry.at) == today;
    for entry in standing.iter().filter(own) {
        let Event::Note(note) = &entry.event else { continue };
        for activity in answers::none_of(note, known, now) {
            uses.entry((today, activity)).or_insert(0);
        }
    }
}

/// A use as it is usual.
#[derive(Debug, Clone, PartialEq)]
pub struct UsualUse {
    /// Name of the activity.
    pub activity: String,
    /// How much of it is usual on such a day, or since then.
    pub usual: Quantity,
    /// The last day on which any was written, or the first of the journal, where this crew does more
    /// of it than that.
    pub since: Option<NaiveDate>,
}

impl UsualUse {
    /// So much of an activity on one day.
    pub fn of(activity: &Activity, usual: Amount) -> UsualUse {
        let usual = Quantity::new(usual, activity.counted_in.clone());
        UsualUse { activity: activity.name.clone(), usual, since: None }
    }
}

/// What a rate is multiplied by today: the people aboard, or the one van.
fn people(per: Per, evening: &Evening) -> f64 {
    if per == Per::Person { evening.aboard } else { 1.0 }
}

/// What this crew does, and has not written for so long that it was hardly left undone. Nobody reads
/// it off a gauge, as a rule: a toilet's solids would be thought too few for ever.
pub(super) fn unsaid(
    evening: &Evening,
    parts: &Parts,
    uses: &LoggedUses,
    today: NaiveDate,
) -> Vec<UsualUse> {
    let rate = |activity: &Activity| {
        let habits = evening.learned.iter().filter_map(|learned| match &learned.what {
            Lesson::Habit { plural, per } if *plural == activity.plural => Some((learned, per)),
            _ => None,
        });
        // Of what was never written, the silence tells how this crew writes, not what it does.
        let known = |learned: &LearnedValue| match learned.occurrences < 0.5 {
            true => learned.reference.mean,
            false => learned.learned.mean,
        };
        habits.map(|(learned, per)| known(learned) * people(*per, evening)).next().unwrap_or(0.0)
    };
    let written = |activity: &Activity| {
        let own = uses.iter().filter(|((_, name), milli)| *name == activity.name && **milli > 0);
        own.map(|((date, _), _)| *date).next_back()
    };
    let first = uses.keys().map(|(date, _)| *date).next();
    let counted = parts.activities.iter().filter(|activity| {
        let said = uses.contains_key(&(today, activity.name.clone()));
        !activity.is_timed() && !said && usually(activity, uses, today).is_none()
    });
    let asked = counted.filter_map(|activity| {
        let since = written(activity).or(first)?;
        let expected = rate(activity) * (today - since).num_days() as f64;
        let usual = Amount::from_f64(expected.round()).unwrap_or_default();
        let asked = UsualUse { since: Some(since), ..UsualUse::of(activity, usual) };
        (expected >= UNSAID).then_some(asked)
    });
    asked.collect()
}

/// What a crew does in a day by the rig file, on the evening on which the journal begins: what is usual
/// with this one nobody knows yet. Once levels are written, what was done before them changes none.
pub(super) fn at_first(
    evening: &Evening,
    parts: &Parts,
    uses: &LoggedUses,
    today: NaiveDate,
) -> Vec<UsualUse> {
    let since = evening.forecast.at - Duration::days(1);
    let read: Vec<Moment> = evening.history.iter().flatten().map(|reading| reading.at).collect();
    let begins = !read.is_empty() && read.iter().all(|at| *at > since);
    if !begins || uses.keys().any(|(date, _)| *date < today) {
        return Vec::new();
    }
    let open = parts.activities.iter();
    let open = open.filter(|activity| !uses.contains_key(&(today, activity.name.clone())));
    let usual = open.filter_map(|activity| {
        let usual = (activity.usual_per_day * people(activity.per, evening)).round();
        let usual = Amount::from_f64(usual).ok().filter(|usual| usual.milli() > 0)?;
        Some(UsualUse::of(activity, usual))
    });
    usual.collect()
}

/// How much of an activity is usual on such a day: the middle of the days on which it was logged;
/// `None` where it usually is not. Days of the same name count more.
pub(super) fn usually(activity: &Activity, uses: &LoggedUses, today: NaiveDate) -> Option<Amount> {
    let told: Vec<NaiveDate> = uses.keys().map(|(date, _)| *date).filter(|d| *d < today).collect();
    let first = *told.first()?;
    let days = first.iter_days().take_while(|date| *date < today);
    let weight = |date: NaiveDate| match date.weekday() == today.weekday() {
        true => SAME_WEEKDAY,
        false => 1.0,
    };
    // A day on which nothing at all was written says nothing.
    let kept: Vec<(f64, i64)> = days
        .filter(|date| told.contains(date))
        .map(|date| (weight(date), uses.get(&(date, activity.name.clone())).copied().unwrap_or(0)))
        .collect();
    let all: f64 = kept.iter().map(|(weight, _)| weight).sum();
    let mut done: Vec<(f64, i64)> = kept.into_iter().filter(|(_, milli)| *milli > 0).collect();
    let times: f64 = done.iter().map(|(weight, _)| weight).sum();
    if all <= 0.0 || times / all < USUALLY {
        return None;
    }
    done.sort_by_key(|(_, milli)| *milli);
    let mut so_far = 0.0;
    let middle = done.iter().find(|(weight, _)| {
        so_far += weight;
        so_far * 2.0 >= times
    });
    // Hours and counts are said in whole ones.
    middle.and_then(|(_, milli)| Amount::from_milli(((milli + 500) / 1000).max(1) * 1000))
}
