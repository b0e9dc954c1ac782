//! When a stock met its limit within a block of hours, and what moved it in each of them.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::{BLOCK, Steps};
use crate::forecast::draw::Row;
use crate::forecast::lives::effects::{Effect, effects_of};
use crate::forecast::lives::plan::StockPlan;
use crate::mechanism::climate::lanes::LANES;
use std::ops::Range;

/// Up to so many lives that meet a limit in the same block are looked at one by one.
pub(super) const FEW: u64 = 2;

impl Steps<'_> {
    /// Walks one life's stock through the hours of a block: its level at the end, and the hour
    /// at which it first met its limit, infinite if it did not.
    pub(super) fn walk(&self, s: usize, l: usize, block: &Range<usize>, level: f64) -> (f64, f64) {
        let change = self.changes(s, l, block);
        let stock = &self.plan.stocks[s];
        let (mut level, mut passage) = (level, f64::INFINITY);
        for (place, change) in change[..block.len()].iter().enumerate() {
            let before = level;
            let after = before + change;
            level = after.clamp(0.0, stock.capacity);
            if passage.is_infinite() && stock.is_out(level) {
                passage = met(block.start + place, before, after, stock.limit);
            }
            if stock.reset_by_camp && self.plan.moves[block.start + place] {
                level = stock.serviced_level;
            }
        }
        (level, passage)
    }

    /// When one life's stock, which moves one way only, met its limit within a block that it
    /// does meet it in.
    #[inline(always)]
    pub(super) fn passage_within(
        &self,
        s: usize,
        l: usize,
        block: &Range<usize>,
        level: f64,
    ) -> f64 {
        let change = self.changes(s, l, block);
        let stock = &self.plan.stocks[s];
        let mut before = level;
        for (place, change) in change[..block.len()].iter().enumerate() {
            // Neither the bottom nor the brim lies between it and its limit.
            let after = before + change;
            if stock.is_out(after) {
                return met(block.start + place, before, after, stock.limit);
            }
            before = after;
        }
        // The hours' sum may round to just short of the limit that the block's met.
        block.end as f64
    }

    /// What moves one life's stock in each hour of a block; not for the electric store.
    #[inline(always)]
    fn changes(&self, s: usize, l: usize, block: &Range<usize>) -> [f64; BLOCK] {
        let mut change = [0.0; BLOCK];
        let each = |effects: &[Effect]| -> f64 {
            let effect = effects.iter().find(|effect| effect.stock == s);
            effect.map_or(0.0, |effect| effect.per_time[l])
        };
        let swung = self.swinging[s][l] * (self.swing[l] - 1.0);
        let per_person_day = self.per_person_day[s][l] + swung;
        let per_hour = self.per_day[s][l] / 24.0;
        for (change, people) in change.iter_mut().zip(&self.plan.person_days[block.clone()]) {
            *change = per_person_day * people + per_hour;
        }
        for (hour, source, amount) in self.plan.planned_in(block) {
            let effects = effects_of(&self.activities, &self.drivers, self.plan, *source);
            change[hour - block.start] += each(effects) * amount;
        }
        for a in &self.plan.moved_by[s] {
            if self.happened.in_block(self.plan, *a, block.start)[l] == 0.0 {
                continue;
            }
            let each = each(&self.activities[*a]);
            for (change, cell) in change.iter_mut().zip(self.happened.by_hour(*a, block)) {
                *change += each * f64::from(cell[l]);
            }
        }
        if self.plan.fuel == Some(s) {
            change.iter_mut().zip(&self.burnt).for_each(|(c, burnt)| *c -= f64::from(burnt[l]));
        }
        change
    }

    /// What [`Steps::passage_within`] says of every life that met its limit in this block, which
    /// began at these levels and ended at those: all of them side by side.
    #[inline(always)]
    pub(super) fn meet_together(
        &self,
        s: usize,
        block: &Range<usize>,
        begun: &Row,
        ended: &Row,
        passages: &mut Row,
    ) {
        let StockPlan { limit, sign, .. } = self.plan.stocks[s];
        let mut open = [false; LANES];
        let mut level = [0.0; LANES];
        for l in 0..LANES {
            open[l] = (passages[l] == f64::INFINITY) & (sign * (ended[l] - limit) <= 0.0);
            level[l] = begun[l];
        }
        let met_in = open;
        // The hour, and the level before it and after it; as it stands if the hours' sum rounds to
        // just short of the limit that the block's met.
        let (mut hour, mut before, mut after) = ([BLOCK as f64; LANES], level, level);
        let (mut per_person_day, mut per_hour) = ([0.0; LANES], [0.0; LANES]);
        for l in 0..LANES {
            let swung = self.swinging[s][l] * (self.swing[l] - 1.0);
            per_person_day[l] = self.per_person_day[s][l] + swung;
            per_hour[l] = self.per_day[s][l] / 24.0;
        }
        for place in 0..block.len() {
            let people = self.plan.person_days[block.start + place];
            let mut change = [0.0; LANES];
            for l in 0..LANES {
                change[l] = per_person_day[l] * people + per_hour[l];
            }
            self.add_changes(s, block, place, &mut change);
            let mut left = false;
            for l in 0..LANES {
                let next = level[l] + change[l];
                let now = open[l] & (sign * (next - limit) <= 0.0);
                hour[l] = if now { place as f64 } else { hour[l] };
                before[l] = if now { level[l] } else { before[l] };
                after[l] = if now { next } else { after[l] };
                open[l] &= !now;
                left |= open[l];
                level[l] = next;
            }
            if !left {
                break;
            }
        }
        for l in 0..LANES {
            if open[l] {
                passages[l] = block.end as f64;
            } else if met_in[l] {
                passages[l] = met(block.start + hour[l] as usize, before[l], after[l], limit);
            }
        }
    }

    /// Adds what moves a stock besides its base use in one hour of a block, in every life; not for
    /// the electric store.
    #[inline(always)]
    fn add_changes(&self, s: usize, block: &Range<usize>, place: usize, change: &mut Row) {
        let hour = block.start + place;
        let own = |effect: &&Effect| effect.stock == s;
        for (_, source, amount) in self.plan.planned_in(&(hour..hour + 1)) {
            let effects = effects_of(&self.activities, &self.drivers, self.plan, *source);
            if let Some(Effect { per_time, .. }) = effects.iter().find(own) {
                for l in 0..LANES {
                    change[l] += per_time[l] * amount;
                }
            }
        }
        for a in &self.plan.moved_by[s] {
            if let Some(Effect { per_time, .. }) = self.activities[*a].iter().find(own) {
                let cell = &self.happened.by_hour(*a, block)[place];
                for l in 0..LANES {
                    change[l] += per_time[l] * f64::from(cell[l]);
                }
            }
        }
        if self.plan.fuel == Some(s) {
            for l in 0..LANES {
                change[l] -= f64::from(self.burnt[place][l]);
            }
        }
    }
}

/// When the limit was met between two hours' levels; `after` as it would be without a bottom or
/// a brim, so that a limit that lies there is met within the hour as well.
pub(in crate::forecast) fn met(index: usize, before: f64, after: f64, limit: f64) -> f64 {
    let part = ((before - limit) / (before - after)).clamp(0.0, 1.0);
    index as f64 + if part.is_finite() { part } else { 1.0 }
}
