//! The true weather of a trip, hour by hour, and the outlooks that are issued for it.
//!
//! Cloud regimes and fronts ride on a season; days of the same regime differ, and within a day
//! the cloud comes and goes. The sun is worked out here once more, on its own.

use super::dice::Dice;
use chrono::{Datelike, Duration, NaiveDate};

/// One hour outside.
#[derive(Clone, Copy)]
pub struct Hour {
    /// Degrees Celsius.
    pub outside_c: f64,
    /// Sun on level ground, W/m2.
    pub sun_w_m2: f64,
    /// Wind, m/s.
    pub wind: f64,
}

/// One civil day as a forecaster would sum it up.
#[derive(Clone, Copy)]
pub struct Day {
    pub low_c: f64,
    pub high_c: f64,
    pub sun_kwh_m2: f64,
    pub cloud: f64,
}

/// Day-to-day correlation of temperature in the plain weather.
pub const PERSISTENCE: f64 = 0.72;

/// Weather from midnight of the first day.
pub struct Sky {
    pub hours: Vec<Hour>,
    pub days: Vec<Day>,
    /// The season's usual low, high and cloud at mid-trip.
    pub usual: (f64, f64, f64),
    /// Errors of the outlooks issued for it, as a multiple of the plain ones.
    pub outlook_error: f64,
}

/// Where and when.
pub struct Place {
    pub latitude: f64,
    pub longitude: f64,
    pub offset_h: f64,
    pub first: NaiveDate,
}

impl Sky {
    /// Weather whose warm and cold spells last by `persistence` from one day to the next, a
    /// correlation; how far days scatter does not depend on it.
    pub fn new(dice: &mut Dice, place: &Place, days: usize, persistence: f64) -> Sky {
        let (site_k, site_cloud) = (2.0 * dice.normal(), dice.between(-0.7, 0.6));
        let mut sky = Sky::nothing();
        let fresh_k = 2.1 * ((1.0 - persistence.powi(2)) / (1.0 - PERSISTENCE.powi(2))).sqrt();
        let (mut anomaly, mut haze, mut chill, mut gust) = (1.5 * dice.normal(), 0.0, 0.0, 0.0);
        let mut wet_spell = false;
        for day in 0..days {
            let date = place.first + Duration::days(day as i64);
            anomaly = persistence * anomaly + fresh_k * dice.normal();
            let before = wet_spell;
            wet_spell = dice.chance(if wet_spell { 0.6 } else { 0.18 });
            if before && !wet_spell {
                chill -= dice.between(2.0, 6.0); // cold air behind the front
            }
            haze = 0.25 * haze + dice.normal();
            let shift = site_cloud - if wet_spell { 1.1 } else { 0.0 };
            let clearness = 0.12 + 0.9 * logistic(1.1 * (haze + shift) + 0.5);
            let mean = season(place.latitude, date) + site_k + anomaly;
            let swing = 1.5 + 4.0 * clearness + if wet_spell { 0.0 } else { 0.8 };
            let mut patch = 0.0;
            for hour in 0..24 {
                chill *= 0.98;
                gust = 0.9 * gust + 0.9 * dice.normal();
                patch = 0.7 * patch + 0.12 * dice.normal();
                let turn = (std::f64::consts::TAU * (f64::from(hour) + 0.5 - 15.0) / 24.0).cos();
                let clear = clear_w_m2(place, date, f64::from(hour) + 0.5);
                sky.hours.push(Hour {
                    outside_c: mean + chill + swing * turn + 0.3 * dice.normal(),
                    sun_w_m2: clear * f64::clamp(clearness + patch, 0.06, 1.08),
                    wind: f64::max(4.0 + if wet_spell { 4.0 } else { 0.0 } + gust, 0.3),
                });
            }
            sky.sum_up(place, date, clearness);
        }
        let middle = season(place.latitude, place.first + Duration::days(25)) + site_k;
        let mean = |of: fn(&Day) -> f64| sky.days.iter().map(of).sum::<f64>() / days as f64;
        let half = mean(|d| d.high_c - d.low_c) / 2.0;
        sky.usual = (middle - half, middle + half, mean(|d| d.cloud));
        sky
    }

