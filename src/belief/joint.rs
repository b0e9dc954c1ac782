//! A joint Gaussian over levels and coefficients, kept small and dense.
//!
//! Levels come first, coefficients after them. Because flows are linear in the coefficients,
//! moving a level ties it to them, and a later reading of the level teaches them all.

use super::normal;
use super::practice::{
    CUT_ANEW, GAUGE_SD, NARROW, SLIP, UNSEEN_CHANGE, UNSEEN_SERVICE, UNSEEN_TO_END,
};
use crate::domain::{Direction, Estimate};

/// Means and covariances of levels and coefficients.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    size: usize,
    mean: Vec<f64>,
    /// Row-major, symmetric, positive semidefinite up to rounding.
    covariance: Vec<f64>,
    lasted: Vec<Lasted>,
}

/// How a quantity has kept within its range since it was last read or serviced.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lasted {
    /// How probable it was that it would.
    probability: f64,
    /// How much of its law lay below the range, and above it, when it was read. A law that stands for
    /// several explanations has such tails from the start: they say nothing of lasting.
    beyond: [f64; 2],
    /// Its mean when that was last looked at.
    mean: f64,
}

impl Lasted {
    /// Since it was `mean`, for certain within its range.
    fn since(mean: f64) -> Lasted {
        Lasted { probability: 1.0, beyond: [0.0; 2], mean }
    }
}

/// How a reading fared against what was expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit {
    /// Level expected before the reading.
    pub expected: Estimate,
    /// Probability that the reading is of the level we believe in, rather than a slip of the
    /// pen or a change that nobody logged.
    pub explained: f64,
    /// Probability of the reading by all explanations together; of an exact amount, its density
    /// over a width that depends on the observation alone.
    pub likelihood: f64,
}

/// A reading of one level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Observation {
    /// Lowest level it stands for.
    pub low: f64,
    /// Highest level it stands for.
    pub high: f64,
    /// Standard deviation of the gauge's own error, on top of its step.
    pub noise_sd: f64,
    /// Range of possible levels, for readings that nothing explains.
    pub range: f64,
}

impl Joint {
    /// Independent quantities with these means and standard deviations.
    pub fn independent(estimates: &[Estimate]) -> Joint {
        let size = estimates.len();
        let mut covariance = vec![0.0; size * size];
        for (i, estimate) in estimates.iter().enumerate() {
            covariance[i * size + i] = estimate.sd * estimate.sd;
        }
        let mean: Vec<f64> = estimates.iter().map(|e| e.mean).collect();
        let lasted = mean.iter().map(|mean| Lasted::since(*mean)).collect();
        Joint { size, mean, covariance, lasted }
    }

    /// The same without some of the quantities, told by their places.
    pub(super) fn without(self, places: &[usize]) -> Joint {
        if places.is_empty() {
            return self;
        }
        let n = self.size;
        let kept: Vec<usize> = (0..n).filter(|i| !places.contains(i)).collect();
        let rows = kept.iter().flat_map(|i| kept.iter().map(move |j| i * n + j));
        let covariance = rows.map(|at| self.covariance[at]).collect();
        let mean = kept.iter().map(|i| self.mean[*i]).collect();
        let lasted = kept.iter().map(|i| self.lasted[*i]).collect();
        Joint { size: kept.len(), mean, covariance, lasted }
    }

    /// Number of quantities.
    pub fn size(&self) -> usize {
        self.size
    }

    /// Mean of quantity `i`.
    pub fn mean(&self, i: usize) -> f64 {
        self.mean[i]
    }

    /// Mean and standard deviation of quantity `i`.
    pub fn estimate(&self, i: usize) -> Estimate {
        Estimate { mean: self.mean[i], sd: self.variance(i).max(0.0).sqrt() }
    }

    /// Covariance of two quantities.
    pub(super) fn covariance(&self, i: usize, j: usize) -> f64 {
        self.covariance[i * self.size + j]
    }

    fn variance(&self, i: usize) -> f64 {
        self.covariance(i, i)
    }

