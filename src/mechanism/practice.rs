//! Numbers of the mechanism that have no published source: common practice, to be argued with here.
//!
//! Each says its unit, the range that is defensible, and what it moves.

use std::ops::Range;

/// Civil hours in which people are awake. Moves when activities fall within a day.
pub(super) const AWAKE: Range<usize> = 7..23;

/// What an hour of the night is of a day, as a share of a waking hour. Range 0.1 to 0.4. Moves how
/// much of a day's habits is counted before the day is over.
pub(super) const NIGHT_SHARE: f64 = 0.25;

/// Share of what people do that keeps to the hours that are usual for it. Range 0.5 to 0.9. Moves
/// the battery's dip in the evening.
pub(super) const PUNCTUAL: f64 = 0.75;

/// The same of what was written in one sitting, long after: one hour is as good as another then.
/// Range 0.3 to 0.7. Moves the battery that is replayed.
pub(super) const RECALLED: f64 = 0.5;

/// How much crews differ in how high they keep a fire that somebody tends, beyond what is wanted: log
/// standard deviation. Range 0.3 to 0.8. Moves the fuel of stoves on mild days.
pub(super) const TENDING_SPREAD: f64 = 0.5;

/// The least that a positive coefficient may be learned to, as a share of what the rig says. Range
/// 0.02 to 0.2. Moves nothing but what was learned from nonsense.
pub(super) const LEAST_OF_RATED: f64 = 0.1;
