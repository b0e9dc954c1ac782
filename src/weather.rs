//! Weather behind and ahead: what the journal's outlooks, the season and the place say.
//!
//! The past is one best row per day. The future is a mean and a spread per day: an outlook while
//! it lasts, its error growing with lead time, then persistence that fades into what is usual.

pub mod ahead;
mod practice;

use crate::domain::timeline::{Camp, Timeline};
use crate::domain::{DayWeather, Electrics, Event, Moment, Rig, Standing, TypicalWeather};
use crate::mechanism::climate::{HourWeather, LightHour};
use crate::physics::{day_cycle, sky, sun};
use chrono::{Datelike, Duration, NaiveDate};
use practice::{
    COLDEST_LATITUDE_DEG, EQUATOR_C, HALF_RANGE_K, MOST_CLEARNESS, NEARBY_DAYS, PER_DEGREE_K,
    ROUGH_CLOUD, TELLING_DAY_WH_M2, WARMEST_DAY, WAVE_PER_DEGREE_K,
};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// One day's weather as the stocks feel it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DaySky {
    /// Lowest temperature, degrees Celsius.
    pub low_c: f64,
    /// Highest temperature, degrees Celsius.
    pub high_c: f64,
    /// Share of the clear-sky irradiation that arrives.
    pub clearness: f64,
    /// Whether the temperatures were recorded, rather than assumed.
    pub known: bool,
    /// Whether the sun was recorded, rather than assumed.
    pub sun_known: bool,
}

impl Default for DaySky {
    fn default() -> DaySky {
        DaySky { low_c: 10.0, high_c: 18.0, clearness: 0.65, known: false, sun_known: false }
    }
}

impl DaySky {
    /// Weather of one civil hour of that day.
    pub fn hour(&self, hour: usize) -> HourWeather {
        let middle = hour as f64 + 0.5;
        HourWeather {
            outside_c: day_cycle::temperature_c(middle, self.low_c, self.high_c),
            clearness: self.clearness,
        }
    }
}

/// The best row per day among the outlooks known at a moment.
#[derive(Debug, Clone, Default)]
pub struct KnownDays<'a> {
    /// The newest rows per date, each with what older ones said besides.
    pub rows: BTreeMap<NaiveDate, Cow<'a, DayWeather>>,
}

