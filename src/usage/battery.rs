//! The battery's day: sun, loads and level by the hour, as it was and as it is expected to be.

use super::era::Era;
use crate::belief::Basis;
use crate::belief::past::Past;
use crate::forecast::Options;
use crate::forecast::scene::Scene;
use crate::forecast::why::held;
use crate::mechanism::held::{Moved, Moves, moved};
use chrono::{Duration, NaiveDate, Timelike};

/// One hour of the battery.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatteryHour {
    /// Civil hour at the van, 0..24.
    pub hour: u32,
    /// What light was worth if there was room for it, in Wh at the cells.
    pub sun_wh: f64,
    /// What driving, shore power and a generator brought, in Wh.
    pub charged_wh: f64,
    /// What everything took, in Wh, at least 0.
    pub used_wh: f64,
    /// Level at the end of the hour, in Wh: what is believed of one that has passed, what is
    /// expected of one ahead.
    pub level_wh: f64,
    /// Whether it lies ahead.
    pub is_ahead: bool,
}

/// One civil day of the battery.
#[derive(Debug, Clone, PartialEq)]
pub struct BatteryDay {
    /// The day.
    pub date: NaiveDate,
    /// Its hours, in order; fewer than 24 where the journal begins within it.
    pub hours: Vec<BatteryHour>,
}

impl BatteryDay {
    /// The sum of something over its hours, in Wh.
    pub fn sum(&self, of: impl Fn(&BatteryHour) -> f64) -> f64 {
        self.hours.iter().map(of).sum()
    }

    /// Puts an hour behind the others of its day. The hour of now has a part that has passed and one
    /// ahead, which are told as one.
    fn put(&mut self, date: NaiveDate, hour: BatteryHour) {
        if date != self.date {
            return;
        }
        match self.hours.last_mut().filter(|last| last.is_ahead != hour.is_ahead) {
            Some(last) if last.hour == hour.hour => {
                let passed = *last;
                *last = hour;
                last.sun_wh += passed.sun_wh;
                last.charged_wh += passed.charged_wh;
                last.used_wh += passed.used_wh;
            }
            _ => self.hours.push(hour),
        }
    }

    /// The hour with the lowest level, and the one with the highest.
    pub fn extremes(&self) -> Option<(BatteryHour, BatteryHour)> {
        let by_level = |a: &&BatteryHour, b: &&BatteryHour| a.level_wh.total_cmp(&b.level_wh);
        let low = self.hours.iter().min_by(by_level)?;
        self.hours.iter().max_by(by_level).map(|high| (*low, *high))
    }
}

/// Yesterday, today and tomorrow of the battery, days without an hour left out; empty without a
/// battery. Tomorrow is walked with what is expected of every hour, from the level believed now.
pub fn days(basis: &Basis, options: Options) -> Vec<BatteryDay> {
    let Basis { rig, standing, beliefs, now } = *basis;
    let Some(store) = beliefs.mechanism.electric else { return Vec::new() };
    let zone = basis.zone();
    let today = zone.date(now);
    let mut days: Vec<BatteryDay> = [-1, 0, 1]
        .map(|days| BatteryDay { date: today + Duration::days(days), hours: Vec::new() })
        .into();
    // Since yesterday's first hour, and the hour of now.
    let passed = beliefs.electric_hours.len().min(25 + zone.here(now).hour() as usize);
    let levels = &beliefs.electric_hours[beliefs.electric_hours.len() - passed..];
    let era = Era::of(Past::of(rig, standing, now), beliefs);
    for ((begins, movers), level_wh) in era.last_hours(passed, store).iter().zip(levels) {
        let begins = zone.here(*begins);
        let hour = hour_of(begins.hour(), movers, *level_wh, false);
        days.iter_mut().for_each(|day| day.put(begins.date_naive(), hour));
    }
    let scene = Scene::of(rig, standing, beliefs, &Options { horizon_hours: 48, ..options });
    let capacity = beliefs.mechanism.stocks()[store].capacity;
    let mut level_wh = beliefs.level(store).mean;
    for (index, hour) in scene.hours.iter().enumerate() {
        let held = held(beliefs, &scene, index..index + 1);
        let value = |index: usize| beliefs.coefficient(index).mean;
        let movers = moved(&beliefs.mechanism, &held, value, store);
        let net_wh: f64 = movers.iter().map(|moved| moved.amount).sum();
        level_wh = (level_wh + net_wh).clamp(0.0, capacity);
        let date = today + Duration::days(hour.day as i64);
        let hour = hour_of(hour.hour as u32, &movers, level_wh, true);
        days.iter_mut().for_each(|day| day.put(date, hour));
    }
    days.retain(|day| !day.hours.is_empty());
    days
}

fn hour_of(hour: u32, movers: &[Moved], level_wh: f64, is_ahead: bool) -> BatteryHour {
    let sum = |of: &dyn Fn(&Moved) -> bool| -> f64 {
        movers.iter().filter(|moved| of(moved)).map(|moved| moved.amount).fold(0.0, |a, b| a + b)
    };
    BatteryHour {
        hour,
        sun_wh: sum(&|moved| moved.what == Moves::Sun),
        charged_wh: sum(&|moved| moved.what != Moves::Sun && moved.amount > 0.0),
        used_wh: 0.0 - sum(&|moved| moved.amount < 0.0),
        level_wh,
        is_ahead,
    }
}