    /// Quantity `i` grows by `amount`, which depends on other quantities with these slopes.
    /// None of `slopes` may name `i` itself.
    pub fn shift(&mut self, i: usize, amount: f64, slopes: &[(usize, f64)]) {
        self.mean[i] += amount;
        let n = self.size;
        for &(p, slope) in slopes {
            let (low, high) = self.covariance.split_at_mut(i.max(p) * n);
            let (lower, higher) = (&mut low[i.min(p) * n..][..n], &mut high[..n]);
            let (row, of_p) = if i < p { (lower, &*higher) } else { (higher, &*lower) };
            row.iter_mut().zip(of_p).for_each(|(cell, c)| *cell += slope * c);
        }
        // Var(i + g.p) = Var(i) + 2 g.Cov(i, p) + g.Cov(p, p).g; the row holds the first order.
        let (before, rest) = self.covariance.split_at_mut(i * n);
        let (row, behind) = rest.split_at_mut(n);
        row[i] += slopes.iter().map(|&(p, slope)| slope * row[p]).sum::<f64>();
        for (other, own) in before.chunks_exact_mut(n).zip(&*row) {
            other[i] = *own;
        }
        for (other, own) in behind.chunks_exact_mut(n).zip(&row[i + 1..]) {
            other[i] = *own;
        }
    }

    /// Independent noise along a direction: `direction` scaled by a variable of that variance.
    pub(super) fn disturb(&mut self, direction: &[(usize, f64)], variance: f64) {
        for &(i, gi) in direction {
            for &(j, gj) in direction {
                self.covariance[i * self.size + j] += variance * gi * gj;
            }
        }
    }

    /// Quantity `i` is now this, whatever it was: independent of all else.
    pub fn reset(&mut self, i: usize, to: Estimate) {
        self.lasted[i] = Lasted::since(to.mean);
        self.put(i, to, 0.0);
    }

    /// Holds quantity `i` within a range. Of a narrow law it is the mean that is moved. A wide one that
    /// nothing within the range can have becomes what is left of it inside: one whose mean lies
    /// outside, or that is wider than the room (a variance of more than `(mean - low) (high - mean)`,
    /// Bhatia and Davis, A better bound on the variance, American Mathematical Monthly 107, 2000).
    /// Neither is evidence about anything else: what lay outside may have been a service that nobody
    /// logged. Of a wide law's ties to all else only the share is kept that lay inside.
    pub fn hold(&mut self, i: usize, low: f64, high: f64) {
        let Estimate { mean, sd } = self.estimate(i);
        if sd <= NARROW * (high - low) {
            self.mean[i] = mean.clamp(low, high);
            return;
        }
        if (low..=high).contains(&mean) && sd * sd <= (mean - low) * (high - mean) {
            return;
        }
        let inside = normal::truncated(mean, sd, low, high);
        let least = sd.min(GAUGE_SD * (high - low));
        let left = Estimate { mean: inside.mean, sd: inside.variance.sqrt().max(least) };
        self.put(i, left, inside.probability.min(left.sd / sd));
    }

    /// Hears that quantity `i` has not met the end that it runs to: nobody goes on as usual without
    /// water, and says nothing of it. Where that was not to be expected, more was there, or less is
    /// used, than was thought; or somebody serviced it and did not write it down, and then nothing is
    /// learned. That was done once, so that the longer it lasts, the likelier it is. Returns the
    /// probability of it by both together.
    pub(super) fn lasted(&mut self, i: usize, runs: Direction, (low, high): (f64, f64)) -> f64 {
        let Estimate { mean, sd } = self.estimate(i);
        let (end, inside) = match runs {
            Direction::Down => (0, normal::truncated(mean, sd, low, f64::INFINITY)),
            Direction::Up => (1, normal::truncated(mean, sd, f64::NEG_INFINITY, high)),
        };
        let Lasted { probability: before, beyond: read, mean: then } = self.lasted[i];
        // A law that was cut has a tail again: it is cut anew once it has moved.
        if (mean - then).abs() < CUT_ANEW * sd {
            return 1.0;
        }
        let beyond = 1.0 - inside.probability;
        let come = (beyond - read[end]).max(0.0);
        let lasted = before * (1.0 - come / (1.0 - read[end]).max(1e-9));
        let so = lasted / (lasted + UNSEEN_SERVICE) * come / beyond.max(1e-300);
        let parts = [(so, inside.mean, inside.variance), (1.0 - so, mean, sd * sd)];
        self.settle((i, sd * sd), &parts, f64::MAX);
        self.lasted[i] = Lasted { probability: lasted, beyond: read, mean: self.mean[i] };
        (lasted + UNSEEN_SERVICE) / (before + UNSEEN_SERVICE)
    }

