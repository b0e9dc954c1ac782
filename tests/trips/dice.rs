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

    /// A count of this mean whose variance is `spread` times its mean: Poisson for 1; above it a
    /// Poisson count of a mean that is itself drawn, from a Gamma law (the negative binomial).
    pub fn counted(&mut self, mean: f64, spread: f64) -> usize {
        if spread <= 1.0 || mean <= 0.0 {
            return self.count(mean);
        }
        let mean = (spread - 1.0) * self.gamma(mean / (spread - 1.0));
        self.count(mean)
    }

    /// Gamma of this shape and scale 1 (Marsaglia and Tsang 2000, from memory).
    fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let lift = (1.0 - self.unit()).powf(1.0 / shape);
            return lift * self.gamma(shape + 1.0);
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && (1.0 - self.unit()).ln() < 0.5 * x * x + d * (1.0 - v + v.ln()) {
                return d * v;
            }
        }
    }

    /// One of the choices.
    pub fn pick<T: Copy>(&mut self, choices: &[T]) -> T {
        choices[(self.unit() * choices.len() as f64) as usize]
    }
}
