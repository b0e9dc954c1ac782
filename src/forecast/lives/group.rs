//! One group of lives, a lane each, run forward block by block.
//!
//! Only what the weather or a full battery bends is stepped by the hour: the heater, the loads,
//! the electric store. All other stocks only add up, so a block of hours is one sum; the hours
//! within it are looked at only where the limit is met, or where a stock can move both ways.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

mod electric;
mod passage;

use super::effects::{Effect, by_stock, effects, effects_of, swinging};
use super::happenings::{Happenings, STRETCH};
use super::plan::{Plan, StockPlan};
use crate::domain::flow::Driver;
use crate::forecast::draw::{BASE, CLEARNESS, Drawer, GroupDraw, LASTING, Row, WARMTH, mirrored};
use crate::forecast::tracks::TrackSet;
use crate::mechanism::climate::ClimateValues;
use crate::mechanism::climate::lanes::{DayLanes, LANES, Lane, ValueLanes};
use crate::mechanism::driver::Source;
use crate::weather::ahead::WeatherAnomaly;
pub(in crate::forecast) use passage::met;
use std::ops::Range;

/// Hours in a block; a fan wants to know every sixth.
pub(super) const BLOCK: usize = 24;
/// Relative spread of one person-bound day around the life's own mean. Common practice, no
/// source.
const BASE_DAY: f64 = 0.2;
/// Hours after which `third_day` is noted.
pub(super) const THIRD_DAY: usize = 72;
/// Hours ahead over which cold is counted: as far as an outlook usually reaches.
pub const COLD_HOURS: usize = 120;
/// How far below the wanted temperature counts as cold, in K.
const COLD_K: f32 = 2.0;

/// What a group came to.
pub(super) struct Group {
    pub first: Vec<Row>,
    pub level: Vec<Row>,
    pub passage: Vec<Row>,
    pub third_day: Vec<Row>,
    pub fans: Vec<Lane>,
    pub lowest: Vec<Lane>,
    pub cold_hours: Lane,
    pub tracks: TrackSet,
    /// Hour from which on the electric store was left alone.
    pub left: usize,
}

impl Group {
    /// Draws and runs the lives from number `from` on, a multiple of [`LANES`]. Unless it is `kept`
    /// to the end, the electric store is left alone once all of them have met its limit.
    #[inline(always)]
    pub fn live(plan: &Plan, drawer: &Drawer, seed: u64, from: usize, kept: bool) -> Group {
        let mut draws = drawer.group(from);
        let mut level: Vec<Row> = std::mem::take(&mut draws.levels);
        for (stock, put) in &plan.scene.starts {
            put.apply(&plan.beliefs.mechanism.stocks()[*stock], &mut level[*stock]);
        }
        let out = |(stock, level): (&StockPlan, &Row)| {
            level.map(|l| if stock.is_out(l) { 0.0 } else { f64::INFINITY })
        };
        let points = if plan.with_fans { plan.hours.len() / super::FAN_STEP } else { 0 };
        let fans = points * level.len();
        let mut group = Group {
            first: level.clone(),
            passage: plan.stocks.iter().zip(&level).map(out).collect(),
            third_day: level.clone(),
            level,
            fans: Vec::with_capacity(fans),
            lowest: Vec::new(),
            cold_hours: [0.0; LANES],
            tracks: TrackSet::of(plan.tracks),
            left: usize::MAX,
        };
        group.tracks.begin(&group.level);
        let kept = kept || plan.with_fans || !plan.tracks.is_empty();
        Steps::of(plan, drawer, &draws, seed, from).run(&mut group, kept);
        group
    }
}

impl Group {
    /// Whether a stock's level still matters to anything in any life, from an hour on.
    #[inline(always)]
    fn needs_any(&self, plan: &Plan, stock: usize, hour: usize) -> bool {
        self.needs_all(plan, stock, hour) || self.any_within(stock)
    }

    /// Whether any life has not met a stock's limit yet.
    #[inline(always)]
    fn any_within(&self, stock: usize) -> bool {
        self.within(stock) != 0
    }

