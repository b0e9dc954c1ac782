//! What a season is usually like by latitude alone, and whether what a rig file expects of it can
//! be.

use crate::domain::{Rig, TypicalWeather};
use crate::weather;
use chrono::NaiveDate;

/// A mean this much warmer than the latitude's in that season, in K, is doubted: the sea warms no
/// coast by more. Common practice, no source.
const TOO_WARM_K: f64 = 14.0;
/// The same to the cold side, where height and inland winters account for more.
const TOO_COLD_K: f64 = 24.0;

/// A typical weather that cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OddSeason {
    /// Mean of low and high that the rig file expects, in degrees Celsius.
    pub said_c: f64,
    /// The mean that the latitude suggests for this date, in degrees Celsius.
    pub usual_c: f64,
}

/// What latitude and date suggest: lows, highs and cloud near sea level, as rough as
/// [`weather::rough_climate`] says.
pub fn by_latitude(date: NaiveDate, latitude_deg: f64) -> TypicalWeather {
    weather::rough_climate(date, latitude_deg)
}

/// Whether what the rig file expects cannot be on that date: it may have been written for another
/// season. `None` where it can, or where the file does not say.
pub fn odd(rig: &Rig, date: NaiveDate) -> Option<OddSeason> {
    odd_at(rig.home.typical?, rig.home.latitude, date)
}

fn odd_at(said: TypicalWeather, latitude_deg: f64, date: NaiveDate) -> Option<OddSeason> {
    let mean = |typical: TypicalWeather| 0.5 * (typical.low_c + typical.high_c);
    let (said_c, usual_c) = (mean(said), mean(by_latitude(date, latitude_deg)));
    let off = said_c - usual_c;
    (!(-TOO_COLD_K..=TOO_WARM_K).contains(&off)).then_some(OddSeason { said_c, usual_c })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Normals of places are from memory: Bergen (60.4 N) has about 5 C in November, Fairbanks
    /// (64.8 N) about -17 C, Quito (0 N, 2,850 m) about 15 C, London (51.5 N) about 19 C in July.
    #[test]
    fn only_what_cannot_be_is_doubted() {
        let is_odd = |latitude: f64, date: &str, mean: f64| {
            let said = TypicalWeather { low_c: mean - 4.0, high_c: mean + 4.0, cloud: 0.6 };
            odd_at(said, latitude, date.parse().unwrap()).is_some()
        };
        for (latitude, date, mean) in [
            (60.4, "2026-11-15", 5.0),
            (64.8, "2026-11-15", -17.0),
            (0.0, "2026-11-15", 15.0),
            (51.5, "2026-07-15", 19.0),
        ] {
            assert!(!is_odd(latitude, date, mean), "{latitude} {date} {mean}");
        }
        assert!(is_odd(60.0, "2026-11-15", 15.0));
        assert!(is_odd(60.0, "2026-01-15", 16.0));
        assert!(is_odd(-41.0, "2026-01-15", -12.0));
    }
}
