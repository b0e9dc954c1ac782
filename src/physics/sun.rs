//! Where the sun stands, and how much light it would give under a clear sky, hour by hour.
//!
//! Single positions use the slow and exact algorithm; whole weeks use a fast one that is good to
//! a hundredth of a degree. Clouds and panels come later: see [`super::sky`] and
//! [`super::panel`].

use super::sky::haurwitz_w_m2;
use crate::domain::time::Moment;
use chrono::{DateTime, Datelike, Duration, Utc};
use solar_positioning::{Location, RefractionCorrection, SolarPosition, SolarPositions, delta_t};

/// Irradiance outside the atmosphere at the mean distance from the sun, in W/m2.
///
/// Source: the constant that goes with Spencer (1971) in most solar engineering code; newer
/// measurements say 1361, a difference of 0.4 % that no panel on a van can notice.
pub const SOLAR_CONSTANT_W_M2: f64 = 1366.1;

/// Positions sampled in each hour, at the middles of equal parts.
const SAMPLES_PER_HOUR: u32 = 6;

/// With the sun this low in the middle of an hour, the hour is dark: its height changes by at
/// most 7.5 degrees in half an hour.
const DARK_ZENITH_DEG: f64 = 98.5;

/// Where the sun's centre stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Angle from straight up, `[0, 180]`; more than 90 is below the horizon.
    pub zenith_deg: f64,
    /// Direction from north over east, `[0, 360)`.
    pub azimuth_deg: f64,
}

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

/// The true position of the sun, as if there were no air.
///
/// `at`: the instant. `latitude_deg`: degrees north, clamped to `[-90, 90]`. `longitude_deg`:
/// degrees east, any turn. Result in degrees.
///
/// Formula: the Solar Position Algorithm, at sea level, with an estimated difference between
/// terrestrial and universal time. Valid to 0.0003 degrees in the years 1000 to 2899; other
/// years are moved by whole 400-year calendar cycles, in which the seasons hardly shift.
///
/// Source: Reda and Andreas, Solar Position Algorithm for Solar Radiation Applications,
/// NREL/TP-560-34302, 2008.
///
/// ```
/// use waystock::physics::sun::position;
/// let noon = "2026-06-21T12:00:00Z".parse().unwrap();
/// let sun = position(noon, 23.44, 0.0); // on the tropic, near noon
/// assert!(sun.zenith_deg < 1.0);
/// ```
pub fn position(at: Moment, latitude_deg: f64, longitude_deg: f64) -> Position {
    exact(at, place(latitude_deg, longitude_deg), 0.0, None)
}

/// Where the sun seems to stand: [`position`], lifted by the refraction of standard air.
///
/// Arguments as for [`position`]. Result in degrees.
///
/// Formula: SPA's refraction at 1013.25 hPa and 12 degrees Celsius, none once the whole disc is
/// below the horizon. Real air differs by a few hundredths of a degree within a few degrees of
/// the horizon, and by less above.
///
/// Source: Reda and Andreas 2008, equation 42.
///
/// ```
/// use waystock::physics::sun::{apparent_position, position};
/// let evening = "2026-03-20T18:00:00Z".parse().unwrap();
/// let lift = position(evening, 50.0, 0.0).zenith_deg
///     - apparent_position(evening, 50.0, 0.0).zenith_deg;
/// assert!(lift > 0.2 && lift < 0.6);
/// ```
pub fn apparent_position(at: Moment, latitude_deg: f64, longitude_deg: f64) -> Position {
    exact(at, place(latitude_deg, longitude_deg), 0.0, Some(standard_air()))
}

/// Extraterrestrial irradiance on a plane that faces the sun, in W/m2.
///
/// `day_of_year`: 1 = 1 January (UTC). Result between 1321 and 1414 W/m2.
///
/// Formula: [`SOLAR_CONSTANT_W_M2`] times (mean distance over distance) squared as a Fourier
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

