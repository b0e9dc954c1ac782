//! Where the sun stands, and how much light it would give under a clear sky, hour by hour.
//!
//! Single positions use the slow and exact algorithm; whole weeks use a fast one that is good to
//! a hundredth of a degree. Clouds and panels come later: see [`super::sky`] and
//! [`super::panel`].

use crate::domain::time::Moment;
use chrono::{DateTime, Datelike, Duration, Utc};
use solar_positioning::{Location, RefractionCorrection, SolarPosition, SolarPositions, delta_t};

mod hours;

pub(super) use hours::clear_day;
pub use hours::{SunHour, hourly_clear_sky, hourly_sun};

/// Irradiance outside the atmosphere at the mean distance from the sun, in W/m2.
///
/// Source: the constant that goes with Spencer (1971) in most solar engineering code; newer
/// measurements say 1361, a difference of 0.4 % that no panel on a van can notice.
pub const SOLAR_CONSTANT_W_M2: f64 = 1366.1;

/// Where the sun's centre stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Angle from straight up, `[0, 180]`; more than 90 is below the horizon.
    pub zenith_deg: f64,
    /// Direction from north over east, `[0, 360)`.
    pub azimuth_deg: f64,
}

/// The true position of the sun, as if there were no air.
///
/// `at`: the instant. `latitude_deg`: degrees north, clamped to `[-90, 90]`. `longitude_deg`:
/// degrees east, any turn. A coordinate that is not finite counts as 0. Result in degrees.
///
/// Formula: the Solar Position Algorithm, at sea level, with an estimated difference between
/// terrestrial and universal time. Valid to 0.0003 degrees today and, since nobody knows how the
/// earth will slow down, to 0.002 by 2150. Years outside 1000 to 2899 are moved by whole
/// 400-year calendar cycles, in which the seasons hardly shift.
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
/// `day_of_year`: 1 = 1 January (UTC). Result between 1320 and 1415 W/m2.
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
