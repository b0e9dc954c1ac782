//! The weather ahead, and behind: one row per day, as typed or imported.

use super::time::Moment;
use chrono::NaiveDate;

/// What was foretold, or observed, for one civil day.
#[derive(Debug, Clone, PartialEq)]
pub struct DayWeather {
    /// When this row was issued; a forecast at T uses rows issued at or before T.
    pub issued: Moment,
    /// The civil day it speaks of.
    pub date: NaiveDate,
    /// Lowest temperature in degrees Celsius, if known.
    pub low_c: Option<f64>,
    /// Highest temperature in degrees Celsius, at least `low_c`, if known.
    pub high_c: Option<f64>,
    /// Global horizontal irradiation over the day, in kWh/m2, if known.
    pub sun_kwh_m2: Option<f64>,
    /// Mean cloud cover, 0..1, if known.
    pub cloud: Option<f64>,
    /// Where it holds; `None` = where the van stands.
    pub place: Option<String>,
}

impl DayWeather {
    /// Whether it says anything of the day.
    pub fn says_anything(&self) -> bool {
        [self.low_c, self.high_c, self.sun_kwh_m2, self.cloud].iter().any(Option::is_some)
    }

    /// With what an older row of the same day and place says that this one does not.
    pub fn with_older(self, older: &DayWeather) -> DayWeather {
        if self.place != older.place {
            return self;
        }
        // Ends of two rows that cannot both hold are not put together.
        let mut ends = (self.low_c.or(older.low_c), self.high_c.or(older.high_c));
        if let (Some(low), Some(high)) = ends
            && low > high
        {
            ends = (self.low_c, self.high_c);
        }
        let tells_sun = self.sun_kwh_m2.is_some() || self.cloud.is_some();
        let older_sun = |of: Option<f64>| of.filter(|_| !tells_sun);
        DayWeather {
            low_c: ends.0,
            high_c: ends.1,
            sun_kwh_m2: self.sun_kwh_m2.or(older_sun(older.sun_kwh_m2)),
            cloud: self.cloud.or(older_sun(older.cloud)),
            ..self
        }
    }
}
