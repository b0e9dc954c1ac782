//! How much of the sun's light reaches the ground: clear sky, clouds, and the diffuse share.
//!
//! Simple formulas on purpose: a van knows its place and at best a cloud cover. They work at sea
//! level and undershoot in thin mountain air. Positions come from [`super::sun`]; tilted panels
//! from [`super::panel`].

/// How many clean and dry atmospheres keep back as much as the usual one, haze and moisture
/// included (Linke turbidity): 2 in clean cold air, 3 in temperate lowlands, 4 to 5 in summer haze.
const TURBIDITY: f64 = 3.0;

/// Share of the light above the air that reaches level ground under a clear sky.
///
/// `zenith_deg`: the sun's apparent zenith in degrees. Result 0 to 0.773; 0 with the sun at or below
/// the horizon. Times the irradiance above the air on a plane that faces the sun, it is the global
/// horizontal irradiance in W/m2.
///
/// Formula: 0.868 · cos z · exp(-0.0387 · 3 · m), at sea level with a Linke turbidity of 3, where
/// m = 1 / (cos z + 0.505 72 · (96.079 95 - z)^-1.6364) is the air that the light goes through. Air
/// as clean as turbidity 2 lets 7 % more through at 30 degrees of height, and 15 % at 15.
///
/// Source: Ineichen and Perez, A new airmass independent formulation for the Linke turbidity
/// coefficient, Solar Energy 73, 2002; air mass after Kasten and Young, Revised optical air mass
/// tables and approximation formula, Applied Optics 28, 1989; both as carried by open solar code.
///
/// ```
/// use waystock::physics::sky::clear_share;
/// assert!((1366.1 * clear_share(60.0) - 470.35).abs() < 0.01);
/// assert_eq!(clear_share(95.0), 0.0);
/// ```
pub fn clear_share(zenith_deg: f64) -> f64 {
    let cos_zenith = zenith_deg.to_radians().cos();
    if cos_zenith <= 0.0 {
        return 0.0;
    }
    let air_mass = 1.0 / (cos_zenith + 0.505_72 * (96.079_95 - zenith_deg).powf(-1.6364));
    0.868 * cos_zenith * (-0.0387 * TURBIDITY * air_mass).exp()
}

/// Share of the light that a covered sky keeps back, and the power of cover that it goes with.
const COVERED: f64 = 0.75;
const POWER: f64 = 3.4;

/// Share of the clear-sky light that comes through clouds.
///
/// `cloud`: covered part of the sky, 0 (clear) to 1 (overcast), clamped. Result 1 down to 0.25.
///
/// Formula: 1 - 0.75 · N^3.4. An average over kinds of cloud: thin overcast lets more through,
/// thick less.
///
/// Source: Kasten and Czeplak, Solar and terrestrial radiation dependent on the amount and type
/// of cloud, Solar Energy 24, 1980.
///
/// ```
/// use waystock::physics::sky::cloud_factor;
/// assert_eq!(cloud_factor(0.0), 1.0);
/// assert_eq!(cloud_factor(1.0), 0.25);
/// ```
pub fn cloud_factor(cloud: f64) -> f64 {
    1.0 - COVERED * cloud.clamp(0.0, 1.0).powf(POWER)
}

/// Share of the clear-sky light that comes through over days whose cloud is known on average only.
///
/// `cloud`: the mean covered part of the sky, 0 to 1, clamped. Result 1 down to 0.25.
///
/// Formula: the mean of [`cloud_factor`] over skies that follow a Beta law with that mean and
/// concentration 1: mostly clear or mostly covered. Half covered on average lets 78 % through,
/// where a sky that was always half covered would let 93 % through.
///
/// Source: the moments of the Beta law; its concentration suits 24 months of two stations (see the
/// tests: 1 fits the even months best, and anything from 0.7 to 1.3 nearly as well).
///
/// ```
/// use waystock::physics::sky::mean_cloud_factor;
/// assert!((mean_cloud_factor(0.5) - 0.7788).abs() < 1e-4);
/// assert!((mean_cloud_factor(1.0) - 0.25).abs() < 1e-12);
/// ```
pub fn mean_cloud_factor(cloud: f64) -> f64 {
    let cloud = cloud.clamp(0.0, 1.0);
    if cloud <= 0.0 {
        return 1.0;
    }
    // E[x^p] of Beta(c, 1 - c) is Gamma(c + p) / (Gamma(c) Gamma(1 + p)).
    let moment = libm::lgamma(cloud + POWER) - libm::lgamma(cloud) - libm::lgamma(1.0 + POWER);
    1.0 - COVERED * moment.exp()
}

/// Share of the light on level ground that comes from the whole sky rather than from the sun.
///
/// `clearness`: global horizontal over extraterrestrial horizontal irradiance, clamped to
/// `[0, 1]`. Result between 0.165 and 1.
///
/// Formula: 1 - 0.09 k up to 0.22; 0.9511 - 0.1604 k + 4.388 k² - 16.638 k³ + 12.336 k⁴ up to
/// 0.80; 0.165 above. Fitted to hours at mid-latitude stations of North America.
///
/// Source: Erbs, Klein and Duffie, Estimation of the diffuse radiation fraction for hourly,
/// daily and monthly-average global radiation, Solar Energy 28, 1982.
pub(super) fn erbs_diffuse_fraction(clearness: f64) -> f64 {
    let k = clearness.clamp(0.0, 1.0);
    if k <= 0.22 {
        1.0 - 0.09 * k
    } else if k <= 0.80 {
        0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)))
    } else {
        0.165
    }
}

#[cfg(test)]
mod tests;
