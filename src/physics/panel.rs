//! From light on level ground to power out of a panel.
//!
//! Three steps, each a function: onto the panel's plane, into the cell's temperature, out as
//! power. Dirt, wiring and part shade are not here: they are a factor that the journal teaches.
//! The sun comes from [`super::sun`], the light from [`super::sky`].

use super::practice::{LOWEST_BEAM_ZENITH_DEG, LOWEST_COS_ZENITH, OPEN_NOCT_C};
use super::real::Real;
use super::sky::erbs_diffuse_fraction;
use super::sun::SunHour;

/// Irradiance on a panel's plane.
///
/// `ghi_w_m2`: global horizontal irradiance in W/m2, clouds included. `sun`: the hour's sun.
/// `tilt_deg`: 0 flat to 90 upright. `facing_deg`: from north over east. `albedo`: reflectance
/// of the ground, 0 to 1. Result in W/m2, never negative; for a flat panel exactly `ghi_w_m2`.
///
/// Formula: the diffuse share D from the clearness index (Erbs); then beam (G - D) · cos θ /
/// cos z, sky D · (1 + cos β) / 2, ground G · ρ · (1 - cos β) / 2. Valid in the open: hills,
/// trees and the van's own roof boxes are not known. The isotropic sky undershoots a little on
/// clear days.
///
/// Source: Liu and Jordan, The long-term average performance of flat-plate solar-energy
/// collectors, Solar Energy 7, 1963; Erbs, Klein and Duffie 1982.
///
/// ```
/// use waystock::physics::panel::plane_of_array_w_m2;
/// use waystock::physics::sun::SunHour;
/// let sun = SunHour { clear_w_m2: 640.0, zenith_deg: 60.0, azimuth_deg: 180.0,
///                     extraterrestrial_normal_w_m2: 1390.0 };
/// // A low winter sun: tilting a panel towards it pays.
/// assert!(plane_of_array_w_m2(450.0, &sun, 50.0, 180.0, 0.2) > 650.0);
/// assert_eq!(plane_of_array_w_m2(450.0, &sun, 0.0, 0.0, 0.2), 450.0);
/// ```
pub fn plane_of_array_w_m2(
    ghi_w_m2: f64,
    sun: &SunHour,
    tilt_deg: f64,
    facing_deg: f64,
    albedo: f64,
) -> f64 {
    let ghi = ghi_w_m2.max(0.0);
    if tilt_deg == 0.0 || ghi == 0.0 {
        return ghi;
    }
    let diffuse = diffuse_w_m2(ghi, sun);
    let (sin_tilt, cos_tilt) = tilt_deg.to_radians().sin_cos();
    let (sin_zenith, cos_zenith) = sun.zenith_deg.to_radians().sin_cos();
    let across = (sun.azimuth_deg - facing_deg).to_radians().cos();
    let cos_incidence = (cos_zenith * cos_tilt + sin_zenith * sin_tilt * across).max(0.0);
    let beam = if diffuse < ghi { (ghi - diffuse) * cos_incidence / cos_zenith } else { 0.0 };
    beam + diffuse * (1.0 + cos_tilt) / 2.0 + ghi * albedo * (1.0 - cos_tilt) / 2.0
}

/// Irradiance on level ground that comes from the whole sky.
///
/// `ghi_w_m2`: global horizontal irradiance in W/m2. `sun`: the hour's sun. Result in W/m2, at
/// most `ghi_w_m2`; all of it when the sun is lower than 3 degrees.
///
/// Formula: [`erbs_diffuse_fraction`] of G / (E · max(cos z, 0.065)).
///
/// Source: Erbs, Klein and Duffie 1982.
fn diffuse_w_m2(ghi_w_m2: f64, sun: &SunHour) -> f64 {
    let ghi = ghi_w_m2.max(0.0);
    if sun.zenith_deg > LOWEST_BEAM_ZENITH_DEG {
        return ghi;
    }
    let cos_zenith = sun.zenith_deg.to_radians().cos().max(LOWEST_COS_ZENITH);
    let outside = sun.extraterrestrial_normal_w_m2 * cos_zenith;
    if outside <= 0.0 {
        return ghi;
    }
    ghi * erbs_diffuse_fraction(ghi / outside)
}

/// Temperature of the cells of a panel with air behind it.
///
/// `air_c`: air temperature. `poa_w_m2`: irradiance on the panel. Result in degrees Celsius.
///
/// Formula: T = T_air + (NOCT - 20) / 800 · G with a nominal operating cell temperature of
/// 45 degrees. Defined at a wind of 1 m/s; more wind cools.
///
/// Source: Ross, Design techniques for flat-plate photovoltaic arrays, 15th IEEE Photovoltaic
/// Specialists Conference, 1981, as open code quotes it.
///
/// ```
/// use waystock::physics::panel::cell_temperature_c;
/// assert_eq!(cell_temperature_c(25.0, 1000.0), 56.25);
/// ```
#[inline(always)]
pub fn cell_temperature_c<R: Real>(air_c: R, poa_w_m2: R) -> R {
    air_c + R::of((OPEN_NOCT_C - 20.0) / 800.0) * poa_w_m2
}

/// Direct-current power of a panel with its cells at 25 degrees Celsius.
///
/// `rated_w`: at standard test conditions. `poa_w_m2`: irradiance on the panel. Result in W.
///
/// Formula: P_rated · G / 1000, the first factor of [`power_w`].
///
/// Source: Dobos 2014, as there.
pub fn cool_power_w(rated_w: f64, poa_w_m2: f64) -> f64 {
    rated_w * poa_w_m2 / 1000.0
}

/// Direct-current power of a panel.
///
/// `cool_w`: from [`cool_power_w`]. `cell_c`: cell temperature in degrees Celsius. `per_kelvin`:
/// relative change per kelvin above 25 (usually -0.002 to -0.005). Result in W, never negative.
///
/// Formula: P = P_rated · G / 1000 · (1 + γ (T_cell - 25)).
///
/// Source: Dobos, PVWatts version 5 manual, NREL/TP-6A20-62641, 2014, equation 8.
///
/// ```
/// use waystock::physics::panel::{cool_power_w, power_w};
/// assert!((power_w(cool_power_w(400.0, 1000.0), 50.0, -0.0035) - 365.0).abs() < 1e-9);
/// ```
#[inline(always)]
pub fn power_w<R: Real>(cool_w: R, cell_c: R, per_kelvin: R) -> R {
    cool_w * (R::of(1.0) + per_kelvin * (cell_c - R::of(25.0))).most(R::of(0.0))
}

#[cfg(test)]
mod tests;
