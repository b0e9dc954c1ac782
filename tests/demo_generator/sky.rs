//! The demo's real weather, hour by hour: cloud regimes that follow each other, fronts that
//! bring wind and a drop in temperature, a season that cools, and the sun above it all.

use super::dice::Dice;
use super::trip::{CAMPS, Camp, OFFSET_HOURS};

/// What the sky does in one hour.
#[derive(Clone, Copy)]
pub struct Hour {
    /// Outside temperature, degrees Celsius.
    pub outside_c: f64,
    /// Cloud cover, 0..1.
    pub cloud: f64,
    /// Wind, m/s.
    pub wind: f64,
    /// Rain or drizzle.
    pub wet: bool,
}

/// What one civil day came to.
pub struct Day {
    pub low_c: f64,
    pub high_c: f64,
    pub cloud: f64,
    pub sun_kwh_m2: f64,
}

#[derive(Clone, Copy, PartialEq)]
enum Regime {
    Clear,
    Mixed,
    Front,
}

/// The weather of the whole trip, one entry per hour from midnight of the first day.
pub struct Sky(pub Vec<Hour>);

impl Sky {
    /// Weather for `days` days.
    pub fn new(seed: u64, days: usize) -> Sky {
        let mut dice = Dice::new(seed, "sky");
        let mut regime = Regime::Mixed;
        let (mut anomaly, mut chill, mut gust, mut patch) = (0.0, 0.0, 0.0, 0.0);
        let mut hours = Vec::with_capacity(days * 24);
        for day in 0..days {
            let before = regime;
            regime = next_regime(regime, dice.unit());
            if before == Regime::Front && regime != Regime::Front {
                chill = -4.5 * dice.factor(0.3); // cold air behind the front
            }
            anomaly = 0.72 * anomaly + 1.5 * dice.normal();
            let season = 14.6 - 0.165 * day as f64;
            for hour in 0..24 {
                chill *= 0.965;
                gust = 0.9 * gust + 0.9 * dice.normal();
                patch = 0.8 * patch + 0.09 * dice.normal();
                let (cloud, swing, wind) = match regime {
                    Regime::Clear => (0.18, 3.9, 4.0),
                    Regime::Mixed => (0.58, 2.6, 6.5),
                    Regime::Front => (0.93, 1.2, 11.0),
                };
                let cloud = f64::clamp(cloud + patch, 0.0, 1.0);
                let turn = (std::f64::consts::TAU * (f64::from(hour) - 15.0) / 24.0).cos();
                let warm_sector = if regime == Regime::Front { 1.2 } else { 0.0 };
                hours.push(Hour {
                    outside_c: season + anomaly + chill + warm_sector + swing * turn,
                    cloud,
                    wind: f64::max(wind + gust, 0.5),
                    wet: regime == Regime::Front && dice.chance(0.55),
                });
            }
        }
        Sky(hours)
    }

    /// Sun on level ground at the middle of hour `hour`, in W/m2.
    pub fn sun_w_m2(&self, hour: usize, camp: &Camp) -> f64 {
        let height = sine_of_height(hour as f64 + 0.5, camp);
        if height <= 0.0 {
            return 0.0;
        }
        // Thicker air near the horizon dims the beam; a tenth of what is lost comes back as
        // blue sky. Broken cloud dims less than its cover, overcast leaves about a quarter.
        let air = 1.0 / (height + 0.05 * (-12.0 * height).exp());
        let beam = 1361.0 * 0.72_f64.powf(air.powf(0.68));
        let clear = beam * height + 0.12 * (1361.0 - beam) * height;
        clear * (1.0 - 0.74 * self.0[hour].cloud.powf(2.9))
    }

    /// Low, high, cloud and sun of civil day `day` at `camp`.
    pub fn day(&self, day: usize, camp: &Camp) -> Day {
        let hours = day * 24..day * 24 + 24;
        let outside = || hours.clone().map(|h| self.0[h].outside_c);
        Day {
            low_c: outside().fold(f64::INFINITY, f64::min),
            high_c: outside().fold(f64::NEG_INFINITY, f64::max),
            cloud: hours.clone().map(|h| self.0[h].cloud).sum::<f64>() / 24.0,
            sun_kwh_m2: hours.map(|h| self.sun_w_m2(h, camp)).sum::<f64>() / 1000.0,
        }
    }
}

fn next_regime(regime: Regime, roll: f64) -> Regime {
    let (clear, mixed) = match regime {
        Regime::Clear => (0.55, 0.35),
        Regime::Mixed => (0.25, 0.45),
        Regime::Front => (0.25, 0.45),
    };
    match roll {
        r if r < clear => Regime::Clear,
        r if r < clear + mixed => Regime::Mixed,
        _ => Regime::Front,
    }
}

/// Sine of the sun's height; declination after Cooper (1969), without the equation of time,
/// which moves the day by a few minutes and its sum by nothing.
fn sine_of_height(hour: f64, camp: &Camp) -> f64 {
    let day_of_year = super::trip::FIRST_DAY_OF_YEAR + hour / 24.0;
    let tilt = 23.45_f64.to_radians();
    let declination = tilt * (std::f64::consts::TAU * (284.0 + day_of_year) / 365.0).sin();
    let solar_hour = hour % 24.0 - OFFSET_HOURS + camp.longitude / 15.0;
    let angle = (std::f64::consts::TAU / 24.0) * (solar_hour - 12.0);
    let latitude = camp.latitude.to_radians();
    latitude.sin() * declination.sin() + latitude.cos() * declination.cos() * angle.cos()
}

/// The camp that weather reports are made for when none is known yet.
pub fn first_camp() -> &'static Camp {
    &CAMPS[0]
}