    /// The lives that have not met a stock's limit yet, a bit each.
    #[inline(always)]
    fn within(&self, stock: usize) -> u32 {
        let (passages, mut lives) = (&self.passage[stock], 0);
        for l in 0..LANES {
            lives |= u32::from(passages[l] == f64::INFINITY) << l;
        }
        lives
    }

    /// The lives in which a stock's level still matters to anything, from an hour on, a bit each.
    #[inline(always)]
    pub fn needing(&self, plan: &Plan, stock: usize, hour: usize) -> u32 {
        if self.needs_all(plan, stock, hour) { u32::MAX } else { self.within(stock) }
    }

    /// Whether it matters in every life, whatever became of it.
    #[inline(always)]
    fn needs_all(&self, plan: &Plan, stock: usize, hour: usize) -> bool {
        hour < THIRD_DAY
            || plan.with_fans
            || !plan.tracks.is_empty()
            || (plan.electric == Some(stock) && hour < self.left)
    }

    /// Whether a stock's level still matters to anything in one life, from an hour on.
    #[inline(always)]
    fn needs(&self, plan: &Plan, stock: usize, lane: usize, hour: usize) -> bool {
        self.needs_all(plan, stock, hour) || self.passage[stock][lane].is_infinite()
    }
}

impl StockPlan {
    #[inline(always)]
    fn is_out(&self, level: f64) -> bool {
        self.sign * (level - self.limit) <= 0.0
    }
}

/// The running state of a group.
struct Steps<'a> {
    plan: &'a Plan<'a>,
    drawer: &'a Drawer<'a>,
    /// Number of the first life.
    from: usize,
    /// Per activity, then per driver in the plan's order.
    activities: Vec<Vec<Effect>>,
    drivers: Vec<Vec<Effect>>,
    happened: Happenings,
    values: ValueLanes,
    anomaly: WeatherAnomaly<LANES>,
    /// Stocks whose level still matters in some life; none where tracks carry their own.
    open: Vec<bool>,
    /// The same of the electric store, tracks or not.
    open_electric: bool,
    /// Of the block at hand: the sum per stock; by hour, what moves the electric store in Wh,
    /// and the fuel burnt.
    total: Vec<Row>,
    electric: Vec<Lane>,
    burnt: Vec<Lane>,
    /// The same for the heat that is wanted, in W, and for the electric store's level at the
    /// hour's start, as long as cold is counted.
    wanted: Vec<Lane>,
    begun: Vec<Lane>,
    /// Per stock, what a person-day and a day move.
    per_person_day: Vec<Row>,
    per_day: Vec<Row>,
    swing: Row,
    /// The part of a person-day that swings.
    swinging: Vec<Row>,
    day: DayLanes,
    sky_day: usize,
    lowest: Lane,
}

