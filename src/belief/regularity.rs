//! How regular a habit is: the variance over mean of its counts.
//!
//! A few days of counts say little of it: of twenty days of clumped counts, which come to four times
//! the variance of random ones, the half show less than three times. So it is believed as a law over
//! a few values, each as probable as the counts were to it, and each life draws one of them.
//!
//! A value is the whole process that the lives draw (`forecast::lives::renewal`). Below 1 it is every
//! so-manieth of random events: how many of them have passed since the last one is not known and is
//! carried from day to day, so that what is done every second evening shows. Above 1 counts are
//! negative binomial.

use super::practice::{FANOS, FEW_EXPECTED, HABITS_ALIKE, MOST_MISSED, STRANGE_DAY};
use libm::lgamma;

/// Variance over mean of counts: the chance of each of [`FANOS`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Regularity {
    /// In their order.
    pub chances: [f64; FANOS.len()],
}

/// What one day says of a habit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct DayCount {
    /// How much it counts, and the chance that its count is told.
    pub weight: f64,
    pub told: f64,
    pub count: f64,
    /// Person-days or van-days.
    pub exposure: f64,
    /// Share of uses that is written on such a day, as a rule.
    pub written: f64,
}

/// Of which order are the gaps of counts that vary so little: every so-manieth of random events.
pub fn order(fano: f64) -> u32 {
    (1.0 / fano).round().max(1.0) as u32
}

impl Regularity {
    /// Of weights of the values, as logarithms.
    fn weighed(logs: [f64; FANOS.len()]) -> Regularity {
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights = logs.map(|log| (log - most).exp());
        let all: f64 = weights.iter().sum();
        Regularity { chances: weights.map(|weight| weight / all) }
    }

    /// Its mean.
    pub fn mean(&self) -> f64 {
        FANOS.iter().zip(self.chances).map(|((fano, _), chance)| fano * chance).sum()
    }

    /// Which of [`FANOS`] it is in a life, from a chance in `[0, 1]`.
    pub fn drawn(&self, chance: f64) -> usize {
        let mut left = chance;
        let found = self.chances.iter().position(|own| {
            left -= own;
            left < 0.0
        });
        found.unwrap_or_else(|| self.chances.iter().rposition(|own| *own > 0.0).unwrap_or(0))
    }

    /// Where so many times more is done than was taken for what is done: the more goes unwritten, one
    /// use as likely as the next, the nearer what is written is to chance.
    pub(super) fn of_more(&self, times: f64) -> Regularity {
        let mut chances = [0.0; FANOS.len()];
        for ((fano, _), chance) in FANOS.iter().zip(self.chances) {
            share_out(1.0 + (fano - 1.0) * times, chance, &mut chances);
        }
        Regularity { chances }
    }
}

/// Adds the chance of a value to the two around it, so that it is their mean.
fn share_out(fano: f64, chance: f64, chances: &mut [f64; FANOS.len()]) {
    let above = FANOS.iter().position(|known| known.0 >= fano).unwrap_or(FANOS.len() - 1);
    let below = above.saturating_sub(1);
    let (low, high) = (FANOS[below].0, FANOS[above].0);
    let upper = if high > low { ((fano - low) / (high - low)).clamp(0.0, 1.0) } else { 1.0 };
    chances[above] += chance * upper;
    chances[below] += chance * (1.0 - upper);
}

/// How probable the counts of days are to each of [`FANOS`], as logarithms, at a rate that was fitted
/// to them, whose logarithm was believed with that precision before. That it was fitted makes
/// regular counts seem more probable than they are: the spread that the rate has with each value
/// makes up for it (Laplace's method).
pub(super) fn likelihoods(days: &[DayCount], rate: f64, precision: f64) -> [f64; FANOS.len()] {
    let counted: f64 = days.iter().map(|day| day.weight * rate * day.exposure).sum();
    FANOS.map(|(fano, _)| {
        let told = match fano <= 1.0 {
            true => in_turn(days, rate, order(fano) as usize),
            false => clumped(days, rate, fano),
        };
        told - 0.5 * (precision + counted / fano).ln()
    })
}

