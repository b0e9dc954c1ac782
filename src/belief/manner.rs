//! What is learned of a crew's days, and of how it writes them down.
//!
//! The joint belief holds four numbers behind its levels and coefficients. Gauges teach three of them
//! as they teach any coefficient: uses that nobody wrote move all stocks at once, so does a day on
//! which all were out, and so do the hours of the day at which things are done, where a service or
//! a reading parts it. The share of days without a word is counted (`past::days`).

use super::joint::Joint;
use super::past::Past;
use super::practice::{
    AT_HOME, COMMON_DAY_SD, DAY_SPREADS, LATER_SD, OUTGOING, OWN_DAY_SD, UNLOGGED_SD,
    UNLOGGED_SHARE, UNTOLD_DAYS,
};
use crate::domain::Estimate;

/// What is used without being written, over what is written, before any journal: mean and
/// standard deviation.
pub(super) const UNWRITTEN: (f64, f64) = (UNLOGGED_SHARE / (1.0 - UNLOGGED_SHARE), UNLOGGED_SD);

/// A number of the joint belief that is neither a level nor a coefficient.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MannerNumber {
    /// What is used without being written, over what is written, on days on which uses are told.
    Unwritten,
    /// Share of the days without a told use that were lived at home as usual; all were out on
    /// the others.
    AtHome,
    /// Share of days without a told use that were not idle.
    Untold,
    /// How much later in the day than the rig's hours say the crew does things: log odds of an hour
    /// against the one seven hours before it. It matters where a service or a reading parts a day.
    Later,
}

/// How many they are.
const LEARNED: usize = 4;

impl MannerNumber {
    /// Its place in a joint belief of so many quantities.
    pub fn place(self, size: usize) -> usize {
        size - LEARNED + self as usize
    }
}

/// What is learned of a crew's days and of its writing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Manner {
    /// As [`MannerNumber::Unwritten`]; at least 0.
    pub unwritten: Estimate,
    /// As [`MannerNumber::AtHome`], `[0, 1]`.
    pub at_home: Estimate,
    /// As [`MannerNumber::Untold`], `[0, 1]`.
    pub untold: Estimate,
    /// As [`MannerNumber::Later`].
    pub later: Estimate,
    /// How much one day's base use differs from another's, over what is usual of crews.
    pub day_spread: f64,
}

impl Manner {
    /// Before any journal.
    pub const PRIOR: Manner = Manner {
        unwritten: Estimate { mean: UNWRITTEN.0, sd: UNWRITTEN.1 },
        at_home: Estimate { mean: AT_HOME.0, sd: AT_HOME.1 },
        untold: Estimate { mean: 0.0, sd: 0.0 },
        later: Estimate { mean: 0.0, sd: LATER_SD },
        day_spread: 1.0,
    };

    /// What is assumed of a crew before any journal, its days without uses included.
    pub const ASSUMED: Manner = Manner {
        at_home: Estimate {
            mean: AT_HOME.0 + OUTGOING.2 * (OUTGOING.0 - AT_HOME.0),
            sd: 0.5 * (AT_HOME.0 - OUTGOING.0),
        },
        untold: Estimate { mean: UNTOLD_DAYS.0, sd: 0.5 * UNTOLD_DAYS.0 },
        ..Manner::PRIOR
    };

    /// Before a past is replayed: of it, only its days were counted.
    pub(super) fn before(past: &Past) -> Manner {
        Manner { untold: past.days.untold, ..Manner::PRIOR }
    }

    /// What is held in a joint belief.
    pub(super) fn of(joint: &Joint, day_spread: f64) -> Manner {
        let known = |what: MannerNumber| joint.estimate(what.place(joint.size()));
        let within = |e: Estimate, most: f64| Estimate { mean: e.mean.clamp(0.0, most), ..e };
        Manner {
            unwritten: within(known(MannerNumber::Unwritten), MOST_UNWRITTEN),
            at_home: within(known(MannerNumber::AtHome), 1.0),
            untold: within(known(MannerNumber::Untold), 1.0),
            later: known(MannerNumber::Later),
            day_spread,
        }
    }

    /// These numbers as the joint belief begins with them.
    pub fn estimates(&self) -> [Estimate; LEARNED] {
        [self.unwritten, self.at_home, self.untold, self.later]
    }

