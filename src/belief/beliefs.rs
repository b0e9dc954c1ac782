//! All that is believed of a van at a moment.

use super::electric::Member;
use super::evidence::{Innovation, Outlier};
use super::habit::Habit;
use super::joint::Joint;
use super::manner::Manner;
use super::practice::INSEPARABLE;
use crate::domain::estimate::PastReading;
use crate::domain::timeline::Timeline;
use crate::domain::{Estimate, Moment};
use crate::mechanism::Mechanism;
use chrono::NaiveDate;

/// What we think, as of a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Beliefs {
    /// The rig's parts in place now, compiled.
    pub mechanism: Mechanism,
    /// Levels of all stocks, then all coefficients, then each [`super::manner::MannerNumber`] of days
    /// and writing, jointly.
    pub joint: Joint,
    /// The ensemble of the electric store and its coefficients; empty without a battery.
    pub electric: Vec<Member>,
    /// Mean level of the electric store at the end of each hour, in Wh, up to the hour of now;
    /// empty without a battery.
    pub electric_hours: Vec<f64>,
    /// Since when each coefficient has been learned: a change of kit lets what changed start anew.
    pub learned_since: Vec<Moment>,
    /// One habit per activity.
    pub habits: Vec<Habit>,
    /// What days are like, and how much is written of them.
    pub manner: Manner,
    /// Crew and camp.
    pub timeline: Timeline,
    /// Readings and services per stock, oldest first.
    pub readings: Vec<Vec<PastReading>>,
    /// Readings that nothing explains, oldest first.
    pub outliers: Vec<Outlier>,
    /// Innovations of the readings, per stock, oldest first.
    pub innovations: Vec<Vec<Innovation>>,
    /// Civil days within memory that were counted.
    pub days_counted: usize,
    /// Civil days within memory on which nobody wrote anything.
    pub silent_days: Vec<NaiveDate>,
}

impl Beliefs {
    /// Level of a stock now: mean and standard deviation, in its unit.
    pub fn level(&self, stock: usize) -> Estimate {
        if self.mechanism.electric == Some(stock) && !self.electric.is_empty() {
            return self.over_members(|member| member.level_wh);
        }
        self.joint.estimate(stock)
    }

    /// A coefficient: mean and standard deviation, in its unit.
    pub fn coefficient(&self, index: usize) -> Estimate {
        if self.mechanism.coefficients[index].electric_only && !self.electric.is_empty() {
            return self.over_members(|member| member.coefficients[index]);
        }
        self.joint.estimate(self.mechanism.stocks().len() + index)
    }

    /// The first stock whose level is no number, after which nothing that rests on these beliefs
    /// can be trusted; `None` when all are.
    pub fn unknown(&self) -> Option<&str> {
        let stocks = self.mechanism.stocks().iter().enumerate();
        let level = |index| self.level(index);
        let unknown = |index| !(level(index).mean.is_finite() && level(index).sd.is_finite());
        stocks.filter(|(index, _)| unknown(*index)).map(|(_, stock)| stock.name.as_str()).next()
    }

    fn over_members(&self, of: impl Fn(&Member) -> f64) -> Estimate {
        let share = 1.0 / self.electric.len() as f64;
        let mean: f64 = self.electric.iter().map(|member| share * of(member)).sum();
        let squares = self.electric.iter().map(|member| share * (of(member) - mean).powi(2));
        Estimate { mean, sd: squares.sum::<f64>().max(0.0).sqrt() }
    }

    /// Pairs of coefficients that move a stock and always came together so far, as indices: what
    /// both take is known better than what either takes, and the more one takes, the less is left
    /// for the other. Their spreads stay wide. The battery's are not looked at.
    pub fn inseparable(&self, stock: usize) -> Vec<(usize, usize)> {
        let stocks = self.mechanism.stocks().len();
        let moving: Vec<usize> = (0..self.mechanism.coefficients.len())
            .filter(|index| self.mechanism.stocks_moved_by(*index).contains(&stock))
            .filter(|index| !self.mechanism.coefficients[*index].electric_only)
            .collect();
        let mut pairs = Vec::new();
        for (place, &one) in moving.iter().enumerate() {
            for &other in &moving[place + 1..] {
                let sds = self.coefficient(one).sd * self.coefficient(other).sd;
                let together = self.joint.covariance(stocks + one, stocks + other);
                if sds > 0.0 && together / sds <= INSEPARABLE {
                    pairs.push((one, other));
                }
            }
        }
        pairs
    }
}
