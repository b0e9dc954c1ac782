//! A charge reading corrects the draws.

use super::Draw;
use crate::domain::estimate::Estimate;
use rand::{Rng, RngExt};
use rand_distr::{Distribution, StandardNormal};

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
pub(super) struct GaugeErrors(Vec<f64>);

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
    pub fn drawn<R: Rng>(count: usize, range: f64, random: &mut R) -> GaugeErrors {
        let mut normal = || -> f64 { StandardNormal.sample(random) };
        GaugeErrors((0..count).map(|_| GAUGE_SD * range * normal()).collect())
    }

    /// A day goes by: a monitor drifts, and finds its zero again when the store is full.
    pub fn drift<R: Rng>(&mut self, range: f64, random: &mut R) {
        let fresh_sd = GAUGE_SD * range * (1.0 - KEPT * KEPT).sqrt();
        for error in &mut self.0 {
            let z: f64 = StandardNormal.sample(random);
            *error = KEPT * *error + fresh_sd * z;
        }
    }

    /// What each draw expects to be read: no gauge shows more than full.
    fn expected(&self, draws: &[Draw], range: f64) -> Vec<f64> {
        let each = draws.iter().zip(&self.0);
        each.map(|(draw, error)| (draw.level_wh + error).clamp(0.0, range)).collect()
    }

    /// How far a reading lies from what the draws expect of it, and the standard deviation of
    /// that.
    pub fn misfit(&self, draws: &[Draw], reading: Reading) -> (f64, f64) {
        let expected = estimate(draws, &self.expected(draws, reading.range));
        (reading.middle() - expected.mean, expected.sd.hypot(reading.variance().sqrt()))
    }

    /// How probable a reading was, or one so near that the gauge may just be off by as much. Never
    /// less than [`LEAST`]: one reading proves nothing.
    pub fn likelihood(&self, draws: &[Draw], reading: Reading) -> f64 {
        let near = NEAR * GAUGE_SD.hypot(READING_SD) * reading.range;
        let foreseen = reading.low - near..=reading.high + near;
        let shown = self.expected(draws, reading.range);
        let within = |draw: usize| match foreseen.contains(&shown[draw]) {
            true => draws[draw].weight,
            false => 0.0,
        };
        sum(draws, within).clamp(LEAST, 1.0)
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
        draws: &[Draw],
        reading: Reading,
        random: &mut R,
    ) -> Vec<usize> {
        let (read, own) = (reading.middle(), reading.variance());
        let off = |value: f64| (read - value).powi(2) / own;
        let offs: Vec<f64> = self.expected(draws, reading.range).into_iter().map(off).collect();
        let least = offs.iter().copied().fold(f64::INFINITY, f64::min);
        let alive = |weights: &[f64]| {
            let (sum, squares) = weights.iter().fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
            sum * sum / squares / weights.len() as f64
        };
        // The more is spent, the fewer live on: a quarter of the evidence, an eighth and so on are
        // spent as long as enough do. Each of these weights is the square of the next.
        let mut halves: Vec<Vec<f64>> = Vec::with_capacity(HALVINGS);
        let least_spent = 0.5f64.powi(HALVINGS as i32 + 1);
        halves.push(offs.iter().map(|off| (-0.5 * least_spent * (off - least)).exp()).collect());
        while halves.len() < HALVINGS {
            let squared = halves[halves.len() - 1].iter().map(|weight| weight * weight);
            halves.push(squared.collect());
        }
        let mut weights = vec![1.0; offs.len()];
        for half in halves.iter().rev() {
            let spent: Vec<f64> = weights.iter().zip(half).map(|(w, half)| w * half).collect();
            if alive(&spent) > ALIVE {
                weights = spent;
            }
        }
        let step = weights.iter().sum::<f64>() / weights.len() as f64;
        let mut reached = step * random.random_range(0.0..1.0);
        let (mut from, mut sum) = (0, weights[0]);
        (0..weights.len())
            .map(|_| {
                while sum < reached && from + 1 < weights.len() {
                    from += 1;
                    sum += weights[from];
                }
                reached += step;
                from
            })
            .collect()
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
        draws: &mut [Draw],
        taught: &[usize],
        reading: Reading,
        random: &mut R,
    ) {
        let values = self.expected(draws, reading.range);
        let expected = estimate(draws, &values);
        let (own, read) = (reading.variance(), reading.middle());
        let whole = expected.sd * expected.sd + own;
        if (read - expected.mean).abs() / whole.sqrt() < BELIEVABLE {
            let gains: Vec<(usize, f64)> = taught
                .iter()
                .filter(|index| draws.iter().all(|draw| draw.coefficients[**index] > 0.0))
                .map(|index| {
                    let held: Vec<f64> = draws.iter().map(|d| d.coefficients[*index]).collect();
                    // What has nothing to do with the reading needs no logarithms to show it.
                    let gain = match gain(draws, &held, &values, expected, whole) == 0.0 {
                        true => 0.0,
                        false => {
                            let logs: Vec<f64> = held.iter().map(|held| held.ln()).collect();
                            gain(draws, &logs, &values, expected, whole)
                        }
                    };
                    (*index, gain)
                })
                .filter(|(_, gain)| *gain != 0.0)
                .collect();
            let levels: Vec<f64> = draws.iter().map(|draw| draw.level_wh).collect();
            let of_level = gain(draws, &levels, &values, expected, whole);
            let of_error = gain(draws, &self.0, &values, expected, whole);
            for ((draw, value), error) in draws.iter_mut().zip(&values).zip(&mut self.0) {
                let z: f64 = StandardNormal.sample(random);
                let innovation = read + own.sqrt() * z - value;
                for (index, gain) in &gains {
                    draw.coefficients[*index] *= (gain * innovation).clamp(-1.0, 1.0).exp();
                }
                draw.level_wh += of_level * innovation;
                *error += of_error * innovation;
            }
        } else {
            // Nothing in the model explains it: believe the gauge about the level, and learn
            // nothing.
            for (draw, error) in draws.iter_mut().zip(&self.0) {
                let z: f64 = StandardNormal.sample(random);
                draw.level_wh = read + own.sqrt() * z - error;
            }
        }
        let reach = 2.0 * (READING_SD + GAUGE_SD) * reading.range;
        for draw in draws.iter_mut() {
            let level = draw.level_wh.clamp(reading.low - reach, reading.high + reach);
            draw.level_wh = level.clamp(0.0, reading.range);
        }
    }
}

