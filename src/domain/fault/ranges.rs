//! Ranges that numbers of a rig must lie in. One that is not finite lies in none.

use super::{Fault, Path, note};

/// Larger than anything in a van, small enough to be added up without loss.
pub(super) const LARGEST: f64 = 1e9;

/// Log standard deviations beyond this say nothing at all.
pub(super) const WIDEST: f64 = 3.0;

/// Above 0.
pub(super) fn above_zero(faults: &mut Vec<Fault>, path: Path, value: f64) {
    if !(value > 0.0 && value <= LARGEST) {
        note(faults, path, value, "a number above 0");
    }
}

/// 0 or above.
pub(super) fn from_zero(faults: &mut Vec<Fault>, path: Path, value: f64) {
    if !(0.0..=LARGEST).contains(&value) {
        note(faults, path, value, "a number from 0 up");
    }
}

/// Above 0 and at most 1.
pub(super) fn share_above_zero(faults: &mut Vec<Fault>, path: Path, value: f64) {
    if !(value > 0.0 && value <= 1.0) {
        note(faults, path, value, "a share above 0 and at most 1");
    }
}

/// Within both bounds, which are allowed themselves.
pub(super) fn between(faults: &mut Vec<Fault>, path: Path, value: f64, low: f64, high: f64) {
    if !(low..=high).contains(&value) {
        note(faults, path, value, format!("a number from {low} to {high}"));
    }
}
