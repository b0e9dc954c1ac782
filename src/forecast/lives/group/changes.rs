//! What moves a stock: in a block at once, and in one of its hours.
//!
//! The two say the same of the same hours but for rounding. The lives sum blocks, variants are fed
//! by the hour: `tests/engine` holds a variant in which nothing is done against the lives.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::climate::Climate;
use crate::forecast::lives::effects::{BaseFlows, Effects};
use crate::forecast::lives::occurrences::Occurrences;
use crate::forecast::lives::setup::RunSetup;
use crate::forecast::sampler::Row;
use crate::mechanism::climate::lanes::LANES;
use std::ops::Range;

/// All that moves the stocks of a group in the block at hand.
pub(super) struct Changes<'a> {
    pub setup: &'a RunSetup<'a>,
    pub effects: &'a Effects,
    pub base: &'a BaseFlows,
    pub occurrences: &'a Occurrences<'a>,
    pub climate: &'a Climate<'a>,
}

impl Changes<'_> {
    /// What a block moves a stock by, in each life; not for the electric store.
    #[inline(always)]
    pub(super) fn in_block(&self, s: usize, block: &Range<usize>) -> Row {
        let number = block.start / self.setup.step;
        let mut sum = self.base.moved(s, &self.setup.block_base, number);
        self.add_planned(s, block, &mut sum);
        for (a, place) in &self.setup.stocks[s].moved_by {
            let per_time = &self.effects.activities[*a][*place].per_time;
            let amount = self.occurrences.in_block(self.setup, *a, block.start);
            for l in 0..LANES {
                sum[l] += per_time[l] * amount[l];
            }
        }
        if let Some(fuel) = self.setup.stocks[s].fuel {
            for place in 0..block.len() {
                let burnt = self.climate.burnt(place, fuel);
                for l in 0..LANES {
                    sum[l] -= f64::from(burnt[l]);
                }
            }
        }
        sum
    }

    /// What the hour at a place of a block moves a stock by, in each life.
    #[inline(always)]
    pub(super) fn in_hour(&self, s: usize, block: &Range<usize>, place: usize) -> Row {
        if self.setup.electric == Some(s) {
            return self.climate.net_wh[place].map(f64::from);
        }
        let hour = block.start + place;
        let mut sum = self.base.moved(s, &self.setup.base, hour);
        self.add_planned(s, &(hour..hour + 1), &mut sum);
        for (a, effect) in &self.setup.stocks[s].moved_by {
            if self.setup.clocks[*a].slots(&(hour..hour + 1)).is_empty() {
                continue;
            }
            let per_time = &self.effects.activities[*a][*effect].per_time;
            let amount = self.occurrences.in_hour(*a, hour);
            for l in 0..LANES {
                sum[l] += per_time[l] * f64::from(amount[l]);
            }
        }
        if let Some(fuel) = self.setup.stocks[s].fuel {
            let burnt = self.climate.burnt(place, fuel);
            for l in 0..LANES {
                sum[l] -= f64::from(burnt[l]);
            }
        }
        sum
    }

    /// Adds what is planned within some hours.
    #[inline(always)]
    fn add_planned(&self, s: usize, hours: &Range<usize>, sum: &mut Row) {
        for (source, amount) in self.setup.planned_in(hours) {
            if let Some(per_time) = self.effects.of_planned(self.setup, *source, s) {
                for l in 0..LANES {
                    sum[l] += per_time[l] * amount;
                }
            }
        }
    }
}
