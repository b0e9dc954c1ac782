//! Sun and cold, and the electric store, which they bend: stepped by the hour.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::{COLD_HOURS, COLD_K, Group, Steps, met};
use crate::forecast::draw::{CLEARNESS, WARMTH, mirrored};
use crate::mechanism::climate::lanes::{LANES, Lane};
use crate::physics::battery::held_wh;
use std::ops::Range;

impl Steps<'_> {
    /// Sun and cold, and the electric store with them, hour by hour.
    #[inline(always)]
    pub(super) fn climate(&mut self, block: &Range<usize>, group: &mut Group) {
        let plan = self.plan;
        if plan.electric.is_none() && plan.fuel.is_none() {
            return;
        }
        // Nothing but a fuel asks for the weather then.
        if plan.electric.is_some() && !self.open_electric {
            if let Some(s) = plan.fuel.filter(|s| self.open[*s]) {
                self.heat(block);
                self.burn(s, block);
            }
            return;
        }
        let (mut level, mut lowest): (Lane, Lane) = ([0.0; LANES], self.lowest);
        let (mut per_person_day, mut per_hour): (Lane, Lane) = ([0.0; LANES], [0.0; LANES]);
        let mut capacity = 0.0;
        if let Some(s) = plan.electric {
            let levels = &group.level[s];
            for l in 0..LANES {
                level[l] = levels[l] as f32;
                let swung = self.swinging[s][l] * (self.swing[l] - 1.0);
                per_person_day[l] = (self.per_person_day[s][l] + swung) as f32;
                per_hour[l] = (self.per_day[s][l] / 24.0) as f32;
            }
            capacity = plan.stocks[s].capacity as f32;
        }
        let before = level;
        let burns_it = if plan.fuel.is_none() { 1.0 } else { 0.0 };
        let values = self.values;
        for index in block.clone() {
            let (day, outside_wh) = plan.outside[index];
            if day as usize != self.sky_day {
                self.new_day(day as usize);
            }
            let place = index - block.start;
            let (moved, people) = (self.electric[place], plan.person_days[index] as f32);
            let flows = plan.scene.kit.hour_lanes(
                &plan.hours[index],
                &self.day,
                &values,
                #[inline(always)]
                |l, load_wh, fuel| {
                    let used_wh = moved[l] + per_person_day[l] * people + per_hour[l];
                    used_wh + outside_wh - load_wh - burns_it * fuel
                },
            );
            if index < COLD_HOURS {
                self.wanted[place] = flows.wanted_w;
                self.begun[place] = level;
            }
            self.burnt[place] = flows.fuel;
            if let Some(s) = plan.electric {
                self.electric[place] = flows.net_wh;
                for l in 0..LANES {
                    let now = flows.level_after(l, level[l], 1.0, capacity);
                    level[l] = now;
                    lowest[l] = if now < lowest[l] { now } else { lowest[l] };
                }
                if plan.moves[index] && plan.stocks[s].reset_by_camp {
                    level.fill(plan.stocks[s].serviced_level as f32);
                }
            }
        }
        if let Some(s) = plan.fuel.filter(|s| self.open[*s]) {
            self.burn(s, block);
        }
        if let Some(s) = plan.electric {
            self.lowest = lowest;
            if self.open[s] {
                self.meet(s, block, &before, group);
            }
            let levels = &mut group.level[s];
            for l in 0..LANES {
                levels[l] = f64::from(level[l]);
            }
        }
    }

    /// Heating alone, hour by hour.
    #[inline(always)]
    fn heat(&mut self, block: &Range<usize>) {
        let values = self.values;
        for index in block.clone() {
            let day = self.plan.outside[index].0 as usize;
            if day != self.sky_day {
                self.new_day(day);
            }
            let hour = &self.plan.hours[index];
            self.burnt[index - block.start] =
                self.plan.scene.kit.heat_lanes(hour, &self.day, &values);
        }
    }

    /// Takes the fuel burnt in a block off its stock.
    #[inline(always)]
    fn burn(&mut self, s: usize, block: &Range<usize>) {
        // A local sum: what may overlap with the rows would be added one by one.
        let mut total = self.total[s];
        for row in &self.burnt[..block.len()] {
            for l in 0..LANES {
                total[l] -= f64::from(row[l]);
            }
        }
        self.total[s] = total;
    }

    /// Draws the weather of a civil day.
    #[inline(always)]
    fn new_day(&mut self, number: usize) {
        self.sky_day = number;
        let normals = |what| self.drawer.normals(self.from, what + number as u64);
        let warm = mirrored(&normals(WARMTH), |z| z);
        let clear = mirrored(&normals(CLEARNESS), |z| z);
        let day = &self.plan.scene.days[number];
        let (offset_k, clearness) = self.anomaly.next(day, &warm, &clear);
        self.day.put_all(&offset_k, &clearness);
    }

    /// Finds the hour in which the electric store met its limit in this block, which began with
    /// these levels, in each life that had not met it.
    #[inline(always)]
    fn meet(&self, s: usize, block: &Range<usize>, before: &Lane, group: &mut Group) {
        let stock = &self.plan.stocks[s];
        let limit = stock.limit as f32;
        // A store that drains has not met it unless its lowest level has.
        let clear = |l: usize| stock.sign > 0.0 && self.lowest[l] > limit;
        for l in 0..LANES {
            if !clear(l) && group.passage[s][l] == f64::INFINITY {
                group.passage[s][l] = self.electric_passage(s, l, block, before[l]);
            }
        }
    }

    /// Walks the electric store of one life through a block, as [`Steps::climate`] moved it, to
    /// its limit; infinite if it was not met.
    fn electric_passage(&self, s: usize, l: usize, block: &Range<usize>, level: f32) -> f64 {
        let stock = &self.plan.stocks[s];
        let (capacity, limit) = (stock.capacity as f32, stock.limit as f32);
        let sign = stock.sign as f32;
        let mut before = level;
        for (place, change) in self.electric[..block.len()].iter().enumerate() {
            let (index, after) = (block.start + place, before + change[l]);
            let level = held_wh(after, capacity);
            if sign * (level - limit) <= 0.0 {
                return met(index, before.into(), after.into(), stock.limit);
            }
            let reset = stock.reset_by_camp && self.plan.moves[index];
            before = if reset { stock.serviced_level as f32 } else { level };
        }
        f64::INFINITY
    }

    /// Counts the hours of a block in which the van is cold: the heater gives too little, or its
    /// fuel has met the limit and the reserve is not for heating. Needs the block's passages.
    #[inline(always)]
    pub(super) fn count_cold(&self, block: &Range<usize>, group: &mut Group) {
        let plan = self.plan;
        for index in block.start..block.end.min(COLD_HOURS) {
            let place = index - block.start;
            let out: [bool; LANES] = match (plan.fuel, plan.electric) {
                (Some(s), _) => group.passage[s].map(|met| met <= index as f64),
                // A battery comes back with the sun.
                (None, Some(s)) => {
                    self.begun[place].map(|level| plan.stocks[s].is_out(level.into()))
                }
                (None, None) => return,
            };
            let wanted_w = &self.wanted[place];
            let hour = &plan.hours[index];
            let short = plan.scene.kit.short_k(hour, &self.values, wanted_w, &out);
            for l in 0..LANES {
                group.cold_hours[l] += if short[l] > COLD_K { 1.0 } else { 0.0 };
            }
        }
    }
}
