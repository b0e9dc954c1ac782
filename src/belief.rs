//! What we think levels, coefficients and habits are, and how sure: the rig file at first, the
//! journal more and more.
//!
//! [`learn`] replays the journal against the gauges. Stocks that only add up share one joint
//! Gaussian with their coefficients, so that one reading teaches everything it depends on; the
//! battery, which clamps at full every sunny day, is carried by weighted draws instead. Habits
//! are counted. Nothing here knows about the future; `forecast` draws from what is returned.

pub mod electric;
pub mod evidence;
pub mod habit;
pub mod joint;
pub mod law;
pub mod normal;
pub mod past;
pub mod replay;
pub mod unlogged;
pub mod watch;

use crate::domain::estimate::{Estimate, PastReading};
use crate::domain::journal::Standing;
use crate::domain::rig::Rig;
use crate::domain::time::Moment;
use crate::domain::timeline::Timeline;

use crate::mechanism::Mechanism;
use electric::Draw;
use habit::Habit;
use joint::Joint;

/// How far back evidence is taken, in days. Older evidence has faded: crews, seasons and kit
/// change within months.
pub const MEMORY_DAYS: i64 = 90;

/// Share of occurrences that nobody logs: 7 %, of 3 to 11 % (common practice, no source).
pub const UNLOGGED_SHARE: f64 = 0.07;
/// Standard deviation of that share between crews.
pub const UNLOGGED_SD: f64 = 0.02;

/// What we think, as of a moment.
#[derive(Debug, Clone, PartialEq)]
pub struct Beliefs {
    /// The rig's parts in place now, compiled.
    pub mechanism: Mechanism,
    /// Levels of all stocks, then all coefficients, jointly.
    pub joint: Joint,
    /// The electric store and its coefficients, as weighted draws; empty without a battery.
    pub electric: Vec<Draw>,
    /// One habit per activity.
    pub habits: Vec<Habit>,
    /// Crew and camp.
    pub timeline: Timeline,
    /// Readings and services per stock, oldest first.
    pub readings: Vec<Vec<PastReading>>,
    /// Readings that nothing explains, per stock: when, and the level that was expected.
    pub surprises: Vec<(usize, Moment, Estimate)>,
    /// What readings were off by, per stock, oldest first.
    pub innovations: Vec<Vec<Innovation>>,
    /// Civil days within memory on which nobody wrote anything.
    pub silent_days: Vec<chrono::NaiveDate>,
}

/// How far a reading lay from what was expected of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Innovation {
    /// When.
    pub at: Moment,
    /// The reading before it, or its own moment for the first.
    pub since: Moment,
    /// Middle of what was read minus what was expected, in the stock's unit.
    pub off: f64,
    /// Standard deviation that was expected of it.
    pub sd: f64,
    /// How probable it was; of an exact amount, its density over a width that depends on the
    /// reading alone. Of the electric store, give or take what its gauge is off by.
    pub likelihood: f64,
}

impl Beliefs {
    /// Level of a stock now: mean and standard deviation, in its unit.
    pub fn level(&self, stock: usize) -> Estimate {
        if self.mechanism.electric == Some(stock) && !self.electric.is_empty() {
            return electric::weighted(&self.electric, |draw| draw.level_wh);
        }
        self.joint.estimate(stock)
    }

    /// A coefficient: mean and standard deviation, in its unit.
    pub fn coefficient(&self, index: usize) -> Estimate {
        if self.mechanism.coefficients[index].electric_only && !self.electric.is_empty() {
            return electric::weighted(&self.electric, |draw| draw.coefficients[index]);
        }
        self.joint.estimate(self.mechanism.stocks().len() + index)
    }
}

/// Correlation from which on two coefficients cannot be told apart.
const INSEPARABLE: f64 = -0.8;

impl Beliefs {
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

/// Learns from a past that is laid out already; see [`learn`].
pub fn learn_from(past: &past::Past, seed: u64) -> Beliefs {
    replay::run(past, habit::count(past), seed)
}

/// Learns from everything that stands at `now`. `standing` is in time order and holds plans as
/// well, which only the timeline looks at. `seed` drives the draws of the electric store.
pub fn learn(rig: &Rig, standing: &[Standing], now: Moment, seed: u64) -> Beliefs {
    learn_from(&past::Past::of(rig, standing, now), seed)
}
