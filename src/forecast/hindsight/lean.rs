//! Whether dates came early or late as a rule.

use crate::forecast::practice::LEAN_EVENINGS;
use crate::forecast::{Hindsight, PastEvening, passages};

/// How far from its likely date the next limit came, over the evenings that can say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lean {
    /// Evenings that can say.
    pub evenings: usize,
    /// Those of them whose limit came later than the date that was called likely.
    pub later: usize,
    /// By how many days it came later, at the median; below 0 where it came sooner.
    pub days: f64,
}

impl Hindsight {
    /// Whether the next stop's likely dates were early or late; `None` until ten evenings can say.
    /// An evening can say once its limit was met, or once its likely date has passed without; then
    /// it counts as later by as much as is known.
    pub fn lean(&self) -> Option<Lean> {
        let days = passages::sorted(self.evenings.iter().filter_map(later_by));
        let (evenings, later) = (days.len(), days.iter().filter(|days| **days > 0.0).count());
        let median = passages::quantile(&days, 0.5).filter(|_| evenings >= LEAN_EVENINGS)?;
        Some(Lean { evenings, later, days: median })
    }
}

/// Days by which an evening's limit came later than its likely date.
fn later_by(evening: &PastEvening) -> Option<f64> {
    evening.verdict?;
    let (said, came) = (evening.said.p50?, evening.came);
    match came.to.is_finite() {
        true => Some((0.5 * (came.from + came.to) - said) / 24.0),
        false => Some((came.from - said) / 24.0).filter(|days| *days > 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Span;
    use super::super::judge::Verdict;
    use super::*;
    use crate::domain::time::Moment;
    use crate::forecast::answer::Quantiles;

    /// Counted by hand: nine evenings are too few. Ten whose limit came a day later, and one that was
    /// serviced an hour after its evening, which says nothing, lean a day late.
    #[test]
    fn ten_evenings_say_which_way_dates_lean() {
        let at = Moment::parse_from_rfc3339("2026-09-01T21:00:00+02:00").expect("a time");
        let evening = |from: f64, to: f64| PastEvening {
            at,
            said: Quantiles { p50: Some(48.0), ..Quantiles::default() },
            came: Span { from, to },
            verdict: Some(Verdict::default()),
            readings: Vec::new(),
        };
        let of = |evenings: Vec<PastEvening>| Hindsight {
            evenings,
            next: Default::default(),
            stocks: Vec::new(),
            misjudged: None,
        };
        assert_eq!(of(vec![evening(71.0, 73.0); 9]).lean(), None);
        let mut known = vec![evening(71.0, 73.0); 6];
        known.extend(vec![evening(72.0, f64::INFINITY); 4]);
        known.push(evening(1.0, f64::INFINITY));
        assert_eq!(of(known).lean(), Some(Lean { evenings: 10, later: 10, days: 1.0 }));
    }
}
