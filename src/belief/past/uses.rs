//! When it happened: logged uses, drives and charges over the hours of the past.

use crate::belief::evidence::{DriverRun, exposure_of, run_of};
use crate::belief::practice::{ONE_SITTING_MIN, PROMPT_H, PROMPT_SITTINGS};
use crate::domain::{Driver, Moment, Parts, Standing, Unit, Zone, hours_between};
use crate::mechanism::driver::{Source, lateness, recalled_hour_shares};
use chrono::{Duration, NaiveDate, NaiveTime};
use std::collections::BTreeMap;

/// What was logged as used.
#[derive(Debug, Clone, Default)]
pub struct Uses {
    /// Entry by entry, in the order of when they were written.
    pub spans: Vec<UsedSpan>,
    /// Over the hours in which it may have happened, hour by hour.
    pub by_hour: Vec<Vec<UsedPart>>,
}

/// A logged use, and between when and when it may have happened.
#[derive(Debug, Clone, PartialEq)]
pub struct UsedSpan {
    /// Index of the activity.
    pub activity: usize,
    /// Amount in the activity's unit.
    pub amount: f64,
    /// Not before this.
    pub begins: Moment,
    /// Not after this: when it was written.
    pub ends: Moment,
    /// What of it falls into which hours of the past, by their index: at the hours that are usual
    /// for it or, written at an unusual hour, just before it was written.
    pub parts: Vec<(usize, UsedPart)>,
}

/// A part of a logged use that falls into one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UsedPart {
    /// Index of the activity.
    pub activity: usize,
    /// Amount in the activity's unit.
    pub amount: f64,
    /// Where in the hour it begins and ends, `[0, 1]`.
    pub within: (f64, f64),
    /// By what share more of it lies here for each unit that the crew does everything later.
    pub later: f64,
}

impl UsedPart {
    /// Amount between two places of the hour.
    pub fn between(&self, from: f64, to: f64) -> f64 {
        let (begins, ends) = self.within;
        let overlap = ends.min(to) - begins.max(from);
        if overlap <= 0.0 { 0.0 } else { self.amount * overlap / (ends - begins) }
    }
}

/// A part of a drive or a charge that falls into one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RunPart {
    /// What ran.
    pub driver: Driver,
    /// Where in the hour it begins and ends, `[0, 1]`.
    pub within: (f64, f64),
}

impl RunPart {
    /// Hours between two places of the hour.
    pub fn between(&self, from: f64, to: f64) -> f64 {
        (self.within.1.min(to) - self.within.0.max(from)).max(0.0)
    }
}

impl Uses {
    /// The uses among `entries`, over the hours of a past that begins at `from`; `civil` are these
    /// hours' civil hours at the van.
    pub(super) fn of(
        entries: &[&Standing],
        parts: &Parts,
        zone: Zone,
        from: Moment,
        civil: &[usize],
    ) -> Uses {
        let mut spans = spans(entries, parts, zone, from);
        let shares: Vec<[f64; 24]> =
            parts.activities.iter().map(|a| recalled_hour_shares(&a.hours)).collect();
        let mut by_hour = vec![Vec::new(); civil.len()];
        for span in &mut spans {
            span.parts = span.spread(from, civil, &shares[span.activity]);
            for (index, part) in &span.parts {
                if let Some(hour) = by_hour.get_mut(*index) {
                    hour.push(*part);
                }
            }
        }
        Uses { spans, by_hour }
    }

    /// Logged uses that may lie on either side of a moment `at` of a past that begins at `from`:
    /// activity, amount, and the share of it that is thought to lie before.
    pub(in crate::belief) fn divided(&self, from: Moment, at: Moment) -> Vec<(usize, f64, f64)> {
        let first = self.spans.partition_point(|span| span.ends <= at);
        let near = self.spans[first..].iter().take_while(|s| s.ends - at < Duration::hours(25));
        near.filter(|span| span.begins < at && span.amount > 0.0)
            .map(|span| {
                let before = span.used_by(hours_between(from, at));
                (span.activity, span.amount, (before / span.amount).clamp(0.0, 1.0))
            })
            .collect()
    }
}

