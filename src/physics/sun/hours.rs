//! The sun hour by hour: means over each hour, fast enough for a month at a time.
//!
//! Positions here come from a fast algorithm; [`super::position`] has the exact one.

use super::{Position, delta_t_s, extraterrestrial_normal_w_m2, here, in_range, place};
use crate::domain::time::Moment;
use crate::physics::sky::haurwitz_w_m2;
use chrono::{DateTime, Datelike, Duration, Utc};
use solar_positioning::{Location, SolarPositions};
use std::sync::LazyLock;

/// Positions sampled in each hour, at the middles of equal parts.
const SAMPLES_PER_HOUR: u32 = 6;

/// With the sun this low in the middle of an hour, the hour is dark: its height changes by at
/// most 7.5 degrees in half an hour.
const DARK_ZENITH_DEG: f64 = 98.5;

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

/// Mean clear-sky irradiance on level ground in each of the coming hours, in W/m2.
///
/// `from`: start of the first hour (need not be a full hour). `hours`: how many. Coordinates as
/// for [`position`](super::position). Result: one value per hour `[from + i, from + i + 1)`,
/// never negative.
///
/// Formula: the mean of Haurwitz over six moments of the hour, from the apparent zenith. The
/// six-moment mean is within 0.5 W/m2 of the integral of any hour. The middle position is
/// Grena's third algorithm (0.01 degrees) in 2010 to 2109, SPA in other years; the sky turns from
/// there by 15 degrees an hour.
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
    (0..hours).map(|hour| track.clear_w_m2(hour)).collect()
}

/// Clear-sky irradiation of level ground over the twelve hours before and after `noon`, in Wh/m2.
///
/// Formula: as [`hourly_clear_sky`], the sky turning all day from where the sun stands at noon: the
/// morning's sun is as much lower or higher than that as the evening's is the other way round, and
/// the sum is within 0.05 % and 0.9 Wh/m2 of the hours'.
pub(in crate::physics) fn clear_day(noon: Moment, latitude_deg: f64, longitude_deg: f64) -> f64 {
    let track = Track::new(noon, latitude_deg, longitude_deg);
    let sun = Vector::towards(track.fast(&track.from));
    let samples = DAY_TURNS.iter().map(|turn| sun.turned(track.pole, *turn).clear_w_m2());
    samples.sum::<f64>() / f64::from(SAMPLES_PER_HOUR)
}

/// How far the sky turns from noon to each sample of a day, as sine and cosine.
static DAY_TURNS: LazyLock<[(f64, f64); DAY_SAMPLES]> = LazyLock::new(|| {
    std::array::from_fn(|sample| {
        let hours = (sample as f64 + 0.5) / f64::from(SAMPLES_PER_HOUR) - 12.0;
        (-15.0 * hours).to_radians().sin_cos()
    })
});
const DAY_SAMPLES: usize = 24 * SAMPLES_PER_HOUR as usize;

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

/// The sun's path over one place from one moment on.
pub(super) struct Track {
    from: DateTime<Utc>,
    place: Location,
    delta_t_s: f64,
    /// Towards the celestial pole, about which the sky turns.
    pole: Vector,
    /// How far the sky turns from the middle of an hour to each sample, as sine and cosine.
    turns: [(f64, f64); SAMPLES_PER_HOUR as usize],
}

impl Track {
    pub(super) fn new(from: Moment, latitude_deg: f64, longitude_deg: f64) -> Track {
        let from = in_range(from);
        let place = place(latitude_deg, longitude_deg);
        let (up, north) = place.latitude.to_radians().sin_cos();
        let turns = std::array::from_fn(|sample| {
            let hours = (sample as f64 + 0.5) / f64::from(SAMPLES_PER_HOUR) - 0.5;
            // Westward, so against the pole's own sense. In half an hour the sun moves among the
            // stars by less than a hundredth of a degree, which cancels over the hour.
            (-15.0 * hours).to_radians().sin_cos()
        });
        let pole = Vector { east: 0.0, north, up };
        Track { from, place, delta_t_s: delta_t_s(&from), pole, turns }
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
        let half_past = Vector::towards(middle);
        let mut clear_w_m2 = 0.0;
        let mut mean = Vector::default();
        for turn in &self.turns {
            let sun = half_past.turned(self.pole, *turn);
            clear_w_m2 += sun.clear_w_m2();
            if sun.up > 0.0 {
                mean.add(sun, 1.0 / f64::from(SAMPLES_PER_HOUR));
            }
        }
        let towards = mean.direction().unwrap_or(middle);
        SunHour {
            clear_w_m2: clear_w_m2 / f64::from(SAMPLES_PER_HOUR),
            zenith_deg: towards.zenith_deg,
            azimuth_deg: towards.azimuth_deg,
            extraterrestrial_normal_w_m2: extraterrestrial_normal_w_m2(start.ordinal())
                * mean.length(),
        }
    }

