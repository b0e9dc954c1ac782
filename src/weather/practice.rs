//! Numbers of the weather that have no published source, to be argued with here: from memory, or
//! common practice. Each says its unit, the range that is defensible, and what it moves. What was
//! fitted stands in [`super::ahead`], and what it was fitted to.

/// Error of an outlook's temperature by lead day, in K; beyond the fifth day the last one holds.
/// From memory, compared with the day-to-day spread of open weather years. Range: a third either
/// way. Moves the spread of heating and of cold nights.
pub(super) const OUTLOOK_K: [f64; 6] = [1.0, 1.2, 1.6, 2.0, 2.35, 2.7];

/// Error of the low or the high of a day of which only the other was told, in K: days differ in how far
/// the two lie apart. Range 2 to 5. Common practice, no source.
pub(super) const OTHER_END_K: f64 = 3.0;

/// Error of an outlook's sun by lead day, relative. As [`OUTLOOK_K`]. Moves the battery's spread.
pub(super) const OUTLOOK_SUN: [f64; 6] = [0.12, 0.15, 0.19, 0.24, 0.28, 0.32];

/// Least clearness that an outlook's relative error is taken of. Range 0.1 to 0.2.
pub(super) const LEAST_SAID: f64 = 0.15;

/// Error of what is said to be usual of clearness. Range 0.05 to 0.15. Moves the weight of far
/// outlooks.
pub(super) const USUAL_CLEARNESS: f64 = 0.1;

/// Spread of temperature that is added where not even the season is known, in K. Range 2 to 6.
pub(super) const ROUGH_K: f64 = 4.0;

/// Share of the variance of temperature and of clearness that lasts for weeks: what is said to be
/// usual is off by 1.5 K of 4 and by a tenth of a quarter or so, and months differ. Range 0.05 to
/// 0.3. Moves the spread of dates beyond a week.
pub(super) const LASTING: f64 = 0.15;

/// Least and most clearness of a life's day: no day is quite dark, and broken cloud brightens.
pub(super) const DRAWN_CLEARNESS: (f64, f64) = (0.05, 1.05);

/// Most clearness that a row of the journal is believed to say. Range 1.05 to 1.3.
pub(super) const MOST_CLEARNESS: f64 = 1.2;

/// Sun in a clear day, in Wh/m2, from which on a day's sum tells of its sky. Range 20 to 200.
/// Matters at the edge of polar night.
pub(super) const TELLING_DAY_WH_M2: f64 = 50.0;

/// Days around one without a row whose rows stand for it. Range 1 to 5.
pub(super) const NEARBY_DAYS: i64 = 3;

/// Days back whose rows say what the season is like. Range 7 to 30.
pub(super) const RECENT_DAYS: i64 = 14;

/// Recorded days that weigh as much as a person's own words about what is usual. Range 3 to 14.
pub(super) const OWN_WORDS_DAYS: f64 = 7.0;

/// Recorded days that weigh as much as the rough climate. Range 0.5 to 3.
pub(super) const ROUGH_DAYS: f64 = 1.0;

/// A rough climate near sea level for a van that nobody has told anything, in degrees Celsius: a
/// warm equator, colder by [`PER_DEGREE_K`] for each degree of latitude, with a yearly wave of
/// [`WAVE_PER_DEGREE_K`]. From memory, good to [`ROUGH_K`]. Moves heating until an outlook comes.
pub(super) const EQUATOR_C: f64 = 27.0;
/// See [`EQUATOR_C`]; K per degree of latitude.
pub(super) const PER_DEGREE_K: f64 = 0.38;
/// See [`EQUATOR_C`]; K per degree of latitude, either way.
pub(super) const WAVE_PER_DEGREE_K: f64 = 0.2;
/// Degrees of latitude beyond which it gets no colder.
pub(super) const COLDEST_LATITUDE_DEG: f64 = 75.0;
/// Day of the year that is warmest in the north: mid-July.
pub(super) const WARMEST_DAY: f64 = 200.0;
/// From the day's mean to its low and its high, in K. Range 3 to 8.
pub(super) const HALF_RANGE_K: f64 = 5.0;
/// Usual cloud, 0 to 1. Range 0.5 to 0.8: most land at mid-latitudes.
pub(super) const ROUGH_CLOUD: f64 = 0.7;
