//! The remembered past, hour by hour: who was aboard, what the weather was, what was written.

use super::MEMORY_DAYS;
use super::evidence::{Run, run_of};
use super::replay::exposure_of;
use crate::domain::entry::Event;
use crate::domain::flow::Driver;
use crate::domain::journal::Standing;
use crate::domain::rig::{Parts, Rig};
use crate::domain::time::{Moment, Zone, hours_between};
use crate::domain::timeline::Timeline;
use crate::domain::unit::Unit;
use crate::mechanism::climate::{HourWeather, SunHour};
use crate::mechanism::driver::{Source, recalled_hour_shares};
use crate::weather::ahead::{season_clearness_sd, weighed_clearness};
use crate::weather::{self, DaySky};
use chrono::{Duration, NaiveDate, Timelike};
use std::collections::BTreeMap;

/// Uses written at most so many minutes apart were written in one sitting.
const ONE_SITTING_MIN: i64 = 40;
/// Sittings on a day with uses from which on a crew is one that writes as it goes, and how many
/// hours before it was written a use began at the earliest then, unless it lasts longer. Common
/// practice, no source.
const PROMPT_SITTINGS: f64 = 2.5;
const PROMPT_H: f64 = 1.5;

/// Relative spread of a day's sun around what its mean cloud says. Common practice, no source.
const CLOUD_ALONE: f64 = 0.1;

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
    pub fn tells_no_uses(self) -> bool {
        matches!(self, DayRecord::NoUses | DayRecord::Silent)
    }
}

/// One remembered hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PastHour {
    /// Civil hour at the van, 0..24.
    pub hour: usize,
    /// People aboard.
    pub aboard: f64,
    /// Outside temperature and clearness.
    pub weather: HourWeather,
    /// What the sun offered.
    pub sun: SunHour,
    /// Whether the day's weather was recorded, rather than assumed.
    pub weather_known: bool,
    /// How far the day's sun may be off, relative to what is assumed of it.
    pub sun_sd: f64,
    /// How much the journal tells of this day.
    pub record: DayRecord,
}

/// The past as far as memory goes.
#[derive(Debug, Clone)]
pub struct Past<'a> {
    /// The rig.
    pub rig: &'a Rig,
    /// Its parts now.
    pub parts: Parts,
    /// Time zone at the van.
    pub zone: Zone,
    /// Start of memory, on a full hour.
    pub from: Moment,
    /// Now.
    pub now: Moment,
    /// Hours from `from` up to now, the last one begun.
    pub hours: Vec<PastHour>,
    /// Entries within memory that happened up to now, in time order.
    pub entries: Vec<&'a Standing>,
    /// Crew and camp, plans included.
    pub timeline: Timeline,
    /// How much the journal tells of each civil day.
    pub days: BTreeMap<NaiveDate, DayRecord>,
    /// What was logged as used, spread over the hours in which it may have happened; by hour.
    pub used: Vec<Vec<UsedPart>>,
    /// What ran by the hour (drives, shore power, a generator), by hour.
    pub runs: Vec<Vec<RunPart>>,
    /// What was logged as used, entry by entry, by the end of its span.
    pub spans: Vec<UsedSpan>,
    /// Per activity, the chance that an occurrence falls in each civil hour.
    shares: Vec<[f64; 24]>,
}

/// Between when and when a logged use may have happened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UsedSpan {
    /// Index of the activity.
    pub activity: usize,
    /// Amount in the activity's unit.
    pub amount: f64,
    /// Not before this.
    pub begins: Moment,
    /// Not after this.
    pub ends: Moment,
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

