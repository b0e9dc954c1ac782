//! One group of lives, a lane each, run forward block by block.
//!
//! Only what the weather or a full battery bends is stepped by the hour: the heater, the loads,
//! the electric store. All other stocks only add up, so a block of hours is one sum; the hours
//! within it are looked at only where the limit is met, or where a stock can move both ways.

use super::plan::{Plan, StockPlan};
use crate::forecast::draw::{ACTIVITY, BASE, Chance, Drawer, LifeDraw, Stream, WEATHER, stream};
use crate::mechanism::climate::lanes::{DayLanes, FlowLanes, LANES, Lane, ValueLanes};
use crate::belief::electric::climate_values;
use crate::domain::flow::Driver;
use crate::mechanism::driver::Source;
use crate::weather::ahead::Departure;
use rand_distr::{Distribution, StandardNormal};
use std::ops::Range;

/// One number per life, in double precision.
pub(super) type Row = [f64; LANES];

/// Hours in a block; a fan wants to know every sixth.
const BLOCK: usize = 24;
/// Relative spread of one person-bound day around the life's own mean. Common practice, no
/// source.
const BASE_DAY: f64 = 0.2;
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
}

impl Group {
    /// Draws and runs the lives from number `from` on.
    pub fn live(plan: &Plan, drawer: &Drawer, seed: u64, from: usize) -> Group {
        let draws = drawer.lives(from..from + LANES);
        let level: Vec<Row> = (0..plan.stocks.len())
            .map(|s| std::array::from_fn(|l| draws[l].levels[s]))
            .collect();
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
        };
        Steps::of(plan, &draws, seed, from).run(&mut group);
        group
    }
}

impl StockPlan {
    fn is_out(&self, level: f64) -> bool {
        self.sign * (level - self.limit) <= 0.0
    }
}

/// One source's effect on one stock, per occurrence, in each life.
struct Effect {
    stock: usize,
    per_time: Row,
}

/// One habit in one life.
struct HabitLane {
    chance: Chance,
    /// Exposure at the next occurrence.
    next: f64,
    /// Exposure per expected occurrence.
    per_rate: f64,
}

/// Something that happened in one life.
#[derive(Clone, Copy)]
struct Occurrence {
    place: u32,
    activity: u32,
    size: f64,
}

/// The running state of a group.
struct Steps<'a> {
    plan: &'a Plan<'a>,
    /// Per activity, then per driver in the plan's order.
    activities: Vec<Vec<Effect>>,
    drivers: Vec<Vec<Effect>>,
    habits: Vec<Vec<HabitLane>>,
    values: ValueLanes,
    departures: Vec<(Departure, Stream)>,
    base: Vec<Stream>,
    /// Of the block at hand: the sum per stock, what happened per life, the electric store's
    /// changes and the fuel burnt by hour.
    total: Vec<Row>,
    happened: Vec<Vec<Occurrence>>,
    electric: Vec<Lane>,
    burnt: Vec<Lane>,
    swing: Row,
    day: DayLanes,
    sky_day: usize,
    lowest: Lane,
}

