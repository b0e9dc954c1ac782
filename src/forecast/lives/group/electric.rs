//! Sun and cold, and the electric store, which they bend: stepped by the hour.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::{COLD_HOURS, COLD_K, Group, Steps, met};
use crate::forecast::draw::{CLEARNESS, WARMTH, mirrored};
use crate::mechanism::climate::lanes::{FlowLanes, LANES, Lane};
use std::ops::Range;

impl Steps<'_> {
    /// Sun and cold, and the electric store with them, hour by hour.
    #[inline(always)]
    pub(super) fn climate(&mut self, block: &Range<usize>, group: &mut Group) {
        let plan = self.plan;
        if plan.electric.is_none() && plan.fuel.is_none() {
            return;
        }
        let mut flows = FlowLanes::default();
        let mut level: Lane = [0.0; LANES];
        if let Some(s) = plan.electric {
            let levels = &group.level[s];
            (0..LANES).for_each(|l| level[l] = levels[l] as f32);
        }
        for index in block.clone() {
            let hour = &plan.scene.hours[index];
            if hour.day != self.sky_day {
                self.sky_day = hour.day;
                let day = &plan.scene.days[hour.day];
                let normals = |what| self.drawer.normals(self.from, what + hour.day as u64);
                let warm = mirrored(&normals(WARMTH), |z| z);
                let clear = mirrored(&normals(CLEARNESS), |z| z);
                let (offset_k, clearness) = self.departures.next(day, &warm, &clear);
                self.day.put_all(&offset_k, &clearness);
            }
            plan.scene.kit.hour_lanes(&plan.hours[index], &self.day, &self.values, &mut flows);
            if index < COLD_HOURS {
                for l in 0..LANES {
                    group.cold_hours[l] += if flows.short_k[l] > COLD_K { 1.0 } else { 0.0 };
                }
            }
            let place = index - block.start;
            if plan.fuel.is_some() {
                self.burnt[place] = flows.fuel;
            }
            if let Some(s) = plan.electric {
                let before = level;
                let change = &mut self.electric[place];
                let burns_it = if plan.fuel.is_none() { 1.0 } else { 0.0 };
                let outside_wh = hour.planned_charge_wh as f32;
                for l in 0..LANES {
                    change[l] += outside_wh - flows.load_wh[l] - burns_it * flows.fuel[l];
                }
                plan.scene.kit.settle(&flows, change);
                self.step_electric(s, index, place, &before, &mut level, group);
            }
        }
        if let Some(s) = plan.fuel {
            let total = &mut self.total[s];
            for row in &self.burnt[..block.len()] {
                for l in 0..LANES {
                    total[l] -= f64::from(row[l]);
                }
            }
        }
        if let Some(s) = plan.electric {
            let levels = &mut group.level[s];
            (0..LANES).for_each(|l| levels[l] = f64::from(level[l]));
        }
    }

    /// Moves the electric store by one hour, which has that place in its block.
    #[inline(always)]
    fn step_electric(
        &mut self,
        s: usize,
        index: usize,
        place: usize,
        before: &Lane,
        level: &mut Lane,
        group: &mut Group,
    ) {
        let stock = &self.plan.stocks[s];
        let (capacity, limit) = (stock.capacity as f32, stock.limit as f32);
        let sign = stock.sign as f32;
        let change = &self.electric[place];
        let (lowest, met_before) = (&mut self.lowest, &self.electric_met);
        let mut out = 0u32;
        for l in 0..LANES {
            let moved = before[l] + change[l];
            let moved = if moved < 0.0 { 0.0 } else { moved };
            let moved = if moved > capacity { capacity } else { moved };
            level[l] = moved;
            lowest[l] = if moved < lowest[l] { moved } else { lowest[l] };
            out |= u32::from(sign * (moved - limit) <= 0.0) & !met_before[l];
        }
        if out & 1 != 0 {
            for l in 0..LANES {
                let passage = &mut group.passage[s][l];
                if passage.is_infinite() && sign * (level[l] - limit) <= 0.0 {
                    let after = before[l] + change[l];
                    *passage = met(index, before[l].into(), after.into(), stock.limit);
                    self.electric_met[l] = 1;
                }
            }
        }
        if stock.reset_by_camp && self.plan.moves[index] {
            level.fill(stock.serviced_level as f32);
        }
    }
}