/// A day's weight of how probable its count was: there are days that no law foresees.
fn heard(day: &DayCount, probable: f64) -> f64 {
    day.weight * probable.max(STRANGE_DAY).ln()
}

/// The logarithm of how probable counts are, where each is the end of so many random events. What was
/// counted need not be whole, nor are then the events: the Poisson law stands for all of them.
fn in_turn(days: &[DayCount], rate: f64, order: usize) -> f64 {
    let (mut sum, even) = (0.0, 1.0 / order as f64);
    // How likely so many events have passed since the last one that counted.
    let mut passed = vec![even; order];
    for day in days {
        if rate * day.exposure <= FEW_EXPECTED {
            passed.fill(even);
            continue;
        }
        let by = day.events(rate, order);
        let of = |to: usize| {
            let ways = passed.iter().enumerate();
            ways.map(|(from, passed)| passed * by[order - 1 + to - from]).sum()
        };
        let next: Vec<f64> = (0..order).map(of).collect();
        let probable: f64 = next.iter().sum();
        sum += heard(day, probable);
        for (passed, next) in passed.iter_mut().zip(next) {
            let known = if probable > STRANGE_DAY { next / probable } else { even };
            *passed = day.told * known + (1.0 - day.told) * even;
        }
    }
    sum
}

impl DayCount {
    /// How probable its count is with so many random events, from `order - 1` fewer than those that
    /// it takes to as many more. Each count was written with the same chance, so that some more may
    /// have been done.
    fn events(&self, rate: f64, order: usize) -> Vec<f64> {
        let expected = order as f64 * rate * self.exposure / self.written;
        let first = (self.count - 1.0) * order as f64 + 1.0;
        let mut poisson = Vec::with_capacity((MOST_MISSED + 2) * order);
        let mut before: Option<f64> = None;
        for more in 0..(MOST_MISSED + 2) * order - 1 {
            let n = first + more as f64;
            before = match before {
                Some(before) => Some(before * expected / n),
                None if n < 0.0 => None,
                None => Some((n * expected.ln() - expected - lgamma(n + 1.0)).exp()),
            };
            poisson.push(before.unwrap_or(0.0));
        }
        let mut ways = self.written.powf(self.count);
        let mut sums = vec![0.0; 2 * order - 1];
        for missed in 0..=MOST_MISSED {
            for (sum, chance) in sums.iter_mut().zip(&poisson[missed * order..]) {
                *sum += ways * chance;
            }
            ways *= (1.0 - self.written) * (self.count + missed as f64 + 1.0) / (missed + 1) as f64;
        }
        sums
    }
}

/// The same of negative binomial counts.
fn clumped(days: &[DayCount], rate: f64, fano: f64) -> f64 {
    let of_day = |day: &DayCount| {
        let (mean, n) = (rate * day.exposure, day.count);
        if mean <= FEW_EXPECTED {
            return 0.0;
        }
        // A share q of counts with a variance over mean f has 1 + q (f - 1).
        let fano = 1.0 + day.written * (fano - 1.0);
        let clumps = mean / (fano - 1.0);
        let ways = lgamma(n + clumps) - lgamma(n + 1.0) - lgamma(clumps);
        heard(day, (ways - clumps * fano.ln() + n * (1.0 - 1.0 / fano).ln()).exp())
    };
    days.iter().map(of_day).sum()
}

