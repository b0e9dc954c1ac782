//! How long the hook-up takes: one answer for every plan that charges.

use super::practice::FULL_SHARE;
use crate::forecast::passages::sorted;

/// Hours on the hook-up after which the store is full in nine lives of ten, in half hours, rounded
/// up: `levels` are those of the lives when it begins, `full` is what it holds, all in Wh, and an
/// hour of it brings `wh`.
pub(super) fn hours(levels: &[f64], full: f64, wh: f64) -> f64 {
    let missing = sorted(levels.iter().map(|level| full - level.clamp(0.0, full)));
    let place = (missing.len() as f64 * FULL_SHARE) as usize;
    let missing = missing.get(place).or(missing.last()).copied().unwrap_or(0.0);
    half_hours(missing / wh)
}

/// In half hours, rounded up.
pub(super) fn half_hours(hours: f64) -> f64 {
    // Adding zero takes the sign off nothing.
    (hours * 2.0 - 1e-9).ceil().max(0.0) / 2.0 + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn full_in_nine_of_ten_lives_in_half_hours() {
        // Missing 100, 200, ... 1000: the tenth of ten is what 90 % stay below.
        let levels: Vec<f64> = (1..=10).map(|n| 2000.0 - 100.0 * f64::from(n)).collect();
        assert_eq!(hours(&levels, 2000.0, 500.0), 2.0);
        assert_eq!(hours(&levels, 2000.0, 400.0), 2.5);
        assert_eq!((hours(&[2000.0], 2000.0, 500.0), hours(&[], 2000.0, 500.0)), (0.0, 0.0));
        assert_eq!((half_hours(1.0), half_hours(1.01)), (1.0, 1.5));
    }
}
