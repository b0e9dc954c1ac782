//! Where the sun stands, and how much light it would give under a clear sky, hour by hour: means
//! over each hour, fast enough for a month at a time.
//!
//! Clouds and panels come later: see [`super::sky`] and [`super::panel`].

mod direction;
mod light;

use crate::domain::Moment;
use chrono::{DateTime, Datelike, Duration, NaiveDate, Utc};
use direction::{Position, Vector};
use light::clear_share_at;
use solar_positioning::{Location, SolarPosition, SolarPositions, delta_t};
use std::sync::LazyLock;

/// Irradiance outside the atmosphere at the mean distance from the sun, in W/m2.
///
/// Source: the constant that goes with Spencer (1971) in most solar engineering code; newer
/// measurements say 1361, a difference of 0.4 % that no panel on a van can notice.
const SOLAR_CONSTANT_W_M2: f64 = 1366.1;

/// Positions sampled in each hour, at the middles of equal parts.
const SAMPLES_PER_HOUR: u32 = 6;

/// With the sine of the sun's height this low in the middle of an hour, 8.5 degrees below the
/// horizon, the hour is dark: its height changes by at most 7.5 degrees in half an hour.
const DARK: f64 = -0.1478;

/// The sun over one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunHour {
    /// Mean global horizontal irradiance under a clear sky, in W/m2.
    pub clear_w_m2: f64,
    /// Zenith of the mean direction of the sun while it is up; with the sun down all hour, that
    /// of the hour's middle.
    pub zenith_deg: f64,
    /// Azimuth of the same direction, from north over east.
    pub azimuth_deg: f64,
    /// Length of the mean sun vector outside the atmosphere, in W/m2: times the cosine of the
    /// angle to a plane that sees the sun all hour, it is that plane's mean irradiance. Less
    /// than the solar constant in the hours of sunrise and sunset, 0 at night.
    pub extraterrestrial_normal_w_m2: f64,
}

/// Extraterrestrial irradiance on a plane that faces the sun, in W/m2.
///
/// `day_of_year`: 1 = 1 January (UTC). Result between 1320 and 1415 W/m2.
///
/// Formula: 1366.1 W/m2 times (mean distance over distance) squared as a Fourier
/// series in the day angle. Valid for any day; numbers beyond 366 run on.
///
/// Source: Spencer, Fourier series representation of the position of the sun, Search 2(5), 1971.
///
/// ```
/// // Nearest to the sun in the first days of January.
/// use waystock::physics::sun::extraterrestrial_normal_w_m2;
/// assert!(extraterrestrial_normal_w_m2(3) > extraterrestrial_normal_w_m2(185) + 80.0);
/// ```
pub fn extraterrestrial_normal_w_m2(day_of_year: u32) -> f64 {
    let angle = std::f64::consts::TAU * (f64::from(day_of_year) - 1.0) / 365.0;
    let (sine, cosine) = angle.sin_cos();
    let (sine_twice, cosine_twice) = (2.0 * angle).sin_cos();
    let distance_factor = 1.000_11
        + 0.034_221 * cosine
        + 0.001_28 * sine
        + 0.000_719 * cosine_twice
        + 0.000_077 * sine_twice;
    SOLAR_CONSTANT_W_M2 * distance_factor
}

