//! Every number of this folder that has no published source, for a reader to argue with.
//!
//! Each says its unit, the range that seems defensible, and what moves with it. Unless it says
//! otherwise it is common practice without a source. Thresholds of alarms were chosen on
//! simulated trips; `tests/watch.rs` prints what they bring on others.

// What is remembered.

/// How far back evidence is taken, in days (60 to 180). Older evidence has faded: crews, seasons
/// and kit change within months.
pub const MEMORY_DAYS: i64 = 90;
/// Days of the past that the ensemble is run through (28 to 90): more costs time, less forgets
/// what the panels bring.
pub(super) const ENSEMBLE_DAYS: usize = 42;
/// Days after which a counted day weighs 1/e in a habit (30 to 120).
pub(super) const FADE_DAYS: f64 = 60.0;
/// Longest drive or charge that is believed, in hours: a quarter of a year. A slip of the pen
/// beyond it would only cost time.
pub(super) const LONGEST_RUN_H: f64 = 2200.0;

// What is written down, and when.

/// Share of occurrences that nobody logs, before any reading (0.03 to 0.11): moves every habit and
/// level.
pub(super) const UNLOGGED_SHARE: f64 = 0.07;
/// Standard deviation between crews of what is not logged over what is (0.02 to 0.1): widens every
/// habit.
pub(super) const UNLOGGED_SD: f64 = 0.06;
/// What crews that write much less than that leave out, over what they write (0.4 to 1; standard
/// deviation 0.2 to 0.5), and their share (0.02 to 0.15).
pub(super) const CARELESS: (f64, f64, f64) = (0.6, 0.4, 0.07);
/// Share of days that are empty because all were out or nobody wrote, before any was counted, and
/// in how many days' weight (0.03 to 0.15; 1 to 20).
pub(super) const UNTOLD_DAYS: (f64, f64) = (0.1, 1.5);
/// Share of such days that were lived at home as usual, and its standard deviation, of crews that
/// forget to write (0.8 to 1; 0.05 to 0.2).
pub(super) const AT_HOME: (f64, f64) = (0.92, 0.12);
/// The same of crews that write nothing when they are out (0 to 0.3; 0.1 to 0.3), and their share
/// (0.2 to 0.6).
pub(super) const OUTGOING: (f64, f64, f64) = (0.05, 0.1, 0.4);
/// So few days without a told use that nothing can be learned of them (0.2 to 1).
pub(super) const FEW_DAYS: f64 = 0.5;
/// Logarithm of how many times less probable than another a kind of crew is that is no longer
/// thought of (8 to 20).
pub(super) const HOPELESS: f64 = 12.0;
/// Hours of the day, from and to which crews write down what they used, until their journal shows it (16 to
/// 19, 22 to 24).
pub(super) const NEW_CREWS_WRITE: (f64, f64) = (18.0, 23.5);
/// Days with uses from which on a journal shows what is usual (3 to 7).
pub(super) const DAYS_SHOWN: usize = 4;
/// Chance that a journal in which nothing at all was written on a day stays silent on the next (0.3
/// to 0.8).
pub(super) const NEGLECT_LASTS: f64 = 0.5;
/// Share of crews that never do one of the things that a rig file lists (0.05 to 0.3).
pub(super) const NEVER_DONE: f64 = 0.1;
/// Share of crews that do, but never write down, one of the things that a rig file lists (0.05 to
/// 0.3): a toilet's solids, as a rule.
pub(super) const NEVER_WRITTEN: f64 = 0.1;
/// Uses of other activities in a journal from which on one that is not among them may be never
/// done (5 to 20).
pub(super) const ENOUGH_USES: f64 = 10.0;
/// Minutes between uses that were written in one sitting, at most (15 to 60).
pub(super) const ONE_SITTING_MIN: i64 = 40;
/// Sittings on a day with uses from which on a crew writes as it goes (2 to 4).
pub(super) const PROMPT_SITTINGS: f64 = 2.5;
/// Hours before it was written at which such a crew's use began at the earliest (0.5 to 3).
pub(super) const PROMPT_H: f64 = 1.5;

