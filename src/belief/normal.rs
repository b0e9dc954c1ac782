//! The normal distribution on an interval: probabilities and moments that survive far tails.

use std::f64::consts::{PI, SQRT_2};

/// Standard normal density.
pub fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Standard normal distribution function.
pub fn cumulative(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// What is left of a normal variable when it is known to lie in an interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Truncated {
    /// Probability of the interval before it was known.
    pub probability: f64,
    /// Mean within it.
    pub mean: f64,
    /// Variance within it.
    pub variance: f64,
}

/// Moments of `N(mean, sd^2)` given that it lies in `[low, high]`. Either end may be infinite.
/// The tail is mirrored so that differences are taken where the distribution function is small
/// and exact; where even that is lost (beyond about 38 standard deviations) the mass sits at
/// the nearer end.
pub(super) fn truncated(mean: f64, sd: f64, low: f64, high: f64) -> Truncated {
    let (mut a, mut b) = ((low - mean) / sd, (high - mean) / sd);
    let mirrored = a > 0.0;
    if mirrored {
        (a, b) = (-b, -a);
    }
    let probability = cumulative(b) - cumulative(a);
    if probability < 1e-290 {
        let nearest = if mirrored { low } else { high };
        return Truncated { probability: 0.0, mean: nearest, variance: (sd * 1e-3).powi(2) };
    }
    let (at_a, at_b) = (density(a), density(b));
    let shift = (at_a - at_b) / probability;
    let edge = |z: f64, at: f64| if z.is_finite() { z * at } else { 0.0 };
    let spread = 1.0 + (edge(a, at_a) - edge(b, at_b)) / probability - shift * shift;
    let shift = if mirrored { -shift } else { shift };
    let truncated_mean = (mean + sd * shift).clamp(low, high);
    Truncated { probability, mean: truncated_mean, variance: sd * sd * spread.clamp(1e-9, 1.0) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.17.1 `truncnorm(a, b).stats()` and `norm.cdf(b) - norm.cdf(a)`.
    #[test]
    fn moments_agree_with_a_reference_library() {
        let rows = [
            // low, high, probability, mean, variance
            (-1.0, 1.0, 0.682_689_492_137_086, 0.0, 0.291_125_094_772_793),
            (0.0, f64::INFINITY, 0.5, 0.797_884_560_802_865, 0.363_380_227_632_419),
            (2.0, 3.0, 0.021_400_233_916_549_1, 2.315_821_326_743_78, 0.061_520_779_574_493),
            (-0.5, 2.0, 0.668_712_329_325_834, 0.445_743_778_272_515, 0.376_593_836_137_026),
            (6.0, 7.0, 9.853_078_324_938e-10, 6.157_210_903_378_3, 0.022_748_381_117_37),
        ];
        for (low, high, probability, mean, variance) in rows {
            let t = truncated(0.0, 1.0, low, high);
            assert!((t.probability - probability).abs() < 1e-12, "{low}: {t:?}");
            assert!((t.mean - mean).abs() < 1e-7, "{low}: {t:?}");
            assert!((t.variance - variance).abs() < 1e-7, "{low}: {t:?}");
        }
    }

    #[test]
    fn far_tails_stay_inside_the_interval() {
        for (low, high) in [(8.0, 9.0), (30.0, 31.0), (60.0, 61.0), (-61.0, -60.0)] {
            let t = truncated(0.0, 1.0, low, high);
            assert!((low..=high).contains(&t.mean) && t.variance > 0.0, "{low}: {t:?}");
        }
    }
}
