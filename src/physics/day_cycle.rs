//! Temperature by the hour from a day's low and high.

use super::practice::{COLDEST_HOUR, WARMEST_HOUR};

/// Air temperature at an hour of the day.
///
/// `hour_local`: hours since local midnight; any real number, days run on. `low_c`, `high_c`:
/// the day's lowest and highest temperature in degrees Celsius. Result in degrees Celsius,
/// always between the two, `low_c` at 05:00 and `high_c` at 15:00.
///
/// Formula: half a cosine wave up from 5 to 15 h, half a longer one down to 5 h. Smooth, and its
/// mean over the day is the mean of low and high, as degree-days assume. Between two days with
/// different lows the evening is off by a kelvin or so; fronts do as they please.
///
/// Source: common practice, no source.
///
/// ```
/// use waystock::physics::day_cycle::temperature_c;
/// assert_eq!(temperature_c(5.0, -2.0, 8.0), -2.0);
/// assert_eq!(temperature_c(15.0, -2.0, 8.0), 8.0);
/// assert!((temperature_c(10.0, -2.0, 8.0) - 3.0).abs() < 1e-9);
/// ```
pub fn temperature_c(hour_local: f64, low_c: f64, high_c: f64) -> f64 {
    let since_coldest = (hour_local - COLDEST_HOUR).rem_euclid(24.0);
    let rising_hours = WARMEST_HOUR - COLDEST_HOUR;
    let warmth = if since_coldest <= rising_hours {
        half_wave(since_coldest / rising_hours)
    } else {
        1.0 - half_wave((since_coldest - rising_hours) / (24.0 - rising_hours))
    };
    low_c + (high_c - low_c) * warmth
}

/// From 0 at 0 to 1 at 1 along half a cosine wave.
fn half_wave(share: f64) -> f64 {
    (1.0 - (std::f64::consts::PI * share).cos()) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn stays_between_low_and_high(
            hour in -500.0..500.0_f64, low in -50.0..40.0_f64, range in 0.0..40.0_f64,
        ) {
            let got = temperature_c(hour, low, low + range);
            prop_assert!(got >= low - 1e-9 && got <= low + range + 1e-9);
            prop_assert!((temperature_c(hour + 24.0, low, low + range) - got).abs() < 1e-6);
        }

        #[test]
        fn the_mean_of_the_day_is_that_of_low_and_high(low in -50.0..40.0_f64, range in 0.0..40.0_f64) {
            let sum: f64 = (0..24).map(|h| temperature_c(f64::from(h), low, low + range)).sum();
            prop_assert!((sum / 24.0 - (low + range / 2.0)).abs() < 1e-9);
        }
    }
}
