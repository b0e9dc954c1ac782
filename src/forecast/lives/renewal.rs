//! The chance behind one habit in one life: gaps and sizes, in expected occurrences.
//!
//! How regular a habit is belongs to its life, drawn from what is believed of it. Gaps are
//! Gamma-distributed with mean 1 and variance `1 / order`: order 1 is random (Poisson), higher orders
//! are regular, and the count over many days has that variance over mean. Counts that vary
//! more come in clumps at random moments: with logarithmic clumps the count over any
//! time is negative binomial (Quenouille, Biometrics 5, 1949; from memory).

use crate::belief::practice::{FANOS, OCCURRENCE_SD};
use crate::belief::quantile_table::{QuantileTable, gaps};
use crate::belief::regularity::{Regularity, order};
use crate::forecast::sampler::{ACTIVITY, ORDER, START, Sampler, Stream};
use crate::mechanism::Mechanism;
use crate::mechanism::climate::lanes::LANES;
use crate::mechanism::driver::Source;
use rand::Rng;
use std::sync::LazyLock;

/// A renewal process: occurrences, each a random gap after the one before.
#[derive(Clone)]
pub(super) struct RenewalProcess {
    gaps: &'static QuantileTable,
    random: Stream,
    /// How many occurrences come at once, where they come in clumps.
    clumps: Option<&'static Clumps>,
    /// Relative spread of one occurrence around the life's own mean.
    scatter: f32,
    /// Turns a pair's chance into its mirror image, in its second life.
    turn: u64,
}

/// The processes of one activity in the lives from number `from` on; each with what is left until
/// its first occurrence, in its own gaps. Counts are as regular as that, and one occurrence differs
/// from the next by `scatter`.
///
/// Who looks at any moment falls into a gap that is longer than usual (Gamma of one order more)
/// and stands anywhere within it.
#[inline(always)]
pub(super) fn begun(
    sampler: &Sampler,
    from: usize,
    activity: usize,
    (fano, scatter): (&Regularity, f32),
) -> impl Iterator<Item = (RenewalProcess, f64)> {
    let orders = sampler.stratified(from, ORDER + activity as u64);
    let number = START + 2 * activity as u64;
    let wholes = sampler.stratified(from, number);
    let places = sampler.stratified(from, number + 1);
    (0..LANES).map(move |l| {
        let pair = l / 2;
        let random = sampler.stream(from / 2 + pair, ACTIVITY + activity as u64);
        let value = fano.drawn((f64::from(orders[pair]) + 0.5) / 4_294_967_296.0);
        let (order, clumps) = (order(FANOS[value].0), CLUMPS[value].as_ref());
        let (usual, first) = (gaps(order), gaps(order + 1));
        let factor = (order + 1) as f32 / order as f32;
        let turn = if l % 2 == 1 { u64::MAX } else { 0 };
        let whole = f64::from(first.draw(wholes[pair] ^ turn as u32) * factor);
        let left = whole * (f64::from(places[pair] ^ turn as u32) + 0.5) / 4_294_967_296.0;
        (RenewalProcess { gaps: usual, random, clumps, scatter, turn }, left)
    })
}

impl RenewalProcess {
    /// From an occurrence to the next: the gap between them, and this one's relative size.
    #[inline(always)]
    pub(super) fn next(&mut self) -> (f32, f32) {
        let bits = self.random.next_u64() ^ self.turn;
        let (gap, mut amount) =
            (self.gaps.draw((bits >> 32) as u32), size(bits as u32, self.scatter));
        if let Some(clumps) = self.clumps {
            let count = clumps.counts[((self.random.next_u64() ^ self.turn) >> 54) as usize];
            amount = count + (amount - 1.0) * count.sqrt();
        }
        (gap, amount)
    }

    /// Expected occurrences from one gap to the next.
    pub(super) fn each(&self) -> f64 {
        self.clumps.map_or(1.0, |clumps| clumps.mean)
    }
}

/// How many occurrences come at once.
struct Clumps {
    /// By chance, in 1024 pieces: how many.
    counts: Box<[f32; 1024]>,
    /// On average.
    mean: f64,
}

/// Of each of [`FANOS`] above 1.
static CLUMPS: LazyLock<Vec<Option<Clumps>>> = LazyLock::new(|| {
    FANOS.iter().map(|(fano, _)| (*fano > 1.0).then(|| Clumps::of(*fano))).collect()
});

impl Clumps {
    /// Of counts with that variance over mean f: a clump holds k with probability
    /// (1 - 1/f)^k / (k ln f).
    fn of(fano: f64) -> Clumps {
        let mut counts = Box::new([1.0; 1024]);
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
    use crate::belief::quantile_table::HIGHEST;

    /// Gaps of each order are tabulated, and those of one more: who looks falls into a longer one.
    /// Clumps of logarithmic law have a mean of (f - 1) / ln f.
    #[test]
    fn each_regularity_has_its_gaps_and_clumps() {
        for ((fano, _), clumps) in FANOS.iter().zip(CLUMPS.iter()) {
            assert!(order(*fano) < HIGHEST && (*fano > 1.0) == clumps.is_some());
            assert!(*fano > 1.0 || (f64::from(order(*fano)) * fano - 1.0).abs() < 1e-12);
            if let Some(clumps) = clumps {
                let mean = (fano - 1.0) / fano.ln();
                assert!((clumps.mean / mean - 1.0).abs() < 0.01, "{fano}: {}", clumps.mean);
            }
        }
    }
}