impl<'a> Steps<'a> {
    #[inline(always)]
    fn of(
        plan: &'a Plan<'a>,
        drawer: &'a Drawer<'a>,
        draws: &GroupDraw,
        seed: u64,
        from: usize,
    ) -> Steps<'a> {
        let mechanism = &plan.beliefs.mechanism;
        let activities = mechanism.parts.activities.len();
        let activities: Vec<Vec<Effect>> =
            (0..activities).map(|a| effects(plan, draws, Source::Activity(a))).collect();
        let lasting = |what| mirrored(&drawer.normals(from, what + LASTING), |z| z);
        Steps {
            plan,
            drawer,
            from,
            happened: Happenings::of(plan, drawer, &draws.rates, seed, from),
            activities,
            per_person_day: by_stock(plan, draws, Driver::PersonDay),
            per_day: by_stock(plan, draws, Driver::Day),
            drivers: plan.drivers.iter().map(|source| effects(plan, draws, *source)).collect(),
            values: ValueLanes::of((0..LANES).map(|l| climate_values(plan, draws, l))),
            anomaly: WeatherAnomaly::begin(lasting(WARMTH), lasting(CLEARNESS)),
            open: vec![plan.tracks.is_empty(); plan.stocks.len()],
            open_electric: plan.electric.is_some(),
            total: vec![[0.0; LANES]; plan.stocks.len()],
            electric: vec![[0.0; LANES]; BLOCK],
            burnt: vec![[0.0; LANES]; BLOCK],
            wanted: vec![[0.0; LANES]; BLOCK],
            begun: vec![[0.0; LANES]; BLOCK],
            swing: [1.0; LANES],
            swinging: swinging(plan, draws),
            day: DayLanes::default(),
            sky_day: usize::MAX,
            lowest: [f32::INFINITY; LANES],
        }
    }

    #[inline(always)]
    fn run(mut self, group: &mut Group, kept: bool) {
        let hours = self.plan.hours.len();
        let step = self.plan.step;
        let mut before = [0.0; LANES];
        for start in (0..hours).step_by(step) {
            let block = start..(start + step).min(hours);
            if let Some(s) = self.plan.electric
                && !kept
                && (COLD_HOURS..group.left).contains(&start)
                && !group.any_within(s)
            {
                group.left = start;
            }
            if start.is_multiple_of(BLOCK) {
                let normals = self.drawer.normals(self.from, BASE + (start / BLOCK) as u64);
                self.swing = mirrored(&normals, |z| (1.0 + BASE_DAY * z).max(0.1));
            }
            self.open_electric = self.plan.electric.is_some() && start < group.left;
            if start.is_multiple_of(STRETCH) {
                self.happened.draw(self.plan, &self.activities, group, start);
            }
            for (s, open) in self.open.iter_mut().enumerate() {
                *open = *open && group.needs_any(self.plan, s, start);
            }
            self.sum(&block);
            self.climate(&block, group);
            for s in 0..self.plan.stocks.len() {
                if self.plan.electric != Some(s) && self.open[s] {
                    self.add_up(s, &block, group, &mut before);
                }
            }
            if self.plan.tracks.is_empty() {
                self.count_cold(&block, group);
                self.note(&block, group);
            } else {
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
            group.fans.extend(group.level.iter().map(|row| row.map(|v| v as f32)));
        }
        if self.plan.electric.is_some() && (block.end.is_multiple_of(BLOCK) || block.end == hours) {
            group.lowest.push(self.lowest);
            self.lowest = [f32::INFINITY; LANES];
        }
    }

    /// Sums base use, plans and occurrences of a block, per stock; those of the electric store
    /// by the hour, its base use aside.
    #[inline(always)]
    fn sum(&mut self, block: &Range<usize>) {
        let plan = self.plan;
        let people = plan.block_person_days[block.start / plan.step];
        let days = block.len() as f64 / 24.0;
        for (s, row) in self.total.iter_mut().enumerate().filter(|(s, _)| self.open[*s]) {
            let (per_person_day, per_day) = (&self.per_person_day[s], &self.per_day[s]);
            for l in 0..LANES {
                let swung = self.swinging[s][l] * (self.swing[l] - 1.0);
                row[l] = (per_person_day[l] + swung) * people + per_day[l] * days;
            }
        }
        if self.open_electric {
            for (hour, row) in block.clone().zip(&mut self.electric) {
                *row = *self.happened.electric(hour);
            }
        }
        for (hour, source, amount) in plan.planned_in(block) {
            for effect in effects_of(&self.activities, &self.drivers, plan, *source) {
                for l in 0..LANES {
                    let change = effect.per_time[l] * amount;
                    match plan.electric == Some(effect.stock) {
                        true => self.electric[*hour - block.start][l] += change as f32,
                        false => self.total[effect.stock][l] += change,
                    }
                }
            }
        }
        for (a, effects) in self.activities.iter().enumerate() {
            let amount = self.happened.in_block(plan, a, block.start);
            let others = |effect: &&Effect| plan.electric != Some(effect.stock);
            for effect in effects.iter().filter(others).filter(|effect| self.open[effect.stock]) {
                let (per_time, row) = (&effect.per_time, &mut self.total[effect.stock]);
                for l in 0..LANES {
                    row[l] += per_time[l] * amount[l];
                }
            }
        }
    }

    /// Moves a stock that is not electric through a block; `before` is to scribble on.
    #[inline(always)]
    fn add_up(&self, s: usize, block: &Range<usize>, group: &mut Group, before: &mut Row) {
        let stock = &self.plan.stocks[s];
        let reset = stock.reset_by_camp && self.plan.moves[block.clone()].contains(&true);
        if !stock.one_way || reset {
            for l in 0..LANES {
                if group.needs(self.plan, s, l, block.start) {
                    let (level, passage) = self.walk(s, l, block, group.level[s][l]);
                    group.level[s][l] = level;
                    group.passage[s][l] = group.passage[s][l].min(passage);
                }
            }
            return;
        }
        let StockPlan { capacity, limit, sign, .. } = *stock;
        let total = &self.total[s];
        let (level, passages) = (&mut group.level[s], &mut group.passage[s]);
        let mut out = 0u64;
        for l in 0..LANES {
            before[l] = level[l];
            let after = level[l] + total[l];
            let after = if after < 0.0 { 0.0 } else { after };
            let after = if after > capacity { capacity } else { after };
            level[l] = after;
            out +=
                u64::from(sign * (after - limit) <= 0.0) & u64::from(passages[l] == f64::INFINITY);
        }
        if out > passage::FEW {
            self.meet_together(s, block, before, level, passages);
        } else if out > 0 {
            for l in 0..LANES {
                if passages[l] == f64::INFINITY && stock.is_out(level[l]) {
                    passages[l] = self.passage_within(s, l, block, before[l]);
                }
            }
        }
    }

    /// Carries the tracks through a block: what moves a stock does not depend on its level.
    #[inline(always)]
    fn carry(&self, block: &Range<usize>, group: &mut Group) {
        let plan = self.plan;
        let stocks = plan.stocks.len();
        let mut changes = vec![[0.0; LANES]; block.len() * stocks];
        for (place, hour) in block.clone().enumerate() {
            let people = plan.person_days[hour];
            let rows = &mut changes[place * stocks..(place + 1) * stocks];
            for (s, row) in rows.iter_mut().enumerate() {
                if plan.electric == Some(s) {
                    for l in 0..LANES {
                        row[l] = f64::from(self.electric[place][l]);
                    }
                    continue;
                }
                let (per_person_day, per_day) = (&self.per_person_day[s], &self.per_day[s]);
                for l in 0..LANES {
                    let swung = self.swinging[s][l] * (self.swing[l] - 1.0);
                    row[l] = (per_person_day[l] + swung) * people + per_day[l] / 24.0;
                }
                if plan.fuel == Some(s) {
                    for l in 0..LANES {
                        row[l] -= f64::from(self.burnt[place][l]);
                    }
                }
            }
        }
        let place = |hour: usize, effect: &Effect| (hour - block.start) * stocks + effect.stock;
        let others = |effect: &&Effect| plan.electric != Some(effect.stock);
        for (hour, source, amount) in plan.planned_in(block) {
            let effects = effects_of(&self.activities, &self.drivers, plan, *source);
            for effect in effects.iter().filter(others) {
                let row = &mut changes[place(*hour, effect)];
                for l in 0..LANES {
                    row[l] += effect.per_time[l] * amount;
                }
            }
        }
        for (a, effects) in self.activities.iter().enumerate() {
            let cells = self.happened.by_hour(a, block);
            let clock = &plan.clocks[a];
            for hour in clock.hours(&clock.slots(block)).iter().map(|hour| *hour as usize) {
                let cell = &cells[hour - block.start];
                for effect in effects.iter().filter(others) {
                    let row = &mut changes[place(hour, effect)];
                    for l in 0..LANES {
                        row[l] += effect.per_time[l] * f64::from(cell[l]);
                    }
                }
            }
        }
        for (place, hour) in block.clone().enumerate() {
            let rows = &mut changes[place * stocks..(place + 1) * stocks];
            for (row, leaves) in rows.iter_mut().zip(&plan.scene.leaves) {
                // What is gone stays where it is, and so never runs short.
                if *leaves <= hour as f64 {
                    *row = [0.0; LANES];
                }
            }
            group.tracks.hour(hour, plan.moves[hour], rows, plan.beliefs.mechanism.stocks());
        }
    }
}

/// Climate values of one life.
fn climate_values(plan: &Plan, draws: &GroupDraw, lane: usize) -> ClimateValues {
    ClimateValues::of(&plan.beliefs.mechanism, |i| draws.coefficients[i][lane])
}