/// How much later or earlier than the rig's hours a crew does things: standard deviation of the log
/// of the odds of an hour against the one seven hours before it (0.3 to 1.2). The more, the less a
/// reading on the day of a service says of what is used in a day.
pub(super) const LATER_SD: f64 = 0.8;

// How much one day or use differs from the next: relative standard deviations.

/// Of one occurrence (0.15 to 0.4): one shower is not the next.
pub const OCCURRENCE_SD: f64 = 0.25;
/// Of a day's base use, in what all aboard have in common (0.06 to 0.25): a hot day, a day at home.
pub(super) const COMMON_DAY_SD: f64 = 0.18;
/// Of a day's base use, in what each aboard has of their own (0.06 to 0.5): most of what makes a day
/// differ, the weather and what is done with it, is everybody's.
pub(super) const OWN_DAY_SD: f64 = 0.12;
/// What a day's base use may differ by, as multiples of the two before, and the share of crews of
/// each; their mean square is 1, so that the two are what is assumed before any reading.
pub(super) const DAY_SPREADS: [(f64, f64); 6] =
    [(0.39, 0.15), (0.59, 0.2), (0.78, 0.3), (1.1, 0.2), (1.56, 0.1), (2.19, 0.05)];
/// Of one day's unlogged electric loads (0.05 to 0.2).
pub(super) const LOAD_SD: f64 = 0.12;
/// Of what a day's drives and charges bring (0.1 to 0.3).
pub(super) const RUN_SD: f64 = 0.15;
/// Of a day's sun around what its mean cloud says (0.05 to 0.2).
pub(super) const CLOUD_ALONE_SD: f64 = 0.1;
/// Of the fuel burnt in a day whose weather was recorded (0.05 to 0.2), or assumed (0.3 to 0.8).
pub(super) const FUEL_SD: (f64, f64) = (0.12, 0.5);
/// What the variance over mean of a habit's counts may be, and the share of habits of each (a mean of
/// 0.6 to 0.9): how regular a habit is thought to be. Below 1, one over a whole number that
/// `quantile_table` knows gaps of.
pub const FANOS: [(f64, f64); 13] = [
    (1.0 / 24.0, 0.04),
    (1.0 / 12.0, 0.06),
    (1.0 / 6.0, 0.1),
    (1.0 / 4.0, 0.11),
    (1.0 / 3.0, 0.12),
    (1.0 / 2.0, 0.22),
    (1.0, 0.22),
    (1.4, 0.06),
    (2.0, 0.03),
    (2.8, 0.02),
    (4.0, 0.01),
    (5.6, 0.006),
    (8.0, 0.004),
];
/// How far a habit's differs from what its crew's are like: standard deviation of the logarithm (0.3
/// to 0.8).
pub(super) const HABITS_ALIKE: f64 = 0.5;
/// Least probability of a day's count (1e-6 to 1e-3): how little one day that no habit explains, as
/// one on which two were written up, says of how regular it is.
pub(super) const STRANGE_DAY: f64 = 1e-4;
/// A day on which fewer uses are expected (0.01 to 0.1) says nothing of how regular a habit is.
pub(super) const FEW_EXPECTED: f64 = 0.05;
/// Most uses of a day that are thought of as done and not written (1 to 3), when counts are weighed.
pub(super) const MOST_MISSED: usize = 2;

// How fast old evidence fades.

/// How far a coefficient of the joint belief wanders in a day, as a share of its spread between
/// crews (0.005 to 0.03).
pub(super) const WANDER: f64 = 0.015;
/// How far a coefficient of the ensemble wanders in a day, as a share of itself (0.005 to 0.03).
pub(super) const MEMBER_WANDER: f64 = 0.012;

// Readings and services, as shares of capacity unless said otherwise.

