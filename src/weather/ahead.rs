//! The weather ahead: a mean and a spread per day, and how one life draws from them.

use super::practice::{
    DRAWN_CLEARNESS, LASTING, LEAST_SAID, OTHER_END_K, OUTLOOK_K, OUTLOOK_SUN, OWN_WORDS_DAYS,
    RECENT_DAYS, ROUGH_DAYS, ROUGH_K, USUAL_CLEARNESS,
};
use super::{DaySky, KnownDays, of_row, season_drift_k, usual};
use crate::domain::timeline::Timeline;
use crate::domain::{Moment, Rig};
use chrono::{Duration, NaiveDate};

/// What is believed of one day ahead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayAhead {
    /// The civil day.
    pub date: NaiveDate,
    /// Expected low, high and clearness.
    pub sky: DaySky,
    /// Standard deviation of the day's temperature, in K.
    pub temperature_sd: f64,
    /// Standard deviation of its clearness.
    pub clearness_sd: f64,
}

/// Day-to-day persistence of temperature anomalies. Fitted to the even months of the typical
/// years of two stations, 723170 (Greensboro) and 703165 (Sand Point), from the files that pvlib
/// 0.16.1 carries: correlations over one to four days of 0.80, 0.50, 0.31 and 0.20 about each
/// month's own mean, which powers of 0.70 fit best, and a little more for what taking the mean off
/// hides. Checked against the odd months in `tests/engine/weather_year.rs`.
pub const TEMPERATURE_LAG1: f64 = 0.72;
/// Day-to-day persistence of clearness anomalies: 0.33 on the even months.
pub const CLEARNESS_LAG1: f64 = 0.33;
/// Spread of a day's temperature about the season, in K: 3.98 on the same months about their own
/// mean, and 4.05 by the errors that these rules make there over five days without an outlook.
const SEASON_K: f64 = 4.0;
/// Spread of a day's clearness about the season: 0.237 on the same months about their own mean, and
/// 0.26 by the errors that these rules make there.
const SEASON_CLEARNESS: f64 = 0.25;
/// [`SEASON_CLEARNESS`] where half of the sun arrives on average: widest, so that the errors of
/// those months come out as claimed.
const WIDEST_CLEARNESS: f64 = 1.12 * SEASON_CLEARNESS;

/// Lays out `count` days from the civil day of `now`, by the rig's clock and wherever the timeline
/// has the van.
pub fn days(
    rig: &Rig,
    known: &KnownDays,
    timeline: &Timeline,
    now: Moment,
    count: usize,
) -> Vec<DayAhead> {
    let zone = rig.zone(now);
    let today = zone.date(now);
    let recent = recent_mean(rig, known, timeline, now);
    let mut ahead: Vec<DayAhead> = Vec::with_capacity(count);
    for n in 0..count {
        let date = today + Duration::days(n as i64);
        let noon = zone.moment(date.and_hms_opt(12, 0, 0).unwrap_or_default());
        let camp = timeline.camp(noon.max(now));
        // What was recorded, and what the rig's owner calls usual, is of about now.
        let drift_k = season_drift_k(today, date, camp.latitude);
        let own_words = rig.home.typical.is_some();
        let mut usual = usual(rig, date, camp.latitude);
        if own_words {
            usual = warmer(usual, drift_k);
        }
        let recent = recent.map(|(sky, days)| (warmer(sky, drift_k), days));
        let season = blend(usual, recent, own_words);
        let rough = rig.home.typical.is_none() && recent.is_none();
        let unsaid = faded(date, season, ahead.last().copied(), rough);
        let next = match known.rows.get(&date) {
            Some(row) => {
                let lead = (date - zone.date(row.issued)).num_days().clamp(0, 5) as usize;
                let otherwise = DaySky { clearness: season.clearness, ..unsaid.sky };
                let said = of_row(row, camp, otherwise);
                let (clearness, clearness_sd) = weighed_clearness(&said, lead, season.clearness);
                let sky = DaySky { clearness, ..said };
                let temperature_sd = match (row.low_c, row.high_c) {
                    (Some(_), Some(_)) => OUTLOOK_K[lead],
                    (None, None) => unsaid.temperature_sd,
                    _ => OUTLOOK_K[lead].hypot(OTHER_END_K / 2.0),
                };
                DayAhead { date, sky, temperature_sd, clearness_sd }
            }
            None => unsaid,
        };
        ahead.push(next);
    }
    ahead
}

