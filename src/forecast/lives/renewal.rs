//! The chance behind one habit in one life: gaps and sizes, in expected occurrences.
//!
//! Gaps are Gamma-distributed with mean 1 and variance `1 / order`: order 1 is random (Poisson),
//! higher orders are regular, and the count over many days has that variance over mean. Orders are
//! whole, so what lies between two of them is drawn from both: some lives are of the one, the
//! others of the other, and over all of them counts vary as much as is believed. Counts that vary
//! more come in clumps at random moments: with logarithmic clumps the count over any
//! time is negative binomial (Quenouille, Biometrics 5, 1949; from memory).

use crate::belief::practice::OCCURRENCE_SD;
use crate::belief::quantile_table::{HIGHEST, QuantileTable, gaps};
use crate::forecast::sampler::{ACTIVITY, ORDER, START, Sampler, Stream};
use crate::mechanism::Mechanism;
use crate::mechanism::climate::lanes::LANES;
use crate::mechanism::driver::Source;
use rand::Rng;

/// A renewal process: occurrences, each a random gap after the one before.
#[derive(Clone)]
pub(super) struct RenewalProcess {
    gaps: &'static QuantileTable,
    random: Stream,
    clumped: bool,
    /// Relative spread of one occurrence around the life's own mean.
    scatter: f32,
    /// Turns a pair's chance into its mirror image, in its second life.
    turn: u64,
}

/// The processes of one activity in the lives from number `from` on; each with what is left until
/// its first occurrence, in expected occurrences. Counts have that variance over mean, and one
/// occurrence differs from the next by `scatter`.
///
/// Who looks at any moment falls into a gap that is longer than usual (Gamma of one order more)
/// and stands anywhere within it.
#[inline(always)]
pub(super) fn begun(
    sampler: &Sampler,
    from: usize,
    activity: usize,
    (fano, scatter): (f64, f32),
) -> impl Iterator<Item = (RenewalProcess, f64)> {
    let orders = sampler.stratified(from, ORDER + activity as u64);
    let number = START + 2 * activity as u64;
    let wholes = sampler.stratified(from, number);
    let places = sampler.stratified(from, number + 1);
    (0..LANES).map(move |l| {
        let pair = l / 2;
        let random = sampler.stream(from / 2 + pair, ACTIVITY + activity as u64);
        let order = order(fano, orders[pair]);
        let (usual, first) = (gaps(order), gaps(order + 1));
        let factor = (order + 1) as f32 / order as f32;
        let turn = if l % 2 == 1 { u64::MAX } else { 0 };
        let whole = f64::from(first.draw(wholes[pair] ^ turn as u32) * factor);
        let left = whole * (f64::from(places[pair] ^ turn as u32) + 0.5) / 4_294_967_296.0;
        let clumped = fano > CLUMPED;
        (RenewalProcess { gaps: usual, random, clumped, scatter, turn }, left)
    })
}

/// The order of the gaps in one life, from 32 bits of chance: one of the two whole orders around
/// `1 / fano`, so that the variance over mean is that on average over all lives.
#[inline(always)]
fn order(fano: f64, chance: u32) -> u32 {
    let exact = (1.0 / fano).clamp(1.0, f64::from(HIGHEST - 1));
    let (low, high) = (exact.floor(), exact.floor() + 1.0);
    // The share of the lower order: share / low + (1 - share) / high = 1 / exact.
    let share = low * (high - exact) / exact;
    let lower = (f64::from(chance) + 0.5) / 4_294_967_296.0 < share;
    if lower { low as u32 } else { high as u32 }
}

impl RenewalProcess {
    /// From an occurrence to the next: the gap between them, and this one's relative size.
    #[inline(always)]
    pub(super) fn next(&mut self, clumps: &Clumps) -> (f32, f32) {
        let bits = self.random.next_u64() ^ self.turn;
        let (gap, mut amount) =
            (self.gaps.draw((bits >> 32) as u32), size(bits as u32, self.scatter));
        if self.clumped {
            let count = clumps.counts[((self.random.next_u64() ^ self.turn) >> 54) as usize];
            amount = count + (amount - 1.0) * count.sqrt();
        }
        (gap, amount)
    }
}

