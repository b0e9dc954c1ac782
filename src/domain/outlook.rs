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
    /// Lowest temperature in degrees Celsius.
    pub low_c: f64,
    /// Highest temperature in degrees Celsius, at least `low_c`.
    pub high_c: f64,
    /// Global horizontal irradiation over the day, in kWh/m2, if known.
    pub sun_kwh_m2: Option<f64>,
    /// Mean cloud cover, 0..1, if known.
    pub cloud: Option<f64>,
    /// Where it holds; `None` = where the van stands.
    pub place: Option<String>,
}