    /// Probability that quantity `i` lies at a level or beyond it, the way that it runs.
    pub(super) fn chance_beyond(&self, i: usize, level: (Direction, f64)) -> f64 {
        self.beyond(i, level).probability
    }

    /// Quantity `i` as far as it lies beyond a level.
    fn beyond(&self, i: usize, (runs, level): (Direction, f64)) -> normal::Truncated {
        let Estimate { mean, sd } = self.estimate(i);
        let sd = sd.max(1e-9 * level.abs()).max(1e-12);
        match runs {
            Direction::Down => normal::truncated(mean, sd, f64::NEG_INFINITY, level),
            Direction::Up => normal::truncated(mean, sd, level, f64::INFINITY),
        }
    }

    /// Hears that quantity `i` is serviced: always where it lies beyond a level, with the chance
    /// `anyway` elsewhere. Returns the probability of it.
    pub(super) fn serviced(&mut self, i: usize, level: (Direction, f64), anyway: f64) -> f64 {
        let (known, beyond) = (self.estimate(i), self.beyond(i, level));
        let all = (1.0 - anyway) * beyond.probability + anyway;
        let variance = known.sd * known.sd;
        if variance > 0.0 && all > 0.0 {
            let anyway = anyway / all;
            let parts =
                [(1.0 - anyway, beyond.mean, beyond.variance), (anyway, known.mean, variance)];
            self.settle((i, variance), &parts, f64::MAX);
        }
        all
    }

    /// Reads quantity `i` as lying in an interval. Three explanations compete: the reading is of
    /// the level we believe in; it is a slip of the pen, and nothing changes; the level changed
    /// unseen, and is what the gauge says. A single wild value moves little, a second one that
    /// agrees with it is believed.
    pub(super) fn observe(&mut self, i: usize, seen: Observation) -> Fit {
        let expected = self.estimate(i);
        let sd = expected.sd.max(seen.range * 1e-12);
        let wide = (sd * sd + seen.noise_sd * seen.noise_sd).sqrt();
        // From the noisy reading back to the level itself.
        let gain = sd * sd / (wide * wide);
        let width = (seen.high - seen.low) + 2.0 * seen.noise_sd;
        let (probability, shift, left) = match seen.high - seen.low < 0.25 * seen.noise_sd {
            // An amount, not a step: the usual update, its density taken over the same width.
            true => {
                let innovation = 0.5 * (seen.low + seen.high) - expected.mean;
                (width / wide * normal::density(innovation / wide), innovation, 0.0)
            }
            false => {
                let inside = normal::truncated(expected.mean, wide, seen.low, seen.high);
                (inside.probability, inside.mean - expected.mean, inside.variance)
            }
        };
        let read_mean = expected.mean + gain * shift;
        let read_var = sd * sd * (1.0 - gain) + gain * gain * left;

        let flat = (width / seen.range.max(1e-9)).min(1.0);
        let fits = (1.0 - SLIP - UNSEEN_CHANGE) * probability;
        // Any level is as likely as another, but for the two ends.
        let ends = [seen.low <= 0.0, seen.high >= seen.range].map(f64::from);
        let ends = UNSEEN_TO_END * ends.iter().sum::<f64>();
        let changed = UNSEEN_CHANGE * ((1.0 - 2.0 * UNSEEN_TO_END) * flat + ends);
        let slip = (SLIP * flat).max(1e-300);
        let all = fits + slip + changed;
        let middle = 0.5 * (seen.low + seen.high);
        let changed_var = (seen.high - seen.low).powi(2) / 12.0 + seen.noise_sd * seen.noise_sd;
        let read = (fits / all, read_mean, read_var);
        let parts =
            [read, (slip / all, expected.mean, sd * sd), (changed / all, middle, changed_var)];
        // What was foreseen for certain leaves nobody less sure, whatever else it might have been.
        let (least, most) = (expected.mean - 3.0 * sd, expected.mean + 3.0 * sd);
        let foreseen = seen.low <= least && most <= seen.high;
        self.settle((i, sd * sd), &parts, if foreseen { sd * sd } else { f64::MAX });
        let ends = [(Direction::Down, 0.0), (Direction::Up, seen.range)];
        let beyond = ends.map(|end| self.chance_beyond(i, end));
        self.lasted[i] = Lasted { beyond, ..Lasted::since(self.mean[i]) };
        Fit { expected, explained: read.0, likelihood: all }
    }

