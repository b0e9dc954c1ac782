//! A joint Gaussian over levels and coefficients, kept small and dense.
//!
//! Levels come first, coefficients after them. Because flows are linear in the coefficients,
//! moving a level ties it to them, and a later reading of the level teaches them all.

use super::normal;
use super::practice::{GAUGE_SD, NARROW, SLIP, UNSEEN_CHANGE, UNSEEN_SERVICE};
use crate::domain::{Direction, Estimate};

/// Means and covariances of levels and coefficients.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    size: usize,
    mean: Vec<f64>,
    /// Row-major, symmetric, positive semidefinite up to rounding.
    covariance: Vec<f64>,
    /// How probable it was that each has lasted as long as it has since it was last read or serviced.
    lasted: Vec<f64>,
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
        let mean = estimates.iter().map(|e| e.mean).collect();
        Joint { size, mean, covariance, lasted: vec![1.0; size] }
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
        self.lasted[i] = 1.0;
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
        let (low, high) = match runs {
            Direction::Down => (low, f64::INFINITY),
            Direction::Up => (f64::NEG_INFINITY, high),
        };
        let inside = normal::truncated(mean, sd, low, high);
        let before = self.lasted[i];
        let lasted = before * inside.probability;
        self.lasted[i] = lasted;
        let so = lasted / (lasted + UNSEEN_SERVICE);
        let parts = [(so, inside.mean, inside.variance), (1.0 - so, mean, sd * sd)];
        self.settle((i, sd * sd), &parts, f64::MAX);
        (lasted + UNSEEN_SERVICE) / (before + UNSEEN_SERVICE)
    }

    /// Reads quantity `i` as lying in an interval. Three explanations compete: the reading is of
    /// the level we believe in; it is a slip of the pen, and nothing changes; the level changed
    /// unseen, and is what the gauge says. A single wild value moves little, a second one that
    /// agrees with it is believed.
    pub(super) fn observe(&mut self, i: usize, seen: Observation) -> Fit {
        self.lasted[i] = 1.0;
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
        let (slip, changed) = ((SLIP * flat).max(1e-300), UNSEEN_CHANGE * flat);
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
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn exact(value: f64, sd: f64) -> Observation {
        // Almost no slips or changes can be claimed where the range is huge.
        Observation { low: value - 1e-6, high: value + 1e-6, noise_sd: sd, range: 1e12 }
    }

    /// Counted by hand: where a has variance 4 and b has 9, a + 2 b has 4 + 4 * 9 = 40 and shares
    /// 2 * 9 = 18 with b. Then b less half of that has 9 - 18 + 40 / 4 = 1, and they share
    /// 18 - 40 / 2 = -2.
    #[test]
    fn what_moves_with_another_shares_its_doubt() {
        let parts = [Estimate { mean: 1.0, sd: 2.0 }, Estimate { mean: 5.0, sd: 3.0 }];
        let mut joint = Joint::independent(&parts);
        joint.shift(0, 10.0, &[(1, 2.0)]);
        let variance = |joint: &Joint, i| joint.estimate(i).sd.powi(2);
        assert_eq!((joint.estimate(0).mean, joint.estimate(1).mean), (11.0, 5.0));
        assert!((variance(&joint, 0) - 40.0).abs() < 1e-9, "{}", variance(&joint, 0));
        assert!((joint.covariance(0, 1) - 18.0).abs() < 1e-9, "{}", joint.covariance(0, 1));
        joint.shift(1, 0.0, &[(0, -0.5)]);
        assert!((variance(&joint, 1) - 1.0).abs() < 1e-9, "{}", variance(&joint, 1));
        assert!((joint.covariance(1, 0) + 2.0).abs() < 1e-9, "{}", joint.covariance(1, 0));
    }

    /// Nile flow, local level model: Durbin and Koopman, Time Series Analysis by State Space
    /// Methods, 2nd ed. 2012, chapter 2 (data and variances as in statsmodels' `nile`; filter
    /// values computed with statsmodels 0.15.0): a1 = 0, P1 = 1e7.
    #[test]
    fn agrees_with_a_published_kalman_filter() {
        let mut joint = Joint::independent(&[Estimate { mean: 0.0, sd: 1e7f64.sqrt() }]);
        let rows = [
            (1120.0, 1118.3115, 15076.236),
            (1160.0, 1140.1084, 7894.557),
            (963.0, 1072.3160, 5779.497),
        ];
        for (flow, mean, variance) in rows {
            joint.observe(0, exact(flow, 15099f64.sqrt()));
            let level = joint.estimate(0);
            assert!((level.mean - mean).abs() < 0.01, "{level:?} {mean}");
            assert!((level.sd * level.sd - variance).abs() / variance < 1e-3, "{level:?}");
            joint.disturb(&[(0, 1.0)], 1469.1);
        }
    }

    /// A tank's gauge: 12 L used a day, variance 9 a day, a gauge with variance 64. Our own
    /// example, computed by the textbook's recursion in numpy (status: computed).
    #[test]
    fn a_tank_gauge_is_filtered_by_the_book() {
        let mut joint = Joint::independent(&[Estimate { mean: 100.0, sd: 10.0 }]);
        let rows = [
            (90.0, 89.260_116, 40.323_699),
            (70.0, 74.100_179, 27.855_751),
            (66.0, 63.525_292, 23.387_542),
        ];
        for (read, mean, variance) in rows {
            joint.shift(0, -12.0, &[]);
            joint.disturb(&[(0, 1.0)], 9.0);
            joint.observe(0, exact(read, 8.0));
            let level = joint.estimate(0);
            assert!((level.mean - mean).abs() < 1e-3, "{level:?} {mean}");
            assert!((level.sd * level.sd - variance).abs() < 1e-3 * variance, "{level:?}");
        }
    }

    /// A reading that is only known to lie in an interval, on a gauge with an error of its own:
    /// probability, mean and variance of the level given it, by quadrature with scipy 1.17.1
    /// (`integrate.quad` of `norm.pdf` times a difference of `norm.cdf`).
    #[test]
    fn an_interval_reading_agrees_with_quadrature() {
        let rows = [
            // mean, sd, noise, low, high; mean and variance given the reading
            (40.0, 6.0, 0.8, 37.5, 62.5, 43.296_943, 16.943_553),
            (70.0, 5.0, 2.0, 50.0, 66.0, 63.862_508, 8.381_999),
            (30.0, 4.0, 1.0, 32.0, 36.0, 33.482_497, 2.039_391),
        ];
        for (mean, sd, noise_sd, low, high, given, variance) in rows {
            let mut joint = Joint::independent(&[Estimate { mean, sd }]);
            // So wide a range leaves no room for slips and unseen changes.
            joint.observe(0, Observation { low, high, noise_sd, range: 1e12 });
            let level = joint.estimate(0);
            assert!((level.mean - given).abs() < 1e-4, "{level:?} {given}");
            assert!((level.sd * level.sd - variance).abs() < 1e-4, "{level:?} {variance}");
        }
    }

    /// A reading teaches the coefficient that moved the level.
    #[test]
    fn a_reading_teaches_its_coefficients() {
        let mut joint = Joint::independent(&[
            Estimate { mean: 100.0, sd: 0.1 },
            Estimate { mean: 8.0, sd: 3.0 },
        ]);
        joint.shift(0, -80.0, &[(1, -10.0)]);
        joint.observe(0, Observation { low: 38.0, high: 42.0, noise_sd: 0.5, range: 100.0 });
        let litres = joint.estimate(1);
        // Without slips 0.13 would be left: a step of 4 L over ten showers, and the gauge's own
        // error. One reading in a hundred may be a slip, which leaves a hundredth of the first
        // variance: sqrt(0.13^2 + 3^2 / 100) = 0.33, somewhat more as this one came unexpected.
        assert!((litres.mean - 6.0).abs() < 0.15, "{litres:?}");
        assert!((0.13..0.55).contains(&litres.sd), "{litres:?}");
    }

    #[test]
    fn one_wild_reading_moves_little_and_a_second_is_believed() {
        let start = [Estimate { mean: 80.0, sd: 1.0 }, Estimate { mean: 8.0, sd: 1.0 }];
        let mut joint = Joint::independent(&start);
        joint.shift(0, -8.0, &[(1, -1.0)]);
        let wild = Observation { low: 5.0, high: 15.0, noise_sd: 0.5, range: 100.0 };
        let fit = joint.observe(0, wild);
        assert!(fit.explained < 0.01);
        assert!((joint.mean(1) - 8.0).abs() < 0.2, "the coefficient must not follow a slip");
        joint.observe(0, wild);
        joint.observe(0, wild);
        assert!((joint.mean(0) - 10.0).abs() < 4.0, "{:?}", joint.estimate(0));
    }

    /// After a fortnight of which nothing is known: as empty as can be, and hardly any wiser. The
    /// law inside is scipy 1.17.1's `truncnorm`.
    #[test]
    fn a_level_beyond_empty_is_held_within_the_tank_and_teaches_nothing() {
        let mut joint = Joint::independent(&[
            Estimate { mean: 100.0, sd: 20.0 },
            Estimate { mean: 10.0, sd: 6.0 },
        ]);
        joint.shift(0, -150.0, &[(1, -15.0)]);
        let (litres, tied) = (joint.estimate(1), joint.covariance(0, 1));
        joint.hold(0, 0.0, 110.0);
        let level = joint.estimate(0);
        assert!(
            (level.mean - 43.445_983).abs() < 1e-4 && (level.sd - 29.755_051).abs() < 1e-4,
            "{level:?}"
        );
        assert_eq!(joint.estimate(1), litres);
        assert!((joint.covariance(0, 1) - 0.252_466 * tied).abs() < 1e-4 * tied.abs());
        // Held once is held.
        let held = joint.clone();
        joint.hold(0, 0.0, 110.0);
        assert_eq!(joint, held);
    }

    proptest! {
        #[test]
        fn a_held_law_fits_into_its_room(
            mean in -500.0..500.0_f64, sd in 0.01..200.0_f64, slope in -20.0..20.0_f64,
        ) {
            let mut joint =
                Joint::independent(&[Estimate { mean, sd }, Estimate { mean: 3.0, sd: 1.0 }]);
            joint.shift(0, 0.0, &[(1, slope)]);
            let before = joint.estimate(0);
            joint.hold(0, 0.0, 90.0);
            let level = joint.estimate(0);
            let room = level.mean * (90.0 - level.mean);
            let narrow = NARROW * 90.0;
            prop_assert!((0.0..=90.0).contains(&level.mean), "{level:?}");
            prop_assert!(level.sd <= before.sd + 1e-9 && level.sd <= 45.0, "{level:?}");
            prop_assert!(level.sd * level.sd <= room.max(narrow * narrow), "{level:?}");
            // Still a law that things can have.
            prop_assert!(joint.covariance(0, 1).powi(2) <= level.sd.powi(2) * (1.0 + 1e-9));
        }

        #[test]
        fn a_reading_that_was_foreseen_never_widens(
            mean in 5.0..95.0_f64, sd in 0.05..15.0_f64, beyond in 0.0..30.0_f64,
            off in -1.0..1.0_f64, noise_sd in 0.01..5.0_f64,
        ) {
            let mut joint = Joint::independent(&[Estimate { mean, sd }]);
            let middle = mean + off * beyond;
            let half = 3.0 * sd + beyond + 1e-6;
            let (low, high) = (middle - half, middle + half);
            joint.observe(0, Observation { low, high, noise_sd, range: 100.0 });
            prop_assert!(joint.estimate(0).sd <= sd * (1.0 + 1e-9), "{:?}", joint.estimate(0));
        }
    }

    /// A tank of 35 +- 4 L less ten showers of 3.2 +- 0.8 L that has not run dry, as 63.13 % do:
    /// scipy 1.17.1's quadrature above 0 L, with 0.05 for a service that nobody wrote down.
    #[test]
    fn what_has_lasted_was_more_or_was_used_less() {
        let parts = [Estimate { mean: 35.0, sd: 4.0 }, Estimate { mean: 3.2, sd: 0.8 }];
        let mut down = Joint::independent(&parts);
        down.shift(0, -32.0, &[(1, -10.0)]);
        let mut up = down.clone();
        down.lasted(0, Direction::Down, (0.0, 110.0));
        // As much room at the end of a tank that fills.
        up.mean[0] = 87.0;
        up.lasted(0, Direction::Up, (0.0, 90.0));
        for (joint, level, shower) in [(down, 7.95063, 2.80395), (up, 82.04937, 3.59605)] {
            let found = [joint.mean(0) - level, joint.estimate(0).sd - 6.3749];
            assert!(found.iter().all(|off| off.abs() < 1e-3), "{joint:?}");
            assert!((joint.mean(1) - shower).abs() < 1e-4, "{joint:?}");
        }
    }

    #[test]
    fn what_cannot_have_lasted_was_serviced() {
        let parts = [Estimate { mean: 35.0, sd: 4.0 }, Estimate { mean: 3.2, sd: 0.1 }];
        let mut joint = Joint::independent(&parts);
        joint.shift(0, -100.0, &[(1, -31.25)]);
        let before = joint.clone();
        joint.lasted(0, Direction::Down, (0.0, 110.0));
        assert!((joint.mean(0) - before.mean(0)).hypot(joint.mean(1) - before.mean(1)) < 1e-9);
    }

    #[test]
    fn the_factor_reproduces_the_covariance() {
        let mut joint = Joint::independent(&[
            Estimate { mean: 1.0, sd: 2.0 },
            Estimate { mean: 1.0, sd: 0.0 },
            Estimate { mean: 1.0, sd: 0.5 },
        ]);
        joint.shift(0, 0.0, &[(2, 3.0)]);
        let lower = joint.factor();
        for i in 0..3 {
            for j in 0..3 {
                let product: f64 = (0..3).map(|k| lower[i * 3 + k] * lower[j * 3 + k]).sum();
                assert!((product - joint.covariance(i, j)).abs() < 1e-9);
            }
        }
    }
}