/// What is believed of each habit of a crew, of how probable each was to its counts: what is regular
/// of a crew in one thing is so in others of its `kind`, more or less.
pub(super) fn of_crew<K: PartialEq>(habits: &[(K, [f64; FANOS.len()])]) -> Vec<Regularity> {
    let alike = alike();
    let prior = FANOS.map(|(_, share)| share.ln());
    // How probable a habit is to what its crew is like.
    let to_crew = |told: &[f64; FANOS.len()]| -> [f64; FANOS.len()] {
        std::array::from_fn(|crew| {
            let logs: [f64; FANOS.len()] =
                std::array::from_fn(|own| alike[crew][own].ln() + told[own]);
            let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            most + logs.iter().map(|log| (log - most).exp()).sum::<f64>().ln()
        })
    };
    let all: Vec<_> = habits.iter().map(|(_, told)| to_crew(told)).collect();
    let of_habit = |(number, (kind, told)): (usize, &(K, [f64; FANOS.len()]))| {
        let others = || {
            let others = habits.iter().zip(&all).enumerate();
            others.filter(|(other, (habit, _))| *other != number && habit.0 == *kind)
        };
        let crew = Regularity::weighed(std::array::from_fn(|value| {
            prior[value] + others().map(|(_, (_, told))| told[value]).sum::<f64>()
        }));
        Regularity::weighed(std::array::from_fn(|own| {
            let before: f64 = (0..FANOS.len()).map(|c| crew.chances[c] * alike[c][own]).sum();
            before.ln() + told[own]
        }))
    };
    habits.iter().enumerate().map(of_habit).collect()
}

