//! Chance, a number for each draw.

use super::{DRAWS, Each};
use crate::belief::law::standard_normal;
use rand::Rng;

/// Chance in 32 bits.
fn bits<R: Rng>(random: &mut R) -> Each<u32> {
    let mut drawn = [0; DRAWS];
    for pair in drawn.chunks_exact_mut(2) {
        let both = random.next_u64();
        pair[0] = (both >> 32) as u32;
        pair[1] = both as u32;
    }
    drawn
}

/// Standard normal numbers.
pub(super) fn normals<R: Rng>(random: &mut R) -> Each {
    let law = standard_normal();
    bits(random).map(|bits| law.draw(bits).into())
}

/// Numbers from 0 to 1.
pub(super) fn shares<R: Rng>(random: &mut R) -> Each {
    bits(random).map(|bits| (f64::from(bits) + 0.5) / 4_294_967_296.0)
}

/// What multiplies: one plus noise of that spread.
pub(super) fn factors<R: Rng>(sd: f64, random: &mut R) -> Each {
    normals(random).map(|z| (1.0 + sd * z).max(0.05))
}