/// Mean clear-sky irradiance on level ground in each of the coming hours, in W/m2.
///
/// `from`: start of the first hour (need not be a full hour). `hours`: how many. Coordinates as
/// for [`position`]. Result: one value per hour `[from + i, from + i + 1)`, never negative.
///
/// Formula: the mean of Haurwitz over six moments of the hour, from the apparent zenith. The
/// six-moment mean is within 0.5 W/m2 of the integral of any hour. Positions are Grena's third
/// algorithm (0.01 degrees) in 2010 to 2109, SPA in other years.
///
/// Source: Haurwitz 1945; Grena, Five new algorithms for the computation of sun position from
/// 2010 to 2110, Solar Energy 86, 2012.
///
/// ```
/// use waystock::physics::sun::hourly_clear_sky;
/// let midnight = "2026-06-21T00:00:00Z".parse().unwrap();
/// let day = hourly_clear_sky(midnight, 24, 45.0, 0.0);
/// assert_eq!(day[0], 0.0);
/// assert!(day[12] > 850.0);
/// ```
pub fn hourly_clear_sky(
    from: Moment,
    hours: usize,
    latitude_deg: f64,
    longitude_deg: f64,
) -> Vec<f64> {
    let track = Track::new(from, latitude_deg, longitude_deg);
    (0..hours).map(|hour| track.hour(hour).clear_w_m2).collect()
}

/// The sun over each of the coming hours, for panels that are not flat.
///
/// Arguments as for [`hourly_clear_sky`], whose values are the same. Directions are means of the
/// sun's vector over the sunlit part of the hour, true (not refracted).
///
/// ```
/// use waystock::physics::sun::hourly_sun;
/// let morning = "2026-03-20T08:00:00Z".parse().unwrap();
/// let hour = hourly_sun(morning, 1, 45.0, 0.0)[0];
/// assert!(hour.azimuth_deg > 90.0 && hour.azimuth_deg < 180.0);
/// ```
pub fn hourly_sun(
    from: Moment,
    hours: usize,
    latitude_deg: f64,
    longitude_deg: f64,
) -> Vec<SunHour> {
    let track = Track::new(from, latitude_deg, longitude_deg);
    (0..hours).map(|hour| track.hour(hour)).collect()
}

/// Hours of daylight from the geometry of a sphere.
///
/// `latitude_deg`: degrees north. `declination_deg`: the sun's, degrees north. `horizon_deg`:
/// elevation of the sun's centre at rise and set, 0 for the bare geometry or -0.833 with
/// refraction and the half disc. Result in hours, 0 in polar night to 24 in polar day.
///
/// Formula: 2/15 · acos((sin h - sin φ sin δ) / (cos φ cos δ)). Good to a minute or two away
/// from the poles' seasons, since the declination moves during the day.
///
/// Source: the sunrise equation of any astronomy text.
///
/// ```
/// use waystock::physics::sun::day_length_h;
/// assert!((day_length_h(60.0, 23.44, 0.0) - 18.490).abs() < 0.001);
/// ```
pub fn day_length_h(latitude_deg: f64, declination_deg: f64, horizon_deg: f64) -> f64 {
    let (sin_latitude, cos_latitude) = latitude_deg.to_radians().sin_cos();
    let (sin_declination, cos_declination) = declination_deg.to_radians().sin_cos();
    let above = horizon_deg.to_radians().sin() - sin_latitude * sin_declination;
    let scale = (cos_latitude * cos_declination).max(f64::MIN_POSITIVE);
    (above / scale).clamp(-1.0, 1.0).acos().to_degrees() * 2.0 / 15.0
}

/// The sun's path over one place from one moment on.
struct Track {
    from: DateTime<Utc>,
    place: Location,
    delta_t_s: f64,
}

impl Track {
    fn new(from: Moment, latitude_deg: f64, longitude_deg: f64) -> Track {
        let from = in_range(from);
        Track { from, place: place(latitude_deg, longitude_deg), delta_t_s: delta_t_s(&from) }
    }

