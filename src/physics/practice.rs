//! Numbers of the physics that have no published source: common practice, to be argued with here.
//!
//! Each says its unit, the range that is defensible, and what it moves. What has a source stands
//! beside its formula.

/// Least draw of a fridge, as a share of that at 20 degrees Celsius. Range 0.1 to 0.4: a door
/// still opens in a cold van. Moves the battery in frost.
pub(super) const FRIDGE_LEAST_SHARE: f64 = 0.25;

/// Most draw of a fridge, as a share of that at 20 degrees Celsius: a compressor without a pause.
/// Range 2 to 3, since 22 W on average come from a compressor of 50 to 60 W. Moves the battery in
/// heat.
pub(super) const FRIDGE_MOST_SHARE: f64 = 2.5;

/// Most starts per hour of a heater that cycles, reached at half duty. Range 1 to 4. Moves the
/// battery on mild days.
pub(super) const HEATER_MOST_STARTS_PER_HOUR: f64 = 2.0;

/// Temperature inside from which on people aboard open windows, in degrees Celsius. Range 22 to
/// 27. Moves the fridge's draw on warm days.
pub(super) const AIRED_FROM_C: f64 = 24.0;

/// How much warmer than the wanted temperature it must be before anybody airs, in K. Range 1 to 4.
/// Matters only where more than 22 degrees Celsius are wanted.
pub(super) const AIRED_ABOVE_WANTED_K: f64 = 2.0;

/// How much warmer than outside an aired van stays, in K. Range 2 to 8. Moves the fridge's draw.
pub(super) const AIRED_K: f64 = 4.0;

/// Hour of the day's lowest temperature, local time: about sunrise. Range 4 to 7. Moves the hour
/// in which cells are too cold to charge.
pub(super) const COLDEST_HOUR: f64 = 5.0;

/// Hour of the day's highest temperature, local time. Range 14 to 16.
pub(super) const WARMEST_HOUR: f64 = 15.0;

/// Nominal operating cell temperature of a panel with air behind it, in degrees Celsius. Makers
/// state 42 to 48. Moves the power of all panels, by 0.4 % per 3 K in half a sun. One that is
/// glued to the roof runs some 25 K hotter in full sun (King, Boyson and Kratochvil 2004), which
/// the panel factor learns.
pub(super) const OPEN_NOCT_C: f64 = 45.0;

/// Reflectance of grass, gravel and dry soil. Range 0.15 to 0.3; fresh snow has about 0.8. Moves
/// steep panels.
pub const USUAL_ALBEDO: f64 = 0.2;

/// With the sun's zenith beyond this angle, in degrees, all light counts as diffuse: the division
/// by a small cosine would blow up noise. Range 85 to 88; 87 is usual in open solar code.
pub(super) const LOWEST_BEAM_ZENITH_DEG: f64 = 87.0;

/// Smallest cosine of the zenith in the clearness index, an elevation of 3.7 degrees, for the same
/// reason. As in open solar code.
pub(super) const LOWEST_COS_ZENITH: f64 = 0.065;

/// Currents above the one that would empty the battery in so many hours count as that one. Range
/// 0.5 to 2: Peukert's law was not fitted beyond. Moves lead-acid batteries under heavy load.
pub const FASTEST_HOURS: f64 = 1.0;
