//! Random numbers by inversion: tables of the quantile functions of gaps between occurrences
//! (Gamma of small integer order) and of the standard normal distribution.
//!
//! A table is read between two neighbours, which costs a tenth of drawing logarithms and is
//! monotone: more chance, longer gap.

use super::normal;
use std::sync::{LazyLock, OnceLock};

/// Highest order that is tabulated.
pub const HIGHEST: u32 = 25;
/// Pieces of the quantile function. With 1,024 the table's variance is within 0.2 % of the law's.
const PIECES: usize = 1024;

/// Steps of chance in a piece.
const STEPS: f64 = 4_194_304.0;

/// The quantile function of a distribution.
pub struct QuantileTable {
    /// Each piece: its value half a step above its lower end, and its slope per step.
    pieces: Box<[(f32, f32); PIECES]>,
}

static GAPS: [OnceLock<QuantileTable>; HIGHEST as usize] =
    [const { OnceLock::new() }; HIGHEST as usize];
static NORMAL: LazyLock<QuantileTable> = LazyLock::new(QuantileTable::standard_normal);

/// The gaps of an order, 1 to [`HIGHEST`], with mean 1; others are brought into that range.
pub fn gaps(order: u32) -> &'static QuantileTable {
    let order = order.clamp(1, HIGHEST);
    GAPS[order as usize - 1].get_or_init(|| QuantileTable::of_gaps(order))
}

/// The standard normal law. Its tails end at 3.6 standard deviations, which one draw in three
/// thousand would pass.
pub fn standard_normal() -> &'static QuantileTable {
    &NORMAL
}

impl QuantileTable {
    /// A draw from 32 bits of chance.
    #[inline(always)]
    pub fn draw(&self, bits: u32) -> f32 {
        let piece = (bits >> 22) as usize;
        let (low, slope) = self.pieces[piece];
        low + (bits & 0x3F_FFFF) as i32 as f32 * slope
    }

    /// From the ends of its pieces.
    fn between(end: impl Fn(usize) -> f64) -> QuantileTable {
        let piece = |n: usize| {
            let slope = (end(n + 1) - end(n)) / STEPS;
            ((end(n) + 0.5 * slope) as f32, slope as f32)
        };
        QuantileTable { pieces: Box::new(std::array::from_fn(piece)) }
    }

    fn standard_normal() -> QuantileTable {
        let middle = PIECES / 2;
        let mut at = vec![0.0; middle + 1];
        for n in 1..middle {
            let p = 0.5 + n as f64 / PIECES as f64;
            let mut x: f64 = at[n - 1];
            for _ in 0..50 {
                let step = (normal::cumulative(x) - p) / normal::density(x);
                x -= step.clamp(-0.5, 0.5);
            }
            at[n] = x;
        }
        // The last piece's middle is the mean of the tail.
        let last = at[middle - 1];
        at[middle] = 2.0 * normal::density(last) * PIECES as f64 - last;
        QuantileTable::between(|n| if n < middle { -at[middle - n] } else { at[n - middle] })
    }

    fn of_gaps(order: u32) -> QuantileTable {
        let mut at = vec![0.0; PIECES + 1];
        let mut x: f64 = 0.0;
        for (n, cell) in at.iter_mut().enumerate().take(PIECES).skip(1) {
            x = quantile(order, n as f64 / PIECES as f64, x);
            *cell = x;
        }
        // The first piece begins, and the last one ends, where its middle is the mean of its tail.
        // Straight pieces of a bent function are a little off in between; the mean, which is a rate,
        // must not be.
        let [below, beyond] = tail_means(order, [at[1], x]);
        (at[0], at[PIECES]) = ((2.0 * below - at[1]).max(0.0), 2.0 * beyond - x);
        let inner: f64 = at[1..PIECES].iter().sum();
        let mean = (0.5 * (at[0] + at[PIECES]) + inner) / PIECES as f64;
        QuantileTable::between(|n| at[n] / mean)
    }
}

