//! A compressor fridge: the warmer the van, the longer it runs.

use super::practice::{FRIDGE_LEAST_SHARE, FRIDGE_MOST_SHARE};
use super::real::Real;

/// Mean electric draw of a compressor fridge over an hour.
///
/// `mean_w_at_20`: mean draw with the van at 20 degrees Celsius, in W, at least 0. `per_kelvin`: relative
/// change per kelvin (0.04 = 4 %). `inside_c`: temperature in the van, degrees Celsius. Result
/// in W, between 0.25 and 2.5 times `mean_w_at_20`.
///
/// Formula: mean · (1 + p · (T - 20)), clamped. The heat that leaks in is linear in the
/// temperature difference; the compressor also gets less efficient, which `per_kelvin` takes in.
///
/// Source: common practice, no source.
///
/// ```
/// use waystock::physics::fridge::mean_draw_w;
/// assert_eq!(mean_draw_w(20.0, 0.04, 30.0), 28.0);
/// assert_eq!(mean_draw_w(20.0, 0.04, 90.0), 50.0);
/// ```
#[inline(always)]
pub fn mean_draw_w<R: Real>(mean_w_at_20: R, per_kelvin: R, inside_c: R) -> R {
    let share = R::of(1.0) + per_kelvin * (inside_c - R::of(20.0));
    mean_w_at_20 * share.most(R::of(FRIDGE_LEAST_SHARE)).least(R::of(FRIDGE_MOST_SHARE))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hot_van_costs_more_and_a_frozen_one_not_nothing() {
        // By hand: 24 W at 20 degrees, 5 % per kelvin.
        for (inside, want) in [(20.0, 24.0), (30.0, 36.0), (10.0, 12.0), (-20.0, 6.0), (80.0, 60.0)]
        {
            assert!((mean_draw_w(24.0_f64, 0.05, inside) - want).abs() < 1e-12, "{inside}");
        }
    }
}
