//! What a group of lives holds on its way, and what it came to.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::grid::{BLOCK, COLD_HOURS, FAN_STEP, THIRD_DAY};
use super::setup::RunSetup;
use crate::forecast::sampler::Row;
use crate::forecast::variants::VariantSet;
use crate::mechanism::climate::lanes::{LANES, Lane};
use std::ops::Range;

/// A group of lives; rows per stock.
pub(super) struct Group {
    /// Levels at the start.
    pub first: Vec<Row>,
    /// Levels at the end of the last block.
    pub level: Vec<Row>,
    /// Hours to the limit; infinite where it is not met so far.
    pub passage: Vec<Row>,
    /// Levels after three days.
    pub third_day: Vec<Row>,
    /// Per point of the fans and stock, the level.
    pub fans: Vec<Lane>,
    /// Per day, the electric store's lowest level; and that of the day at hand.
    pub lowest: Vec<Lane>,
    pub lowest_today: Lane,
    /// Hours in which the van is cold.
    pub cold_hours: Lane,
    /// What moves the one stock that is asked for, hour by hour.
    pub changes: Vec<Lane>,
    /// Further levels that are carried along.
    pub variants: VariantSet,
    /// Hour from which on the electric store is run only for the lives that have not met its limit.
    pub left: usize,
}

impl Group {
    /// A group that begins at these levels.
    pub(super) fn begin(setup: &RunSetup, level: Vec<Row>) -> Group {
        let out = |(stock, level): (&super::setup::StockSetup, &Row)| {
            level.map(|l| if stock.limit.is_out(l) { 0.0 } else { f64::INFINITY })
        };
        Group {
            first: level.clone(),
            passage: setup.stocks.iter().zip(&level).map(out).collect(),
            third_day: level.clone(),
            fans: Vec::with_capacity(setup.fan_points() * level.len()),
            lowest: Vec::new(),
            lowest_today: [f32::INFINITY; LANES],
            cold_hours: [0.0; LANES],
            changes: Vec::new(),
            variants: VariantSet::begin(setup.variants(), &level),
            left: usize::MAX,
            level,
        }
    }

    /// Leaves the electric store, from an hour on, to the lives that have not met its limit, once
    /// three quarters have and cold is no longer counted.
    pub(super) fn leave_store(&mut self, setup: &RunSetup, hour: usize) {
        let may_be = (COLD_HOURS..self.left).contains(&hour) && !setup.wants_levels();
        let few = |s| 4 * self.within(s).count_ones() as usize <= LANES;
        if may_be && setup.electric.is_some_and(few) {
            self.left = hour;
        }
    }

    /// The electric store, as long as anybody asks for it.
    #[inline(always)]
    pub(super) fn store(&self, setup: &RunSetup, hour: usize) -> Option<usize> {
        setup.electric.filter(|s| hour < self.left || self.within(*s) != 0)
    }

    /// The lives that have not met a stock's limit yet, a bit each.
    #[inline(always)]
    pub(super) fn within(&self, stock: usize) -> u32 {
        let (passages, mut lives) = (&self.passage[stock], 0);
        for l in 0..LANES {
            lives |= u32::from(passages[l] == f64::INFINITY) << l;
        }
        lives
    }

    /// The lives in which a stock's level still matters to anything, from an hour on, a bit each:
    /// until it meets its limit, unless somebody asks for levels.
    #[inline(always)]
    pub(super) fn needing(&self, setup: &RunSetup, stock: usize, hour: usize) -> u32 {
        if let Some(own) = setup.one_stock() {
            return if own == stock { u32::MAX } else { 0 };
        }
        let noted = hour < THIRD_DAY || setup.wants_levels();
        let all = noted || (setup.electric == Some(stock) && hour < self.left);
        if all { u32::MAX } else { self.within(stock) }
    }

    /// Notes what the end of a block shows.
    pub(super) fn note(&mut self, setup: &RunSetup, block: &Range<usize>) {
        let hours = setup.hours.len();
        if block.end == THIRD_DAY.min(hours) {
            self.third_day.clone_from(&self.level);
        }
        if setup.fan_points() > 0 && block.end.is_multiple_of(FAN_STEP) {
            self.fans.extend(self.level.iter().map(|row| row.map(|v| v as f32)));
        }
        if setup.electric.is_some() && (block.end.is_multiple_of(BLOCK) || block.end == hours) {
            self.lowest.push(self.lowest_today);
            self.lowest_today = [f32::INFINITY; LANES];
        }
    }
}
