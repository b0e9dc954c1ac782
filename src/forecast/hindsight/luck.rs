//! How many of a number of bands hold by luck alone, when each holds four times in five.
//!
//! Evenings that lead up to the same stop, or to the same reading, hold or miss together. Their
//! count is therefore wider than a binomial one: a beta-binomial, whose spread comes from how many
//! evenings share a truth.

use super::Span;
use super::judge::WANTED;
use crate::domain::{Moment, after_hours};
use crate::forecast::{Hindsight, PastEvening};

/// What luck allows, nine times in ten.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Luck {
    /// At least so many hold.
    pub low: usize,
    /// At most so many do.
    pub high: usize,
}

/// Share of luck that is left out on either side.
const TAIL: f64 = 0.05;

impl Luck {
    /// For so many bands, of which `shared` on average have the same truth; `None` without any.
    pub fn of(bands: usize, shared: f64) -> Option<Luck> {
        if bands == 0 {
            return None;
        }
        // A beta-binomial's variance is the binomial's times 1 + (n - 1) rho, and its two
        // parameters sum to 1 / rho - 1.
        let rho = ((shared - 1.0) / (bands as f64 - 1.0).max(1.0)).clamp(1e-6, 0.999);
        let whole = 1.0 / rho - 1.0;
        let (a, b) = (WANTED * whole, (1.0 - WANTED) * whole);
        let quantile = |level: f64| {
            let mut below = 0.0;
            (0..=bands)
                .find(|count| {
                    below += beta_binomial(*count, bands, a, b);
                    below >= level
                })
                .unwrap_or(bands)
        };
        Some(Luck { low: quantile(TAIL), high: quantile(1.0 - TAIL) })
    }
}

/// Probability of `count` out of `n` under a beta-binomial law: C(n, k) B(k + a, n - k + b) /
/// B(a, b). `a` and `b` are above 0. (Skellam, Journal of the Royal Statistical Society B 10,
/// 1948; from memory.)
fn beta_binomial(count: usize, n: usize, a: f64, b: f64) -> f64 {
    let (k, n) = (count as f64, n as f64);
    let ln_beta = |x: f64, y: f64| libm::lgamma(x) + libm::lgamma(y) - libm::lgamma(x + y);
    let ln_choose = -(n + 1.0).ln() - ln_beta(n - k + 1.0, k + 1.0);
    (ln_choose + ln_beta(k + a, n - k + b) - ln_beta(a, b)).exp()
}

/// Evenings whose safe date can be set beside what came.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct SafeDates {
    /// Serviced before the date called safe, with nothing out until then: no contradiction, and no
    /// proof.
    pub serviced_before: usize,
    /// Went on past it with nothing out.
    pub held: usize,
    /// Something was out before it.
    pub broken: usize,
    /// Something was out, nobody knows whether before it or after.
    pub unknown: usize,
}

impl Hindsight {
    /// What luck allows of the next stop's bands.
    pub fn luck_of_next(&self) -> Option<Luck> {
        let judged = self.evenings.iter().filter(|evening| evening.verdict.is_some());
        let truths = judged.map(|e| (String::new(), moment(e, known_end(e.came)))).collect();
        Luck::of(self.next.tally.judged, shared(truths))
    }

    /// What luck allows of the next readings' bands.
    pub fn luck_of_readings(&self) -> Option<Luck> {
        let each = self.evenings.iter().flat_map(|evening| {
            let truth = |r: &super::NextReading| (r.stock.clone(), moment(evening, r.hours));
            evening.readings.iter().map(truth)
        });
        let judged = self.stocks.iter().map(|stock| stock.levels.tally.judged).sum();
        Luck::of(judged, shared(each.collect()))
    }

    /// How the dates that were called safe fared.
    pub fn safe_dates(&self) -> SafeDates {
        let mut dates = SafeDates::default();
        for evening in self.evenings.iter().filter(|evening| evening.verdict.is_some()) {
            let Some(safe) = evening.said.p10 else { continue };
            let Span { from, to } = evening.came;
            if to <= safe {
                dates.broken += 1;
            } else if from >= safe {
                dates.held += 1;
            } else if to.is_infinite() {
                dates.serviced_before += 1;
            } else {
                dates.unknown += 1;
            }
        }
        dates
    }
}

fn known_end(came: Span) -> f64 {
    if came.to.is_finite() { came.to } else { came.from }
}

/// The hour of it, so that evenings that speak of the same thing agree.
fn moment(evening: &PastEvening, hours: f64) -> Option<i64> {
    after_hours(evening.at, hours).map(|at: Moment| (at.timestamp() + 1800) / 3600)
}

/// With how many others, itself counted, a truth is shared on average.
fn shared<T: Ord>(mut truths: Vec<T>) -> f64 {
    let all = truths.len();
    truths.sort_unstable();
    let squares: usize = truths.chunk_by(|a, b| a == b).map(|same| same.len() * same.len()).sum();
    if all == 0 { 1.0 } else { squares as f64 / all as f64 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed: scipy 1.17.1, `betabinom.pmf(k, 5, 2, 3)` and `betabinom.pmf(k, 40, 26, 8)`
    /// summed up to 20 and 28.
    #[test]
    fn the_law_agrees_with_a_reference_library() {
        let rows = [0.166_666_67, 0.238_095_24, 0.238_095_24, 0.190_476_19, 0.119_047_62];
        for (count, probability) in rows.into_iter().enumerate() {
            assert!((beta_binomial(count, 5, 2.0, 3.0) - probability).abs() < 1e-8, "{count}");
        }
        for (most, probability) in [(20, 0.010_256_674_8), (28, 0.281_069_302)] {
            let sum: f64 = (0..=most).map(|k| beta_binomial(k, 40, 26.0, 8.0)).sum();
            assert!((sum - probability).abs() < 1e-7, "{most} {sum}");
        }
    }

    #[test]
    fn a_truth_is_shared_with_its_like() {
        assert_eq!(shared(vec![1, 2, 3]), 1.0);
        assert_eq!(shared(vec![1, 1, 2, 2]), 2.0);
        assert_eq!(shared(vec![5, 5, 5, 1]), 2.5);
        assert_eq!(shared(Vec::<u8>::new()), 1.0);
    }
}
