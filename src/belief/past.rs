//! The remembered past, hour by hour: who was aboard, what the weather was, what was written.

mod days;
mod fuels;
mod uses;

use super::practice::{CLOUD_ALONE_SD, MEMORY_DAYS, ONE_SITTING_MIN};
use crate::domain::timeline::Timeline;
use crate::domain::{Event, Moment, Parts, Rig, Standing, Zone};
use crate::mechanism::climate::{FuelsOut, HourWeather, LightHour, Surroundings};
use crate::weather::ahead::{season_clearness_sd, weighed_clearness};
use crate::weather::{self, DaySky};
use chrono::{Duration, NaiveDate, NaiveTime, Timelike};
pub(super) use days::usual_entry;
pub use days::{Day, DayRecord, Days};
pub use uses::{RunPart, UsedPart, UsedSpan, Uses};

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
    pub sun: LightHour,
    /// Whether the day's weather was recorded, rather than assumed.
    pub weather_known: bool,
    /// How far the day's sun may be off, relative to what is assumed of it.
    pub sun_sd: f64,
    /// How much the journal tells of this day.
    pub day: Day,
    /// Fuels for heat that were out.
    pub out: FuelsOut,
}

impl PastHour {
    /// What stood around the van.
    pub(crate) fn surroundings(&self) -> Surroundings {
        let PastHour { hour, aboard, out, .. } = *self;
        Surroundings { hour, aboard, outside_c: self.weather.outside_c, out }
    }
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
    pub days: Days,
    /// What was logged as used.
    pub uses: Uses,
    /// What ran by the hour (drives, shore power, a generator), hour by hour.
    pub runs: Vec<Vec<RunPart>>,
}

impl<'a> Past<'a> {
    /// Lays out the past of a rig as of `now`, as far as memory goes.
    pub fn of(rig: &'a Rig, standing: &'a [Standing], now: Moment) -> Past<'a> {
        let oldest = now - Duration::days(MEMORY_DAYS);
        let tells = |e: &&Standing| e.at <= now && e.at > oldest && e.is_fact();
        let told = standing.iter().filter(tells).filter(|e| !matches!(e.event, Event::Outlook(_)));
        let zone = rig.zone(now);
        let mut told = told.peekable();
        let began = told.peek().map_or(now, |first| first.at);
        let sitting = began + Duration::minutes(ONE_SITTING_MIN);
        let morning = |day: NaiveDate| zone.moment(day.and_time(NaiveTime::MIN));
        // What was used on a day is of all of it, and so is what a first evening writes down of it.
        let begins = |entry: &Standing| match entry.event {
            Event::Spent { .. } => morning(zone.date(entry.at)),
            Event::Use { .. } if entry.at <= sitting => morning(zone.waking_date(entry.at)),
            _ => entry.at,
        };
        let day = began + Duration::days(1);
        let first = told.take_while(|entry| entry.at < day).map(begins).min().unwrap_or(now);
        Past::laid_out(rig, standing, (oldest, first), now)
    }

    /// The past from a moment on, however long ago that was: one at which the journal had begun.
    pub fn after(rig: &'a Rig, standing: &'a [Standing], from: Moment, now: Moment) -> Past<'a> {
        Past::laid_out(rig, standing, (from - Duration::seconds(1), from), now)
    }

    /// From `first` on, with the entries after `oldest`.
    fn laid_out(
        rig: &'a Rig,
        standing: &'a [Standing],
        (oldest, first): (Moment, Moment),
        now: Moment,
    ) -> Past<'a> {
        let zone = rig.zone(now);
        let timeline = Timeline::of(rig, standing);
        let entries: Vec<&Standing> =
            standing.iter().filter(|e| e.at <= now && e.at > oldest && e.is_fact()).collect();
        let from = on_the_hour(first);
        let parts = rig.parts_on(zone.date(now));
        let days = days::of(&days::Written {
            entries: &entries,
            timeline: &timeline,
            parts: &parts,
            zone,
            span: (first, now),
        });
        let (hours, uses, runs) = (Vec::new(), Uses::default(), Vec::new());
        let mut past =
            Past { rig, parts, zone, from, now, hours, entries, timeline, days, uses, runs };
        past.hours = past.lay_out(standing);
        let civil: Vec<usize> = past.hours.iter().map(|hour| hour.hour).collect();
        past.runs = uses::runs_by_hour(&past.entries, &past.parts, (from, now), civil.len());
        past.uses = Uses::of(&past.entries, &past.parts, zone, from, &civil);
        past
    }

    /// The day that a logged use counts for.
    pub(super) fn day_of(&self, span: &UsedSpan) -> NaiveDate {
        days::day_of(self.zone, span.ends, self.from)
    }

    /// What the sun offered to the panels that were there in each of `count` hours.
    fn suns(&self, count: usize) -> Vec<LightHour> {
        let mut suns: Vec<LightHour> = Vec::with_capacity(count);
        let starts = |day: NaiveDate| self.zone.moment(day.and_time(NaiveTime::MIN));
        let changes = self.rig.days_changed(|parts| parts.electrics.clone());
        let hour = |day| ((starts(day) - self.from).num_minutes().max(0) as usize / 60).min(count);
        for end in changes.into_iter().map(hour).chain([count]).collect::<Vec<_>>() {
            let start = self.from + Duration::hours(suns.len() as i64);
            let electrics = self.rig.parts_on(self.zone.date(start)).electrics;
            let more = end.saturating_sub(suns.len());
            suns.extend(weather::suns(&self.timeline, start, more, electrics.as_ref()));
        }
        suns
    }

    fn lay_out(&self, standing: &[Standing]) -> Vec<PastHour> {
        let count = ((self.now - self.from).num_minutes().max(0) as usize).div_ceil(60);
        let skies = weather::KnownDays::of(standing, self.now);
        let suns = self.suns(count);
        let mut sky: Option<(NaiveDate, DaySky)> = None;
        let mut sun_sd = 0.0;
        let Past { rig, parts, zone, from, entries, .. } = self;
        let told = fuels::FuelPast { rig, parts, zone: *zone, from: *from, entries };
        let outs = fuels::out_by_hour(&told, count);
        let hours = self.zone.hours(self.from, count).into_iter().zip(suns).zip(outs);
        hours
            .map(|((at, sun), out)| {
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
                    sun,
                    weather_known: sky.known,
                    sun_sd,
                    day: self.days.each.get(&date).copied().unwrap_or(Day::TOLD),
                    out,
                }
            })
            .collect()
    }
}

/// Clearness of a past day and its spread. A row is an outlook: the later it was issued, the
/// nearer it lies to what came. Where no row speaks of sun or cloud, the day may have been any day
/// of the season.
fn past_sun(
    skies: &weather::KnownDays,
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
        None => (clearness, sd.hypot(CLOUD_ALONE_SD * clearness)),
    }
}

fn on_the_hour(at: Moment) -> Moment {
    let past_hour = i64::from(at.minute()) * 60 + i64::from(at.second());
    at - Duration::seconds(past_hour) - Duration::nanoseconds(i64::from(at.nanosecond()))
}
