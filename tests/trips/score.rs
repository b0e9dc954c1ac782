//! How a forecast is scored, as the contract has it.

/// The levels at which quantiles are given.
pub const AT: [f64; 7] = [0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95];

/// Hours after which nothing counts.
pub const CAP_H: f64 = super::trip::HORIZON as f64;

/// Seven quantiles in hours, capped at the horizon.
pub type Hours = [f64; 7];

/// Twice the pinball loss of one quantile.
pub fn pinball(level: f64, truth: f64, quantile: f64) -> f64 {
    2.0 * f64::max(level * (truth - quantile), (level - 1.0) * (truth - quantile))
}

/// CRPS in days, approximated over the seven quantiles, both sides capped at the horizon.
pub fn crps_days(truth_h: f64, hours: &Hours) -> f64 {
    let y = truth_h.min(CAP_H) / 24.0;
    let each = AT.iter().zip(hours).map(|(a, q)| pinball(*a, y, q.min(CAP_H) / 24.0));
    each.sum::<f64>() / AT.len() as f64
}

/// Sample quantiles, as good as unbiased in the middle for any law (Hyndman and Fan, Sample
/// quantiles in statistical packages, The American Statistician 50, 1996, definition 8; from
/// memory), infinite past the horizon. What lies between the ends of a small sample is narrower
/// than its law.
pub fn quantiles(mut sample: Vec<f64>) -> Hours {
    sample.sort_by(f64::total_cmp);
    AT.map(|a| {
        let count = sample.len() as f64;
        let place = (a * (count + 1.0 / 3.0) - 2.0 / 3.0).clamp(0.0, count - 1.0);
        let (below, above) = (sample[place as usize], sample[place.ceil() as usize]);
        if above.is_infinite() {
            return if place.fract() < 0.5 { below } else { above };
        }
        below + place.fract() * (above - below)
    })
}

/// Scores of many forecasts of one kind, added up.
#[derive(Clone, Default, Debug)]
pub struct Tally {
    pub count: usize,
    pub crps: f64,
    within: usize,
    inside: usize,
    below: usize,
    late: usize,
    error: f64,
    /// Logarithm of truth over the median, where both lie within the horizon.
    lean: Vec<f64>,
}

impl Tally {
    pub fn add(&mut self, truth_h: f64, hours: &Hours) {
        self.count += 1;
        self.crps += crps_days(truth_h, hours);
        self.error += (truth_h.min(CAP_H) - hours[3].min(CAP_H)).abs() / 24.0;
        self.late += usize::from(truth_h < hours[1]);
        if truth_h < CAP_H {
            self.within += 1;
            self.inside += usize::from(hours[1] <= truth_h && truth_h <= hours[5]);
            self.below += usize::from(truth_h < hours[3]);
            if hours[3] < CAP_H && truth_h > 1.0 && hours[3] > 1.0 {
                self.lean.push((truth_h / hours[3]).ln());
            }
        }
    }

    pub fn mean_crps(&self) -> f64 {
        self.crps / self.count.max(1) as f64
    }

    pub fn mean_error(&self) -> f64 {
        self.error / self.count.max(1) as f64
    }

    /// Share inside P10 to P90 among those that come within the horizon.
    pub fn coverage(&self) -> f64 {
        self.inside as f64 / self.within.max(1) as f64
    }

    /// Share, of those that come within the horizon, that come before the median.
    pub fn early(&self) -> f64 {
        self.below as f64 / self.within.max(1) as f64
    }

    /// Share that comes before the P10.
    pub fn late(&self) -> f64 {
        self.late as f64 / self.count.max(1) as f64
    }

    pub fn within(&self) -> usize {
        self.within
    }

    /// Median of log(truth / median): below 0 = things come earlier than foretold.
    pub fn lean(&self) -> f64 {
        middle(self.lean.clone())
    }
}