    /// What [`Track::hour`] says of the light on level ground.
    fn clear_w_m2(&self, index: usize) -> f64 {
        let middle = self.fast(&(self.from + Duration::minutes(60 * index as i64 + 30)));
        if middle.zenith_deg > DARK_ZENITH_DEG {
            return 0.0;
        }
        let half_past = Vector::towards(middle);
        self.turns.iter().map(|turn| half_past.turned(self.pole, *turn).clear_w_m2()).sum::<f64>()
            / f64::from(SAMPLES_PER_HOUR)
    }

    pub(super) fn fast(&self, at: &DateTime<Utc>) -> Position {
        let found = SolarPositions::grena3()
            .at(at, self.place, 0.0, self.delta_t_s, None)
            .or_else(|_| SolarPositions::new().at(at, self.place, 0.0, self.delta_t_s, None));
        here(found.expect("time and coordinates were brought into range"))
    }
}

/// Light on level ground by the sine of the sun's true height, of which it is a smooth function:
/// read from a table in straight pieces, it is within 0.005 W/m2.
pub(super) struct Light([f64; PIECES + 1]);

/// Pieces of the table.
const PIECES: usize = 1024;
/// Sine of the height below which nothing shines: the sun's disc is down, lifted by the air or not.
const LOWEST: f64 = -0.015;
const PIECES_PER_SINE: f64 = PIECES as f64 / (1.0 - LOWEST);

pub(super) static LIGHT: LazyLock<Light> = LazyLock::new(|| {
    Light(std::array::from_fn(|end| {
        let sine: f64 = LOWEST + end as f64 / PIECES_PER_SINE;
        haurwitz_w_m2(lifted_deg(sine.clamp(-1.0, 1.0).acos().to_degrees()))
    }))
});

impl Light {
    /// In W/m2.
    pub(super) fn at(&self, sine: f64) -> f64 {
        let place = (sine - LOWEST) * PIECES_PER_SINE;
        if place <= 0.0 {
            return 0.0;
        }
        let below = (place as usize).min(PIECES - 1);
        let (from, to) = (self.0[below], self.0[below + 1]);
        from + (place - below as f64) * (to - from)
    }
}

/// A direction, or a sum of them.
#[derive(Clone, Copy, Default)]
struct Vector {
    east: f64,
    north: f64,
    up: f64,
}

impl Vector {
    fn towards(sun: Position) -> Vector {
        let (sin_zenith, cos_zenith) = sun.zenith_deg.to_radians().sin_cos();
        let (sin_azimuth, cos_azimuth) = sun.azimuth_deg.to_radians().sin_cos();
        Vector { east: sin_zenith * sin_azimuth, north: sin_zenith * cos_azimuth, up: cos_zenith }
    }

    /// Light on level ground under a clear sky with the sun in this direction, in W/m2.
    fn clear_w_m2(self) -> f64 {
        LIGHT.at(self.up)
    }

    /// Turned about a pole by an angle given as its sine and cosine (Rodrigues' formula).
    fn turned(self, pole: Vector, (sine, cosine): (f64, f64)) -> Vector {
        let along = self.east * pole.east + self.north * pole.north + self.up * pole.up;
        let rest = along * (1.0 - cosine);
        let east = pole.north * self.up - pole.up * self.north;
        let north = pole.up * self.east - pole.east * self.up;
        let up = pole.east * self.north - pole.north * self.east;
        Vector {
            east: self.east * cosine + east * sine + pole.east * rest,
            north: self.north * cosine + north * sine + pole.north * rest,
            up: self.up * cosine + up * sine + pole.up * rest,
        }
    }

    fn add(&mut self, other: Vector, weight: f64) {
        self.east += weight * other.east;
        self.north += weight * other.north;
        self.up += weight * other.up;
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

/// The apparent zenith for a true one, in standard air.
pub(super) fn lifted_deg(zenith_deg: f64) -> f64 {
    let elevation_deg = 90.0 - zenith_deg;
    if elevation_deg <= -0.833_37 {
        return zenith_deg;
    }
    // Reda and Andreas 2008, equation 42, in minutes of arc.
    let air = 1013.25 / 1010.0 * 283.0 / (273.0 + 12.0);
    let phase = (elevation_deg + 10.3 / (elevation_deg + 5.11)).to_radians();
    zenith_deg - air * 1.02 / (60.0 * phase.tan())
}