/// The sun over each of the coming hours.
///
/// `from`: start of the first hour (need not be a full hour). `hours`: how many. `latitude_deg`:
/// degrees north, clamped to `[-90, 90]`. `longitude_deg`: degrees east, any turn. A coordinate that
/// is not finite counts as 0. Result: one value per hour `[from + i, from + i + 1)`.
///
/// Formula: light is the mean of [`clear_share`](super::sky::clear_share) over six moments of the
/// hour, from the apparent zenith in standard air, times the irradiance above the air: within
/// 0.5 W/m2 of the integral of any hour. Directions are means of the sun's
/// vector over the sunlit part of the hour, true (not refracted). The position between two hours is
/// Grena's third algorithm (0.01 degrees) in 2010 to 2109, the Solar Position Algorithm in other
/// years; the sky turns from there by 15 degrees an hour, in which the sun moves north or south by
/// less than 0.02 degrees. Years outside 1000 to 2899 are moved by whole
/// 400-year calendar cycles, in which the seasons hardly shift.
///
/// Source: Ineichen and Perez 2002; Grena, Five new algorithms for the computation of sun position from
/// 2010 to 2110, Solar Energy 86, 2012; Reda and Andreas, Solar Position Algorithm for Solar
/// Radiation Applications, NREL/TP-560-34302, 2008.
///
/// ```
/// use waystock::physics::sun::hourly_sun;
/// let midnight = "2026-06-21T00:00:00Z".parse().unwrap();
/// let day = hourly_sun(midnight, 24, 45.0, 0.0);
/// assert_eq!(day[0].clear_w_m2, 0.0);
/// assert!(day[12].clear_w_m2 > 850.0);
/// assert!(day[8].azimuth_deg > 70.0 && day[8].azimuth_deg < 180.0);
/// ```
pub fn hourly_sun(
    from: Moment,
    hours: usize,
    latitude_deg: f64,
    longitude_deg: f64,
) -> Vec<SunHour> {
    let track = Track::new(from, latitude_deg, longitude_deg);
    (0..hours).step_by(2).flat_map(|first| track.pair(first)).take(hours).collect()
}

/// Clear-sky irradiation of level ground over one day.
///
/// `date`: the day, by mean solar time of the place, so that no daylight is split between two
/// days wherever the van stands. `latitude_deg`, `longitude_deg`: as for [`hourly_sun`]. Result in
/// Wh/m2, 0 in polar night.
///
/// Formula: as the light of [`hourly_sun`] from solar midnight on, the sky turning all day from
/// where the sun stands at noon: the morning's sun is as much lower or higher than that as the
/// evening's is the other way round, and the sum is within 0.05 % and 0.9 Wh/m2 of the hours'.
///
/// ```
/// use waystock::physics::sun::clear_day_wh_m2;
/// let day = chrono::NaiveDate::from_ymd_opt(2024, 6, 21).unwrap();
/// assert!((clear_day_wh_m2(day, 45.0, 0.0) - 8389.0).abs() < 20.0);
/// ```
pub fn clear_day_wh_m2(date: NaiveDate, latitude_deg: f64, longitude_deg: f64) -> f64 {
    let east_of_date_line_deg = (longitude_deg + 180.0).rem_euclid(360.0) - 180.0;
    let behind_s = (east_of_date_line_deg * 240.0).round() as i64;
    let midnight = date.and_time(chrono::NaiveTime::MIN).and_utc();
    let to_noon = Duration::seconds(12 * 3600 - behind_s);
    let noon = midnight.checked_add_signed(to_noon).unwrap_or(midnight);
    let track = Track::new(noon.fixed_offset(), latitude_deg, longitude_deg);
    let sun = Vector::towards(track.position(&track.from));
    let samples = DAY_TURNS.iter().map(|turn| clear_share_at(sun.turned(track.pole, *turn).up));
    let outside_w_m2 = extraterrestrial_normal_w_m2(track.from.ordinal());
    outside_w_m2 * samples.sum::<f64>() / f64::from(SAMPLES_PER_HOUR)
}

const DAY_SAMPLES: usize = 24 * SAMPLES_PER_HOUR as usize;
static DAY_TURNS: LazyLock<[(f64, f64); DAY_SAMPLES]> =
    LazyLock::new(|| std::array::from_fn(|sample| turn_to(sample, 24.0)));

/// How far the sky turns from the middle of so many hours to one of their samples, as sine and
/// cosine. Westward, so against the pole's own sense. In half an hour the sun moves among the stars
/// by less than a hundredth of a degree, which cancels over the hour.
fn turn_to(sample: usize, hours: f64) -> (f64, f64) {
    let since_middle_h = (sample as f64 + 0.5) / f64::from(SAMPLES_PER_HOUR) - hours / 2.0;
    (-15.0 * since_middle_h).to_radians().sin_cos()
}

/// The sun's path over one place from one moment on.
struct Track {
    from: DateTime<Utc>,
    place: Location,
    delta_t_s: f64,
    /// Towards the celestial pole, about which the sky turns.
    pole: Vector,
    /// To the samples of an hour: see [`turn_to`].
    turns: [(f64, f64); SAMPLES_PER_HOUR as usize],
}

