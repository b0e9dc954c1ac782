//! What all lives share: the hours ahead, who is aboard, the sun, plans, expected weather.

use super::Options;
use super::variants::LevelChange;
use crate::belief::Beliefs;
use crate::belief::evidence::{DriverRun, exposure_of, in_unit, run_of};
use crate::belief::habit::Habit;
use crate::domain::rig::KitChange;
use crate::domain::{Driver, Event, Moment, Rig, Standing, Stock, hours_between};
use crate::mechanism::climate::{FuelsOut, Kit, LightHour, Surroundings};
use crate::mechanism::driver::{Source, hour_shares};
use crate::physics;
use crate::physics::heat::heat_demand_w;
use crate::weather::ahead::{self, DayAhead};
use crate::weather::{self, DaySky, KnownDays};
use chrono::{Duration, NaiveTime, Timelike};

/// What a standard normal exceeds one time in ten.
const ONE_IN_TEN: f64 = 1.2816;

/// One hour ahead, the same in all lives.
#[derive(Debug, Clone, PartialEq)]
pub struct HourAhead {
    /// Civil hour at its middle, 0..24.
    pub hour: usize,
    /// Index of its civil day in [`Scene::days`].
    pub day: usize,
    /// People aboard.
    pub aboard: f64,
    /// Whether its day is declared complete: what people log is told, and nothing of it is to come.
    pub told: bool,
    /// Place of its temperature between the day's low (0) and high (1).
    pub warmth: f64,
    /// What the sun offers.
    pub sun: LightHour,
    /// Planned uses, drives and charges that fall in it.
    pub planned: Vec<(Source, f64)>,
    /// Planned charge from outside, in Wh at the battery.
    pub planned_charge_wh: f64,
    /// Whether the van moves camp in it.
    pub moves_camp: bool,
}

impl HourAhead {
    /// What is expected to stand around the van, on a day under this sky.
    pub(super) fn surroundings(&self, sky: &DaySky) -> Surroundings {
        let outside_c = sky.low_c + (sky.high_c - sky.low_c) * self.warmth;
        let (hour, aboard, out) = (self.hour, self.aboard, FuelsOut::default());
        Surroundings { hour, aboard, outside_c, out }
    }
}

/// What all lives share.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// The moment that counts as now.
    pub now: Moment,
    /// Hours ahead.
    pub hours: Vec<HourAhead>,
    /// Expected weather per civil day.
    pub days: Vec<DayAhead>,
    /// The kit that sun and cold act on.
    pub kit: Kit,
    /// Chance that an occurrence of each activity falls in each civil hour.
    pub shares: Vec<[f64; 24]>,
    /// Hours from now after which each stock is gone for good; infinite for those that stay.
    pub leaves: Vec<f64>,
    /// The most heat that an hour ahead wants, in W, in nine of ten futures and without sun.
    pub most_heat_w: f64,
    /// Whether the van is warmed with another when each stock is at its limit, which forces no stop
    /// then ([`Parts::stood_in_by`](crate::domain::Parts::stood_in_by)).
    pub stood_in: Vec<bool>,
    /// What is done to stocks, `(hour, stock, what)`, at the start of an hour and in their order;
    /// nothing in a forecast.
    pub puts: Vec<(usize, usize, LevelChange)>,
}

impl Scene {
    /// Lays out the hours ahead. Planned fills and empties are left out: the forecast says what
    /// happens if nobody services the stocks.
    pub fn of(rig: &Rig, standing: &[Standing], beliefs: &Beliefs, options: &Options) -> Scene {
        let (now, count) = (options.at, options.horizon_hours);
        let zone = rig.zone(now);
        let known = KnownDays::of(standing, now);
        let days = ahead::days(rig, &known, &beliefs.timeline, now, count.div_ceil(24) + 2);
        let parts = &beliefs.mechanism.parts;
        let suns = weather::suns(&beliefs.timeline, now, count, parts.electrics.as_ref());
        let today = zone.date(now);
        let awake = zone.waking_date(now);
        let closes = |entry: &&Standing| matches!(entry.event, Event::DayClosed);
        let closed = standing
            .iter()
            .filter(closes)
            .any(|entry| entry.at <= now && zone.waking_date(entry.at) == awake);
        let mut hours: Vec<HourAhead> = suns
            .into_iter()
            .enumerate()
            .map(|(index, sun)| {
                let middle = zone.here(now + Duration::minutes(index as i64 * 60 + 30));
                let hour = middle.hour() as usize;
                let aboard = beliefs.timeline.aboard(middle);
                HourAhead {
                    hour,
                    day: ((middle.date_naive() - today).num_days().max(0) as usize)
                        .min(days.len() - 1),
                    aboard,
                    told: closed && zone.waking_date(middle) == awake,
                    warmth: physics::day_cycle::temperature_c(hour as f64 + 0.5, 0.0, 1.0),
                    sun,
                    planned: Vec::new(),
                    planned_charge_wh: 0.0,
                    moves_camp: false,
                }
            })
            .collect();
        // What a schedule of stops planned is left out, hook-ups and drives as well as fills and
        // dumps: the dates say what happens if nobody services anything.
        let plans = standing.iter().filter(|entry| entry.counts_for_dates());
        place_all(&mut hours, now, plans, beliefs);
        let shares = parts.activities.iter().map(|a| hour_shares(&a.hours)).collect();
        let leaves = leaves(rig, beliefs, now);
        let most_heat_w = most_heat_w(beliefs, &hours, &days);
        let stood_in = |stock: &Stock| parts.stood_in_by(&stock.name, most_heat_w).is_some();
        let stood_in = parts.stocks.iter().map(stood_in).collect();
        Scene {
            now,
            hours,
            days,
            kit: Kit::of(&beliefs.mechanism),
            shares,
            leaves,
            most_heat_w,
            stood_in,
            puts: Vec::new(),
        }
    }