    fn hour(&self, index: usize) -> SunHour {
        let start = self.from + Duration::hours(index as i64);
        let middle = self.fast(&(start + Duration::minutes(30)));
        if middle.zenith_deg > DARK_ZENITH_DEG {
            return SunHour {
                clear_w_m2: 0.0,
                zenith_deg: middle.zenith_deg,
                azimuth_deg: middle.azimuth_deg,
                extraterrestrial_normal_w_m2: 0.0,
            };
        }
        let step_s = 3600 / SAMPLES_PER_HOUR;
        let mut clear_w_m2 = 0.0;
        let mut mean = Vector::default();
        for sample in 0..SAMPLES_PER_HOUR {
            let at = start + Duration::seconds(i64::from(sample * step_s + step_s / 2));
            let sun = self.fast(&at);
            clear_w_m2 += haurwitz_w_m2(lifted_deg(sun.zenith_deg)) / f64::from(SAMPLES_PER_HOUR);
            if sun.zenith_deg < 90.0 {
                mean.add(sun, 1.0 / f64::from(SAMPLES_PER_HOUR));
            }
        }
        let towards = mean.direction().unwrap_or(middle);
        SunHour {
            clear_w_m2,
            zenith_deg: towards.zenith_deg,
            azimuth_deg: towards.azimuth_deg,
            extraterrestrial_normal_w_m2: extraterrestrial_normal_w_m2(start.ordinal())
                * mean.length(),
        }
    }

    fn fast(&self, at: &DateTime<Utc>) -> Position {
        let found = SolarPositions::grena3()
            .at(at, self.place, 0.0, self.delta_t_s, None)
            .or_else(|_| SolarPositions::new().at(at, self.place, 0.0, self.delta_t_s, None));
        here(found.expect("time and coordinates were brought into range"))
    }
}

/// A sum of directions.
#[derive(Default)]
struct Vector {
    east: f64,
    north: f64,
    up: f64,
}

impl Vector {
    fn add(&mut self, sun: Position, weight: f64) {
        let (sin_zenith, cos_zenith) = sun.zenith_deg.to_radians().sin_cos();
        let (sin_azimuth, cos_azimuth) = sun.azimuth_deg.to_radians().sin_cos();
        self.east += weight * sin_zenith * sin_azimuth;
        self.north += weight * sin_zenith * cos_azimuth;
        self.up += weight * cos_zenith;
    }

    fn length(&self) -> f64 {
        (self.east * self.east + self.north * self.north + self.up * self.up).sqrt()
    }

    /// `None` for a sum of nothing.
    fn direction(&self) -> Option<Position> {
        let length = self.length();
        (length > 0.0).then(|| Position {
            zenith_deg: (self.up / length).clamp(0.0, 1.0).acos().to_degrees(),
            azimuth_deg: turn_deg(self.east.atan2(self.north).to_degrees()),
        })
    }
}

/// An angle within `[0, 360)`, also where rounding would give 360.
fn turn_deg(angle_deg: f64) -> f64 {
    let turned = angle_deg.rem_euclid(360.0);
    if turned < 360.0 { turned } else { 0.0 }
}

fn exact(
    at: Moment,
    place: Location,
    height_m: f64,
    air: Option<RefractionCorrection>,
) -> Position {
    let at = in_range(at);
    let found = SolarPositions::new().at(&at, place, height_m, delta_t_s(&at), air);
    here(found.expect("time and coordinates were brought into range"))
}

fn here(found: SolarPosition) -> Position {
    Position { zenith_deg: found.zenith_angle(), azimuth_deg: found.azimuth() }
}

fn standard_air() -> RefractionCorrection {
    RefractionCorrection::new(1013.25, 12.0).expect("pressure and temperature are ordinary")
}

/// The apparent zenith for a true one, in standard air.
fn lifted_deg(zenith_deg: f64) -> f64 {
    let elevation_deg = 90.0 - zenith_deg;
    if elevation_deg <= -0.833_37 {
        return zenith_deg;
    }
    // Reda and Andreas 2008, equation 42, in minutes of arc.
    let air = 1013.25 / 1010.0 * 283.0 / (273.0 + 12.0);
    let phase = (elevation_deg + 10.3 / (elevation_deg + 5.11)).to_radians();
    zenith_deg - air * 1.02 / (60.0 * phase.tan())
}

/// Coordinates that every algorithm accepts: latitude clamped, longitude wrapped.
fn place(latitude_deg: f64, longitude_deg: f64) -> Location {
    Location {
        latitude: latitude_deg.clamp(-90.0, 90.0),
        longitude: (longitude_deg + 180.0).rem_euclid(360.0) - 180.0,
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
