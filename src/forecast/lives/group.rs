//! One group of lives, a lane each, run forward block by block.
//!
//! Time is advanced in three ways, each for a reason of its own:
//!
//! - by the block ([`changes::Changes::in_block`]): most stocks only add up and move towards their
//!   limit alone. A day is then one sum, and its hours are walked only where a limit is met;
//! - by the hour ([`walk::walk`]): where the hour counts. The weather and a full battery bend what
//!   moves the electric store; a stock that moves both ways may meet its limit within a day and be
//!   back by night; and a passage is told to the hour;
//! - by the hour, for each variant ([`crate::forecast::variants`]), fed with the same hours' rows
//!   ([`changes::Changes::in_hour`]).

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

mod changes;
mod climate;
pub(super) mod walk;

use super::days::HomeDays;
use super::effects::{BaseFlows, Effects};
use super::grid::{BLOCK, COLD_HOURS, DRAWN_HOURS};
use super::occurrences::{Buffers, Occurrences};
use super::setup::RunSetup;
use super::state::Group;
use crate::forecast::limit::moved;
use crate::forecast::practice::COLD_K;
use crate::forecast::sampler::{BASE, Row, Sampler, antithetic};
use crate::forecast::variants::VariantHour;
use crate::mechanism::climate::lanes::{LANES, Lane};
use changes::Changes;
use climate::Climate;
use std::ops::Range;
use walk::{Until, walk};

/// What becomes of the electric store once all lives of a group have met its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Store {
    /// It is left alone.
    LeaveWhenMet,
    /// It is run to the end.
    RunToEnd,
}

/// A group to be run.
pub(super) struct GroupTask<'a> {
    pub setup: &'a RunSetup<'a>,
    pub sampler: &'a Sampler<'a>,
    /// Its number: its lives are those from that many times [`LANES`] on.
    pub number: usize,
    pub store: Store,
    pub room: &'a mut Buffers,
}

/// Draws and runs the lives of a group.
#[inline(always)]
pub(super) fn live(task: GroupTask) -> Group {
    let (setup, sampler) = (task.setup, task.sampler);
    let from = task.number * LANES;
    let mut draws = sampler.group(from);
    let mut levels: Vec<Row> = std::mem::take(&mut draws.levels);
    // Done already when the lives begin, in their first levels as well.
    for (stock, levels) in setup.stocks.iter().zip(&mut levels) {
        stock.put(0, levels);
    }
    let mut group = Group::begin(setup, levels);
    let parts = GroupRun {
        setup,
        sampler,
        from,
        effects: Effects::of(setup, &draws),
        base: BaseFlows::of(setup, &draws),
        days: HomeDays::of(draws.out),
        occurrences: Occurrences::of(setup, sampler, (&draws.rates, from), task.room),
        climate: Climate::of(setup, sampler, &draws, from),
        begun_wh: vec![[0.0; LANES]; BLOCK],
    };
    parts.run(task.store, &mut group);
    group
}

/// What a group is run with: each part keeps the state of what it is named after.
struct GroupRun<'a> {
    setup: &'a RunSetup<'a>,
    sampler: &'a Sampler<'a>,
    /// Number of the first life.
    from: usize,
    effects: Effects,
    base: BaseFlows,
    days: HomeDays,
    occurrences: Occurrences<'a>,
    climate: Climate<'a>,
    /// The electric store's level at the start of each hour of the block, in Wh.
    begun_wh: Vec<Lane>,
}

