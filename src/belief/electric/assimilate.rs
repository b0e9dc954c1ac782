//! A charge reading corrects the ensemble.
//!
//! This is an ensemble Kalman filter with perturbed observations (Evensen, The ensemble Kalman
//! filter, Ocean Dynamics 53, 2003, equations 44 to 54; from memory), in logarithms of the
//! coefficients and with chance correlations cut off. The gauge's lasting error is one more
//! unknown of the state. Where members differ in when something was used, a small share of the
//! evidence is first spent on choosing between them, as a particle filter does (Frei and Kuensch,
//! Bridging the ensemble Kalman and particle filters, Biometrika 100, 2013; from memory). The
//! members all weigh the same throughout.

use super::ensemble::Ensemble;
use super::members::{MEMBERS, PerMember, estimate, mean, normals, sum};
use crate::belief::evidence::Innovation;
use crate::belief::practice::{
    ALIVE, BELIEVABLE, GAUGE_BIAS_SD, GAUGE_NOISE_SD, LEAST_LIKELIHOOD, NEAR,
};
use crate::domain::{Estimate, Moment};
use pulp::Arch;
use rand::{Rng, RngExt};
use std::ops::RangeInclusive;

/// How finely the share of the evidence is found that may be spent on choosing.
const HALVINGS: usize = 12;

/// The energy that a reading stands for, in Wh.
#[derive(Clone, Copy)]
pub(super) struct EnergyReading {
    pub at: Moment,
    pub low: f64,
    pub high: f64,
}

impl EnergyReading {
    fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    /// What one must have expected to have foreseen it: give or take what the gauge is off by.
    fn foreseen(&self, capacity_wh: f64) -> RangeInclusive<f64> {
        let near = NEAR * GAUGE_BIAS_SD.hypot(GAUGE_NOISE_SD) * capacity_wh;
        self.low - near..=self.high + near
    }
}

impl Ensemble<'_> {
    /// Variance of what is read at a given level, the gauge's lasting error aside.
    fn noise_variance(&self, reading: EnergyReading) -> f64 {
        (reading.high - reading.low).powi(2) / 12.0 + (GAUGE_NOISE_SD * self.capacity_wh).powi(2)
    }

    /// What each member expects to be read: no gauge shows more than full.
    fn expected(&self) -> PerMember {
        let mut values = self.level_wh;
        for (value, bias) in values.iter_mut().zip(&self.gauge_bias_wh) {
            *value = (*value + bias).clamp(0.0, self.capacity_wh);
        }
        values
    }

    /// How far a reading lies from what was expected of it, given the innovation `before` it.
    /// Nothing was expected of the first, so its innovation is 0.
    ///
    /// Its likelihood is the share of members that foresaw it, give or take what the gauge is
    /// off by. It is never below [`LEAST_LIKELIHOOD`]: one reading proves nothing.
    pub(super) fn innovation(
        &self,
        reading: EnergyReading,
        before: Option<&Innovation>,
    ) -> Innovation {
        let shown = self.expected();
        let expected = estimate(&shown);
        let sd = expected.sd.hypot(self.noise_variance(reading).sqrt());
        let at = reading.at;
        let Some(before) = before else {
            return Innovation { at, since: at, amount: 0.0, sd, likelihood: 1.0 };
        };
        let foreseen = reading.foreseen(self.capacity_wh);
        let within = |member: usize| f64::from(u8::from(foreseen.contains(&shown[member])));
        let likelihood = mean(within).clamp(LEAST_LIKELIHOOD, 1.0);
        let amount = reading.middle() - expected.mean;
        Innovation { at, since: before.at, amount, sd, likelihood }
    }

    /// Chooses between members that differ in what was used before a reading: returns each
    /// member's ancestor, the one whose hours it goes on with. Those that foresaw the reading
    /// better are taken more often, but an effective share of [`ALIVE`] is kept.
    ///
    /// Without it, a meal would be blamed for a reading that was taken before it.
    pub(super) fn resample<R: Rng>(
        &self,
        reading: EnergyReading,
        random: &mut R,
    ) -> PerMember<usize> {
        let weights = Arch::new().dispatch(
            #[inline(always)]
            || self.weights(reading),
        );
        ancestors(&weights, random.random_range(0.0..1.0))
    }

    /// How much of each member lives on.
    #[inline(always)]
    fn weights(&self, reading: EnergyReading) -> PerMember {
        let (read, variance) = (reading.middle(), self.noise_variance(reading));
        let squares = self.expected().map(|value: f64| (read - value).powi(2) / variance);
        let least = squares.iter().copied().fold(f64::INFINITY, f64::min);
        let alive = |weights: &PerMember| {
            let (whole, squares) = (sum(|m| weights[m]), sum(|m| weights[m] * weights[m]));
            whole * whole / squares / MEMBERS as f64
        };
        // The more is spent, the fewer live on: a quarter of the evidence, an eighth and so on are
        // spent as long as enough do. Each of these weights is the square of the next.
        let mut halves = [[0.0; MEMBERS]; HALVINGS];
        let least_spent = 0.5f64.powi(HALVINGS as i32 + 1);
        halves[0] = squares.map(|square| (-0.5 * least_spent * (square - least)).exp());
        for half in 1..HALVINGS {
            halves[half] = halves[half - 1].map(|weight| weight * weight);
        }
        let mut weights = [1.0; MEMBERS];
        for half in halves.iter().rev() {
            let mut spent = weights;
            spent.iter_mut().zip(half).for_each(|(weight, half)| *weight *= half);
            if alive(&spent) > ALIVE {
                weights = spent;
            }
        }
        weights
    }

    /// Corrects all members by a reading: each moves towards what it would have read at the
    /// level that was read, and its coefficients with it, as far as they go together with what
    /// was expected over all members. Members that sit at full all expect the same, so nothing
    /// is learned from them.
    pub(super) fn assimilate<R: Rng>(&mut self, reading: EnergyReading, random: &mut R) {
        Arch::new().dispatch(
            #[inline(always)]
            || self.assimilate_wide(reading, random),
        );
    }

    #[inline(always)]
    fn assimilate_wide<R: Rng>(&mut self, reading: EnergyReading, random: &mut R) {
        let shown = self.expected();
        let expected = estimate(&shown);
        let (own, read) = (self.noise_variance(reading), reading.middle());
        let whole = expected.sd * expected.sd + own;
        let seen = normals(random).map(|z| read + own.sqrt() * z);
        if (read - expected.mean).abs() / whole.sqrt() < BELIEVABLE {
            let gain = |held: &PerMember| gain(held, &shown, expected, whole);
            let (of_level, of_bias) = (gain(&self.level_wh), gain(&self.gauge_bias_wh));
            let innovations: PerMember = std::array::from_fn(|m| seen[m] - shown[m]);
            self.teach(|coefficients, taught| {
                for index in taught {
                    let held = &mut coefficients[*index];
                    // What has nothing to do with the reading needs no logarithms to show it.
                    if held.iter().any(|held| *held <= 0.0) || gain(held) == 0.0 {
                        continue;
                    }
                    let gain = gain(&held.map(f64::ln));
                    if gain != 0.0 {
                        for (held, innovation) in held.iter_mut().zip(&innovations) {
                            *held *= (gain * innovation).clamp(-1.0, 1.0).exp();
                        }
                    }
                }
            });
            for (m, innovation) in innovations.iter().enumerate() {
                self.level_wh[m] += of_level * innovation;
                self.gauge_bias_wh[m] += of_bias * innovation;
            }
        } else {
            // Nothing in the model explains it: believe the gauge about the level, and learn
            // nothing.
            self.level_wh = std::array::from_fn(|m| seen[m] - self.gauge_bias_wh[m]);
        }
        // A member may not end up where the gauge cannot have shown what it did.
        let reach = 2.0 * (GAUGE_NOISE_SD + GAUGE_BIAS_SD) * self.capacity_wh;
        for level_wh in &mut self.level_wh {
            let level = level_wh.clamp(reading.low - reach, reading.high + reach);
            *level_wh = level.clamp(0.0, self.capacity_wh);
        }
    }
}

