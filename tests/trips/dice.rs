//! Seeded chance for the simulated trips.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// A stream of chance.
#[derive(Clone)]
pub struct Dice(Xoshiro256PlusPlus);

impl Dice {
    /// Stream `stream` of trip `seed`: what it is for, so that one thing does not shift another.
    pub fn new(seed: u64, stream: u64) -> Dice {
        Dice(Xoshiro256PlusPlus::seed_from_u64(
            seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ stream.wrapping_mul(0xd1b5_4a32_d192_ed03),
        ))
    }

    /// Chance of its own that leaves this stream where it is.
    pub fn aside(&self) -> Dice {
        Dice::new(self.clone().0.next_u64(), 5)
    }

    /// Uniform in `[0, 1)`.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Uniform in `[low, high)`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Happens with probability `share`.
    pub fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// Standard normal (Box-Muller).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// Around 1, with `spread` as the standard deviation of its logarithm.
    pub fn factor(&mut self, spread: f64) -> f64 {
        (spread * self.normal()).exp()
    }

    /// Poisson (Knuth), for small means.
    pub fn count(&mut self, mean: f64) -> usize {
        let (bar, mut product, mut n) = ((-mean).exp(), self.unit(), 0);
        while product > bar {
            product *= self.unit();
            n += 1;
        }
        n
    }

    /// One of the choices.
    pub fn pick<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[(self.unit() * choices.len() as f64) as usize]
    }
}