impl GroupRun<'_> {
    #[inline(always)]
    fn run(mut self, store: Store, group: &mut Group) {
        let (setup, hours) = (self.setup, self.setup.hours.len());
        for start in (0..hours).step_by(setup.step) {
            let block = start..(start + setup.step).min(hours);
            if store == Store::LeaveWhenMet {
                group.leave_store(setup, start);
            }
            if start.is_multiple_of(DRAWN_HOURS) {
                self.days.draw(self.sampler, self.from, start);
                let activities = &self.effects.activities;
                self.occurrences.draw(setup, (activities, &self.days), group, start);
            }
            if start.is_multiple_of(BLOCK) {
                let normals = self.sampler.normals(self.from, BASE + (start / BLOCK) as u64);
                let spread = setup.base_day_sd[start / BLOCK];
                let departures = antithetic(&normals, |z| spread * z);
                self.base.new_day(
                    &departures,
                    self.days.on(start),
                    #[inline(always)]
                    |s| group.needing(setup, s, start) != 0,
                );
            }
            self.weather(&block, group);
            if let Some(s) = setup.one_stock() {
                let changes = self.changes();
                let hours = 0..block.len();
                group
                    .changes
                    .extend(hours.map(|place| changes.in_hour(s, &block, place).map(|c| c as f32)));
            } else if setup.variants().is_empty() {
                self.electric(&block, group);
                for s in 0..setup.stocks.len() {
                    if setup.electric != Some(s) && group.needing(setup, s, start) != 0 {
                        self.add_up(s, &block, group);
                    }
                }
                self.count_cold(&block, group);
                group.note(setup, &block);
            } else {
                self.carry(&block, group);
            }
        }
    }

    /// What moves the stocks.
    #[inline(always)]
    fn changes(&self) -> Changes<'_> {
        Changes {
            setup: self.setup,
            effects: &self.effects,
            base: &self.base,
            occurrences: &self.occurrences,
            climate: &self.climate,
        }
    }

    /// Sun and cold in a block. Where nobody asks for the electric store any more, only fuels ask for
    /// the weather, and then only for what is burnt.
    #[inline(always)]
    fn weather(&mut self, block: &Range<usize>, group: &Group) {
        let setup = self.setup;
        self.climate.know_left(group);
        let store = group.store(setup, block.start);
        if let Some(s) = store {
            let others = climate::OtherMoves {
                setup,
                effects: &self.effects,
                occurrences: &self.occurrences,
                base: &self.base,
                store: s,
            };
            self.climate.hours(
                block,
                self.days.on(block.start),
                #[inline(always)]
                |hour| others.in_hour(hour),
            );
        } else if setup.electric.is_none() && !setup.fuels.is_empty() {
            self.climate.hours(
                block,
                self.days.on(block.start),
                #[inline(always)]
                |_| [0.0; LANES],
            );
        } else if setup.burnt_stocks().any(|fuel| group.needing(setup, fuel, block.start) != 0) {
            self.climate.heat(block, self.days.on(block.start));
        }
    }

    /// Moves the electric store through a block, to the hour.
    #[inline(always)]
    fn electric(&mut self, block: &Range<usize>, group: &mut Group) {
        let Some(s) = group.store(self.setup, block.start) else { return };
        let net_wh = &self.climate.net_wh;
        let mut level: Lane = group.level[s].map(|level| level as f32);
        let sought = group.passage[s].map(|met| met == f64::INFINITY);
        let mut lowest = group.lowest_today;
        let begun = &mut self.begun_wh;
        let (setup, stock) = (self.setup, &self.setup.stocks[s]);
        let hours = walk::Hours { stock, moves: &setup.moves, block };
        let met = walk(
            hours,
            &mut level,
            (sought, Until::TheEnd),
            #[inline(always)]
            |place, level| {
                begun[place] = *level;
                net_wh[place]
            },
            #[inline(always)]
            |level| {
                for l in 0..LANES {
                    lowest[l] = if level[l] < lowest[l] { level[l] } else { lowest[l] };
                }
            },
        );
        group.lowest_today = lowest;
        for l in 0..LANES {
            group.level[s][l] = f64::from(level[l]);
            group.passage[s][l] = if sought[l] { met[l] } else { group.passage[s][l] };
        }
    }

    /// Moves any other stock through a block.
    #[inline(always)]
    fn add_up(&self, s: usize, block: &Range<usize>, group: &mut Group) {
        let (setup, changes) = (self.setup, self.changes());
        let stock = &setup.stocks[s];
        let hours = walk::Hours { stock, moves: &setup.moves, block };
        let passages = &mut group.passage[s];
        let begun = group.level[s];
        let mut level = begun;
        let mut sought = passages.map(|met| met == f64::INFINITY);
        let reset = stock.reset_by_camp && setup.moves[block.clone()].contains(&true);
        let by_hour = !stock.one_way || reset || stock.is_put(block);
        let until = if by_hour {
            Until::TheEnd
        } else {
            level = moved(&begun, &changes.in_block(s, block), (0.0, stock.capacity));
            group.level[s] = level;
            let mut any = false;
            for l in 0..LANES {
                sought[l] &= stock.limit.is_out(level[l]);
                any |= sought[l];
            }
            if !any {
                return;
            }
            level = begun;
            Until::AllMet
        };
        let met = walk(
            hours,
            &mut level,
            (sought, until),
            #[inline(always)]
            |place, _| changes.in_hour(s, block, place),
            |_| (),
        );
        for l in 0..LANES {
            // The hours' sum may round to just short of the limit that the block's met.
            let last = if by_hour { f64::INFINITY } else { block.end as f64 };
            passages[l] = if sought[l] { met[l].min(last) } else { passages[l] };
        }
        if by_hour {
            group.level[s] = level;
        }
    }

    /// Carries the variants through a block: what moves a stock does not depend on its level.
    #[inline(always)]
    fn carry(&self, block: &Range<usize>, group: &mut Group) {
        let (setup, changes) = (self.setup, self.changes());
        let mut rows = vec![[0.0; LANES]; setup.stocks.len()];
        for (place, index) in block.clone().enumerate() {
            for (s, row) in rows.iter_mut().enumerate() {
                // What is gone stays where it is, and so never runs short.
                let gone = setup.scene.leaves[s] <= index as f64;
                *row = if gone { [0.0; LANES] } else { changes.in_hour(s, block, place) };
            }
            let hour = VariantHour { index, moves_camp: setup.moves[index] };
            group.variants.hour(hour, &rows, setup.beliefs.mechanism.stocks());
        }
    }

    /// Counts the hours of a block in which the van is cold: its sources of heat give too little, or
    /// their fuel has met the limit and the reserve is not for heating. Needs the block's passages.
    #[inline(always)]
    fn count_cold(&self, block: &Range<usize>, group: &mut Group) {
        let setup = self.setup;
        let mut out = vec![[true; LANES]; setup.fuels.len()];
        for index in block.start..block.end.min(COLD_HOURS) {
            let place = index - block.start;
            for (out, fuel) in out.iter_mut().zip(&setup.fuels) {
                let Some(s) = *fuel else { continue };
                *out = match setup.electric == *fuel {
                    // A battery comes back with the sun.
                    true => {
                        self.begun_wh[place].map(|level| setup.stocks[s].limit.is_out(level.into()))
                    }
                    false => group.passage[s].map(|met| met <= index as f64),
                };
            }
            let (hour, asked_w) = (&setup.hours[index], &self.climate.asked_w[place]);
            let short = setup.scene.kit.short_k(hour, &self.climate.values, asked_w, &out);
            for l in 0..LANES {
                group.cold_hours[l] += if short[l] > COLD_K { 1.0 } else { 0.0 };
            }
        }
    }
}
