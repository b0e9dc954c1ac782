//! How much the journal tells of each civil day.

use crate::belief::practice::NEVER_TOLD;
use crate::domain::entry::Event;
use crate::domain::journal::Standing;
use crate::domain::time::{Moment, Zone, hours_between};
use chrono::{Duration, NaiveDate, NaiveTime, Timelike};
use std::collections::BTreeMap;

/// How much of a civil day the journal tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DayRecord {
    /// A `day closed` entry: what is not logged did not happen.
    Closed,
    /// Something was written that day.
    Kept,
    /// Something was written, but no use, by a crew that writes several a day: they may have been
    /// forgotten, or are still to come.
    NoUses,
    /// Nothing was written: it may have been a usual day.
    Silent,
}

impl DayRecord {
    /// Whether the day's uses are not known.
    pub(in crate::belief) fn tells_no_uses(self) -> bool {
        matches!(self, DayRecord::NoUses | DayRecord::Silent)
    }
}

/// Which days are told. Today is never silent: the evening's entry may still come.
pub(super) fn day_records(
    entries: &[&Standing],
    zone: Zone,
    first: Moment,
    now: Moment,
) -> BTreeMap<NaiveDate, DayRecord> {
    let (mut day, today) = (zone.date(first), zone.date(now));
    let mut days = BTreeMap::new();
    while day < today {
        days.insert(day, DayRecord::Silent);
        day += Duration::days(1);
    }
    days.insert(today, DayRecord::Kept);
    for entry in entries {
        let date = zone.date(entry.at);
        match entry.event {
            Event::DayClosed => drop(days.insert(date, DayRecord::Closed)),
            Event::Outlook(_) | Event::Note(_) => {}
            _ => {
                let record = days.entry(date).or_insert(DayRecord::Kept);
                if *record == DayRecord::Silent {
                    *record = DayRecord::Kept;
                }
            }
        }
    }
    without_uses(entries, zone, now, &mut days);
    days
}

/// Marks the kept days without any use that are more likely untold than idle. A day may be idle
/// the less, the more uses a crew writes a day (Poisson); of the day still running, only what has
/// passed of it counts. It may be untold the more, the more of the crew's days had still to be
/// written down when as much time had gone by.
fn without_uses(
    entries: &[&Standing],
    zone: Zone,
    now: Moment,
    days: &mut BTreeMap<NaiveDate, DayRecord>,
) {
    let since_morning =
        |day: NaiveDate, at: Moment| hours_between(zone.moment(day.and_time(NaiveTime::MIN)), at);
    // How many, and hours from the day's beginning until the first was written.
    let mut uses: BTreeMap<NaiveDate, (usize, f64)> = BTreeMap::new();
    for entry in entries.iter().filter(|e| matches!(e.event, Event::Use { .. })) {
        let day = zone.date(entry.at);
        let written = since_morning(day, entry.recorded);
        let of_day = uses.entry(day).or_insert((0, written));
        *of_day = (of_day.0 + 1, of_day.1.min(written));
    }
    // A day or two do not show what is usual.
    if uses.len() < 4 {
        return;
    }
    let count = uses.len() as f64;
    let usual = uses.values().map(|of_day| of_day.0).sum::<usize>() as f64 / count;
    let today = zone.date(now);
    for (day, record) in days.iter_mut().filter(|(day, _)| !uses.contains_key(day)) {
        let passed = match *day == today {
            true => ((f64::from(zone.here(now).hour()) - 7.0) / 16.0).clamp(0.0, 1.0),
            false => 1.0,
        };
        let age = since_morning(*day, now);
        let later = uses.values().filter(|of_day| of_day.1 > age).count() as f64;
        let untold = NEVER_TOLD + (1.0 - NEVER_TOLD) * later / count;
        let idle = (1.0 - untold) * (-usual * passed).exp();
        if *record == DayRecord::Kept && untold > idle {
            *record = DayRecord::NoUses;
        }
    }
}