/// Error of a tank's gauge beyond its step, and of "empty" (0.005 to 0.02): no level is known
/// better. The battery's monitor has an error of its own, in two parts that come to the same
/// (0.0085 together): see `GAUGE_NOISE_SD` and `GAUGE_BIAS_SD`.
pub const GAUGE_SD: f64 = 0.008;
/// Spread up to which a level's law may stick out of its tank (0.1 to 0.25): more than uses of one
/// day that may have come before a service or after it. Draws of it are cut off anyway.
pub(super) const NARROW: f64 = 0.2;
/// Error of a level that was guessed, without any gauge (0.02 to 0.1).
pub(super) const GUESS_SD: f64 = 0.03;
/// Error of a charge reading from one to the next (0.003 to 0.01).
pub(super) const GAUGE_NOISE_SD: f64 = 0.006;
/// Error of a charge reading that lasts for days (0.003 to 0.02): a monitor's zero and capacity are
/// set once and drift.
pub(super) const GAUGE_BIAS_SD: f64 = 0.006;
/// Share of the lasting error that is still there a day later (0.7 to 0.95).
pub(super) const GAUGE_BIAS_KEPT: f64 = 0.85;
/// By how much "full" usually falls short (0 to 0.02): nobody fills to the last drop.
pub(super) const FULL_SHORT: f64 = 0.006;
/// Error of a level that a service is said to have ended at (0.01 to 0.03).
pub(super) const JUDGED_SD: f64 = 0.012;
/// Error of an amount that went in or came out, as a share of itself (0.01 to 0.05).
pub const AMOUNT_SD: f64 = 0.03;
/// Error of what is said to have been used in all on a day, as a share of itself (0.05 to 0.2): baskets
/// and pots are counted, and some are forgotten.
pub(super) const SPENT_SD: f64 = 0.1;
/// Share of readings that are slips of the pen (0.002 to 0.03): how much one wild reading moves.
pub(super) const SLIP: f64 = 0.01;
/// Share of readings before which the level changed unseen, by a fill or a leak that nobody logged
/// (0.002 to 0.03): how soon a second wild reading is believed.
pub(super) const UNSEEN_CHANGE: f64 = 0.01;
/// Share of unseen changes that end at empty, and as many at full (0.1 to 0.4): what leaks runs out, and
/// what is serviced is full. A reading of an end that nobody expected is rather true than a slip.
pub(super) const UNSEEN_TO_END: f64 = 0.25;
/// By how many standard deviations a level has moved before it is heard again that it has not run out (0.1
/// to 0.5): the cut law is a normal one again, whose tail would be cut at every entry else.
pub(super) const CUT_ANEW: f64 = 0.25;
/// Share of times at which what should have run out was serviced and nobody wrote it down (0.01 to
/// 0.1): how unlikely lasting must be before thrift no longer explains it.
pub(super) const UNSEEN_SERVICE: f64 = 0.05;
/// How much is left of a stock at most, as a share of capacity, where a stop is made for it (0.15 to
/// 0.4); and how often a stop is made without any such cause, over how often with one (0.1 to 0.7).
/// The less often, the more a service teaches that tells no amount.
pub(super) const DUE: (f64, f64) = (0.25, 0.2);
/// Hours that a stop takes at most (1 to 6): what is serviced within them is serviced at one stop.
pub(super) const ONE_STOP_H: i64 = 3;
/// Standard deviations to its end from which on it tells something that a stock has lasted (0.5 to
/// 2).
pub(super) const OVERDUE: f64 = 1.0;
/// Correlation from which on two coefficients are said to be inseparable (-0.95 to -0.6).
pub(super) const INSEPARABLE: f64 = -0.8;

// What the ensemble makes of a reading.