/// Newton's steps towards the point with probability `p` below it, from a point left of it.
fn quantile(order: u32, p: f64, from: f64) -> f64 {
    let mut x = from.max(1e-3);
    for _ in 0..50 {
        let (above, density) = above(order, x);
        // The law bends both ways: steps are kept within a factor of two.
        let step = ((1.0 - above - p) / density.max(1e-300)).clamp(-0.5 * x, x);
        x -= step;
        if step.abs() < 1e-9 * x {
            break;
        }
    }
    x
}

/// Probability above `x`, and the density there, of the law of that order and scale 1:
/// e^-x times the sum of x^i / i! below the order, and its last term.
fn above(order: u32, x: f64) -> (f64, f64) {
    let (mut term, mut sum) = (1.0, 1.0);
    for i in 1..order {
        term *= x / f64::from(i);
        sum += term;
    }
    let fall = (-x).exp();
    (fall * sum, fall * term)
}

/// Means of the law below one place and beyond another: order times the probability there of the next
/// order, over its own.
fn tail_means(order: u32, [low, high]: [f64; 2]) -> [f64; 2] {
    let beyond = |x: f64| [order + 1, order].map(|order| above(order, x).0);
    let ([next, own], [next_high, own_high]) = (beyond(low), beyond(high));
    [(1.0 - next) / (1.0 - own), next_high / own_high].map(|share| f64::from(order) * share)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mean_and_variance_are_the_laws() {
        for order in 1..=HIGHEST {
            let table = gaps(order);
            let count = 1u32 << 20;
            let draws = (0..count).map(|n| f64::from(table.draw((n << 12) | 0x800)));
            let (sum, squares) = draws.fold((0.0, 0.0), |(s, q), x| (s + x, q + x * x));
            let mean = sum / f64::from(count);
            let variance = squares / f64::from(count) - mean * mean;
            assert!((mean - 1.0).abs() < 1e-4, "{order}: {mean}");
            let want = 1.0 / f64::from(order);
            assert!((variance / want - 1.0).abs() < 2e-3, "{order}: {variance}");
        }
    }

    /// Quantiles of Gamma(k, 1 / k). Computed: scipy 1.17.1, `gamma.ppf(p, k, scale=1 / k)`.
    #[test]
    fn quantiles_are_the_laws() {
        for (order, p, want) in [
            (1, 0.1, 0.105_361),
            (1, 0.25, 0.287_682),
            (1, 0.75, 1.386_294),
            (1, 0.99, 4.605_170),
            (2, 0.1, 0.265_906),
            (2, 0.5, 0.839_173),
            (2, 0.9, 1.944_860),
            (6, 0.1, 0.525_316),
            (6, 0.5, 0.945_027),
            (6, 0.9, 1.545_779),
        ] {
            let got = f64::from(gaps(order).draw((p * 4_294_967_296.0) as u32));
            assert!((got - want).abs() < 2e-3 * want, "{order} {p}: {got}");
        }
    }
    /// Quantiles of the standard normal law. Computed: scipy 1.17.1, `norm.ppf(p)`.
    #[test]
    fn the_normal_law_is_normal() {
        let draw = |bits: u32| f64::from(standard_normal().draw(bits));
        for (p, want) in [
            (0.05, -1.644_854),
            (0.25, -0.674_490),
            (0.5, 0.0),
            (0.9, 1.281_552),
            (0.99, 2.326_348),
        ] {
            let got = draw((p * 4_294_967_296.0) as u32);
            assert!((got - want).abs() < 1e-3, "{p}: {got}");
        }
        let count = 1u32 << 20;
        let draws = (0..count).map(|n| draw((n << 12) | 0x800));
        let (sum, squares) = draws.fold((0.0, 0.0), |(s, q), x| (s + x, q + x * x));
        let mean = sum / f64::from(count);
        assert!(mean.abs() < 1e-6, "{mean}");
        let variance = squares / f64::from(count);
        assert!((variance - 1.0).abs() < 2e-3, "{variance}");
        assert!((draw(0) + draw(u32::MAX)).abs() < 1e-6, "mirrored bits are mirrored draws");
    }
}
