//! How much the journal tells of each civil day.
//!
//! A day of which no use is told was idle, or all were out, or nobody wrote. How often a crew's
//! days are of the last two kinds shows in how many of them are empty beyond what chance leaves
//! empty: counts with too many zeros (Lambert, Zero-inflated Poisson regression, Technometrics 34,
//! 1992; from memory), where clumped counts leave more days empty than Poisson ones. Which of the
//! two it was, entries cannot tell; gauges can (`replay`).

use crate::belief::evidence::exposure_of;
use crate::belief::practice::{DAYS_SHOWN, NEGLECT_LASTS, NEW_CREWS_WRITE, UNTOLD_DAYS};
use crate::domain::timeline::Timeline;
use crate::domain::{Activity, Estimate, Event, Moment, Parts, Per, Standing, Zone, hours_between};
use crate::mechanism::driver::Source;
use chrono::{Duration, NaiveDate, NaiveTime, Timelike};
use std::collections::{BTreeMap, BTreeSet};

/// How much of a civil day the journal tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayRecord {
    /// A `day closed` entry: what is not logged did not happen.
    Closed,
    /// Something was written that day.
    Kept,
    /// Nothing was written: it may have been a usual day.
    Silent,
}

/// A civil day of the past.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// What its entries are.
    pub record: DayRecord,
    /// Chance that its uses are not known, `[0, 1]`: all were out, or nobody wrote. 0 where one was
    /// written.
    pub untold: f64,
    /// Of that, the chance that they are still to be written, `[0, 1]`.
    pub late: f64,
}

impl Day {
    /// A day that tells what it tells of.
    pub(super) const TOLD: Day = Day { record: DayRecord::Kept, untold: 0.0, late: 0.0 };
}

/// What the journal tells of a crew's days.
#[derive(Debug, Clone, PartialEq)]
pub struct Days {
    /// Day by day.
    pub each: BTreeMap<NaiveDate, Day>,
    /// Share of days that are empty because all were out or nobody wrote.
    pub untold: Estimate,
}

/// What days are counted from.
pub(super) struct Written<'a> {
    pub entries: &'a [&'a Standing],
    pub timeline: &'a Timeline,
    pub parts: &'a Parts,
    pub zone: Zone,
    /// When the journal begins, and now.
    pub span: (Moment, Moment),
}

