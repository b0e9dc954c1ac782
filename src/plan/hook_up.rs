//! How long the hook-up takes: one answer for every plan that charges.

use super::case::Case;
use crate::domain::flow::Driver;

/// What an hour on the hook-up brings where the rig does not say, in Wh: a charger of 50 A or so
/// on twelve volts. Common practice, no source.
pub const USUAL_WH: f64 = 700.0;
/// Share of lives that are full within the hours.
const SURE: f64 = 0.9;

/// Hours on the hook-up after which the store is full in nine lives of ten, in half hours, rounded
/// up: `levels` are those of the lives when it begins, `full` is what it holds, all in Wh, and an
/// hour of it brings `wh`.
pub fn hours(levels: &[f64], full: f64, wh: f64) -> f64 {
    let mut missing: Vec<f64> = levels.iter().map(|level| full - level.clamp(0.0, full)).collect();
    missing.sort_unstable_by(f64::total_cmp);
    let place = (missing.len() as f64 * SURE) as usize;
    let missing = missing.get(place).or(missing.last()).copied().unwrap_or(0.0);
    half_hours(missing / wh)
}

/// In half hours, rounded up.
pub fn half_hours(hours: f64) -> f64 {
    (hours * 2.0 - 1e-9).ceil().max(0.0) / 2.0
}

impl Case {
    /// What an hour on the hook-up brings, in Wh: as the rig says, else [`USUAL_WH`].
    pub fn hook_up(&self) -> f64 {
        self.brought_by(Driver::ShoreHour).unwrap_or(USUAL_WH)
    }
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
