//! Which trips alarms are tried on.

use super::super::trips::trip::OTHER;

/// First of the trips that the alarms' thresholds were chosen on.
pub const TUNING: u64 = 40_000;

/// First of those that were looked at on the way, but that no threshold was chosen by.
pub const HELD_OUT: u64 = 60_000;

/// First seed of a set by its name on a command line; the other simulator's trips are of the same
/// two kinds.
pub fn first(name: &str) -> Option<u64> {
    match name {
        "tuning" => Some(TUNING),
        "held-out" => Some(HELD_OUT),
        "other" => Some(OTHER + HELD_OUT),
        "other-tuning" => Some(OTHER + TUNING),
        _ => None,
    }
}
