//! Ranges that numbers of a file must lie in. One that is not finite lies in none, and neither does
//! one so small that what is worked out from it may be no number any more.

/// Larger than anything in a van, small enough to be added up without loss.
pub(super) const LARGEST: f64 = 1e9;
/// Smaller than anything in a van that is not nothing: a thousandth of the least amount that a
/// journal holds, large enough to be divided by.
pub(super) const SMALLEST: f64 = 1e-6;
/// The smallest share of what goes in that comes out of anything that people build into a van
/// (common practice, no source).
const LEAST_EFFICIENT: f64 = 0.01;

/// Where a number must lie; the ends of a range are allowed.
#[derive(Clone, Copy)]
pub(super) enum Range {
    AboveZero,
    FromZero,
    /// From 0.
    UpTo(f64),
    /// What comes out of what goes in.
    Efficiency,
    Between(f64, f64),
    /// The same, with what is expected in words of its own.
    Within(f64, f64, &'static str),
}

impl Range {
    /// A logarithm's standard deviation: beyond 3 it says nothing at all.
    pub(super) const SPREAD: Range = Range::UpTo(3.0);
    /// Any number that is finite.
    pub(super) const ANY: Range = Range::Between(f64::MIN, f64::MAX);

    /// What is expected in place of `value`; `None` where it lies in the range.
    pub(super) fn expected(self, value: f64) -> Option<String> {
        let (least, most, expected) = match self {
            Range::AboveZero => (SMALLEST, LARGEST, "a number above 0".to_owned()),
            Range::FromZero => (SMALLEST, LARGEST, "a number from 0 up".to_owned()),
            Range::UpTo(most) => (SMALLEST, most, format!("a number from 0 to {most}")),
            Range::Efficiency => (LEAST_EFFICIENT, 1.0, "a share above 0 and at most 1".to_owned()),
            Range::Between(least, most) => {
                (least, most, format!("a number from {least} to {most}"))
            }
            Range::Within(least, most, words) => (least, most, words.to_owned()),
        };
        let nothing = matches!(self, Range::FromZero | Range::UpTo(_)) && value == 0.0;
        let own_words = matches!(self, Range::Between(..) | Range::Within(..));
        match value > 0.0 && value < least && !own_words {
            _ if nothing || (least..=most).contains(&value) => None,
            true => Some(format!("{expected}, and no smaller than {least}")),
            false => Some(expected),
        }
    }
}