    /// What an hour has of an activity's habit, in person-days or days.
    pub fn exposure(&self, activity: usize, habit: &Habit, hour: &HourAhead) -> f64 {
        match hour.told {
            true => 0.0,
            false => habit.people(hour.aboard) * self.shares[activity][hour.hour],
        }
    }

    /// Adds the drives to stops that a schedule planned, for a plan in which these are made.
    pub fn drive_to_planned_stops(&mut self, standing: &[Standing], beliefs: &Beliefs) {
        let is_drive = |entry: &&Standing| matches!(entry.event, Event::Drive(_));
        let drives = standing.iter().filter(|entry| entry.is_stop_ahead()).filter(is_drive);
        place_all(&mut self.hours, self.now, drives, beliefs);
    }
}

/// The most heat that an hour with somebody aboard wants, in W: a loss and a cold that are exceeded
/// one time in ten, and no sun.
fn most_heat_w(beliefs: &Beliefs, hours: &[HourAhead], days: &[DayAhead]) -> f64 {
    let mechanism = &beliefs.mechanism;
    let Some(heating) = &mechanism.parts.heating else { return 0.0 };
    let loss = mechanism.factors.heat_loss.map(|index| beliefs.coefficient(index));
    let loss_w_per_k = loss.map_or(0.0, |loss| loss.mean + ONE_IN_TEN * loss.sd);
    let wanted_w = |hour: &HourAhead| {
        let DayAhead { sky, temperature_sd, .. } = &days[hour.day];
        let outside_c = hour.surroundings(sky).outside_c - ONE_IN_TEN * temperature_sd;
        let people_w = hour.aboard * heating.person_w;
        heat_demand_w(loss_w_per_k, heating.wanted_c(hour.hour), outside_c, people_w)
    };
    hours.iter().filter(|hour| hour.aboard > 0.0).map(wanted_w).fold(0.0, f64::max)
}

/// Puts what lies ahead of `now` into its hours.
fn place_all<'a>(
    hours: &mut [HourAhead],
    now: Moment,
    entries: impl Iterator<Item = &'a Standing>,
    beliefs: &Beliefs,
) {
    for entry in entries {
        // A drive that was planned for an hour ago still goes on.
        if let Some(DriverRun { driver, begins, hours: lasts }) =
            run_of(entry, &beliefs.mechanism.parts)
        {
            run(hours, hours_between(now, begins), driver, lasts);
        } else if entry.at > now
            && let Some(hour) = hours.get_mut(hours_between(now, entry.at) as usize)
        {
            place(hour, &entry.event, beliefs);
        }
    }
}

/// Plans something that goes on for `lasts` hours from `begins` on, both counted from the start of
/// the first of `hours`: every hour gets its part, what lies before them or beyond is left out.
pub fn run(hours: &mut [HourAhead], begins: f64, driver: Driver, lasts: f64) {
    let ends = begins + lasts;
    let first = begins.max(0.0) as usize;
    for (index, hour) in hours.iter_mut().enumerate().skip(first) {
        let from = begins.max(index as f64);
        let part = ends.min(index as f64 + 1.0) - from;
        if part <= 0.0 {
            break;
        }
        hour.planned.push((Source::Driver(driver), part));
    }
}

/// Plans a drive of so many hours and km from `begins` on, counted as by [`run`].
pub fn drive(all: &mut [HourAhead], begins: f64, (hours, km): (f64, f64)) {
    run(all, begins, Driver::DriveHour, hours);
    if let Some(hour) = all.get_mut(begins.max(0.0) as usize) {
        hour.planned.push((Source::Driver(Driver::DriveKm), km));
    }
}

fn place(hour: &mut HourAhead, event: &Event, beliefs: &Beliefs) {
    let parts = &beliefs.mechanism.parts;
    match event {
        Event::Camp(_) => hour.moves_camp = true,
        Event::Charge { amount, .. } => {
            let electric = beliefs.mechanism.electric.map(|i| &parts.stocks[i]);
            match electric.and_then(|stock| in_unit(amount, stock, parts.volts())) {
                Some(wh) => hour.planned_charge_wh += wh,
                None => hour.planned.extend(exposure_of(event, parts)),
            }
        }
        other => hour.planned.extend(exposure_of(other, parts)),
    }
}

/// Hours from now after which each stock is gone for good, because a dated change of kit takes
/// it away; infinite for those that stay.
fn leaves(rig: &Rig, beliefs: &Beliefs, now: Moment) -> Vec<f64> {
    let zone = rig.zone(now);
    let today = zone.date(now);
    let gone = |name: &String| {
        let ahead = rig.changes.iter().filter(|change| change.from > today);
        let taken = ahead.clone().filter(|change| change.removed.contains(name));
        let first = taken.map(|change| change.from).min()?;
        // Another of the same name takes its place, at once or later: the need for it goes on.
        let again = |c: &KitChange| c.parts.stocks.iter().any(|s| s.name == *name);
        if ahead.filter(|change| change.from >= first).any(again) {
            return None;
        }
        // Taken out during that day: it serves until the evening before.
        let begins = zone.moment(first.and_time(NaiveTime::MIN));
        Some(hours_between(now, begins).max(0.0))
    };
    let stocks = beliefs.mechanism.stocks().iter();
    stocks.map(|stock| gone(&stock.name).unwrap_or(f64::INFINITY)).collect()
}
