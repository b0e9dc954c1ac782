//! A charge reading corrects the draws.

use super::chance::normals;
use super::{DRAWS, Draws, Each};
use crate::domain::estimate::Estimate;
use rand::{Rng, RngExt};

/// Error of a charge reading beyond its step, as a share of capacity: from one reading to the
/// next, and for as long as the gauge is the same (a monitor's zero and capacity are set once and
/// drift). Common practice, no source.
pub(super) const READING_SD: f64 = 0.006;
const GAUGE_SD: f64 = 0.006;
/// Share of the lasting error that is still there a day later.
const KEPT: f64 = 0.85;
/// Least share of draws that live on where they are chosen between, as an effective number.
const ALIVE: f64 = 0.5;
/// How finely the evidence that may be spent is found.
const HALVINGS: usize = 12;
/// Readings farther off than this many standard deviations teach nothing.
const BELIEVABLE: f64 = 6.0;
/// How many of a gauge's own standard deviations a reading may be off and still count as foreseen.
const NEAR: f64 = 1.5;
/// Least probability of a reading.
const LEAST: f64 = 0.1;

/// How much too much the gauge shows, draw by draw, in Wh.
pub(super) struct GaugeErrors(Each);

/// The energy that a reading stands for, in Wh.
#[derive(Clone, Copy)]
pub(super) struct Reading {
    pub low: f64,
    pub high: f64,
    /// Capacity of the store.
    pub range: f64,
}

impl Reading {
    fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    /// Variance of what is read at a given level, the gauge's lasting error aside.
    fn variance(&self) -> f64 {
        (self.high - self.low).powi(2) / 12.0 + (READING_SD * self.range).powi(2)
    }
}

impl GaugeErrors {
    /// Before anything was read.
    pub fn drawn<R: Rng>(range: f64, random: &mut R) -> GaugeErrors {
        GaugeErrors(normals(random).map(|z| GAUGE_SD * range * z))
    }

    /// A day goes by: a monitor drifts, and finds its zero again when the store is full.
    pub fn drift<R: Rng>(&mut self, range: f64, random: &mut R) {
        let fresh_sd = GAUGE_SD * range * (1.0 - KEPT * KEPT).sqrt();
        for (error, z) in self.0.iter_mut().zip(normals(random)) {
            *error = KEPT * *error + fresh_sd * z;
        }
    }

    /// What each draw expects to be read: no gauge shows more than full.
    fn expected(&self, draws: &Draws, range: f64) -> Each {
        let mut values = draws.level_wh;
        for (value, error) in values.iter_mut().zip(&self.0) {
            *value = (*value + error).clamp(0.0, range);
        }
        values
    }

    /// How far a reading lies from what the draws expect of it, and the standard deviation of
    /// that.
    pub fn misfit(&self, draws: &Draws, reading: Reading) -> (f64, f64) {
        let expected = estimate(&self.expected(draws, reading.range));
        (reading.middle() - expected.mean, expected.sd.hypot(reading.variance().sqrt()))
    }

    /// How probable a reading was, or one so near that the gauge may just be off by as much. Never
    /// less than [`LEAST`]: one reading proves nothing.
    pub fn likelihood(&self, draws: &Draws, reading: Reading) -> f64 {
        let near = NEAR * GAUGE_SD.hypot(READING_SD) * reading.range;
        let foreseen = reading.low - near..=reading.high + near;
        let shown = self.expected(draws, reading.range);
        let within = |draw: usize| f64::from(u8::from(foreseen.contains(&shown[draw])));
        mean(within).clamp(LEAST, 1.0)
    }

    /// Where what was used before a reading differs between draws: whose hours each draw goes on
    /// with, so that those which foresaw the reading better are taken more often, but never fewer
    /// than [`ALIVE`] of them.
    ///
    /// Correcting draws one and all would blame a meal for a reading that was taken before it. The
    /// share of the evidence that is spent here is small, and the correction follows; after Frei
    /// and Kuensch, Bridging the ensemble Kalman and particle filters, Biometrika 100 (2013) (from
    /// memory).
    pub fn hours_taken<R: Rng>(
        &self,
        draws: &Draws,
        reading: Reading,
        random: &mut R,
    ) -> Each<usize> {
        let (read, own) = (reading.middle(), reading.variance());
        let off = |value: f64| (read - value).powi(2) / own;
        let offs: Each = self.expected(draws, reading.range).map(off);
        let least = offs.iter().copied().fold(f64::INFINITY, f64::min);
        let alive = |weights: &Each| {
            let (whole, squares) = (sum(|d| weights[d]), sum(|d| weights[d] * weights[d]));
            whole * whole / squares / DRAWS as f64
        };
        // The more is spent, the fewer live on: a quarter of the evidence, an eighth and so on are
        // spent as long as enough do. Each of these weights is the square of the next.
        let mut halves = [[0.0; DRAWS]; HALVINGS];
        let least_spent = 0.5f64.powi(HALVINGS as i32 + 1);
        halves[0] = offs.map(|off| (-0.5 * least_spent * (off - least)).exp());
        for half in 1..HALVINGS {
            halves[half] = halves[half - 1].map(|weight| weight * weight);
        }
        let mut weights = [1.0; DRAWS];
        for half in halves.iter().rev() {
            let mut spent = weights;
            spent.iter_mut().zip(half).for_each(|(weight, half)| *weight *= half);
            if alive(&spent) > ALIVE {
                weights = spent;
            }
        }
        let step = weights.iter().sum::<f64>() / DRAWS as f64;
        let mut reached = step * random.random_range(0.0..1.0);
        let (mut from, mut sum) = (0, weights[0]);
        std::array::from_fn(|_| {
            while sum < reached && from + 1 < DRAWS {
                from += 1;
                sum += weights[from];
            }
            reached += step;
            from
        })
    }