/// Innovations beyond this many standard deviations teach no coefficient (4 to 8).
pub(super) const BELIEVABLE: f64 = 6.0;
/// Standard deviations of its gauge that a reading may be off and still count as foreseen (1 to 3).
pub(super) const NEAR: f64 = 1.5;
/// Least likelihood of a reading (0.02 to 0.2): how soon a gauge is called stuck.
pub(super) const LEAST_LIKELIHOOD: f64 = 0.1;
/// Least effective share of members that a resampling keeps (0.3 to 0.8).
pub(super) const ALIVE: f64 = 0.5;
/// Most pieces that one entry's uses are cut into (4 to 16): finer costs time and tells nothing.
pub(super) const MOST_PIECES: f64 = 8.0;
/// How far a crew's hours may be off what the rig file says, in log odds (2 to 5).
pub(super) const TIMING_BIAS_MOST: f64 = 4.0;
/// How far one reading may change that (0.3 to 1.5).
pub(super) const TIMING_BIAS_STEP: f64 = 0.7;

// What a battery's fault may be.

/// Size of a draw that never rests: median as a share of capacity a day (0.05 to 0.2), and
/// standard deviation of its logarithm (0.5 to 1.2).
pub(super) const DRAW_SIZE: (f64, f64) = (0.1, 0.8);
/// Least and greatest share that dark panels may still bring.
pub(super) const DARK_PANELS_LEFT: (f64, f64) = (0.02, 0.7);
/// Days from when the battery first fell too far to when the fault may have begun: nobody knows
/// the hour, and all of them are weighed together.
pub(super) const CAUSE_STARTS: [i64; 3] = [-3, -1, 1];
/// Log likelihood ratio from which on one cause is named (1 to 4).
pub(super) const CAUSE_EVIDENCE: f64 = 2.0;
/// Share of readings that are slips, as causes see them (0.01 to 0.05).
pub(super) const CAUSE_SLIP: f64 = 0.02;

// Alarms. All kinds together call a sound van wrong less than once in sixty days; most of that is
// spent on losses of water, where a day counts most.

/// How far back a change may have begun, in days.
pub(super) const STARTS: [i64; 8] = [24, 18, 12, 8, 6, 5, 4, 3];
/// A slow change a day, as a share of capacity: mean and standard deviation.
pub(super) const SLOW: (f64, f64) = (0.015, 0.006);
/// A fast change a day, as a share of capacity: mean and standard deviation.
pub(super) const FAST: (f64, f64) = (0.12, 0.05);
/// What is thought of a change's size once there is one: as [`FAST`].
pub(super) const SIZE: (f64, f64) = (0.05, 0.06);
/// Share of the fast among changes that are losses: what loses does so slowly as a rule.
pub(super) const FAST_SHARE: f64 = 0.2;
/// Log likelihood ratio that is certain enough for a tank of water that loses what nobody used.
pub(super) const LOSS_EVIDENCE: f64 = 0.55;
/// Log likelihood ratio that is certain enough for a tank in which less arrives than should.
pub(super) const MISSING_EVIDENCE: f64 = 2.0;
/// Log likelihood ratio that is certain enough for every other change, which is more often a habit
/// of writing than a fault.
pub(super) const OTHER_EVIDENCE: f64 = 5.0;
/// Log likelihood ratio that is certain enough for a gauge that stands still.
pub(super) const STUCK_EVIDENCE: f64 = 6.0;
/// Changes smaller than this share of capacity a day are not worth an alarm.
pub(super) const SMALLEST: f64 = 0.007;
/// Days of history before anything can be called strange.
pub(super) const LEARNING_DAYS: f64 = 10.0;
/// Readings that a change needs to show in.
pub(super) const READINGS: usize = 2;
/// Days that a crew may be behind with its writing.
pub(super) const BEHIND_DAYS: i64 = 3;
/// Innovation that a sound battery is allowed per reading, in standard deviations.
pub(super) const ALLOWED: f64 = 0.5;
/// Cumulative sum of the battery's innovations that is certain enough, in standard deviations.
pub(super) const CUMULATIVE_SUM: f64 = 4.9;
