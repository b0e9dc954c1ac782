//! One life's luck: what it draws of levels, coefficients and habits, and its streams of chance.
//!
//! Every life has a stream per purpose, seeded by (seed, life, purpose). Two plans that differ
//! in one habit therefore share every other draw, and the answer does not depend on how lives
//! are spread over threads.

use crate::belief::{Beliefs, UNLOGGED_SHARE};
use crate::domain::estimate::Estimate;
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, Gamma, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

/// A stream of chance.
pub type Stream = Xoshiro256PlusPlus;

/// Purposes of streams; activities follow from [`ACTIVITY`] on.
pub const BELIEF: u64 = 0;
/// Weather of a life.
pub const WEATHER: u64 = 1;
/// Day-to-day swing of base use.
pub const BASE: u64 = 2;
/// First activity's stream.
pub const ACTIVITY: u64 = 16;

/// The stream of a life for a purpose.
pub fn stream(seed: u64, life: usize, purpose: u64) -> Stream {
    // Odd multipliers spread the three numbers over the seed; the generator's own seeding mixes.
    let mixed = seed
        .wrapping_mul(0x9E37_79B9_7F4A_7C15)
        .wrapping_add((life as u64).wrapping_mul(0xD1B5_4A32_D192_ED03))
        .wrapping_add(purpose.wrapping_mul(0x8CB9_2BA7_2F3D_8DD7));
    Stream::seed_from_u64(mixed)
}

/// What one life believes.
#[derive(Debug, Clone, PartialEq)]
pub struct LifeDraw {
    /// Level per stock now.
    pub levels: Vec<f64>,
    /// Value per coefficient.
    pub coefficients: Vec<f64>,
    /// True daily occurrences per activity, per person or per van, in sizes of one occurrence.
    pub rates: Vec<f64>,
}

/// Draws lives from beliefs.
#[derive(Debug)]
pub struct Drawer<'a> {
    beliefs: &'a Beliefs,
    /// Lower Cholesky factor of the joint belief.
    factor: Vec<f64>,
    /// Cumulative weights of the electric draws.
    cumulative: Vec<f64>,
    habits: Vec<Option<Gamma<f64>>>,
    seed: u64,
}

impl<'a> Drawer<'a> {
    /// Prepares what all lives need.
    pub fn of(beliefs: &'a Beliefs, seed: u64) -> Drawer<'a> {
        let mut sum = 0.0;
        let cumulative = beliefs.electric.iter().map(|d| {
            sum += d.weight;
            sum
        });
        Drawer {
            factor: beliefs.joint.factor(),
            cumulative: cumulative.collect(),
            habits: beliefs
                .habits
                .iter()
                .map(|h| Gamma::new(h.shape, 1.0 / h.exposure).ok())
                .collect(),
            beliefs,
            seed,
        }
    }

    /// Draws one life. Lives come in mirrored pairs: the odd one of a pair uses the even one's
    /// normal draws with their signs turned, which takes most of the chance out of the middle.
    pub fn life(&self, life: usize) -> LifeDraw {
        let mut random = stream(self.seed, life / 2, BELIEF);
        let sign = if life.is_multiple_of(2) { 1.0 } else { -1.0 };
        let joint = &self.beliefs.joint;
        let n = joint.size();
        let normals: Vec<f64> = (0..n)
            .map(|_| sign * Distribution::<f64>::sample(&StandardNormal, &mut random))
            .collect();
        let drawn = |i: usize| {
            let row = &self.factor[i * n..i * n + i + 1];
            joint.mean(i) + row.iter().zip(&normals).map(|(l, z)| l * z).sum::<f64>()
        };
        let mechanism = &self.beliefs.mechanism;
        let stocks = mechanism.stocks();
        let mut levels: Vec<f64> =
            (0..stocks.len()).map(|i| drawn(i).clamp(0.0, stocks[i].capacity)).collect();
        let mut coefficients: Vec<f64> = mechanism
            .coefficients
            .iter()
            .enumerate()
            .map(|(i, c)| c.sensible(drawn(stocks.len() + i)))
            .collect();
        self.put_electric(life, &mut levels, &mut coefficients);
        let rates = self
            .habits
            .iter()
            .zip(&self.beliefs.habits)
            .map(|(gamma, habit)| {
                let rate = match gamma {
                    Some(gamma) => gamma.sample(&mut random),
                    None => habit.shape / habit.exposure,
                };
                rate / (1.0 - UNLOGGED_SHARE)
            })
            .collect();
        LifeDraw { levels, coefficients, rates }
    }

    /// Takes the electric part from one of the weighted draws, chosen evenly over the lives.
    fn put_electric(&self, life: usize, levels: &mut [f64], coefficients: &mut [f64]) {
        let (Some(electric), false) = (self.beliefs.mechanism.electric, self.cumulative.is_empty())
        else {
            return;
        };
        // Multiples of the golden ratio are spread evenly over the unit interval.
        let even = (life as f64 * 0.618_033_988_749_894_9).fract();
        let index = self.cumulative.partition_point(|c| *c < even).min(self.cumulative.len() - 1);
        let draw = &self.beliefs.electric[index];
        levels[electric] = draw.level_wh;
        for (i, coefficient) in self.beliefs.mechanism.coefficients.iter().enumerate() {
            if coefficient.electric_only {
                coefficients[i] = draw.coefficients[i];
            }
        }
    }
}

/// A countdown to the next occurrence of a habit, measured in expected occurrences.
///
/// Gaps are Gamma-distributed with mean 1 and variance `1 / order`: order 1 is random (Poisson),
/// higher orders are regular, and the count over many days has that variance over mean.
#[derive(Debug, Clone)]
pub struct Countdown {
    left: f64,
    order: u32,
    random: Stream,
}

impl Countdown {
    /// Starts somewhere within a gap, as an observer who comes at any moment would find it.
    pub fn start(fano: f64, mut random: Stream) -> Countdown {
        let order = (1.0 / fano).round().clamp(1.0, 6.0) as u32;
        // The gap that an observer falls into is longer than usual: Gamma of one order more.
        let whole = gap(order + 1, &mut random) * f64::from(order + 1) / f64::from(order);
        let left = whole * random.random::<f64>();
        Countdown { left, order, random }
    }

    /// What is left until the next occurrence, in expected occurrences.
    pub fn left(&self) -> f64 {
        self.left
    }

    /// Lets `expected` occurrences' worth of time pass without one.
    pub fn pass(&mut self, expected: f64) {
        self.left -= expected;
    }

    /// Goes on to the next occurrence and returns this one's relative size, around 1.
    pub fn occur(&mut self, spread: f64) -> f64 {
        self.left += gap(self.order, &mut self.random);
        let z: f64 = StandardNormal.sample(&mut self.random);
        (1.0 + spread * z).max(0.1)
    }
}

/// A Gamma draw of integer order with mean 1: the mean of that many exponential draws.
fn gap(order: u32, random: &mut Stream) -> f64 {
    let product: f64 = (0..order).map(|_| 1.0 - random.random::<f64>()).product();
    -product.ln() / f64::from(order)
}

/// A level's mean and spread from drawn lives, for tests and the dashboard.
pub fn estimate(values: impl Iterator<Item = f64> + Clone) -> Estimate {
    let n = values.clone().count().max(1) as f64;
    let mean = values.clone().sum::<f64>() / n;
    let variance = values.map(|v| (v - mean).powi(2)).sum::<f64>() / n;
    Estimate { mean, sd: variance.sqrt() }
}
