//! Where a level stands to its stock's limit, how an hour moves it, and when it meets the limit.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::sampler::Row;
use crate::domain::{Direction, Stock};
use crate::mechanism::climate::lanes::LANES;
use crate::physics::real::Real;

/// The level that forces a stop, and the side on which it does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Limit {
    /// That level, in the stock's unit.
    pub level: f64,
    /// 1 for a stock that drains, -1 for one that fills.
    pub sign: f64,
}

impl Limit {
    pub fn of(stock: &Stock) -> Limit {
        let sign = if stock.runs == Direction::Down { 1.0 } else { -1.0 };
        Limit { level: stock.limit(), sign }
    }

    /// How far inside its limit a stock at `level` is, in its unit; not above 0 where it is out.
    #[inline(always)]
    pub fn room(&self, level: f64) -> f64 {
        self.sign * (level - self.level)
    }

    /// Whether a stock at `level` has met it.
    #[inline(always)]
    pub fn is_out(&self, level: f64) -> bool {
        self.room(level) <= 0.0
    }

    /// When it was met between two hours' levels, in hours: where a straight line between them
    /// crosses it. `after` is the level as it would be without a bottom or a brim, so that a limit
    /// that lies there is met within the hour as well.
    pub fn met(&self, hour: usize, before: f64, after: f64) -> f64 {
        let part = ((before - self.level) / (before - after)).clamp(0.0, 1.0);
        hour as f64 + if part.is_finite() { part } else { 1.0 }
    }
}

/// Levels a step later: moved, then held between `least` and `most`.
#[inline(always)]
pub(super) fn moved(levels: &Row, change: &Row, (least, most): (f64, f64)) -> Row {
    let mut after = *levels;
    for l in 0..LANES {
        after[l] = (levels[l] + change[l]).most(least).least(most);
    }
    after
}
