//! What plans take for granted where neither the rig nor a place says: values without a source,
//! or from memory, in one place to argue with. Each names its unit, what is sensible, and what it
//! moves. How long searches may take is no assumption and stands beside each search.

/// Civil hour of a stop where the place's hours allow; 9 to 15 is sensible. Moves every stop's
/// time, and with it how long stocks must last until it. Common practice, no source.
pub(super) const STOP_HOUR: u32 = 11;
/// A stop on the very day is at this civil hour at the latest; 14 to 18. Common practice, no
/// source.
pub(super) const LAST_HOUR_TODAY: u32 = 16;
/// Hours before a place closes at which a stop there is made at the latest; 0.5 to 2. Moves stops
/// at places that close before [`STOP_HOUR`]. Common practice, no source.
pub(super) const BEFORE_CLOSING_H: i64 = 1;
/// Where a place does not say its hours, it is open from this civil hour to [`CLOSES`]; 7 to 10.
/// Moves the last moment at which a place is said to be of use before a forced stop. Common
/// practice, no source.
pub(super) const OPENS: u32 = 8;
/// See [`OPENS`]; 16 to 20. Common practice, no source.
pub(super) const CLOSES: u32 = 18;
/// The civil hour at which a stretch's last morning is reached; 8 to 12. Moves whether a stretch
/// or a trip works by the use of an hour or two. Common practice, no source.
pub(super) const MORNING_HOUR: u32 = 10;

/// Road distance over the distance as the crow flies where a place does not say, as a factor; 1.2
/// to 1.6. Moves all driving. Common practice, no source.
pub(super) const ROAD_FACTOR: f64 = 1.35;
/// Mean speed on the way to a place, in km/h; 35 to 70. Moves hours of driving, and with them what
/// a drive charges and when to leave, and the fuel of an hour's drive for the battery's sake where
/// the rig burns by the km. Common practice, no source.
pub(super) const KM_PER_HOUR: f64 = 45.0;
/// How much longer a drive may be for each further place of it and still be one stop, in km; 5 to 40.
/// Moves which places are seen to in one drive. Common practice, no source.
pub(super) const DETOUR_KM: f64 = 15.0;
/// Driving that is worth one stop more, in km; 25 to 100. Moves whether a schedule goes far for few
/// stops. Common practice, no source.
pub(super) const STOP_KM: f64 = 50.0;
/// Hours that one stays at a place before driving on to a further one; 0.5 to 2. Moves when one is
/// there, and whether it is open then. Common practice, no source.
pub(super) const AT_A_PLACE_H: f64 = 1.0;
/// What an hour on the hook-up brings where the rig does not say, in Wh; 200 to 1,500: a charger
/// of 50 A or so on twelve volts. Moves hours on the hook-up. Common practice, no source.
pub(super) const HOOK_UP_WH: f64 = 700.0;

/// A jerrycan, in L; 10 to 25. Common practice, no source.
pub(super) const JERRYCAN_L: f64 = 20.0;
/// A further container for what fills up, in L; 5 to 20. Common practice, no source.
pub(super) const CONTAINER_L: f64 = 10.0;
/// The same where uses are counted; 5 to 20. Common practice, no source.
pub(super) const CONTAINER_USES: f64 = 10.0;
/// How much cooler people would have it for longer, in K; -4 to -1. Common practice, no source.
pub(super) const COOLER_K: f64 = -2.0;
/// Taking so much from the battery at once is cooking rather than charging a telephone, in Wh; 50
/// to 200. Moves which activities are offered another flame. Common practice, no source.
pub(super) const COOKING_WH: f64 = 100.0;
/// Heat into the pan: induction about 0.85 of what it draws, a gas flame about 0.45, as in the
/// reference table; the quotient is 1.4 to 2.2. Moves the fuel that cooking takes instead. From memory.
pub(super) const BURNER_PER_INDUCTION: f64 = 0.85 / 0.45;
/// Lower heating value of propane, in Wh/kg, as in the reference table; butane has 1.3 % less. From
/// memory.
pub(super) const GAS_WH_PER_KG: f64 = 12_870.0;

/// A choice that adds fewer hours than this, and a smaller share of lives than [`LEAST_GAIN`], is
/// not worth a line. Common practice, no source.
pub(super) const LEAST_HOURS: f64 = 0.5;
/// See [`LEAST_HOURS`]; a share of lives.
pub(super) const LEAST_GAIN: f64 = 0.01;
/// A stock that meets its limit first in a smaller share of lives presses nobody. Common practice,
/// no source.
pub(super) const PRESSING: f64 = 0.01;
/// What can be afforded is told up to so many times the usual; 2 to 5. Common practice, no source.
pub(super) const MOST_TIMES: f64 = 3.0;
/// Share of lives in which the hours named for a hook-up fill the battery. Common practice, no
/// source.
pub(super) const FULL_SHARE: f64 = 0.9;
/// A service that takes a smaller share of what a stock holds, and that nothing depends on, is not
/// worth a line. Common practice, no source.
pub(super) const LEAST_SERVICED: f64 = 0.025;
/// A service that pushes the next stop less far than this makes no difference, in hours. Common
/// practice, no source.
pub(super) const JOINS_H: f64 = 1.0;
/// Share of lives that use more of a priced stock than is counted on when less than a full tank is
/// called enough; 0.01 to 0.1. Common practice, no source.
pub(super) const HIGHER: f64 = 0.03;
/// Standard deviations that the level now is taken lower for the same purpose: 3 lives in 100 are
/// below it.
pub(super) const LOWER_SDS: f64 = 1.9;
/// A saving of less than this share of the bill is not worth a line. Common practice, no source.
pub(super) const LEAST_SAVING: f64 = 0.02;

/// Where something is overdue: how many times to stop are tried, from the first that sees to it on,
/// by which all that is overdue is seen to; 1 to 6. Common practice, no source.
pub(super) const FIRST_CHANCES: usize = 3;

/// How sure it must be that nothing runs out before the first time to stop; 0.9 to 0.99. Moves
/// whether a trip begins with a stop at once. Common practice, no source.
pub(super) const HURRY: f64 = 0.95;
/// What is no farther off is where the van stands, in km; 0.2 to 2. Moves what can be done at night.
/// Common practice, no source.
pub(super) const AT_HAND_KM: f64 = 1.0;
/// Differences of driving below this are none, in km; 2 to 20. Moves which of two schedules as good
/// is told of. Common practice, no source.
pub(super) const SAME_KM: f64 = 10.0;
/// A share of lives by which one plan may be less sure than another and still be called as sure;
/// 0.002 to 0.02. Common practice, no source.
pub(super) const AS_SURE: f64 = 0.005;
/// A share of lives by which one plan may be less sure than another and still be nearly as sure; 0.01 to
/// 0.05. Moves which cheaper schedule is told beside, and whether a place is driven to twice a day where
/// nothing is as sure as asked. Common practice, no source.
pub(super) const NEARLY: f64 = 0.02;
/// A share of the cost below which a saving is none; 0.05 to 0.2. Moves which cheaper schedule is told
/// beside. Common practice, no source.
pub(super) const SAME_COST: f64 = 0.1;
/// Fewer hours on the hook-up are said where they save so many; 0.5 to 3. Common practice, no
/// source.
pub(super) const LEAST_HOOK_UP_H: f64 = 1.0;
/// Less than this of an activity over a stretch, by habit or by choice, is none; 0.01 to 0.2.
/// Common practice, no source.
pub(super) const NONE: f64 = 0.05;