/// A day that is warmer by so many K.
fn warmer(sky: DaySky, by_k: f64) -> DaySky {
    DaySky { low_c: sky.low_c + by_k, high_c: sky.high_c + by_k, ..sky }
}

/// Spread of a day's clearness about the season's. The sky can be no clearer than clear and no
/// darker than dark, so the spread narrows towards both ends.
pub(crate) fn season_clearness_sd(season: f64) -> f64 {
    let part = season.clamp(0.1, 0.97);
    WIDEST_CLEARNESS * (4.0 * part * (1.0 - part)).sqrt().max(0.4)
}

/// Mean and spread of the clearness of a day that an outlook speaks of `lead` days ahead. What it
/// says is weighed against what is usual, by the errors of both: a far outlook of a rare day is
/// more often wrong than right.
pub(crate) fn weighed_clearness(said: &DaySky, lead: usize, season: f64) -> (f64, f64) {
    let usual_sd = season_clearness_sd(season);
    if !said.sun_known {
        return (season, usual_sd);
    }
    let outlook_sd = OUTLOOK_SUN[lead.min(5)] * said.clearness.max(LEAST_SAID);
    // What is usual is not known exactly either.
    let usual_sd = usual_sd.hypot(USUAL_CLEARNESS);
    let weight = usual_sd * usual_sd / (usual_sd * usual_sd + outlook_sd * outlook_sd);
    (season + weight * (said.clearness - season), outlook_sd * weight.sqrt())
}

/// The day after the last one known: its departure from the season persists and fades.
fn faded(date: NaiveDate, season: DaySky, last: Option<DayAhead>, rough: bool) -> DayAhead {
    let extra = if rough { ROUGH_K } else { 0.0 };
    let season_sd = SEASON_K.hypot(extra);
    let Some(last) = last else {
        return DayAhead {
            date,
            sky: season,
            temperature_sd: season_sd,
            clearness_sd: season_clearness_sd(season.clearness),
        };
    };
    let keep = |was: f64, is: f64, lag: f64| is + lag * (was - is);
    let grow = |was: f64, full: f64, lag: f64| {
        let was = was.min(full);
        (full * full * (1.0 - lag * lag) + lag * lag * was * was).sqrt()
    };
    let sky = DaySky {
        low_c: keep(last.sky.low_c, season.low_c, TEMPERATURE_LAG1),
        high_c: keep(last.sky.high_c, season.high_c, TEMPERATURE_LAG1),
        clearness: keep(last.sky.clearness, season.clearness, CLEARNESS_LAG1),
        known: false,
        sun_known: false,
    };
    DayAhead {
        date,
        sky,
        temperature_sd: grow(last.temperature_sd, season_sd, TEMPERATURE_LAG1),
        clearness_sd: grow(
            last.clearness_sd,
            season_clearness_sd(season.clearness),
            CLEARNESS_LAG1,
        ),
    }
}

/// Mean of the recorded days of the last two weeks, and how many there were.
fn recent_mean(
    rig: &Rig,
    known: &KnownDays,
    timeline: &Timeline,
    now: Moment,
) -> Option<(DaySky, f64)> {
    let today = rig.zone(now).date(now);
    let camp = timeline.camp(now);
    let rows = known.rows.range(today - Duration::days(RECENT_DAYS)..=today);
    let usual =
        DaySky { clearness: DaySky::default().clearness, ..usual(rig, today, camp.latitude) };
    let skies: Vec<DaySky> =
        rows.map(|(_, row)| of_row(row, camp, usual)).filter(|sky| sky.known).collect();
    if skies.is_empty() {
        return None;
    }
    let n = skies.len() as f64;
    let mean = |of: fn(&DaySky) -> f64| skies.iter().map(of).sum::<f64>() / n;
    let sunny: Vec<f64> = skies.iter().filter(|s| s.sun_known).map(|s| s.clearness).collect();
    let sun_known = !sunny.is_empty();
    let clearness = sunny.iter().sum::<f64>() / sunny.len().max(1) as f64;
    let (low_c, high_c) = (mean(|s| s.low_c), mean(|s| s.high_c));
    Some((DaySky { low_c, high_c, clearness, known: false, sun_known }, n))
}

