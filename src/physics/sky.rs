//! How much of the sun's light reaches the ground: clear sky, clouds, and the diffuse share.
//!
//! Simple formulas on purpose: a van knows its place and at best a cloud cover. They work at sea
//! level and undershoot in thin mountain air. Positions come from [`super::sun`]; tilted panels
//! from [`super::panel`].

/// Global horizontal irradiance under a clear sky.
///
/// `zenith_deg`: the sun's apparent zenith in degrees. Result in W/m2, 0 with the sun at or
/// below the horizon.
///
/// Formula: 1098 · cos z · exp(-0.059 / cos z). Valid near sea level; models of this kind differ
/// from each other by 3 to 8 % at mid-latitudes, and by 30 % with a noon sun at 6 degrees.
///
/// Source: Haurwitz, Insolation in relation to cloudiness and cloud density, Journal of
/// Meteorology 2, 1945; coefficients as in Reno, Hansen and Stein, SAND2012-2389, 2012.
///
/// ```
/// use waystock::physics::sky::haurwitz_w_m2;
/// assert!((haurwitz_w_m2(60.0) - 487.89).abs() < 0.01);
/// assert_eq!(haurwitz_w_m2(95.0), 0.0);
/// ```
pub fn haurwitz_w_m2(zenith_deg: f64) -> f64 {
    let cos_zenith = zenith_deg.to_radians().cos();
    if cos_zenith <= 0.0 {
        return 0.0;
    }
    1098.0 * cos_zenith * (-0.059 / cos_zenith).exp()
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
/// tests: 0.73 fits the even months best, and anything from 0.7 to 1.2 nearly as well).
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