impl<'a> Past<'a> {
    /// Lays out the past of a rig as of `now`.
    pub fn of(rig: &'a Rig, standing: &'a [Standing], now: Moment) -> Past<'a> {
        let zone = rig.zone(now);
        let timeline = Timeline::of(rig, standing);
        let oldest = now - Duration::days(MEMORY_DAYS);
        let entries: Vec<&Standing> =
            standing.iter().filter(|e| e.at <= now && e.at > oldest && e.is_fact()).collect();
        let speaks = |e: &&&Standing| !matches!(e.event, Event::Outlook(_));
        let first = entries.iter().find(speaks).map_or(now, |e| e.at);
        let from = on_the_hour(first);
        let days = day_records(&entries, zone, first, now);
        let parts = rig.parts_on(zone.date(now));
        let shares = parts.activities.iter().map(|a| recalled_hour_shares(&a.hours)).collect();
        let (hours, used, spans, runs) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut past = Past {
            rig,
            parts,
            zone,
            from,
            now,
            hours,
            entries,
            timeline,
            days,
            used,
            runs,
            spans,
            shares,
        };
        past.hours = past.lay_out(standing);
        past.runs = past.spread_runs();
        past.spans = past.spans_of_uses();
        past.used = past.spread_uses();
        past
    }

    /// Civil day and record of a moment.
    pub fn record(&self, at: Moment) -> DayRecord {
        self.days.get(&self.zone.date(at)).copied().unwrap_or(DayRecord::Kept)
    }

    fn lay_out(&self, standing: &[Standing]) -> Vec<PastHour> {
        let count = ((self.now - self.from).num_minutes().max(0) as usize).div_ceil(60);
        let skies = weather::Known::of(standing, self.now);
        let suns = weather::suns(&self.timeline, self.from, count, self.parts.electrics.as_ref());
        let mut sky: Option<(NaiveDate, DaySky)> = None;
        let mut sun_sd = 0.0;
        (0..count)
            .map(|index| {
                let at = self.zone.here(self.from + Duration::hours(index as i64));
                let date = at.date_naive();
                if sky.is_none_or(|(day, _)| day != date) {
                    let camp = self.timeline.camp(at);
                    let mut day = skies.past_day(self.rig, date, camp);
                    let usual = weather::usual(self.rig, date, camp.latitude).clearness;
                    let (clearness, sd) = past_sun(&skies, self.zone, date, &day, usual);
                    day.clearness = clearness;
                    sun_sd = sd / clearness.max(0.1);
                    sky = Some((date, day));
                }
                let sky = sky.map_or(DaySky::default(), |(_, sky)| sky);
                let hour = at.hour() as usize;
                PastHour {
                    hour,
                    aboard: self.timeline.aboard(at),
                    weather: sky.hour(hour),
                    sun: suns[index],
                    weather_known: sky.known,
                    sun_sd,
                    record: self.record(at),
                }
            })
            .collect()
    }
}

