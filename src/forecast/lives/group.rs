//! One group of lives, a lane each, run forward block by block.
//!
//! Only what the weather or a full battery bends is stepped by the hour: the heater, the loads,
//! the electric store. All other stocks only add up, so a block of hours is one sum; the hours
//! within it are looked at only where the limit is met, or where a stock can move both ways.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::effects::{Effect, by_stock, effects, effects_of};
use super::happenings::{Happenings, STRETCH};
use super::plan::{Plan, StockPlan};
use crate::belief::electric::climate_values;
use crate::domain::flow::Driver;
use crate::forecast::draw::{BASE, Drawer, LifeDraw, Stream, WEATHER, stream};
use crate::forecast::tracks::TrackSet;
use crate::mechanism::climate::lanes::{DayLanes, FlowLanes, LANES, Lane, ValueLanes};
use crate::mechanism::driver::Source;
use crate::weather::ahead::Departure;
use rand_distr::{Distribution, StandardNormal};
use std::ops::Range;

/// One number per life, in double precision.
pub(super) type Row = [f64; LANES];

/// Hours in a block; a fan wants to know every sixth.
pub(super) const BLOCK: usize = 24;
/// Relative spread of one person-bound day around the life's own mean. Common practice, no
/// source.
const BASE_DAY: f64 = 0.2;
/// Spread of a coefficient, as the rig file has it, from which on its days swing that much.
const USUAL_SPREAD: f64 = 0.25;
/// Hours after which `third_day` is noted.
pub(super) const THIRD_DAY: usize = 72;
/// Hours ahead over which cold is counted: as far as an outlook usually reaches.
const COLD_HOURS: usize = 120;
/// How far below the wanted temperature counts as cold, in K.
const COLD_K: f32 = 2.0;

/// What a group came to.
pub(super) struct Group {
    pub first: Vec<Row>,
    pub level: Vec<Row>,
    pub passage: Vec<Row>,
    pub third_day: Vec<Row>,
    pub fans: Vec<Vec<Lane>>,
    pub lowest: Vec<Lane>,
    pub cold_hours: Lane,
    pub tracks: TrackSet,
}

impl Group {
    /// Draws and runs the lives from number `from` on.
    pub fn live(plan: &Plan, drawer: &Drawer, seed: u64, from: usize) -> Group {
        let draws = drawer.lives(from..from + LANES);
        let level: Vec<Row> =
            (0..plan.stocks.len()).map(|s| std::array::from_fn(|l| draws[l].levels[s])).collect();
        let out = |(stock, level): (&StockPlan, &Row)| {
            level.map(|l| if stock.is_out(l) { 0.0 } else { f64::INFINITY })
        };
        let mut group = Group {
            first: level.clone(),
            passage: plan.stocks.iter().zip(&level).map(out).collect(),
            third_day: level.clone(),
            level,
            fans: Vec::new(),
            lowest: Vec::new(),
            cold_hours: [0.0; LANES],
            tracks: TrackSet::of(plan.tracks),
        };
        group.tracks.begin(&group.level);
        Steps::of(plan, &draws, seed, from).run(&mut group);
        group
    }
}

impl Group {
    /// Whether a stock's level still matters to anything in one life, from an hour on.
    pub fn needs(&self, plan: &Plan, stock: usize, lane: usize, hour: usize) -> bool {
        hour < THIRD_DAY
            || plan.with_fans
            || !plan.tracks.is_empty()
            || plan.electric == Some(stock)
            || self.passage[stock][lane].is_infinite()
    }
}

impl StockPlan {
    #[inline]
    fn is_out(&self, level: f64) -> bool {
        self.sign * (level - self.limit) <= 0.0
    }
}

/// The running state of a group.
struct Steps<'a> {
    plan: &'a Plan<'a>,
    /// Per activity, then per driver in the plan's order.
    activities: Vec<Vec<Effect>>,
    drivers: Vec<Vec<Effect>>,
    happened: Happenings,
    values: ValueLanes,
    departures: Vec<(Departure, Stream)>,
    base: Vec<Stream>,
    /// Of the block at hand: the sum per stock, and the fuel burnt by hour.
    total: Vec<Row>,
    burnt: Vec<Lane>,
    /// Per stock, what a person-day and a day move.
    per_person_day: Vec<Row>,
    per_day: Vec<Row>,
    swing: Row,
    /// Per stock, how much of the day's swing it feels.
    felt: Vec<f64>,
    day: DayLanes,
    sky_day: usize,
    lowest: Lane,
}