impl<'a> Steps<'a> {
    fn of(plan: &'a Plan<'a>, draws: &[LifeDraw], seed: u64, from: usize) -> Steps<'a> {
        let mechanism = &plan.beliefs.mechanism;
        let activities = mechanism.parts.activities.len();
        let streams = |purpose: u64| (from..from + LANES).map(move |l| stream(seed, l, purpose));
        let habit = |a: usize| {
            let fano = plan.beliefs.habits[a].fano;
            let lane = |(random, draw): (Stream, &LifeDraw)| {
                let (chance, left) = Chance::start(fano, random);
                let per_rate = 1.0 / draw.rates[a].max(1e-9);
                HabitLane { next: left * per_rate, chance, per_rate }
            };
            streams(ACTIVITY + a as u64).zip(draws).map(lane).collect()
        };
        Steps {
            plan,
            activities: (0..activities)
                .map(|a| effects(plan, draws, Source::Activity(a)))
                .collect(),
            drivers: plan.drivers.iter().map(|source| effects(plan, draws, *source)).collect(),
            habits: (0..activities).map(habit).collect(),
            values: ValueLanes::of(draws.iter().map(|d| climate_values(mechanism, &d.coefficients))),
            departures: streams(WEATHER).map(|random| (Departure::default(), random)).collect(),
            base: streams(BASE).collect(),
            total: vec![[0.0; LANES]; plan.stocks.len()],
            happened: (0..LANES).map(|_| Vec::new()).collect(),
            electric: vec![[0.0; LANES]; BLOCK],
            burnt: vec![[0.0; LANES]; BLOCK],
            swing: [1.0; LANES],
            day: DayLanes::default(),
            sky_day: usize::MAX,
            lowest: [f32::INFINITY; LANES],
        }
    }

    fn run(mut self, group: &mut Group) {
        let hours = self.plan.hours.len();
        let step = if self.plan.with_fans { super::FAN_STEP } else { BLOCK };
        for start in (0..hours).step_by(step) {
            let block = start..(start + step).min(hours);
            if start.is_multiple_of(BLOCK) {
                for (swing, random) in self.swing.iter_mut().zip(&mut self.base) {
                    let z: f64 = StandardNormal.sample(random);
                    *swing = (1.0 + BASE_DAY * z).max(0.1);
                }
            }
            self.sum(&block, group);
            self.climate(&block, group);
            for s in 0..self.plan.stocks.len() {
                if self.plan.electric != Some(s) {
                    self.add_up(s, &block, group);
                }
            }
            self.note(&block, group);
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

    /// Whether a stock's level still matters to anything in one life.
    fn matters(&self, s: usize, lane: usize, block: &Range<usize>, group: &Group) -> bool {
        block.start < THIRD_DAY
            || self.plan.with_fans
            || self.plan.electric == Some(s)
            || group.passage[s][lane].is_infinite()
    }

    /// Sums base use, plans and occurrences of a block, per stock; those of the electric store
    /// by the hour.
    fn sum(&mut self, block: &Range<usize>, group: &Group) {
        self.total.iter_mut().for_each(|row| row.fill(0.0));
        self.happened.iter_mut().for_each(Vec::clear);
        self.electric[..block.len()].iter_mut().for_each(|row| row.fill(0.0));
        let hours = &self.plan.scene.hours[block.clone()];
        let people: f64 = hours.iter().map(|hour| hour.person_days).sum();
        for (source, effects) in self.plan.drivers.iter().zip(&self.drivers) {
            let (amount, swings) = match source {
                Source::Driver(Driver::PersonDay) => (people, true),
                Source::Driver(Driver::Day) => (block.len() as f64 / 24.0, false),
                _ => continue,
            };
            for effect in effects {
                let swing = if swings { &self.swing } else { &[1.0; LANES] };
                if self.plan.electric == Some(effect.stock) {
                    let each: Lane = std::array::from_fn(|l| (effect.per_time[l] * swing[l]) as f32);
                    for (row, hour) in self.electric.iter_mut().zip(hours) {
                        let amount = (if swings { hour.person_days } else { 1.0 / 24.0 }) as f32;
                        for l in 0..LANES {
                            row[l] += each[l] * amount;
                        }
                    }
                } else {
                    let row = &mut self.total[effect.stock];
                    for l in 0..LANES {
                        row[l] += effect.per_time[l] * amount * swing[l];
                    }
                }
            }
        }
        for (hour, source, amount) in self.plan.planned_in(block) {
            let effects = effects_of(&self.activities, &self.drivers, self.plan, *source);
            for effect in effects {
                for l in 0..LANES {
                    let change = effect.per_time[l] * amount;
                    match self.plan.electric == Some(effect.stock) {
                        true => self.electric[hour - block.start][l] += change as f32,
                        false => self.total[effect.stock][l] += change,
                    }
                }
            }
        }
        self.occur(block, group);
    }

    /// Lets the habits occur.
    fn occur(&mut self, block: &Range<usize>, group: &Group) {
        for a in 0..self.habits.len() {
            let ticks = &self.plan.ticks[a];
            let from = ticks.partition_point(|tick| (tick.hour as usize) < block.start);
            let to = ticks.partition_point(|tick| (tick.hour as usize) < block.end);
            let ticks = &ticks[from..to];
            let usual = self.plan.beliefs.habits[a].size;
            for l in 0..LANES {
                let effects = &self.activities[a];
                if !effects.iter().any(|e| self.matters(e.stock, l, block, group)) {
                    continue;
                }
                let habit = &mut self.habits[a][l];
                let mut next = habit.next;
                for tick in ticks {
                    while next <= tick.upto {
                        let (gap, relative) = habit.chance.occur();
                        next += gap * habit.per_rate;
                        let (place, size) = (tick.hour - block.start as u32, relative * usual);
                        for effect in effects {
                            let change = effect.per_time[l] * size;
                            match self.plan.electric == Some(effect.stock) {
                                true => self.electric[place as usize][l] += change as f32,
                                false => self.total[effect.stock][l] += change,
                            }
                        }
                        self.happened[l].push(Occurrence { place, activity: a as u32, size });
                    }
                }
                habit.next = next;
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
                let change = &mut self.electric[place];
                let burns_it = if plan.fuel.is_none() { 1.0 } else { 0.0 };
                let outside_wh = hour.planned_charge_wh as f32;
                for l in 0..LANES {
                    change[l] += flows.solar_wh[l] + outside_wh - flows.load_wh[l]
                        - burns_it * flows.fuel[l];
                }
                self.step_electric(s, index, &before, place, &mut level, group);
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
        place: usize,
        level: &mut Lane,
        group: &mut Group,
    ) {
        let stock = &self.plan.stocks[s];
        let (capacity, limit) = (stock.capacity as f32, stock.limit as f32);
        let sign = stock.sign as f32;
        let change = &self.electric[place];
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
                    *passage = met(index, before[l].into(), level[l].into(), stock.limit);
                }
            }
        }
        if stock.reset_by_camp && self.plan.scene.hours[index].moves_camp {
            level.fill(stock.serviced_level as f32);
        }
    }

    /// Moves a stock that is not electric through a block.
    fn add_up(&mut self, s: usize, block: &Range<usize>, group: &mut Group) {
        let stock = &self.plan.stocks[s];
        let moves = |hour: &crate::forecast::scene::HourAhead| hour.moves_camp;
        let reset = stock.reset_by_camp && self.plan.scene.hours[block.clone()].iter().any(moves);
        if !stock.one_way || reset {
            for l in 0..LANES {
                if self.matters(s, l, block, group) {
                    let (level, passage) = self.walk(s, l, block, group.level[s][l]);
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
                let (_, passage) = self.walk(s, l, block, before[l]);
                // The hours' sum may round to just short of the limit that the block's met.
                group.passage[s][l] = passage.min(block.end as f64);
            }
        }
    }

    /// Walks one life's stock through the hours of a block: its level at the end, and the hour
    /// at which it first met its limit, infinite if it did not.
    fn walk(&self, s: usize, l: usize, block: &Range<usize>, level: f64) -> (f64, f64) {
        let mut change = [0.0; BLOCK];
        let hours = &self.plan.scene.hours[block.clone()];
        let each = |effects: &[Effect]| -> f64 {
            effects.iter().filter(|e| e.stock == s).map(|e| e.per_time[l]).sum()
        };
        for (source, effects) in self.plan.drivers.iter().zip(&self.drivers) {
            let each = each(effects);
            for (change, hour) in change.iter_mut().zip(hours).filter(|_| each != 0.0) {
                *change += match source {
                    Source::Driver(Driver::PersonDay) => each * hour.person_days * self.swing[l],
                    Source::Driver(Driver::Day) => each / 24.0,
                    _ => 0.0,
                };
            }
        }
        for (hour, source, amount) in self.plan.planned_in(block) {
            let effects = effects_of(&self.activities, &self.drivers, self.plan, *source);
            change[hour - block.start] += each(effects) * amount;
        }
        let activities = &self.plan.moved_by[s];
        if !activities.is_empty() {
            for happened in &self.happened[l] {
                let activity = happened.activity as usize;
                if activities.contains(&activity) {
                    change[happened.place as usize] +=
                        each(&self.activities[activity]) * happened.size;
                }
            }
        }
        if self.plan.fuel == Some(s) {
            change.iter_mut().zip(&self.burnt).for_each(|(c, burnt)| *c -= f64::from(burnt[l]));
        }
        let stock = &self.plan.stocks[s];
        let (mut level, mut passage) = (level, f64::INFINITY);
        for (place, (change, hour)) in change.iter().zip(hours).enumerate() {
            let before = level;
            level = (before + change).clamp(0.0, stock.capacity);
            if passage.is_infinite() && stock.is_out(level) {
                passage = met(block.start + place, before, level, stock.limit);
            }
            if stock.reset_by_camp && hour.moves_camp {
                level = stock.serviced_level;
            }
        }
        (level, passage)
    }
}

/// When the limit was met between two hours' levels.
fn met(index: usize, before: f64, after: f64, limit: f64) -> f64 {
    let part = ((before - limit) / (before - after)).clamp(0.0, 1.0);
    index as f64 + if part.is_finite() { part } else { 1.0 }
}

fn effects_of<'s>(
    activities: &'s [Vec<Effect>],
    drivers: &'s [Vec<Effect>],
    plan: &Plan,
    source: Source,
) -> &'s [Effect] {
    match source {
        Source::Activity(a) => activities.get(a).map_or(&[], |effects| effects),
        other => {
            let place = plan.drivers.iter().position(|driver| *driver == other);
            place.map_or(&[], |place| &drivers[place])
        }
    }
}

/// What a source does to each stock, per occurrence, in each life.
fn effects(plan: &Plan, draws: &[LifeDraw], source: Source) -> Vec<Effect> {
    let mut effects: Vec<Effect> = Vec::new();
    for flow in plan.beliefs.mechanism.flows.iter().filter(|flow| flow.source == source) {
        let each = |draw: &LifeDraw| {
            let share = flow.share.map_or(1.0, |s| draw.coefficients[s]);
            flow.scale * draw.coefficients[flow.coefficient] * share
        };
        let known = effects.iter().position(|effect| effect.stock == flow.stock);
        let known = known.unwrap_or_else(|| {
            effects.push(Effect { stock: flow.stock, per_time: [0.0; LANES] });
            effects.len() - 1
        });
        let row = &mut effects[known].per_time;
        row.iter_mut().zip(draws).for_each(|(cell, draw)| *cell += each(draw));
    }
    effects
}