/// What was written of one day.
#[derive(Debug, Clone, Copy)]
struct DayTally {
    record: DayRecord,
    /// Activities and moments at which they were written: an entry in two halves is one, and three
    /// showers in a row are no more likely to be forgotten than one.
    uses: f64,
    /// Hours from the day's beginning until the first of them was written; infinite without any.
    written_h: f64,
    /// Whether there are entries beside uses.
    others: OtherEntries,
    /// Uses that the rig file expects of it, and the part of it that has passed.
    usual: f64,
    passed: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum OtherEntries {
    None,
    Some,
}

/// How much of an activity makes one entry of it as a rule, in the unit that it is counted in: one,
/// or for work a day's.
pub(in crate::belief) fn usual_entry(activity: &Activity) -> f64 {
    if activity.is_timed() { activity.usual_per_day.max(1e-3) } else { 1.0 }
}

/// What the journal tells of each day. Today is never silent: the evening's entry may still come.
pub(super) fn of(written: &Written) -> Days {
    let tallies = tallies(written);
    let now = written.span.1;
    let of_uses: Vec<&DayTally> = tallies.values().filter(|day| day.uses > 0.0).collect();
    let shown = of_uses.len() >= DAYS_SHOWN;
    let later = |day: NaiveDate| {
        let age = since_morning(written.zone, day, now);
        let later = of_uses.iter().filter(|of_day| of_day.written_h > age).count();
        match shown {
            true => later as f64 / of_uses.len() as f64,
            // A new crew's evening is not idle for what it has not written yet.
            false if day == written.zone.date(now) => {
                let (from, to) = NEW_CREWS_WRITE;
                ((to - age) / (to - from)).clamp(0.0, 1.0)
            }
            false => 0.0,
        }
    };
    let late: Vec<f64> = tallies.keys().map(|day| later(*day)).collect();
    let days: Vec<(&DayTally, f64)> = tallies.values().zip(late).collect();
    let (untold, share) = inflation(&days, shown);
    let each = days.iter().zip(untold).map(|((tally, late), untold)| Day {
        record: tally.record,
        untold,
        late: still_to_come(*late, share.mean),
    });
    Days { each: tallies.keys().copied().zip(each).collect(), untold: share }
}

/// Of the chance that a day's uses are not known, the part that they are still to be written: they
/// are written as `late` as that, or the day is one of the `share` that stay untold.
fn still_to_come(late: f64, share: f64) -> f64 {
    let late = late * (1.0 - share);
    late / (late + share).max(1e-300)
}

/// The day that something counts for: written past midnight, the one that has gone, but none before
/// the one on which the journal begins.
pub(super) fn day_of(zone: Zone, at: Moment, first: Moment) -> NaiveDate {
    zone.waking_date(at).max(zone.date(first))
}

fn since_morning(zone: Zone, day: NaiveDate, at: Moment) -> f64 {
    hours_between(zone.moment(day.and_time(NaiveTime::MIN)), at)
}

fn tallies(written: &Written) -> BTreeMap<NaiveDate, DayTally> {
    let Written { entries, timeline, parts, zone, span: (first, now) } = *written;
    let (mut day, today) = (zone.date(first), zone.date(now));
    let mut days = BTreeMap::new();
    while day <= today {
        let noon = zone.moment(day.and_time(NaiveTime::MIN)) + Duration::hours(12);
        let (aboard, passed) = match day == today {
            true => (timeline.aboard(now), hour_passed(zone, now)),
            false => (timeline.aboard(noon), 1.0),
        };
        let people = |activity: &Activity| match activity.per {
            Per::Person => aboard,
            Per::Van => f64::from(u8::from(aboard > 0.0)),
        };
        let usual = parts.activities.iter().map(|a| a.usual_per_day / usual_entry(a) * people(a));
        let record = if day == today { DayRecord::Kept } else { DayRecord::Silent };
        let (uses, written_h, others) = (0.0, f64::INFINITY, OtherEntries::None);
        let usual = usual.sum();
        days.insert(day, DayTally { record, uses, written_h, others, usual, passed });
        day += Duration::days(1);
    }
    let day_of = |entry: &Standing| day_of(zone, entry.at, first);
    let mut seen: BTreeSet<(Moment, usize)> = BTreeSet::new();
    for entry in entries {
        let Some(tally) = days.get_mut(&day_of(entry)) else { continue };
        match (&entry.event, exposure_of(&entry.event, parts)) {
            (Event::DayClosed, _) => tally.record = DayRecord::Closed,
            (Event::Outlook(_) | Event::Note(_), _) => continue,
            (_, Some((Source::Activity(a), amount))) if amount > 0.0 => {
                tally.uses += f64::from(u8::from(seen.insert((entry.at, a))));
                let written = since_morning(zone, day_of(entry), entry.recorded);
                tally.written_h = tally.written_h.min(written);
            }
            _ => tally.others = OtherEntries::Some,
        }
        if tally.record == DayRecord::Silent {
            tally.record = DayRecord::Kept;
        }
    }
    days
}

/// How much of the day's waking hours has passed.
fn hour_passed(zone: Zone, now: Moment) -> f64 {
    ((f64::from(zone.here(now).hour()) - 7.0) / 16.0).clamp(0.0, 1.0)
}

/// Chance that each day's uses are not known (day and chance that they are still to be written),
/// and the share of such days, by expectation and maximisation. Until some days with uses are
/// `shown`, nothing is known of what is usual: only a silent day may be untold, or today.
fn inflation(days: &[(&DayTally, f64)], shown: bool) -> (Vec<f64>, Estimate) {
    let empty = |tally: &DayTally| {
        tally.uses <= 0.0 && tally.usual > 0.0 && tally.record != DayRecord::Closed
    };
    // How often nothing else is written on a day with uses.
    let of_uses = || days.iter().filter(|(tally, _)| tally.uses > 0.0);
    let bare = of_uses().filter(|(tally, _)| tally.others == OtherEntries::None).count() as f64;
    let bare = (bare + 1.0) / (of_uses().count() as f64 + 2.0);
    let (share, weight) = UNTOLD_DAYS;
    let mut untold: Vec<f64> = days.iter().map(|(t, _)| f64::from(u8::from(empty(t)))).collect();
    let mut known = Estimate { mean: share, sd: 0.0 };
    for _ in 0..12 {
        let mut sums = DaySums { often: (1.0, 1.0), count: 0.0, untold: 0.0, silent: 0.0 };
        for ((tally, late), untold) in days.iter().zip(&untold) {
            sums.add(tally, *late, *untold);
        }
        let often = sums.often.0 / sums.often.1;
        let clumped = clumping(days, &untold);
        let silent = (sums.silent + 1.0) / (sums.untold + 2.0);
        let (yes, all) = (share * weight + sums.untold, weight + sums.count);
        known.mean = yes / all;
        known.sd = (known.mean * (1.0 - known.mean) / (all + 1.0)).sqrt();
        let mut before = false;
        for ((tally, late), untold) in days.iter().zip(&mut untold) {
            let quiet = tally.record == DayRecord::Silent;
            if !empty(tally) || !(shown || quiet || *late > 0.0) {
                (*untold, before) = (0.0, false);
                continue;
            }
            // Who wrote nothing at all yesterday may have stopped for a while.
            let share = if quiet && before { known.mean.max(NEGLECT_LASTS) } else { known.mean };
            let share = share + (1.0 - share) * late;
            let idle = (-clumped * often * tally.usual * tally.passed).exp();
            // Idle crews still read gauges, as far as this one does.
            let (of_idle, of_untold) = if quiet { (bare.min(silent), silent) } else { (1.0, 1.0) };
            let (idle, other) = ((1.0 - share) * idle * of_idle, share * of_untold);
            (*untold, before) = (other / (idle + other).max(1e-300), quiet);
        }
    }
    // What a rig file says of a crew is of all its days: until some are shown, none is left out.
    (untold, if shown { known } else { Estimate { mean: 0.0, sd: 0.0 } })
}

/// What one step of the expectation sums up.
struct DaySums {
    /// Uses that were written, and those that the rig file expects of the same days.
    often: (f64, f64),
    /// Days that are over, and those of them that are untold, or both that and silent.
    count: f64,
    untold: f64,
    silent: f64,
}

impl DaySums {
    fn add(&mut self, tally: &DayTally, late: f64, untold: f64) {
        if tally.usual <= 0.0 || tally.passed < 1.0 {
            return;
        }
        self.often.0 += tally.uses;
        self.often.1 += (1.0 - untold) * tally.usual;
        // What is still to be written shows nothing yet.
        let known = 1.0 - late;
        self.count += known;
        self.untold += known * untold;
        if tally.record == DayRecord::Silent {
            self.silent += known * untold;
        }
    }
}

/// The negative of the logarithm of the chance of no use, over the uses expected: 1 for a Poisson
/// law, and ln(f) / (f - 1) for the negative binomial one of variance over mean f, or below 1 the
/// binomial one.
fn clumping(days: &[(&DayTally, f64)], untold: &[f64]) -> f64 {
    let told = days.iter().zip(untold).filter(|((tally, _), _)| tally.passed >= 1.0);
    let counts: Vec<(f64, f64)> =
        told.map(|((tally, _), untold)| (1.0 - untold, tally.uses)).collect();
    let all: f64 = counts.iter().map(|(weight, _)| weight).sum();
    let mean = counts.iter().map(|(weight, uses)| weight * uses).sum::<f64>() / all.max(1e-9);
    let squares: f64 = counts.iter().map(|(weight, uses)| weight * (uses - mean).powi(2)).sum();
    // Four days' worth of Poisson counts keep a first few in place.
    let fano = ((squares + 4.0 * mean) / (all + 3.0) / mean.max(1e-9)).max(0.1);
    if mean > 0.0 && (fano - 1.0).abs() > 0.01 { fano.ln() / (fano - 1.0) } else { 1.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DAY: DayTally = DayTally {
        record: DayRecord::Kept,
        uses: 3.0,
        written_h: 20.0,
        others: OtherEntries::None,
        usual: 3.0,
        passed: 1.0,
    };

    fn days(tallies: &[DayTally]) -> Vec<(&DayTally, f64)> {
        tallies.iter().map(|tally| (tally, 0.0)).collect()
    }

    /// ln(f) / (f - 1) for a variance over mean f, computed by hand: counts of 0, 0, 6 and 6 with
    /// the weight of four Poisson days have f = (36 + 12) / 7 / 3. Without any use there is no f.
    #[test]
    fn idle_days_are_likelier_where_uses_clump() {
        let of = |uses: &[f64]| {
            let tallies: Vec<DayTally> =
                uses.iter().map(|uses| DayTally { uses: *uses, ..DAY }).collect();
            clumping(&days(&tallies), &vec![0.0; uses.len()])
        };
        let f = 48.0_f64 / 21.0;
        assert!((of(&[0.0, 0.0, 6.0, 6.0]) - f.ln() / (f - 1.0)).abs() < 1e-12);
        assert!(of(&[3.0, 3.0, 3.0, 3.0]) > 1.0);
        assert_eq!(of(&[0.0, 0.0]), 1.0);
    }

    /// Who reads a gauge on every day with uses, and then writes nothing at all for a day, has
    /// rather forgotten that day than idled it away.
    #[test]
    fn a_silent_day_is_untold_where_idle_days_are_written_up() {
        let chance = |others: OtherEntries| {
            let mut tallies = vec![DayTally { others, ..DAY }; 20];
            let silent = DayTally { record: DayRecord::Silent, uses: 0.0, ..DAY };
            tallies.push(DayTally {
                written_h: f64::INFINITY,
                others: OtherEntries::None,
                ..silent
            });
            *inflation(&days(&tallies), true).0.last().unwrap()
        };
        let (reading, not) = (chance(OtherEntries::Some), chance(OtherEntries::None));
        assert!(reading > not + 0.01, "{reading} after readings, {not} without");
    }

    /// Counted by hand: of ten days one stays untold, and of the nine others a third, three, are
    /// written later than this. Of the four that look alike, three are still to come.
    #[test]
    fn what_is_to_come_is_counted_among_what_looks_alike() {
        assert!((still_to_come(1.0 / 3.0, 0.1) - 0.75).abs() < 1e-12);
        assert_eq!((still_to_come(0.0, 0.1), still_to_come(0.0, 0.0)), (0.0, 0.0));
    }

    /// Where a crew never writes anything beside its uses, an idle day of its is a silent day, and
    /// silence tells no more than a day with a reading alone: the chances are the same.
    #[test]
    fn silence_tells_nothing_where_every_idle_day_is_silent() {
        let chance = |record: DayRecord| {
            let mut tallies = vec![DAY; 20];
            tallies.push(DayTally { record, uses: 0.0, written_h: f64::INFINITY, ..DAY });
            *inflation(&days(&tallies), true).0.last().unwrap()
        };
        let (silent, kept) = (chance(DayRecord::Silent), chance(DayRecord::Kept));
        assert!((silent - kept).abs() < 1e-12 && kept > 0.0, "{silent} and {kept}");
    }

    #[test]
    fn what_is_likely_to_be_written_yet_is_a_chance() {
        let mut tallies = vec![DAY; 20];
        tallies.extend([DayTally { uses: 0.0, ..DAY }; 6]);
        for late in [0.0, 0.5, 0.9, 1.0] {
            let days: Vec<(&DayTally, f64)> = tallies.iter().map(|tally| (tally, late)).collect();
            let (untold, share) = inflation(&days, true);
            assert!((0.0..=1.0).contains(&share.mean), "{share:?}");
            assert!(untold.iter().all(|chance| (0.0..=1.0).contains(chance)), "{late}: {untold:?}");
        }
    }
}
