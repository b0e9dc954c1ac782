//! Light on level ground by the sun's true height: refraction and haze in one table.

use crate::physics::sky::clear_share;
use std::sync::LazyLock;

/// Pieces of the table.
const PIECES: usize = 1024;
/// Sine of the height below which nothing shines: the sun's disc is down, lifted by the air or not.
const LOWEST: f64 = -0.015;
const PIECES_PER_SINE: f64 = PIECES as f64 / (1.0 - LOWEST);

/// Refraction and haze at six moments of every hour were half of laying out the past.
static TABLE: LazyLock<[f64; PIECES + 1]> = LazyLock::new(|| {
    std::array::from_fn(|end| {
        let sine: f64 = LOWEST + end as f64 / PIECES_PER_SINE;
        let zenith_deg = sine.clamp(-1.0, 1.0).acos().to_degrees();
        clear_share(apparent_zenith_deg(zenith_deg, STANDARD_AIR))
    })
});

/// Share of the light above the air that reaches level ground, by the sine of the sun's true height,
/// of which it is a smooth function: read from a table in straight pieces, it is within 0.000 01.
pub(super) fn clear_share_at(sine: f64) -> f64 {
    let place = (sine - LOWEST) * PIECES_PER_SINE;
    if place <= 0.0 {
        return 0.0;
    }
    let below = (place as usize).min(PIECES - 1);
    let (from, to) = (TABLE[below], TABLE[below + 1]);
    from + (place - below as f64) * (to - from)
}

/// Air that refracts.
#[derive(Debug, Clone, Copy)]
pub(super) struct Air {
    pub hpa: f64,
    pub celsius: f64,
}

/// Real air differs by a few hundredths of a degree within a few degrees of the horizon, and by
/// less above.
pub(super) const STANDARD_AIR: Air = Air { hpa: 1013.25, celsius: 12.0 };

/// Where the sun seems to stand: its true zenith in degrees, lifted by refraction; none once the
/// whole disc is below the horizon.
///
/// Source: Reda and Andreas 2008, equation 42, in minutes of arc.
pub(super) fn apparent_zenith_deg(zenith_deg: f64, air: Air) -> f64 {
    let elevation_deg = 90.0 - zenith_deg;
    if elevation_deg <= -0.833_37 {
        return zenith_deg;
    }
    let density = air.hpa / 1010.0 * 283.0 / (273.0 + air.celsius);
    let phase = (elevation_deg + 10.3 / (elevation_deg + 5.11)).to_radians();
    zenith_deg - density * 1.02 / (60.0 * phase.tan())
}