/// People write in the evening what they did all day, often minutes after they looked at a gauge.
/// A use therefore happened some time between that day's morning, or the last time that anybody
/// sat down to write uses, and its own time, at hours that are usual for it. Who sits down
/// several times a day writes things down as they happen.
fn spans(entries: &[&Standing], parts: &Parts, zone: Zone, from: Moment) -> Vec<UsedSpan> {
    let mut spans: Vec<UsedSpan> = Vec::new();
    let mut sittings: BTreeMap<NaiveDate, u32> = BTreeMap::new();
    let (mut wrote_before, mut writing) = (from, from);
    for entry in entries {
        let Some((Source::Activity(activity), amount)) = exposure_of(&entry.event, parts) else {
            continue;
        };
        let sitting = entry.at - writing > Duration::minutes(ONE_SITTING_MIN);
        if sitting {
            wrote_before = writing;
        }
        let day = zone.waking_date(entry.at);
        *sittings.entry(day).or_default() += u32::from(sitting);
        writing = entry.at;
        let morning = zone.moment(day.and_time(NaiveTime::MIN));
        let begins = wrote_before.max(morning).min(entry.at);
        spans.push(UsedSpan { activity, amount, begins, ends: entry.at, parts: Vec::new() });
    }
    let each_day = f64::from(sittings.values().sum::<u32>()) / sittings.len().max(1) as f64;
    if each_day >= PROMPT_SITTINGS {
        for span in &mut spans {
            let lasted = match parts.activities[span.activity].counted_in {
                Unit::Hour => span.amount.min(24.0),
                Unit::Minute => span.amount.min(1440.0) / 60.0,
                _ => 0.0,
            };
            let hours = lasted.max(PROMPT_H);
            let earliest = span.ends - Duration::seconds((hours * 3600.0) as i64);
            span.begins = span.begins.max(earliest);
        }
    }
    spans
}

impl UsedSpan {
    /// Amount of it that is thought to lie before a place of the past, in hours.
    fn used_by(&self, to: f64) -> f64 {
        self.parts.iter().map(|(index, part)| part.between(0.0, to - *index as f64)).sum()
    }

    /// Its parts, by the shares of the activity that fall in each civil hour.
    fn spread(&self, past: Moment, civil: &[usize], shares: &[f64; 24]) -> Vec<(usize, UsedPart)> {
        let (activity, amount) = (self.activity, self.amount);
        let (from, to) = (hours_between(past, self.begins), hours_between(past, self.ends));
        let last = (to.max(0.0) as usize).min(civil.len().saturating_sub(1));
        let mut parts: Vec<(usize, (f64, f64), f64)> = Vec::new();
        for index in from.max(0.0) as usize..=last {
            let within = within(index, from, to);
            if let Some(hour) = civil.get(index).filter(|_| within.1 > within.0) {
                parts.push((index, within, (within.1 - within.0) * shares[*hour]));
            }
        }
        let whole: f64 = parts.iter().map(|p| p.2).sum();
        if whole <= 0.0 {
            // On the hour, the hour that has just ended; before memory, no hour at all.
            let last = (to.ceil() as usize).saturating_sub(1).min(civil.len().saturating_sub(1));
            let end = (to - last as f64).min(1.0);
            let just_before = (end > 0.0).then_some((last, (end - 1e-6, end), 0.0));
            let place = parts.pop().or(just_before);
            let whole =
                |(index, within, _)| (index, UsedPart { activity, amount, within, later: 0.0 });
            return place.map(whole).into_iter().collect();
        }
        let late = |index: usize| civil.get(index).map_or(0.0, |hour| lateness(*hour));
        let middle =
            parts.iter().map(|(index, _, weight)| weight * late(*index)).sum::<f64>() / whole;
        let part = |(index, within, weight): (usize, (f64, f64), f64)| {
            let (amount, later) = (amount * weight / whole, late(index) - middle);
            (index, UsedPart { activity, amount, within, later })
        };
        parts.into_iter().map(part).filter(|(_, part)| part.amount > 0.0).collect()
    }
}

/// What of an hour lies between two places of the past, in hours.
fn within(index: usize, from: f64, to: f64) -> (f64, f64) {
    let start = index as f64;
    ((from - start).clamp(0.0, 1.0), (to - start).clamp(0.0, 1.0))
}

/// Drives and charges over their hours, as far as these lie between `from` and `now`.
pub(super) fn runs_by_hour(
    entries: &[&Standing],
    parts: &Parts,
    (from, now): (Moment, Moment),
    hours: usize,
) -> Vec<Vec<RunPart>> {
    let mut runs = vec![Vec::new(); hours];
    for DriverRun { driver, begins, hours } in
        entries.iter().filter_map(|entry| run_of(entry, parts))
    {
        let begins = hours_between(from, begins);
        let ends = (begins + hours).min(hours_between(from, now));
        for index in begins.max(0.0) as usize..(ends.max(0.0).ceil() as usize).min(runs.len()) {
            let within = within(index, begins, ends);
            if within.1 > within.0 {
                runs[index].push(RunPart { driver, within });
            }
        }
    }
    runs
}