fn estimate(draws: &[Draw], values: &[f64]) -> Estimate {
    let mean = sum(draws, |draw| draws[draw].weight * values[draw]);
    let variance = sum(draws, |draw| draws[draw].weight * (values[draw] - mean).powi(2));
    Estimate { mean, sd: variance.max(0.0).sqrt() }
}

/// A sum over the draws, in four parts that the processor adds side by side.
#[inline(always)]
fn sum(draws: &[Draw], of: impl Fn(usize) -> f64) -> f64 {
    let mut parts = [0.0; 4];
    let whole = draws.len() / 4 * 4;
    for begin in (0..whole).step_by(4) {
        for (part, sum) in parts.iter_mut().enumerate() {
            *sum += of(begin + part);
        }
    }
    let rest: f64 = (whole..draws.len()).map(&of).sum();
    (parts[0] + parts[1]) + (parts[2] + parts[3]) + rest
}

/// How much something that every draw holds moves per Wh of innovation; 0 where it goes together
/// with what was expected no more than chance would have it.
fn gain(draws: &[Draw], held: &[f64], values: &[f64], expected: Estimate, whole: f64) -> f64 {
    let own = estimate(draws, held);
    if own.sd <= 0.0 || expected.sd <= 0.0 {
        return 0.0;
    }
    let together = sum(draws, |draw| {
        draws[draw].weight * (held[draw] - own.mean) * (values[draw] - expected.mean)
    });
    let least = 2.0 / (draws.len() as f64).sqrt();
    if (together / (own.sd * expected.sd)).abs() < least { 0.0 } else { together / whole }
}
