//! A number for each member of the ensemble: how many there are, chance for each, and what they
//! come to together.

use crate::belief::quantile_table::standard_normal;
use crate::domain::Estimate;
use rand::Rng;

/// How many members the ensemble has. With fewer, chance correlations teach more than evidence.
pub(super) const MEMBERS: usize = 256;
/// A number for each member.
pub(super) type PerMember<T = f64> = [T; MEMBERS];

/// Chance in 32 bits.
#[inline(always)]
fn bits<R: Rng>(random: &mut R) -> PerMember<u32> {
    let mut drawn = [0; MEMBERS];
    for pair in drawn.chunks_exact_mut(2) {
        let both = random.next_u64();
        pair[0] = (both >> 32) as u32;
        pair[1] = both as u32;
    }
    drawn
}

/// Standard normal numbers.
#[inline(always)]
pub(super) fn normals<R: Rng>(random: &mut R) -> PerMember {
    let law = standard_normal();
    bits(random).map(|bits| law.draw(bits).into())
}

/// Numbers from 0 to 1.
pub(super) fn shares<R: Rng>(random: &mut R) -> PerMember {
    bits(random).map(|bits| (f64::from(bits) + 0.5) / 4_294_967_296.0)
}

/// Factors around 1, with standard deviation `sd`; never below 0.05, as nothing runs backwards.
#[inline(always)]
pub(super) fn factors<R: Rng>(sd: f64, random: &mut R) -> PerMember {
    normals(random).map(|z| (1.0 + sd * z).max(0.05))
}

/// Mean and standard deviation over the members.
#[inline(always)]
pub(super) fn estimate(values: &PerMember) -> Estimate {
    let mean = mean(|member| values[member]);
    let variance = self::mean(|member| (values[member] - mean).powi(2));
    Estimate { mean, sd: variance.max(0.0).sqrt() }
}

/// Mean over the members of what `of` says of each.
#[inline(always)]
pub(super) fn mean(of: impl Fn(usize) -> f64) -> f64 {
    sum(of) / MEMBERS as f64
}

/// Sum over the members, in sixteen parts that the processor adds side by side.
#[inline(always)]
pub(super) fn sum(of: impl Fn(usize) -> f64) -> f64 {
    const PARTS: usize = 16;
    const { assert!(MEMBERS.is_multiple_of(PARTS)) };
    let mut parts = [0.0; PARTS];
    for n in 0..MEMBERS / PARTS {
        for (part, sum) in parts.iter_mut().enumerate() {
            *sum += of(n * PARTS + part);
        }
    }
    parts.iter().sum()
}