    /// Share of days on which all are out, so that nothing is used.
    pub fn out(&self) -> Estimate {
        let away = 1.0 - self.at_home.mean;
        let sd = (self.untold.mean * self.at_home.sd).hypot(self.untold.sd * away);
        Estimate { mean: self.untold.mean * away, sd }
    }

    /// Relative standard deviation of a day's base use with so many aboard.
    pub fn base_day_sd(&self, aboard: f64) -> f64 {
        self.day_spread * base_day_variance(aboard).sqrt()
    }
}

/// Most that is believed to be used beside what is written, over that: a quarter is written.
pub const MOST_UNWRITTEN: f64 = 3.0;

/// Relative variance of a day's base use with so many aboard, of usual crews: a part that all
/// share, and a part of each.
pub(super) fn base_day_variance(aboard: f64) -> f64 {
    COMMON_DAY_SD * COMMON_DAY_SD + OWN_DAY_SD * OWN_DAY_SD / aboard.max(1.0)
}

/// How much days differ, weighed by readings: hypotheses from half to several times what is usual,
/// each as probable as the innovations were to it. Days of a crew go together, so what one stock
/// alone shows is not of its days: it may leak. The stock that asks for the widest is not heard.
#[derive(Debug, Clone)]
pub(super) struct DaySpread {
    /// Per stock, how probable its readings were to each of [`DAY_SPREADS`], as a logarithm.
    told: Vec<[f64; DAY_SPREADS.len()]>,
    /// Per stock, the variance that days have added since it was last read, at a spread of 1.
    added: Vec<f64>,
    square: f64,
}

impl DaySpread {
    /// Before any reading of so many stocks.
    pub fn unread(stocks: usize) -> DaySpread {
        let told = vec![[0.0; DAY_SPREADS.len()]; stocks];
        DaySpread { told, added: vec![0.0; stocks], square: mean_square([0.0; DAY_SPREADS.len()]) }
    }

    /// The square of the spread, as it is believed.
    pub fn square(&self) -> f64 {
        self.square
    }

    /// Days have added so much variance to a stock, at a spread of 1.
    pub fn add(&mut self, stock: usize, variance: f64) {
        self.added[stock] += variance;
    }

    /// A stock was read so far from what was expected of it, with that standard deviation; the
    /// normal law of each hypothesis weighs it.
    pub fn read(&mut self, stock: usize, amount: f64, sd: f64) {
        let (believed, added) = (self.square, std::mem::take(&mut self.added[stock]));
        for (log, (spread, _)) in self.told[stock].iter_mut().zip(DAY_SPREADS) {
            let variance = sd * sd + (spread * spread - believed) * added;
            let variance = variance.max(0.05 * sd * sd);
            *log -= 0.5 * (variance.ln() + amount * amount / variance);
        }
        let alone = self.told.iter().map(|told| mean_square(*told));
        let widest = alone.enumerate().max_by(|a, b| a.1.total_cmp(&b.1)).map(|(stock, _)| stock);
        let heard = self.told.iter().enumerate().filter(|(stock, _)| Some(*stock) != widest);
        let sum = |which: usize| heard.clone().map(|(_, told)| told[which]).sum();
        self.square = mean_square(std::array::from_fn(sum));
    }

    /// A stock was serviced: nothing of before shows any more.
    pub fn forget(&mut self, stock: usize) {
        self.added[stock] = 0.0;
    }
}

/// The mean square of the spreads, where what was read was so probable to each.
fn mean_square(told: [f64; DAY_SPREADS.len()]) -> f64 {
    let most = told.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weighed = DAY_SPREADS.iter().zip(told);
    let (sum, all) = weighed.fold((0.0, 0.0), |(sum, all), ((spread, share), log)| {
        let weight = share * (log - most).exp();
        (sum + weight * spread * spread, all + weight)
    });
    sum / all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What makes a day differ is mostly everybody's, and does not average out among four. By hand:
    /// 0.18 of all and 0.12 of each make 0.2163 of one and 0.1897 of four. Of days that differ by each
    /// person alone, four would have half of what one has.
    #[test]
    fn days_of_four_differ_nearly_as_much_as_days_of_one() {
        let sd = |aboard| Manner::PRIOR.base_day_sd(aboard);
        assert!((sd(1.0) - 0.2163).abs() < 1e-4, "{}", sd(1.0));
        assert!((sd(4.0) - 0.1897).abs() < 1e-4, "{}", sd(4.0));
    }
}