/// Median of a sample; NaN when there is none.
pub fn middle(mut sample: Vec<f64>) -> f64 {
    sample.sort_by(f64::total_cmp);
    sample.get(sample.len() / 2).copied().unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Status: computed (scipy, the closed form of Gneiting et al. 2005), and the identity that
    /// CRPS is twice the pinball loss averaged over all levels.
    #[test]
    fn many_quantiles_give_the_gaussian_score() {
        let rows = [
            (0.0, 0.0, 1.0, 0.233_695),
            (1.0, 0.0, 1.0, 0.602_441),
            (2.0, 0.0, 1.0, 1.452_792),
            (3.0, 0.0, 1.0, 2.436_575),
            (-1.5, 0.0, 1.0, 0.994_424),
            (5.0, 4.0, 2.0, 0.662_807),
            (12.0, 10.0, 3.0, 1.214_149),
            (0.0, 0.1, 0.4, 0.103_400),
        ];
        for (y, mean, sd, published) in rows {
            let n = 4000;
            let sum: f64 = (0..n)
                .map(|i| {
                    let level = (f64::from(i) + 0.5) / f64::from(n);
                    pinball(level, y, mean + sd * super::super::spreadsheet::normal_quantile(level))
                })
                .sum();
            let score = sum / f64::from(n);
            assert!((score - published).abs() < 2e-3 * sd, "{y} {mean} {sd}: {score}");
        }
    }

    /// Status: computed by hand (Koenker & Bassett 1978); `pinball` is twice the loss.
    #[test]
    fn pinball_examples() {
        let rows = [(0.1, 8.0, 10.0, 1.8), (0.1, 12.0, 10.0, 0.2), (0.5, 8.0, 10.0, 1.0)];
        for (level, y, q, loss) in rows.into_iter().chain([(0.9, 8.0, 10.0, 0.2)]) {
            assert!((pinball(level, y, q) - 2.0 * loss).abs() < 1e-12);
        }
        assert!((pinball(0.9, 12.0, 10.0) - 3.6).abs() < 1e-12);
    }

    /// The interval score of a 90 % interval is the two pinball losses at its ends over 0.05
    /// (Gneiting & Raftery 2007; status: computed).
    #[test]
    fn interval_examples() {
        for (y, published) in [(7.0, 4.0), (10.0, 24.0)] {
            let ends = (pinball(0.05, y, 5.0) + pinball(0.95, y, 9.0)) / 2.0;
            assert!((ends / 0.05 - published).abs() < 1e-9, "{y}");
        }
    }

    #[test]
    fn both_sides_are_capped_at_the_horizon() {
        let beyond = [f64::INFINITY; 7];
        assert_eq!(crps_days(f64::INFINITY, &beyond), 0.0);
        assert_eq!(crps_days(900.0, &beyond), 0.0);
        assert!((crps_days(480.0, &beyond) - 10.0).abs() < 1e-9);
        let mut tally = Tally::default();
        tally.add(f64::INFINITY, &beyond);
        tally.add(480.0, &beyond);
        assert_eq!((tally.within(), tally.coverage(), tally.late()), (1, 0.0, 0.5));
    }

    /// Counted by hand: a tenth of 1 to 24 lies at 24 1/3 tenths and a third, which is 2.7667, and
    /// nine tenths as far from the other end. Over many samples of 24 of a normal law the two are
    /// as far apart as the law's own, where the usual rule's are 8 % nearer.
    #[test]
    fn quantiles_of_few_are_as_far_apart_as_those_of_many() {
        let q = quantiles((1..=24).map(f64::from).collect());
        assert!((q[1] - 2.766_667).abs() < 1e-6 && (q[5] - 22.233_333).abs() < 1e-6, "{q:?}");
        let mut dice = super::super::dice::Dice::new(1, 1);
        let mut width = 0.0;
        for _ in 0..4000 {
            let q = quantiles((0..24).map(|_| dice.normal()).collect());
            width += (q[5] - q[1]) / 4000.0;
        }
        assert!((width / (2.0 * 1.281_552) - 1.0).abs() < 0.02, "{width}");
    }

    #[test]
    fn quantiles_past_the_horizon_stay_there() {
        let q = quantiles(vec![10.0, 20.0, 30.0, f64::INFINITY, f64::INFINITY]);
        assert_eq!(q[3], 30.0);
        assert!(q[5].is_infinite());
    }
}
