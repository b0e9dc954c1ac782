//! Ranges that numbers of a rig must lie in. One that is not finite lies in none, and neither does
//! one so small that what is worked out from it may be no number any more.

use super::finding::{Fault, Path, note};

/// Larger than anything in a van, small enough to be added up without loss.
pub(super) const LARGEST: f64 = 1e9;

/// Smaller than anything in a van that is not nothing: a thousandth of the least amount that a
/// journal holds, large enough to be divided by.
pub(super) const SMALLEST: f64 = 1e-6;

/// The smallest share of what goes in that comes out of anything that people build into a van
/// (common practice, no source).
const LEAST_EFFICIENT: f64 = 0.01;

/// Log standard deviations beyond this say nothing at all.
pub(super) const WIDEST: f64 = 3.0;

/// What is expected; that a value above 0 is below the least one, where that is what is wrong.
fn or_too_small(value: f64, least: f64, expected: &str) -> String {
    match value > 0.0 && value < least {
        true => format!("{expected}, and no smaller than {least}"),
        false => expected.to_string(),
    }
}

/// Above 0.
pub(super) fn above_zero(faults: &mut Vec<Fault>, path: Path, value: f64) {
    if !(SMALLEST..=LARGEST).contains(&value) {
        note(faults, path, value, or_too_small(value, SMALLEST, "a number above 0"));
    }
}

/// 0 or above.
pub(super) fn from_zero(faults: &mut Vec<Fault>, path: Path, value: f64) {
    if value != 0.0 && !(SMALLEST..=LARGEST).contains(&value) {
        note(faults, path, value, or_too_small(value, SMALLEST, "a number from 0 up"));
    }
}

/// 0 or above, up to `high`.
pub(super) fn up_to(faults: &mut Vec<Fault>, path: Path, value: f64, high: f64) {
    if value != 0.0 && !(SMALLEST..=high).contains(&value) {
        let expected = format!("a number from 0 to {high}");
        note(faults, path, value, or_too_small(value, SMALLEST, &expected));
    }
}

/// Above 0 and at most 1.
pub(super) fn share_above_zero(faults: &mut Vec<Fault>, path: Path, value: f64) {
    if !(LEAST_EFFICIENT..=1.0).contains(&value) {
        let expected = "a share above 0 and at most 1";
        note(faults, path, value, or_too_small(value, LEAST_EFFICIENT, expected));
    }
}

/// Within both bounds, which are allowed themselves.
pub(super) fn between(faults: &mut Vec<Fault>, path: Path, value: f64, low: f64, high: f64) {
    if !(low..=high).contains(&value) {
        note(faults, path, value, format!("a number from {low} to {high}"));
    }
}