/// How likely a habit has each value in a crew that is like another.
fn alike() -> [[f64; FANOS.len()]; FANOS.len()] {
    FANOS.map(|(crew, _)| {
        let apart = |fano: f64| (fano / crew).ln() / HABITS_ALIKE;
        let weights = FANOS.map(|(own, _)| (-0.5 * apart(own).powi(2)).exp());
        let all: f64 = weights.iter().sum();
        weights.map(|weight| weight / all)
    })
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Where nothing is left to doubt: the two values around it, so that it is their mean.
    pub fn certain(fano: f64) -> Regularity {
        let mut chances = [0.0; FANOS.len()];
        share_out(fano, 1.0, &mut chances);
        Regularity { chances }
    }

    fn days(counts: impl Iterator<Item = f64>) -> Vec<DayCount> {
        counts
            .map(|count| DayCount { weight: 1.0, told: 1.0, count, exposure: 1.0, written: 1.0 })
            .collect()
    }

    fn alone(counts: impl Iterator<Item = f64>, rate: f64) -> f64 {
        let likelihoods = likelihoods(&days(counts), rate, 1.0);
        of_crew(&[(true, likelihoods)])[0].mean()
    }

    /// Of order 1 the counts are Poisson: with a mean of 2, none, one and three in a row have
    /// e^-2, 2 e^-2 and 4/3 e^-2.
    #[test]
    fn random_counts_follow_the_poisson_law() {
        let told = in_turn(&days([0.0, 1.0, 3.0].into_iter()), 2.0, 1);
        assert!((told - ((8.0_f64 / 3.0).ln() - 6.0)).abs() < 1e-12, "{told}");
    }

    /// By hand, of every second of Poisson events with a mean of 1 each day: whoever looks stands
    /// before the first or the second as likely. No count on a day: no event (e^-1), or one if it is
    /// the first (e^-1 / 2 more), so 1.5 e^-1, and the second day starts on the second in a third
    /// of these. Then one count: from the first, two or three events (1/2 + 1/6), from the second one
    /// or two (1 + 1/2).
    #[test]
    fn what_has_passed_of_a_gap_is_carried_on() {
        let told = in_turn(&days([0.0, 1.0].into_iter()), 0.5, 2);
        let (first, second) = (0.5, 0.5 + 0.5);
        let by_hand = (first * (0.5 + 1.0 / 6.0) + second * 1.5) * (-2.0_f64).exp();
        assert!((told - by_hand.ln()).abs() < 1e-12, "{told} and {}", by_hand.ln());
    }

    /// Negative binomial counts with a mean of 1 and a variance of 2 are geometric: 1/2, 1/4, 1/8.
    #[test]
    fn clumped_counts_follow_the_negative_binomial_law() {
        let told = clumped(&days([0.0, 1.0, 2.0].into_iter()), 1.0, 2.0);
        assert!((told - (1.0_f64 / 64.0).ln()).abs() < 1e-12, "{told}");
    }

    /// What is done every second day varies by as much from day to day as a coin, but two days have
    /// it once; what is done for twelve days on end and then not is clumped.
    #[test]
    fn what_is_done_every_second_day_is_regular() {
        let in_turn = alone((0..24).map(|day| f64::from(day % 2)), 0.5);
        let coin = [1, 1, 0, 0, 1, 0, 1, 1, 1, 0, 0, 0, 0, 1, 0, 1, 1, 0, 0, 1, 0, 0, 1, 1];
        let coin = alone(coin.into_iter().map(f64::from), 0.5);
        let clumped = alone((0..24).map(|day| if day % 6 == 0 { 3.0 } else { 0.0 }), 0.5);
        assert!(in_turn < 0.35 && in_turn < 0.7 * coin && coin < 1.0, "{in_turn} {coin}");
        assert!(clumped > 1.5, "{clumped}");
    }

    /// By hand, of Poisson events with a mean of 2, half of which are written: none and none, one that
    /// was missed (1/2 of 2), or two (1/4 of 2); and one written and as many missed, of 2, 2 and 4/3
    /// (one in two ways, then one in three): 1, 1 and 1/2, in e^-2.
    #[test]
    fn what_was_missed_is_thought_of() {
        let half = DayCount { weight: 1.0, told: 1.0, count: 0.0, exposure: 1.0, written: 0.5 };
        let by_hand = (-2.0_f64).exp() * (1.0 + 1.0 + 0.5);
        assert!((half.events(1.0, 1)[0] - by_hand).abs() < 1e-12);
        let told = in_turn(&[DayCount { count: 1.0, ..half }], 1.0, 1);
        assert!((told - by_hand.ln()).abs() < 1e-12, "{told}");
    }

    /// By hand: half of counts that vary four times as much as random ones have 1 + 3/2 of that; twice as
    /// many as these have 4 again. Of counts with 0.7, two in three have 1 - 0.3 / 1.5.
    #[test]
    fn what_is_written_is_nearer_to_chance() {
        assert!((certain(2.5).of_more(2.0).mean() - 4.0).abs() < 1e-12);
        assert!((certain(0.8).of_more(1.5).mean() - 0.7).abs() < 1e-12);
        for fano in [0.2, 0.3, 0.55, 0.7, 0.9, 1.0, 3.3] {
            assert!((certain(fano).mean() - fano).abs() < 1e-12, "{fano}");
        }
        assert!((certain(0.01).mean() - FANOS[0].0).abs() < 1e-12);
    }

    /// A habit of which nothing was counted is like the others of its crew, and each of them is told
    /// more of by the others than alone.
    #[test]
    fn habits_of_a_crew_are_alike() {
        let every_day = likelihoods(&days((0..12).map(|_| 1.0)), 1.0, 1.0);
        let of = of_crew(&[
            (true, every_day),
            (true, every_day),
            (true, [0.0; FANOS.len()]),
            (false, [0.0; FANOS.len()]),
        ]);
        let (own, unknown, other_kind) = (of[0].mean(), of[2].mean(), of[3].mean());
        assert!(own < of_crew(&[(true, every_day)])[0].mean());
        assert!(own < unknown && unknown < other_kind, "{own} {unknown} {other_kind}");
    }

    /// Counted by hand: of a third and two thirds, the first is drawn below a third.
    #[test]
    fn chance_draws_each_as_often_as_it_is_believed() {
        let mut chances = [0.0; FANOS.len()];
        (chances[1], chances[6]) = (1.0 / 3.0, 2.0 / 3.0);
        let law = Regularity { chances };
        let drawn = [0.0, 0.33, 0.34, 0.999_999, 1.0].map(|chance| law.drawn(chance));
        assert_eq!(drawn, [1, 1, 6, 6, 6]);
    }
}
