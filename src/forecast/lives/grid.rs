//! The grid of hours that the lives run on, and the hours at which something is noted.

/// Hours in a block, within which what only adds up is one sum: a day, as base use is drawn by the
/// day. With fans a block is [`FAN_STEP`] hours.
pub(super) const BLOCK: usize = 24;
/// Hours between the points of a fan.
pub const FAN_STEP: usize = 6;
/// Hours whose occurrences are drawn at a time. They stay near the processor, and a habit whose
/// stocks have all met their limits is not drawn on; 72, 240 and 360 hours were no quicker.
pub(super) const DRAWN_HOURS: usize = 120;
/// Hours after which the levels are noted, for what a stock moves in a day.
pub(super) const THIRD_DAY: usize = 72;
/// Hours ahead over which cold is counted: as far as an outlook usually reaches.
pub(in crate::forecast) const COLD_HOURS: usize = 120;

// An hour of the drawn ones, and its block, are kept in a byte each; blocks fill them evenly.
const _: () = assert!(DRAWN_HOURS <= 256);
const _: () = assert!(DRAWN_HOURS.is_multiple_of(BLOCK) && BLOCK.is_multiple_of(FAN_STEP));