impl<'a> KnownDays<'a> {
    /// Rows issued at or before `now`; for each date the newest, with what it leaves unsaid from those
    /// before it: a low that was told in the evening, a high the next morning.
    pub fn of(standing: &'a [Standing], now: Moment) -> KnownDays<'a> {
        let mut rows: BTreeMap<NaiveDate, Cow<DayWeather>> = BTreeMap::new();
        let mut issued: Vec<&DayWeather> = Vec::new();
        for entry in standing {
            if let Event::Outlook(row) = &entry.event
                && row.issued <= now
            {
                issued.push(row);
            }
        }
        issued.sort_by_key(|row| row.issued);
        for row in issued {
            let whole = row.low_c.is_some() && row.high_c.is_some() && row.cloud.is_some();
            let newest = match rows.get(&row.date).filter(|_| !whole) {
                Some(older) => Cow::Owned(row.clone().with_older(older)),
                None => Cow::Borrowed(row),
            };
            rows.insert(row.date, newest);
        }
        KnownDays { rows }
    }

    /// What a day that has passed was like: its row, else what is usual.
    pub fn past_day(&self, rig: &Rig, date: NaiveDate, camp: &Camp) -> DaySky {
        let usual = usual(rig, date, camp.latitude);
        match self.rows.get(&date) {
            Some(row) => of_row(row, camp, self.nearby(date, usual)),
            None => self.nearby(date, usual),
        }
    }

    /// Without a row for the day itself, the mean of rows within three days, else what is usual.
    fn nearby(&self, date: NaiveDate, usual: DaySky) -> DaySky {
        let near = Duration::days(NEARBY_DAYS);
        let around = self.rows.range(date - near..=date + near);
        let ends: Vec<(f64, f64)> = around.filter_map(|(_, row)| ends(row, usual)).collect();
        if ends.is_empty() {
            return usual;
        }
        let mean =
            |of: fn(&(f64, f64)) -> f64| ends.iter().map(of).sum::<f64>() / ends.len() as f64;
        DaySky { low_c: mean(|ends| ends.0), high_c: mean(|ends| ends.1), ..usual }
    }
}

/// The low and the high that a row tells; of one alone the other is as far off as is usual. `None` where
/// it tells neither.
fn ends(row: &DayWeather, usual: DaySky) -> Option<(f64, f64)> {
    let apart = usual.high_c - usual.low_c;
    match (row.low_c, row.high_c) {
        (Some(low), Some(high)) => Some((low, high)),
        (Some(low), None) => Some((low, low + apart)),
        (None, Some(high)) => Some((high - apart, high)),
        (None, None) => None,
    }
}

/// A row as the stocks feel it; what it does not tell is as `otherwise`.
fn of_row(row: &DayWeather, camp: &Camp, otherwise: DaySky) -> DaySky {
    let from_sum = row.sun_kwh_m2.and_then(|kwh| {
        let clear_wh = sun::clear_day_wh_m2(row.date, camp.latitude, camp.longitude);
        (clear_wh > TELLING_DAY_WH_M2).then(|| kwh * 1000.0 / clear_wh)
    });
    let from_cloud = row.cloud.map(sky::cloud_factor);
    let clearness = from_sum.or(from_cloud);
    let ends = ends(row, otherwise);
    let (low_c, high_c) = ends.unwrap_or((otherwise.low_c, otherwise.high_c));
    DaySky {
        low_c,
        high_c,
        clearness: clearness.unwrap_or(otherwise.clearness).clamp(0.0, MOST_CLEARNESS),
        known: ends.is_some(),
        sun_known: clearness.is_some(),
    }
}

/// What is usual for a date: the rig's own words, else a rough climate by latitude.
pub fn usual(rig: &Rig, date: NaiveDate, latitude_deg: f64) -> DaySky {
    let typical = rig.home.typical.unwrap_or_else(|| rough_climate(date, latitude_deg));
    DaySky {
        low_c: typical.low_c,
        high_c: typical.high_c,
        clearness: sky::mean_cloud_factor(typical.cloud),
        known: false,
        sun_known: false,
    }
}

/// How much warmer the season usually is on one date than on another, in K, by the rough climate.
fn season_drift_k(from: NaiveDate, to: NaiveDate, latitude_deg: f64) -> f64 {
    rough_climate(to, latitude_deg).low_c - rough_climate(from, latitude_deg).low_c
}

/// A rough climate near sea level, for a van that nobody has told anything: see `EQUATOR_C`.
pub fn rough_climate(date: NaiveDate, latitude_deg: f64) -> TypicalWeather {
    let away = latitude_deg.abs().min(COLDEST_LATITUDE_DEG);
    let season = (f64::from(date.ordinal()) - WARMEST_DAY) / 365.25 * std::f64::consts::TAU;
    let warm_half = season.cos() * latitude_deg.signum();
    let mean_c = EQUATOR_C - PER_DEGREE_K * away + WAVE_PER_DEGREE_K * away * warm_half;
    TypicalWeather {
        low_c: mean_c - HALF_RANGE_K,
        high_c: mean_c + HALF_RANGE_K,
        cloud: ROUGH_CLOUD,
    }
}

/// What the sun offers the panels of `electrics` in each of `count` hours from `from`, wherever the
/// timeline has the van.
pub fn suns(
    timeline: &Timeline,
    from: Moment,
    count: usize,
    electrics: Option<&Electrics>,
) -> Vec<LightHour> {
    let to = from + Duration::hours(count as i64);
    let mut legs = vec![from];
    legs.extend(timeline.moves_between(from, to));
    legs.push(to);
    let mut suns = Vec::with_capacity(count);
    for leg in legs.windows(2) {
        let upto = ((leg[1] - from).num_minutes() as usize).div_ceil(60).min(count);
        let more = upto.saturating_sub(suns.len());
        let start = from + Duration::hours(suns.len() as i64);
        let camp = timeline.camp(leg[0]);
        let hours = sun::hourly_sun(start, more, camp.latitude, camp.longitude);
        suns.extend(hours.iter().map(|hour| LightHour::of(hour, electrics)));
    }
    suns
}
