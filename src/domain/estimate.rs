//! What is said about an uncertain number, and about a reading of a level.

use super::time::Moment;

/// A mean and a standard deviation, in the unit of what they are about.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Estimate {
    /// Mean.
    pub mean: f64,
    /// Standard deviation, at least 0.
    pub sd: f64,
}

/// A past reading of a stock, for its history.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PastReading {
    /// When.
    pub at: Moment,
    /// Lowest level it can stand for, in the stock's unit.
    pub low: f64,
    /// Highest level it can stand for, in the same unit.
    pub high: f64,
    /// Whether a fill or an empty set it, rather than a gauge.
    pub service: bool,
}