    /// Gives quantity `i`, whose variance is `prior`, the law of several explanations, each a
    /// probability, a mean and a variance, of a variance of at most `widest`. Only the first
    /// explanation speaks about the other quantities.
    fn settle(&mut self, (i, prior): (usize, f64), parts: &[(f64, f64, f64)], widest: f64) {
        let mean: f64 = parts.iter().map(|(w, m, _)| w * m).sum();
        let second: f64 = parts.iter().map(|(w, m, v)| w * (v + (m - mean).powi(2))).sum();
        let second = second.min(widest);
        self.learn_from(i, prior, parts[0]);
        // Ties are kept as they are when the variance grows (an unexplained reading adds doubt of
        // its own), and shrunk with it when it falls.
        let tie = (second / self.variance(i).max(1e-300)).sqrt().min(1.0);
        self.put(i, Estimate { mean, sd: second.sqrt() }, tie);
    }

    /// Rank-one update of everything but `i`, whose variance is `prior`, from how far a change of
    /// it is believed, `[0, 1]`, and from the mean and variance that it changes to.
    fn learn_from(&mut self, i: usize, prior: f64, (weight, mean, variance): (f64, f64, f64)) {
        let n = self.size;
        let slope: Vec<f64> = (0..n).map(|k| self.covariance(k, i) / prior).collect();
        let step = weight * (mean - self.mean[i]);
        let shrink = weight * (variance - prior);
        // Most quantities have nothing to do with this one.
        for (k, row) in self.covariance.chunks_mut(n).enumerate().filter(|(k, _)| slope[*k] != 0.0)
        {
            self.mean[k] += slope[k] * step;
            let own = slope[k] * shrink;
            row.iter_mut().zip(&slope).for_each(|(cell, slope)| *cell += own * slope);
        }
    }

    /// Gives quantity `i` a law of its own, and keeps the share `tie` of its covariances with all
    /// others: readings, clamps and resets all end here.
    fn put(&mut self, i: usize, law: Estimate, tie: f64) {
        let n = self.size;
        for k in 0..n {
            self.covariance[i * n + k] *= tie;
            self.covariance[k * n + i] *= tie;
        }
        self.mean[i] = law.mean;
        self.covariance[i * n + i] = law.sd * law.sd;
    }

    /// The law of mean and variance of either this one or, with that probability, another of the
    /// same quantities.
    pub(super) fn mix(&mut self, other: &Joint, share: f64) {
        let apart: Vec<f64> = other.mean.iter().zip(&self.mean).map(|(b, a)| b - a).collect();
        let between = share * (1.0 - share);
        let rows = self.covariance.chunks_mut(self.size).zip(other.covariance.chunks(self.size));
        for ((own, others), i) in rows.zip(&apart) {
            for ((own, other), j) in own.iter_mut().zip(others).zip(&apart) {
                *own += share * (other - *own) + between * i * j;
            }
        }
        self.mean.iter_mut().zip(&apart).for_each(|(mean, apart)| *mean += share * apart);
    }

    /// Lower Cholesky factor, row-major, of the covariance; directions without variance get
    /// zeros, so a certain quantity is drawn as its mean.
    pub fn factor(&self) -> Vec<f64> {
        let n = self.size;
        let mut lower = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let dot: f64 = (0..j).map(|k| lower[i * n + k] * lower[j * n + k]).sum();
                let rest = self.covariance(i, j) - dot;
                if i == j {
                    lower[i * n + i] = if rest > 1e-12 { rest.sqrt() } else { 0.0 };
                } else if lower[j * n + j] > 0.0 {
                    lower[i * n + j] = rest / lower[j * n + j];
                }
            }
        }
        lower
    }
}

#[cfg(test)]
mod tests;