impl<'a> Steps<'a> {
    fn of(plan: &'a Plan<'a>, draws: &[LifeDraw], seed: u64, from: usize) -> Steps<'a> {
        let mechanism = &plan.beliefs.mechanism;
        let activities = mechanism.parts.activities.len();
        let streams = |purpose: u64| (from..from + LANES).map(move |l| stream(seed, l, purpose));
        let activities: Vec<Vec<Effect>> =
            (0..activities).map(|a| effects(plan, draws, Source::Activity(a))).collect();
        Steps {
            plan,
            happened: Happenings::of(plan, draws, &activities, seed, from),
            activities,
            per_person_day: by_stock(plan, draws, Driver::PersonDay),
            per_day: by_stock(plan, draws, Driver::Day),
            drivers: plan.drivers.iter().map(|source| effects(plan, draws, *source)).collect(),
            values: ValueLanes::of(
                draws.iter().map(|d| climate_values(mechanism, &d.coefficients)),
            ),
            departures: streams(WEATHER).map(|random| (Departure::default(), random)).collect(),
            base: streams(BASE).collect(),
            total: vec![[0.0; LANES]; plan.stocks.len()],
            burnt: vec![[0.0; LANES]; BLOCK],
            swing: [1.0; LANES],
            felt: swing_felt(plan),
            day: DayLanes::default(),
            sky_day: usize::MAX,
            lowest: [f32::INFINITY; LANES],
        }
    }

    fn run(mut self, group: &mut Group) {
        let hours = self.plan.hours.len();
        let step = self.plan.step;
        for start in (0..hours).step_by(step) {
            let block = start..(start + step).min(hours);
            if start.is_multiple_of(BLOCK) {
                for (swing, random) in self.swing.iter_mut().zip(&mut self.base) {
                    let z: f64 = StandardNormal.sample(random);
                    *swing = (1.0 + BASE_DAY * z).max(0.1);
                }
            }
            if start.is_multiple_of(STRETCH) {
                self.happened.draw(self.plan, &self.activities, group, start);
            }
            self.sum(&block);
            self.climate(&block, group);
            for s in 0..self.plan.stocks.len() {
                if self.plan.electric != Some(s) {
                    self.add_up(s, &block, group);
                }
            }
            self.note(&block, group);
            if !self.plan.tracks.is_empty() {
                self.carry(&block, group);
            }
        }
    }

    /// Notes what the end of a block shows.
    fn note(&mut self, block: &Range<usize>, group: &mut Group) {
        let hours = self.plan.hours.len();
        if block.end == THIRD_DAY.min(hours) {
            group.third_day.clone_from(&group.level);
        }
        if self.plan.with_fans && block.end.is_multiple_of(super::FAN_STEP) {
            group.fans.push(group.level.iter().map(|row| row.map(|v| v as f32)).collect());
        }
        if self.plan.electric.is_some() && (block.end.is_multiple_of(BLOCK) || block.end == hours) {
            group.lowest.push(self.lowest);
            self.lowest = [f32::INFINITY; LANES];
        }
    }

    /// Sums base use, plans and occurrences of a block, per stock; those of the electric store
    /// by the hour.
    fn sum(&mut self, block: &Range<usize>) {
        let first = self.happened.hours.start;
        let people: f64 = self.plan.person_days[block.clone()].iter().sum();
        let days = block.len() as f64 / 24.0;
        for (s, row) in self.total.iter_mut().enumerate() {
            let (per_person_day, per_day) = (&self.per_person_day[s], &self.per_day[s]);
            for l in 0..LANES {
                let swing = 1.0 + self.felt[s] * (self.swing[l] - 1.0);
                row[l] = per_person_day[l] * people * swing + per_day[l] * days;
            }
        }
        if let Some(s) = self.plan.electric {
            let per_person_day: Lane =
                std::array::from_fn(|l| (self.per_person_day[s][l] * self.swing[l]) as f32);
            let per_hour: Lane = std::array::from_fn(|l| (self.per_day[s][l] / 24.0) as f32);
            for hour in block.clone() {
                let people = self.plan.person_days[hour] as f32;
                let row = &mut self.happened.electric[hour - first];
                for l in 0..LANES {
                    row[l] += per_person_day[l] * people + per_hour[l];
                }
            }
        }
        for (hour, source, amount) in self.plan.planned_in(block) {
            let effects = effects_of(&self.activities, &self.drivers, self.plan, *source);
            for effect in effects {
                for l in 0..LANES {
                    let change = effect.per_time[l] * amount;
                    match self.plan.electric == Some(effect.stock) {
                        true => self.happened.electric[*hour - first][l] += change as f32,
                        false => self.total[effect.stock][l] += change,
                    }
                }
            }
        }
        for (effects, blocks) in self.activities.iter().zip(&self.happened.blocks) {
            let amount = &blocks[(block.start - first) / self.plan.step];
            for effect in effects.iter().filter(|e| self.plan.electric != Some(e.stock)) {
                let row = &mut self.total[effect.stock];
                for l in 0..LANES {
                    row[l] += effect.per_time[l] * f64::from(amount[l]);
                }
            }
        }
    }

    /// Sun and cold, and the electric store with them, hour by hour.
    fn climate(&mut self, block: &Range<usize>, group: &mut Group) {
        let plan = self.plan;
        if plan.electric.is_none() && plan.fuel.is_none() {
            return;
        }
        let mut flows = FlowLanes::default();
        let mut level: Lane = match plan.electric {
            Some(s) => group.level[s].map(|v| v as f32),
            None => [0.0; LANES],
        };
        for index in block.clone() {
            let hour = &plan.scene.hours[index];
            if hour.day != self.sky_day {
                self.sky_day = hour.day;
                let day = &plan.scene.days[hour.day];
                for (l, (departure, random)) in self.departures.iter_mut().enumerate() {
                    let (offset_k, clearness) = departure.next(day, random);
                    self.day.put(l, offset_k, clearness);
                }
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
                let change = &mut self.happened.electric[index - self.happened.hours.start];
                let burns_it = if plan.fuel.is_none() { 1.0 } else { 0.0 };
                let outside_wh = hour.planned_charge_wh as f32;
                for l in 0..LANES {
                    change[l] += flows.solar_wh[l] + outside_wh
                        - flows.load_wh[l]
                        - burns_it * flows.fuel[l];
                }
                self.step_electric(s, index, &before, &mut level, group);
            }
        }
        if let Some(s) = plan.fuel {
            for row in &self.burnt[..block.len()] {
                for l in 0..LANES {
                    self.total[s][l] -= f64::from(row[l]);
                }
            }
        }
        if let Some(s) = plan.electric {
            group.level[s] = level.map(f64::from);
        }
    }

    /// Moves the electric store by one hour.
    fn step_electric(
        &mut self,
        s: usize,
        index: usize,
        before: &Lane,
        level: &mut Lane,
        group: &mut Group,
    ) {
        let stock = &self.plan.stocks[s];
        let (capacity, limit) = (stock.capacity as f32, stock.limit as f32);
        let sign = stock.sign as f32;
        let change = &self.happened.electric[index - self.happened.hours.start];
        let mut out = 0u32;
        for l in 0..LANES {
            let moved = before[l] + change[l];
            let moved = if moved < 0.0 { 0.0 } else { moved };
            let moved = if moved > capacity { capacity } else { moved };
            level[l] = moved;
            self.lowest[l] = if moved < self.lowest[l] { moved } else { self.lowest[l] };
            out |= u32::from(sign * (moved - limit) <= 0.0);
        }
        if out != 0 {
            for l in 0..LANES {
                let passage = &mut group.passage[s][l];
                if passage.is_infinite() && sign * (level[l] - limit) <= 0.0 {
                    let after = before[l] + change[l];
                    *passage = met(index, before[l].into(), after.into(), stock.limit);
                }
            }
        }
        if stock.reset_by_camp && self.plan.moves[index] {
            level.fill(stock.serviced_level as f32);
        }
    }

    /// Moves a stock that is not electric through a block.
    fn add_up(&mut self, s: usize, block: &Range<usize>, group: &mut Group) {
        let stock = &self.plan.stocks[s];
        let reset = stock.reset_by_camp && self.plan.moves[block.clone()].contains(&true);
        if !stock.one_way || reset {
            for l in 0..LANES {
                if group.needs(self.plan, s, l, block.start) {
                    let (level, passage) = self.walk(s, l, block, group.level[s][l], false);
                    group.level[s][l] = level;
                    group.passage[s][l] = group.passage[s][l].min(passage);
                }
            }
            return;
        }
        let StockPlan { capacity, limit, sign, .. } = *stock;
        let before = group.level[s];
        let mut out = 0u32;
        for l in 0..LANES {
            let after = before[l] + self.total[s][l];
            let after = if after < 0.0 { 0.0 } else { after };
            let after = if after > capacity { capacity } else { after };
            group.level[s][l] = after;
            out |= u32::from(sign * (after - limit) <= 0.0);
        }
        if out == 0 {
            return;
        }
        for l in 0..LANES {
            if group.passage[s][l].is_infinite() && stock.is_out(group.level[s][l]) {
                let (_, passage) = self.walk(s, l, block, before[l], true);
                // The hours' sum may round to just short of the limit that the block's met.
                group.passage[s][l] = passage.min(block.end as f64);
            }
        }
    }

    /// Carries the tracks through a block: what moves a stock does not depend on its level.
    fn carry(&self, block: &Range<usize>, group: &mut Group) {
        let stocks = self.plan.stocks.len();
        let mut changes = vec![[0.0; LANES]; block.len() * stocks];
        for s in 0..stocks {
            if self.plan.electric == Some(s) {
                for hour in block.clone() {
                    let row = &self.happened.electric[hour - self.happened.hours.start];
                    changes[(hour - block.start) * stocks + s] = row.map(f64::from);
                }
                continue;
            }
            for l in 0..LANES {
                let hours = self.changes(s, l, block);
                for (place, change) in hours[..block.len()].iter().enumerate() {
                    changes[place * stocks + s][l] = *change;
                }
            }
        }
        for hour in block.clone() {
            let place = (hour - block.start) * stocks;
            let moves_camp = self.plan.moves[hour];
            let kinds = self.plan.beliefs.mechanism.stocks();
            group.tracks.hour(hour, moves_camp, &changes[place..place + stocks], kinds);
        }
    }

    /// Walks one life's stock through the hours of a block: its level at the end, and the hour
    /// at which it first met its limit, infinite if it did not. The walk can end there.
    fn walk(
        &self,
        s: usize,
        l: usize,
        block: &Range<usize>,
        level: f64,
        only_passage: bool,
    ) -> (f64, f64) {
        let change = self.changes(s, l, block);
        let stock = &self.plan.stocks[s];
        let (mut level, mut passage) = (level, f64::INFINITY);
        for (place, change) in change[..block.len()].iter().enumerate() {
            let before = level;
            let after = before + change;
            level = after.clamp(0.0, stock.capacity);
            if passage.is_infinite() && stock.is_out(level) {
                passage = met(block.start + place, before, after, stock.limit);
                if only_passage {
                    break;
                }
            }
            if stock.reset_by_camp && self.plan.moves[block.start + place] {
                level = stock.serviced_level;
            }
        }
        (level, passage)
    }

    /// What moves one life's stock in each hour of a block; not for the electric store.
    fn changes(&self, s: usize, l: usize, block: &Range<usize>) -> [f64; BLOCK] {
        let mut change = [0.0; BLOCK];
        let each = |effects: &[Effect]| -> f64 {
            effects.iter().filter(|e| e.stock == s).map(|e| e.per_time[l]).sum()
        };
        let swing = 1.0 + self.felt[s] * (self.swing[l] - 1.0);
        let per_person_day = self.per_person_day[s][l] * swing;
        let per_hour = self.per_day[s][l] / 24.0;
        for (change, people) in change.iter_mut().zip(&self.plan.person_days[block.clone()]) {
            *change = per_person_day * people + per_hour;
        }
        for (hour, source, amount) in self.plan.planned_in(block) {
            let effects = effects_of(&self.activities, &self.drivers, self.plan, *source);
            change[hour - block.start] += each(effects) * amount;
        }
        for a in &self.plan.moved_by[s] {
            let each = each(&self.activities[*a]);
            let skipped = block.start - self.happened.hours.start;
            for (place, size) in self.happened.since(*a, l, block.start) {
                let Some(cell) = change[..block.len()].get_mut(*place as usize - skipped) else {
                    break;
                };
                *cell += each * f64::from(*size);
            }
        }
        if self.plan.fuel == Some(s) {
            change.iter_mut().zip(&self.burnt).for_each(|(c, burnt)| *c -= f64::from(burnt[l]));
        }
        change
    }
}

/// How much of a day's swing each stock feels: what the rig file is sure of (food is counted in
/// person-days) hardly differs from day to day either.
fn swing_felt(plan: &Plan) -> Vec<f64> {
    let mechanism = &plan.beliefs.mechanism;
    let felt = |s: usize| {
        let source = Source::Driver(Driver::PersonDay);
        let flows = mechanism.flows.iter().filter(|f| f.stock == s && f.source == source);
        let spreads = flows.map(|flow| {
            let coefficient = &mechanism.coefficients[flow.coefficient];
            coefficient.sd() / coefficient.mean.max(1e-12)
        });
        (spreads.fold(0.0, f64::max) / USUAL_SPREAD).min(1.0)
    };
    (0..plan.stocks.len()).map(felt).collect()
}

/// When the limit was met between two hours' levels; `after` as it would be without a bottom or
/// a brim, so that a limit that lies there is met within the hour as well.
fn met(index: usize, before: f64, after: f64, limit: f64) -> f64 {
    let part = ((before - limit) / (before - after)).clamp(0.0, 1.0);
    index as f64 + if part.is_finite() { part } else { 1.0 }
}