    /// Corrects the draws by a reading, as an ensemble: each draw moves towards what was read, and
    /// its coefficients with it as far as they go together with what it expected over all draws.
    /// The clamp at full needs no care: draws that sit there all agree, so nothing is learned from
    /// them.
    ///
    /// Evensen, The ensemble Kalman filter, Ocean Dynamics 53 (2003), equations 44 to 54 (from
    /// memory), with coefficients in logarithms, and chance correlations cut off. The gauge's own
    /// error is one more unknown, or the loads would be blamed for it, evening after evening.
    ///
    /// `taught` names the coefficients that move the store.
    pub fn pin<R: Rng>(
        &mut self,
        draws: &mut Draws,
        taught: &[usize],
        reading: Reading,
        random: &mut R,
    ) {
        let values = self.expected(draws, reading.range);
        let expected = estimate(&values);
        let (own, read) = (reading.variance(), reading.middle());
        let whole = expected.sd * expected.sd + own;
        // What each draw would have read at the level that was read.
        let seen = normals(random).map(|z| read + own.sqrt() * z);
        if (read - expected.mean).abs() / whole.sqrt() < BELIEVABLE {
            let gain = |held: &Each| gain(held, &values, expected, whole);
            let of_coefficient = |index: &usize| {
                let held = &draws.coefficients[*index];
                // What has nothing to do with the reading needs no logarithms to show it.
                if held.iter().any(|held| *held <= 0.0) || gain(held) == 0.0 {
                    return None;
                }
                Some((*index, gain(&held.map(f64::ln)))).filter(|(_, gain)| *gain != 0.0)
            };
            let gains: Vec<(usize, f64)> = taught.iter().filter_map(of_coefficient).collect();
            let of_level = gain(&draws.level_wh);
            let of_error = gain(&self.0);
            let innovations: Each = std::array::from_fn(|d| seen[d] - values[d]);
            for (index, gain) in &gains {
                for (held, innovation) in draws.coefficients[*index].iter_mut().zip(&innovations) {
                    *held *= (gain * innovation).clamp(-1.0, 1.0).exp();
                }
            }
            for (d, innovation) in innovations.iter().enumerate() {
                draws.level_wh[d] += of_level * innovation;
                self.0[d] += of_error * innovation;
            }
        } else {
            // Nothing in the model explains it: believe the gauge about the level, and learn
            // nothing.
            for (d, level_wh) in draws.level_wh.iter_mut().enumerate() {
                *level_wh = seen[d] - self.0[d];
            }
        }
        let reach = 2.0 * (READING_SD + GAUGE_SD) * reading.range;
        for level_wh in &mut draws.level_wh {
            let level = level_wh.clamp(reading.low - reach, reading.high + reach);
            *level_wh = level.clamp(0.0, reading.range);
        }
    }
}

fn estimate(values: &Each) -> Estimate {
    let mean = mean(|draw| values[draw]);
    let variance = self::mean(|draw| (values[draw] - mean).powi(2));
    Estimate { mean, sd: variance.max(0.0).sqrt() }
}

/// A mean over the draws.
#[inline(always)]
fn mean(of: impl Fn(usize) -> f64) -> f64 {
    sum(of) / DRAWS as f64
}

/// A sum over the draws, in four parts that the processor adds side by side.
#[inline(always)]
fn sum(of: impl Fn(usize) -> f64) -> f64 {
    const PARTS: usize = 4;
    const { assert!(DRAWS.is_multiple_of(PARTS)) };
    let mut parts = [0.0; PARTS];
    for n in 0..DRAWS / PARTS {
        for (part, sum) in parts.iter_mut().enumerate() {
            *sum += of(n * PARTS + part);
        }
    }
    (parts[0] + parts[1]) + (parts[2] + parts[3])
}

/// How much something that every draw holds moves per Wh of innovation; 0 where it goes together
/// with what was expected no more than chance would have it.
fn gain(held: &Each, values: &Each, expected: Estimate, whole: f64) -> f64 {
    let own = estimate(held);
    if own.sd <= 0.0 || expected.sd <= 0.0 {
        return 0.0;
    }
    let together = mean(|d| (held[d] - own.mean) * (values[d] - expected.mean));
    let least = 2.0 / (DRAWS as f64).sqrt();
    if (together / (own.sd * expected.sd)).abs() < least { 0.0 } else { together / whole }
}