/// Systematic resampling (Carpenter, Clifford and Fearnhead, 1999; from memory): from weights and
/// one number of chance from 0 to 1, which member each place is taken from.
fn ancestors(weights: &PerMember, chance: f64) -> PerMember<usize> {
    let step = weights.iter().sum::<f64>() / MEMBERS as f64;
    let mut reached = step * chance;
    let (mut from, mut sum) = (0, weights[0]);
    std::array::from_fn(|_| {
        while sum < reached && from + 1 < MEMBERS {
            from += 1;
            sum += weights[from];
        }
        reached += step;
        from
    })
}

/// Kalman gain: how much something that every member holds moves per Wh of innovation. It is 0
/// where it goes together with what was expected no more than chance would have it.
#[inline(always)]
fn gain(held: &PerMember, shown: &PerMember, expected: Estimate, whole: f64) -> f64 {
    let own = estimate(held);
    if own.sd <= 0.0 || expected.sd <= 0.0 {
        return 0.0;
    }
    let together = mean(|m| (held[m] - own.mean) * (shown[m] - expected.mean));
    let least = 2.0 / (MEMBERS as f64).sqrt();
    if (together / (own.sd * expected.sd)).abs() < least { 0.0 } else { together / whole }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counted by hand: a gauge that is off by 0.6 % twice over, 0.85 % of 2,000 Wh, makes 17 Wh, and
    /// NEAR times that on either side of what the gauge's step leaves open.
    #[test]
    fn a_reading_is_foreseen_on_either_side_of_what_it_says() {
        let at = "2026-03-11T20:30:00+01:00".parse().unwrap();
        let foreseen = EnergyReading { at, low: 900.0, high: 940.0 }.foreseen(2000.0);
        let near = NEAR * 2000.0 * 0.006 * 2f64.sqrt();
        let ends = (foreseen.start(), foreseen.end());
        assert!((ends.0 - (900.0 - near)).abs() < 1e-9 && (ends.1 - (940.0 + near)).abs() < 1e-9);
    }
}