impl Past<'_> {
    /// People write in the evening what they did all day, often minutes after they looked at a
    /// gauge. A use therefore happened some time between that day's morning, or the last time that
    /// anybody sat down to write uses, and its own time, at hours that are usual for it. Who sits
    /// down several times a day writes things down as they happen.
    fn spans_of_uses(&self) -> Vec<UsedSpan> {
        let mut spans: Vec<UsedSpan> = Vec::new();
        let mut sittings: BTreeMap<NaiveDate, u32> = BTreeMap::new();
        let (mut wrote_before, mut writing) = (self.from, self.from);
        for entry in &self.entries {
            let Some((Source::Activity(activity), amount)) = exposure_of(&entry.event, &self.parts)
            else {
                continue;
            };
            let sitting = entry.at - writing > Duration::minutes(ONE_SITTING_MIN);
            if sitting {
                wrote_before = writing;
            }
            *sittings.entry(self.zone.date(entry.at)).or_default() += u32::from(sitting);
            writing = entry.at;
            let morning = self.zone.date(entry.at).and_time(chrono::NaiveTime::MIN);
            let begins = wrote_before.max(self.zone.moment(morning)).min(entry.at);
            spans.push(UsedSpan { activity, amount, begins, ends: entry.at });
        }
        let each_day = f64::from(sittings.values().sum::<u32>()) / sittings.len().max(1) as f64;
        if each_day >= PROMPT_SITTINGS {
            for span in &mut spans {
                let lasted = match self.parts.activities[span.activity].counted_in {
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

    /// Drives and charges over their hours, as far as they lie in the past.
    fn spread_runs(&self) -> Vec<Vec<RunPart>> {
        let mut runs = vec![Vec::new(); self.hours.len()];
        let all = self.entries.iter().filter_map(|entry| run_of(entry, &self.parts));
        for Run { driver, begins, hours } in all {
            let from = hours_between(self.from, begins);
            let to = (from + hours).min(hours_between(self.from, self.now));
            for index in from.max(0.0) as usize..(to.max(0.0).ceil() as usize).min(runs.len()) {
                let start = index as f64;
                let within = ((from - start).clamp(0.0, 1.0), (to - start).clamp(0.0, 1.0));
                if within.1 > within.0 {
                    runs[index].push(RunPart { driver, within });
                }
            }
        }
        runs
    }

    fn spread_uses(&self) -> Vec<Vec<UsedPart>> {
        let mut used = vec![Vec::new(); self.hours.len()];
        for span in &self.spans {
            for (index, part) in self.parts_of(span) {
                if let Some(hour) = used.get_mut(index) {
                    hour.push(part);
                }
            }
        }
        used
    }

    /// Logged uses that may lie on either side of a moment: activity, amount, and the share of it
    /// that is thought to lie before.
    pub fn divided(&self, at: Moment) -> Vec<(usize, f64, f64)> {
        let first = self.spans.partition_point(|span| span.ends <= at);
        let near = self.spans[first..].iter().take_while(|s| s.ends - at < Duration::hours(25));
        near.filter(|span| span.begins < at && span.amount > 0.0)
            .map(|span| {
                let before = self.used_between(span.activity, span.begins, at);
                (span.activity, span.amount, (before / span.amount).clamp(0.0, 1.0))
            })
            .collect()
    }

    /// Amount of an activity that is thought to lie between two moments.
    fn used_between(&self, activity: usize, begins: Moment, ends: Moment) -> f64 {
        let (from, to) = (hours_between(self.from, begins), hours_between(self.from, ends));
        let hours = from.max(0.0) as usize..=(to.max(0.0) as usize);
        let parts = hours.flat_map(|index| {
            let inside = (from - index as f64, to - index as f64);
            let own = self.used.get(index).into_iter().flatten();
            own.filter(|part| part.activity == activity)
                .map(move |part| part.between(inside.0.max(0.0), inside.1.min(1.0)))
        });
        parts.sum()
    }

    /// The parts of a logged use by hour of the past, at the hours that are usual for it; at an
    /// unusual hour, just before it was written.
    pub fn parts_of(&self, span: &UsedSpan) -> Vec<(usize, UsedPart)> {
        let UsedSpan { activity, amount, begins, ends } = *span;
        let (from, to) = (hours_between(self.from, begins), hours_between(self.from, ends));
        let last = (to.max(0.0) as usize).min(self.hours.len().saturating_sub(1));
        let mut parts: Vec<(usize, (f64, f64), f64)> = Vec::new();
        for index in from.max(0.0) as usize..=last {
            let start = index as f64;
            let within = ((from - start).clamp(0.0, 1.0), (to - start).clamp(0.0, 1.0));
            if let Some(hour) = self.hours.get(index).filter(|_| within.1 > within.0) {
                let weight = (within.1 - within.0) * self.shares[activity][hour.hour];
                parts.push((index, within, weight));
            }
        }
        let whole: f64 = parts.iter().map(|p| p.2).sum();
        if whole <= 0.0 {
            let within = parts.last().map_or_else(
                || {
                    let end = (to - last as f64).clamp(1e-6, 1.0);
                    (last, (end - 1e-6, end))
                },
                |part| (part.0, part.1),
            );
            return vec![(within.0, UsedPart { activity, amount, within: within.1 })];
        }
        let part = |(index, within, weight): (usize, (f64, f64), f64)| {
            (index, UsedPart { activity, amount: amount * weight / whole, within })
        };
        parts.into_iter().map(part).filter(|(_, part)| part.amount > 0.0).collect()
    }
}

/// Clearness of a past day and its spread. A row is an outlook: the later it was issued, the
/// nearer it lies to what came. Where no row speaks of sun or cloud, the day may have been any day
/// of the season.
fn past_sun(
    skies: &weather::Known,
    zone: Zone,
    date: NaiveDate,
    sky: &DaySky,
    usual: f64,
) -> (f64, f64) {
    let Some(row) = skies.rows.get(&date).filter(|_| sky.sun_known) else {
        return (sky.clearness, season_clearness_sd(usual));
    };
    let lead = (date - zone.date(row.issued)).num_days().clamp(0, 5) as usize;
    let (clearness, sd) = weighed_clearness(sky, lead, usual);
    match row.sun_kwh_m2 {
        Some(_) => (clearness, sd),
        None => (clearness, sd.hypot(CLOUD_ALONE * clearness)),
    }
}

fn on_the_hour(at: Moment) -> Moment {
    let past_hour = i64::from(at.minute()) * 60 + i64::from(at.second());
    at - Duration::seconds(past_hour) - Duration::nanoseconds(i64::from(at.nanosecond()))
}

/// Which days are told. Today is never silent: the evening's entry may still come.
fn day_records(
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

/// Share of days whose uses are never written down. Common practice, no source.
const NEVER_TOLD: f64 = 0.05;

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
    let since_morning = |day: NaiveDate, at: Moment| {
        hours_between(zone.moment(day.and_time(chrono::NaiveTime::MIN)), at)
    };
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