impl Track {
    fn new(from: Moment, latitude_deg: f64, longitude_deg: f64) -> Track {
        let from = in_range(from);
        let place = place(latitude_deg, longitude_deg);
        let (up, north) = place.latitude.to_radians().sin_cos();
        let turns = std::array::from_fn(|sample| turn_to(sample, 1.0));
        let pole = Vector { east: 0.0, north, up };
        Track { from, place, delta_t_s: delta_t_s(&from), pole, turns }
    }

    /// An hour and the next, whose middles lie half an hour before and after what is between them.
    fn pair(&self, first: usize) -> [SunHour; 2] {
        let between = self.from + Duration::hours(first as i64 + 1);
        let (sun, half) = (Vector::towards(self.position(&between)), 7.5f64.to_radians());
        [half, -half].map(|turn| self.hour(&between, sun.turned(self.pole, turn.sin_cos())))
    }

    /// An hour in whose middle the sun stands there.
    fn hour(&self, near: &DateTime<Utc>, half_past: Vector) -> SunHour {
        if half_past.up < DARK {
            let Position { zenith_deg, azimuth_deg } = half_past.position();
            let (clear_w_m2, extraterrestrial_normal_w_m2) = (0.0, 0.0);
            return SunHour { clear_w_m2, zenith_deg, azimuth_deg, extraterrestrial_normal_w_m2 };
        }
        let mut light = 0.0;
        let mut mean = Vector::default();
        for turn in &self.turns {
            let sun = half_past.turned(self.pole, *turn);
            light += clear_share_at(sun.up);
            if sun.up > 0.0 {
                mean.add(sun, 1.0 / f64::from(SAMPLES_PER_HOUR));
            }
        }
        let towards = if mean.length() > 0.0 { mean } else { half_past }.position();
        let outside_w_m2 = extraterrestrial_normal_w_m2(near.ordinal());
        SunHour {
            clear_w_m2: outside_w_m2 * light / f64::from(SAMPLES_PER_HOUR),
            zenith_deg: towards.zenith_deg,
            azimuth_deg: towards.azimuth_deg,
            extraterrestrial_normal_w_m2: outside_w_m2 * mean.length(),
        }
    }

    /// The sun's true position: Grena's third algorithm in the years that it covers, else
    /// [`Track::exact`].
    fn position(&self, at: &DateTime<Utc>) -> Position {
        SolarPositions::grena3()
            .at(at, self.place, 0.0, self.delta_t_s, None)
            .map_or_else(|_| self.exact(at), here)
    }

    /// The Solar Position Algorithm: valid to 0.0003 degrees today and, since nobody knows how the
    /// earth will slow down, to 0.002 by 2150; ten times slower.
    fn exact(&self, at: &DateTime<Utc>) -> Position {
        let found = SolarPositions::new().at(at, self.place, 0.0, self.delta_t_s, None);
        here(found.expect("time and coordinates were brought into range"))
    }
}

fn here(found: SolarPosition) -> Position {
    Position { zenith_deg: found.zenith_angle(), azimuth_deg: found.azimuth() }
}

/// Coordinates that every algorithm accepts: latitude clamped, longitude wrapped.
fn place(latitude_deg: f64, longitude_deg: f64) -> Location {
    let finite = |degrees: f64| if degrees.is_finite() { degrees } else { 0.0 };
    Location {
        latitude: finite(latitude_deg).clamp(-90.0, 90.0),
        longitude: (finite(longitude_deg) + 180.0).rem_euclid(360.0) - 180.0,
    }
}

/// The same moment of the calendar in a year that every algorithm accepts.
fn in_range(at: Moment) -> DateTime<Utc> {
    const CYCLE_YEARS: i32 = 400;
    const CYCLE_DAYS: i64 = 146_097;
    let at = at.with_timezone(&Utc);
    if (1000..2900).contains(&at.year()) {
        return at;
    }
    let cycles = (at.year() - 2000).div_euclid(CYCLE_YEARS);
    at - Duration::days(CYCLE_DAYS * i64::from(cycles))
}

fn delta_t_s(at: &DateTime<Utc>) -> f64 {
    delta_t::estimate_from_date(at.year(), at.month()).expect("the year was brought into range")
}

#[cfg(test)]
mod tests;
