//! Seeded chance for the demo's world: one independent stream per thing that varies, so that a
//! change to one habit does not reshuffle the weather.

use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// A stream of chance.
pub struct Dice(Xoshiro256PlusPlus);

impl Dice {
    /// The stream named `label` of world `seed`.
    pub fn new(seed: u64, label: &str) -> Dice {
        // FNV-1a; only has to tell labels apart.
        let hash = label.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
        });
        Dice(Xoshiro256PlusPlus::seed_from_u64(seed ^ hash))
    }

    /// Uniform in `[0, 1)`. Own conversion: the bytes of the demo must not depend on how a
    /// library turns bits into floats.
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

    /// Normal with mean 0 and standard deviation 1 (Box-Muller).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// Around 1, with a standard deviation of its logarithm of `spread`.
    pub fn factor(&mut self, spread: f64) -> f64 {
        (spread * self.normal()).exp()
    }

    /// A random 32-bit number.
    pub fn salt(&mut self) -> u32 {
        (self.0.next_u64() >> 32) as u32
    }

    /// One of the choices.
    pub fn pick<'a, T>(&mut self, choices: &'a [T]) -> &'a T {
        &choices[(self.unit() * choices.len() as f64) as usize]
    }
}