/// Variance over mean from which on counts come in clumps: below, they are as good as random.
const CLUMPED: f64 = 1.05;

/// How many occurrences come at once.
pub(super) struct Clumps {
    /// By chance, in 1024 pieces: how many.
    counts: Box<[f32; 1024]>,
    /// On average.
    pub mean: f64,
}

impl Clumps {
    /// Of counts with that variance over mean f: a clump holds k with probability
    /// (1 - 1/f)^k / (k ln f).
    pub(super) fn of(fano: f64) -> Clumps {
        let mut counts = Box::new([1.0; 1024]);
        if fano > CLUMPED {
            let (ratio, scale) = (1.0 - 1.0 / fano, 1.0 / fano.ln());
            let (mut count, mut power) = (1.0, ratio);
            let mut below = scale * power;
            for (piece, cell) in counts.iter_mut().enumerate() {
                while below < (piece as f64 + 0.5) / 1024.0 && count < 100.0 {
                    count += 1.0;
                    power *= ratio;
                    below += scale * power / count;
                }
                *cell = count as f32;
            }
        }
        let mean = counts.iter().map(|count| f64::from(*count)).sum::<f64>() / 1024.0;
        Clumps { counts, mean }
    }
}

/// Per activity, the relative spread of one occurrence. What takes a certain amount of all that it
/// moves is a count (a toilet's uses are counted in uses): one is as large as the next. The replay
/// takes it so, too.
pub(super) fn scatters(mechanism: &Mechanism) -> Vec<f32> {
    let varies = |activity: usize| {
        let source = Source::Activity(activity);
        let mut own = mechanism.flows.iter().filter(|flow| flow.source == source);
        own.any(|flow| mechanism.coefficients[flow.coefficient].sd() > 0.0)
    };
    let all = 0..mechanism.parts.activities.len();
    all.map(|activity| if varies(activity) { OCCURRENCE_SD as f32 } else { 0.0 }).collect()
}

/// The relative size of an occurrence from random bits, of that relative spread: the sum of four even
/// draws is as bell-shaped as anybody knows showers to be, cheap, and never negative.
#[inline(always)]
fn size(bits: u32, scatter: f32) -> f32 {
    // Four even draws of 0 to 255 have mean 510 and standard deviation 256 / sqrt(3).
    const PER_STEP: f32 = 1.732_050_8 / 256.0;
    let pairs = (bits & 0x00FF_00FF) + (bits >> 8 & 0x00FF_00FF);
    let sum = (pairs & 0xFFFF) + (pairs >> 16);
    1.0 + scatter * PER_STEP * (sum as i32 - 510) as f32
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: gaps of order 1 have a variance of 1, those of order 2 of a half, so that where counts
    /// vary three quarters as much as random ones half of the lives are of either. Rounded, all of them
    /// would be random.
    #[test]
    fn what_lies_between_two_orders_is_drawn_from_both() {
        let lives = |fano: f64| (0..4096u32).map(move |n| order(fano, n << 20));
        assert_eq!(lives(0.75).filter(|order| *order == 1).count(), 2048);
        assert_eq!(lives(0.75).filter(|order| *order == 2).count(), 2048);
        for fano in [0.2, 0.3, 0.55, 0.7, 0.9, 1.0] {
            let mean = lives(fano).map(|order| 1.0 / f64::from(order)).sum::<f64>() / 4096.0;
            assert!((mean - fano).abs() < 1e-3, "{fano}: {mean}");
        }
        // Counts that vary more come in clumps at random moments.
        assert!(lives(3.0).all(|order| order == 1));
        assert!(lives(0.01).all(|order| order < HIGHEST));
    }
}