/// What is usual, from the rig's words and the last weeks: the more days were recorded, the more
/// they count; a person's own words weigh like a week of days, a rough climate like one.
fn blend(usual: DaySky, recent: Option<(DaySky, f64)>, own_words: bool) -> DaySky {
    let Some((recent, days)) = recent else { return usual };
    let weight = days / (days + if own_words { OWN_WORDS_DAYS } else { ROUGH_DAYS });
    let mix = |u: f64, r: f64| u + weight * (r - u);
    DaySky {
        low_c: mix(usual.low_c, recent.low_c),
        high_c: mix(usual.high_c, recent.high_c),
        // Rows that say nothing of the sun leave it as the battery has learned it: as usual.
        clearness: match recent.sun_known {
            true => mix(usual.clearness, recent.clearness),
            false => usual.clearness,
        },
        known: false,
        sun_known: false,
    }
}

/// How far the weather of `N` lives departs from what is expected, day after day: an
/// autoregressive process of order 1, and a part that lasts.
#[derive(Debug, Clone, Copy)]
pub struct WeatherAnomaly<const N: usize> {
    temperature: [f64; N],
    clearness: [f64; N],
    /// What lasts, in each life: a cold month, a valley that lies in fog.
    lasting_temperature: [f64; N],
    lasting_clearness: [f64; N],
    begun: bool,
}

impl<const N: usize> WeatherAnomaly<N> {
    /// Before the first day, with what lasts as standard normal draws.
    pub fn begin(lasting_temperature: [f64; N], lasting_clearness: [f64; N]) -> WeatherAnomaly<N> {
        let (temperature, clearness) = ([0.0; N], [0.0; N]);
        let begun = false;
        WeatherAnomaly { temperature, clearness, lasting_temperature, lasting_clearness, begun }
    }

    #[allow(clippy::needless_range_loop, reason = "one index runs along many lanes")]
    /// The next day's temperature offset in K, and its clearness, in each life, from a standard
    /// normal draw for each of them.
    #[inline(always)]
    pub fn next(
        &mut self,
        day: &DayAhead,
        warm: &[f64; N],
        clear: &[f64; N],
    ) -> ([f64; N], [f64; N]) {
        let kept = |lag: f64| if self.begun { (lag, (1.0 - lag * lag).sqrt()) } else { (0.0, 1.0) };
        let (warm_kept, warm_new) = kept(TEMPERATURE_LAG1);
        let (clear_kept, clear_new) = kept(CLEARNESS_LAG1);
        let (least, most) = DRAWN_CLEARNESS;
        let (passing, lasting) = ((1.0 - LASTING).sqrt(), LASTING.sqrt());
        let (mut offset_k, mut clearness) = ([0.0; N], [0.0; N]);
        for l in 0..N {
            self.temperature[l] = warm_kept * self.temperature[l] + warm_new * warm[l];
            self.clearness[l] = clear_kept * self.clearness[l] + clear_new * clear[l];
            let warmer = passing * self.temperature[l] + lasting * self.lasting_temperature[l];
            let clearer = passing * self.clearness[l] + lasting * self.lasting_clearness[l];
            offset_k[l] = day.temperature_sd * warmer;
            let clear = day.sky.clearness + day.clearness_sd * clearer;
            clearness[l] = clear.clamp(least, most);
        }
        self.begun = true;
        (offset_k, clearness)
    }
}
