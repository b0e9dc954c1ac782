//! One life's luck: what it draws of levels, coefficients and habits, and its streams of chance.
//!
//! Every life has a stream per purpose, seeded by (seed, life, purpose). Two plans that differ
//! in one habit therefore share every other draw, and the answer does not depend on how lives
//! are spread over threads.

use super::gaps::{Gaps, HIGHEST, gaps};
use crate::belief::habit::Habit;
use crate::belief::{Beliefs, UNLOGGED_SHARE};
use crate::domain::estimate::Estimate;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use std::ops::Range;

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
    seed: u64,
}

/// What two mirrored lives share.
struct Pair {
    /// Departure of every level and coefficient from its mean.
    departures: Vec<f64>,
    /// Standard normal draw per habit.
    rates: Vec<f64>,
}

impl<'a> Drawer<'a> {
    /// Prepares what all lives need.
    pub fn of(beliefs: &'a Beliefs, seed: u64) -> Drawer<'a> {
        let mut sum = 0.0;
        let cumulative = beliefs.electric.iter().map(|d| {
            sum += d.weight;
            sum
        });
        Drawer { factor: beliefs.joint.factor(), cumulative: cumulative.collect(), beliefs, seed }
    }

    /// Draws one life. Lives come in mirrored pairs: the odd one of a pair uses the even one's
    /// normal draws with their signs turned, which takes most of the chance out of the middle.
    pub fn life(&self, life: usize) -> LifeDraw {
        self.mirrored(&self.pair(life / 2), life)
    }

    /// Draws several lives, each as [`Drawer::life`] would.
    pub fn lives(&self, lives: Range<usize>) -> Vec<LifeDraw> {
        let mut pair = self.pair(lives.start / 2);
        let mut number = lives.start / 2;
        lives
            .map(|life| {
                if life / 2 != number {
                    number = life / 2;
                    pair = self.pair(number);
                }
                self.mirrored(&pair, life)
            })
            .collect()
    }

    /// The chance that a pair of lives shares.
    fn pair(&self, number: usize) -> Pair {
        let mut random = stream(self.seed, number, BELIEF);
        let n = self.beliefs.joint.size();
        let normals: Vec<f64> = (0..n).map(|_| StandardNormal.sample(&mut random)).collect();
        let departures = (0..n).map(|i| {
            let row = &self.factor[i * n..i * n + i + 1];
            row.iter().zip(&normals).map(|(l, z)| l * z).sum()
        });
        let departures = departures.collect();
        let rates = self.beliefs.habits.iter().map(|_| StandardNormal.sample(&mut random));
        Pair { departures, rates: rates.collect() }
    }

    fn mirrored(&self, pair: &Pair, life: usize) -> LifeDraw {
        let sign = if life.is_multiple_of(2) { 1.0 } else { -1.0 };
        let joint = &self.beliefs.joint;
        let drawn = |i: usize| joint.mean(i) + sign * pair.departures[i];
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
        let rate = |(habit, z): (&Habit, &f64)| {
            gamma(habit.shape, sign * z) / habit.exposure / (1.0 - UNLOGGED_SHARE)
        };
        let rates = self.beliefs.habits.iter().zip(&pair.rates).map(rate).collect();
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

/// The chance behind one habit in one life: gaps and sizes, in expected occurrences.
///
/// Gaps are Gamma-distributed with mean 1 and variance `1 / order`: order 1 is random (Poisson),
/// higher orders are regular, and the count over many days has that variance over mean.
#[derive(Clone)]
pub struct Chance {
    gaps: &'static Gaps,
    random: Stream,
}

impl Chance {
    /// The chance of a habit whose counts have that variance over mean, and what is left until
    /// its first occurrence, as an observer who comes at any moment would find it.
    pub fn start(fano: f64, mut random: Stream) -> (Chance, f64) {
        let order = (1.0 / fano).round().clamp(1.0, f64::from(HIGHEST - 1)) as u32;
        // The gap that an observer falls into is longer than usual: Gamma of one order more.
        let bits = random.next_u64();
        let whole = gaps(order + 1).draw(bits as u32) * f64::from(order + 1) / f64::from(order);
        let left = whole * ((bits >> 32) as f64 + 0.5) / 4_294_967_296.0;
        (Chance { gaps: gaps(order), random }, left)
    }

    /// From an occurrence to the next: the gap between them, and this one's relative size.
    #[inline]
    pub fn occur(&mut self) -> (f64, f32) {
        let bits = self.random.next_u64();
        (self.gaps.draw((bits >> 32) as u32), size(bits as u32))
    }
}

/// Relative spread of one occurrence around the life's own mean. Common practice, no source.
const OCCURRENCE: f32 = 0.25;

/// The relative size of an occurrence from random bits: the sum of four even draws is as
/// bell-shaped as anybody knows showers to be, cheap, and never negative.
#[inline]
fn size(bits: u32) -> f32 {
    let pairs = (bits & 0x00FF_00FF) + (bits >> 8 & 0x00FF_00FF);
    let sum = (pairs & 0xFFFF) + (pairs >> 16);
    // Four even draws of 0 to 255 have mean 510 and standard deviation 256 / sqrt(3).
    1.0 + OCCURRENCE * 1.732_050_8 / 256.0 * (sum as f32 - 510.0)
}

/// A draw of the Gamma law with that shape and scale 1 from a standard normal one, by the cube
/// of Wilson and Hilferty, The distribution of chi-square, 1931 (from memory). Within 1 % of the
/// exact quantiles from the fifth to the ninety-fifth for shapes of 2 and more. Being monotone,
/// it lets mirrored lives mirror their habits, which an exact sampler does not.
fn gamma(shape: f64, z: f64) -> f64 {
    let spread = 1.0 / (9.0 * shape);
    shape * (1.0 - spread + z * spread.sqrt()).max(0.02).powi(3)
}

/// A level's mean and spread from drawn lives, for tests and the dashboard.
pub fn estimate(values: impl Iterator<Item = f64> + Clone) -> Estimate {
    let n = values.clone().count().max(1) as f64;
    let mean = values.clone().sum::<f64>() / n;
    let variance = values.map(|v| (v - mean).powi(2)).sum::<f64>() / n;
    Estimate { mean, sd: variance.sqrt() }
}
