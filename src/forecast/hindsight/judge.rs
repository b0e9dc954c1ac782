//! Was it inside the band? With what is known only to lie in an interval, fairly.

use super::happened::Span;
use crate::forecast::passages::{quantile, sorted};

/// Which side of the band something came on, as the crew feels it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BandSide {
    /// The limit came, or was nearer, sooner than said.
    Sooner,
    /// Later than said.
    Later,
}

/// How one foretold band fared: three shares that sum to 1. Where the truth is known, one of
/// them is 1. Where it is known only to lie in an interval (a coarse gauge, a stock serviced in
/// time), they are the forecast's own chances given that interval; then a right forecast still
/// gets four in five inside on average, however often its evenings are cut short.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Verdict {
    /// Before the P10.
    pub sooner: f64,
    /// Between P10 and P90.
    pub inside: f64,
    /// After the P90.
    pub later: f64,
}

impl Verdict {
    /// Whether what is known settles it.
    pub fn settled(&self) -> bool {
        self.sooner.max(self.inside).max(self.later) > 0.99
    }
}

/// Verdicts, summed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tally {
    /// How many were judged.
    pub judged: usize,
    /// How many of them what is known settles, and how many of those lay inside.
    pub settled: usize,
    /// Settled ones that lay inside.
    pub settled_inside: usize,
    /// Settled ones that came sooner than said.
    pub settled_sooner: usize,
    /// Sums over all that were judged.
    pub shares: Verdict,
}

/// Share of truths that a band from P10 to P90 should hold.
pub(super) const WANTED: f64 = 0.8;

impl Tally {
    /// Adds one.
    pub fn add(&mut self, verdict: Verdict) {
        self.judged += 1;
        if verdict.settled() {
            self.settled += 1;
            self.settled_inside += usize::from(verdict.inside > 0.5);
            self.settled_sooner += usize::from(verdict.sooner > 0.5);
        }
        self.shares.sooner += verdict.sooner;
        self.shares.inside += verdict.inside;
        self.shares.later += verdict.later;
    }

    /// Adds those of another sum.
    pub fn join(&mut self, other: &Tally) {
        self.judged += other.judged;
        self.settled += other.settled;
        self.settled_inside += other.settled_inside;
        self.settled_sooner += other.settled_sooner;
        self.shares.sooner += other.shares.sooner;
        self.shares.inside += other.shares.inside;
        self.shares.later += other.shares.later;
    }

    /// How many should lie inside.
    pub fn wanted(&self) -> f64 {
        WANTED * self.judged as f64
    }

    /// Settled ones that came later than said.
    pub fn settled_later(&self) -> usize {
        self.settled - self.settled_inside - self.settled_sooner
    }

    /// Misses beyond those that chance would have, in standard errors (evenings counted as if
    /// they were independent); 0 when nothing was judged.
    pub(super) fn excess(&self) -> f64 {
        let n = self.judged as f64;
        if n == 0.0 { 0.0 } else { (self.wanted() - self.shares.inside) / (n * 0.16).sqrt() }
    }

    /// The side that misses were mostly on.
    pub fn mostly(&self) -> BandSide {
        if self.shares.sooner >= self.shares.later { BandSide::Sooner } else { BandSide::Later }
    }
}

/// A foretold band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zones {
    /// P10.
    pub low: f64,
    /// What was foretold as likely.
    pub middle: f64,
    /// P90.
    pub high: f64,
}

impl Zones {
    /// The band of some values; `None` where not even its P10 is finite.
    pub fn of(values: &[f64]) -> Option<Zones> {
        let sorted = sorted(values.iter().copied());
        let at = |a| quantile(&sorted, a);
        let far = |value: Option<f64>| value.unwrap_or(f64::INFINITY);
        Some(Zones { low: at(0.1)?, middle: far(at(0.5)), high: far(at(0.9)) })
    }

    /// Judges what is known to have come within `came`. `low_is` says what a value below the
    /// band means.
    pub fn judge(
        &self,
        values: impl Iterator<Item = f64>,
        came: Span,
        low_is: BandSide,
    ) -> Verdict {
        let (mut below, mut inside, mut above) = (0.0, 0.0, 0.0);
        for value in values.filter(|value| (came.from..=came.to).contains(value)) {
            *self.zone(value, &mut below, &mut inside, &mut above) += 1.0;
        }
        if below + inside + above == 0.0 {
            // No life came there: judge the middle of what is known, or its near end.
            let middle = 0.5 * (came.from + came.to);
            let known = if middle.is_finite() { middle } else { came.from };
            *self.zone(known, &mut below, &mut inside, &mut above) += 1.0;
        }
        let all = below + inside + above;
        let (sooner, later) = match low_is {
            BandSide::Sooner => (below, above),
            BandSide::Later => (above, below),
        };
        Verdict { sooner: sooner / all, inside: inside / all, later: later / all }
    }

    fn zone<'a>(
        &self,
        value: f64,
        below: &'a mut f64,
        inside: &'a mut f64,
        above: &'a mut f64,
    ) -> &'a mut f64 {
        if value < self.low {
            below
        } else if value > self.high {
            above
        } else {
            inside
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One hundred lives that meet the limit at 1, 2, ... 100 hours: the band is 10.5 to 90.5.
    fn hundred() -> Vec<f64> {
        (1..=100).map(f64::from).collect()
    }

    fn judge(from: f64, to: f64) -> Verdict {
        let zones = Zones::of(&hundred()).unwrap();
        zones.judge(hundred().into_iter(), Span { from, to }, BandSide::Sooner)
    }

    #[test]
    fn what_is_known_settles_it_and_what_is_not_counts_by_its_chance() {
        let never = f64::INFINITY;
        let rows = [
            ((2.0, 9.0), (1.0, 0.0, 0.0)),
            ((40.0, 50.0), (0.0, 1.0, 0.0)),
            ((95.0, never), (0.0, 0.0, 1.0)),
            ((300.0, never), (0.0, 0.0, 1.0)),
            ((0.2, 0.4), (1.0, 0.0, 0.0)),
            // Serviced at 81: of the twenty lives that lasted longer, ten end inside.
            ((81.0, never), (0.0, 0.5, 0.5)),
            // Serviced at once: nothing is learned, and the chances are as foretold.
            ((0.0, never), (0.1, 0.8, 0.1)),
        ];
        for ((from, to), (sooner, inside, later)) in rows {
            assert_eq!(judge(from, to), Verdict { sooner, inside, later }, "{from} to {to}");
        }
    }

    /// A right forecast gets four in five inside although a service cuts most evenings short.
    #[test]
    fn cutting_short_favours_no_side() {
        let mut tally = Tally::default();
        for truth in hundred() {
            for service in [5.0, 30.0, 64.0, 97.0] {
                let came = match truth <= service {
                    true => Span { from: truth - 0.5, to: truth },
                    false => Span { from: service, to: f64::INFINITY },
                };
                let zones = Zones::of(&hundred()).unwrap();
                tally.add(zones.judge(hundred().into_iter(), came, BandSide::Sooner));
            }
        }
        assert!((tally.shares.inside - tally.wanted()).abs() < 0.02 * tally.wanted(), "{tally:?}");
        assert!((tally.shares.sooner - tally.shares.later).abs() < 8.0, "{tally:?}");
        assert!(tally.settled < tally.judged);
    }
}