    /// The other simulator's weather: every day is clear, broken or grey, and turns into the next
    /// by a chain; the temperature walks about the season; no fronts, no gusts.
    pub fn other(dice: &mut Dice, place: &Place, days: usize) -> Sky {
        const NEXT: [[f64; 3]; 3] = [[0.6, 0.3, 0.1], [0.3, 0.4, 0.3], [0.15, 0.35, 0.5]];
        let mut sky = Sky::nothing();
        let (mut kind, mut walk, site_k) = (0, 0.0, dice.between(-4.0, 4.0));
        for day in 0..days {
            let date = place.first + Duration::days(day as i64);
            let u = dice.unit();
            kind = match NEXT[kind] {
                [clear, ..] if u < clear => 0,
                [clear, broken, _] if u < clear + broken => 1,
                _ => 2,
            };
            let (least, most) = [(0.85, 1.0), (0.45, 0.85), (0.1, 0.45)][kind];
            let clearness = dice.between(least, most);
            walk = 0.8 * walk + dice.between(-3.0, 3.0);
            let mean = season(place.latitude, date) + site_k + walk;
            let swing = dice.between(2.0, 3.0) + 3.0 * clearness;
            for hour in 0..24 {
                let turn = (std::f64::consts::TAU * (f64::from(hour) - 14.0) / 24.0).cos();
                let sun_w_m2 = clear_w_m2(place, date, f64::from(hour) + 0.5) * clearness;
                let outside_c = mean + swing * turn;
                sky.hours.push(Hour { outside_c, sun_w_m2, wind: 4.0 });
            }
            sky.sum_up(place, date, clearness);
        }
        let middle = season(place.latitude, place.first + Duration::days(25)) + site_k;
        sky.usual = (middle - 4.5, middle + 4.5, 0.65);
        sky
    }

    fn nothing() -> Sky {
        let (hours, days) = (Vec::new(), Vec::new());
        Sky { hours, days, usual: (0.0, 0.0, 0.0), outlook_error: 1.0 }
    }

    fn sum_up(&mut self, place: &Place, date: NaiveDate, clearness: f64) {
        let today = &self.hours[self.hours.len() - 24..];
        let clear: f64 = (0..24).map(|h| clear_w_m2(place, date, f64::from(h) + 0.5)).sum();
        let sun: f64 = today.iter().map(|h| h.sun_w_m2).sum();
        let share = if clear > 50.0 { sun / clear } else { clearness };
        self.days.push(Day {
            low_c: today.iter().map(|h| h.outside_c).fold(f64::INFINITY, f64::min),
            high_c: today.iter().map(|h| h.outside_c).fold(f64::NEG_INFINITY, f64::max),
            sun_kwh_m2: sun / 1000.0,
            cloud: f64::clamp((1.0 - share) / 0.75, 0.0, 1.0).powf(1.0 / 3.0),
        });
    }

    /// What an outlook issued on `day` says of the day `lead` days later: errors grow with the
    /// lead and are shared by neighbouring days (`error` and `sun_error` carry them along).
    pub fn foretold(&self, day: usize, lead: usize, dice: &mut Dice, error: &mut [f64; 3]) -> Day {
        const K: [f64; 6] = [0.8, 1.2, 1.6, 2.0, 2.35, 2.7];
        const SUN: [f64; 6] = [0.10, 0.15, 0.19, 0.24, 0.28, 0.32];
        let (k, sun_share) = (self.outlook_error * K[lead], self.outlook_error * SUN[lead]);
        for part in error.iter_mut() {
            *part = 0.6 * *part + 0.8 * dice.normal();
        }
        let truth = self.days[day + lead];
        let low_c = truth.low_c + k * error[0];
        let sun = f64::max(1.0 + sun_share * error[2], 0.15);
        Day {
            low_c,
            high_c: f64::max(truth.high_c + k * error[1], low_c + 0.5),
            sun_kwh_m2: truth.sun_kwh_m2 * sun,
            cloud: f64::clamp(truth.cloud - 0.5 * sun_share * error[2], 0.0, 1.0),
        }
    }
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

fn season(latitude: f64, date: NaiveDate) -> f64 {
    let warmest = if latitude < 0.0 { 20.0 } else { 203.0 };
    let (latitude, day) = (latitude.abs(), f64::from(date.ordinal()));
    let year = std::f64::consts::TAU * (day - warmest) / 365.25;
    17.5 - 0.5 * (latitude - 35.0) + (8.5 + 0.12 * (latitude - 35.0)) * year.cos()
}

/// Clear-sky sun on level ground after Haurwitz (1945), declination after Cooper (1969).
fn clear_w_m2(place: &Place, date: NaiveDate, hour: f64) -> f64 {
    let turn = std::f64::consts::TAU * (284.0 + f64::from(date.ordinal())) / 365.0;
    let declination = 23.45_f64.to_radians() * turn.sin();
    let solar_hour = hour - place.offset_h + place.longitude / 15.0;
    let angle = std::f64::consts::TAU / 24.0 * (solar_hour - 12.0);
    let latitude = place.latitude.to_radians();
    let height =
        latitude.sin() * declination.sin() + latitude.cos() * declination.cos() * angle.cos();
    if height <= 0.0 { 0.0 } else { 1098.0 * height * (-0.057 / height).exp() }
}
