//! Numbers that stand on common practice and on no source, with their unit, their range and what
//! they move. Whoever knows better changes them here.

/// How far below the wanted temperature an hour counts as cold, in K; 1 to 4. Moves how often a van
/// is said to stay cold.
pub(super) const COLD_K: f32 = 2.0;
/// Chance from which cold or frost is worth a line; 0.05 to 0.3.
pub const WORTH_SAYING: f64 = 0.1;
/// Hours below a stock's freezing limit that count as frost: a tank does not freeze in one; 2 to 8.
pub(super) const FROST_HOURS: usize = 4;
/// Nights ahead that are looked at for frost: as far as an outlook usually reaches, and two more.
pub(super) const FROST_NIGHTS: usize = 7;

/// Days after which what the crew should know is left to the journal; 3 to 14.
pub(super) const NOTICE_DAYS: i64 = 8;
/// Most readings that do not fit which are told of: the latest.
pub(super) const MOST_MISFITS: usize = 2;
/// How much of a battery's coefficient, or of the heat loss, no reading can tell from what the
/// model does not know, as a share of it; 0 to 0.2. Widens what is shown as learned.
pub(super) const UNSEEN: f64 = 1.0 / 9.0;
/// Doubts that explain a smaller share of a date's variance are not told; 0.01 to 0.05.
pub(super) const SMALL_DOUBT: f64 = 0.02;

/// Share of the next stop's band that a reading must take away to be worth the walk; 0.1 to 0.3.
pub(super) const WORTH_A_LOOK: f64 = 0.15;
/// Hours within which a stock that was read, filled or emptied has nothing new to say; 3 to 12.
pub(super) const FRESH_HOURS: i64 = 6;
/// Resolution of a guess where no earlier one tells, as a share of capacity; 0.05 to 0.25.
pub(super) const GUESS: f64 = 0.1;
/// Lives that a band needs; 40 to 100. A gauge finer than that is taken to be that coarse.
pub(super) const LEAST_LIVES: usize = 60;

/// Standard errors by which a stock's share of misses must exceed one in five to be called
/// misjudged; 1 to 2.5.
pub(super) const STANDS_OUT: f64 = 1.5;
/// Evenings that can say, from which on a lean of the dates is told; 8 to 20.
pub(super) const LEAN_EVENINGS: usize = 10;
/// Days of history that an evening needs before it is worth judging; 3 to 14.
pub const HISTORY_DAYS: i64 = 7;
/// Hours that must have passed since an evening that is judged; 6 to 24.
pub(super) const AFTER_HOURS: i64 = 12;
