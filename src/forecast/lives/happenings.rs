//! What the habits of a group of lives do, drawn a few days at a time.
//!
//! A few days fit near the processor, and a habit that no longer matters to a life (all that it
//! moves has met its limit) is not drawn on.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::FAN_STEP;
use super::effects::Effect;
use super::group::{BLOCK, Group};
use super::plan::Plan;
use crate::forecast::draw::{ACTIVITY, Chance, LifeDraw, stream};
use crate::mechanism::climate::lanes::{LANES, Lane};
use std::ops::Range;

/// Hours that are drawn at a time.
pub(super) const STRETCH: usize = 120;

/// Something that happened in one life: in which hour of the stretch, how much.
pub(super) type Occurrence = (u32, f32);

/// Most occurrences of one habit in one life and stretch: nobody has an hour for every
/// occurrence of a rate that is out of all bounds.
const MOST_OCCURRENCES: usize = 20_000;

/// One habit in one life.
struct Habit {
    chance: Chance,
    /// Its clock at the next occurrence.
    next: f64,
    /// Its clock per expected occurrence.
    per_rate: f64,
    /// Energy per occurrence of size 1 that it moves in the electric store, in Wh.
    each_wh: f32,
}

/// What happens in a stretch of hours.
pub(super) struct Happenings {
    habits: Vec<Habit>,
    /// The hours at hand.
    pub hours: Range<usize>,
    /// What happened, life after life of one activity after another.
    all: Vec<Occurrence>,
    /// Where each of them (`activity * LANES + life`) begins in `all`, and the end.
    begin: Vec<u32>,
    /// Per activity and block of the stretch, summed.
    pub blocks: Vec<Vec<Lane>>,
    /// Energy that they move in the electric store, per hour of the stretch, in Wh.
    pub electric: Vec<Lane>,
}

impl Happenings {
    pub fn of(
        plan: &Plan,
        draws: &[LifeDraw],
        effects: &[Vec<Effect>],
        seed: u64,
        from: usize,
    ) -> Happenings {
        let count = effects.len();
        let mut habits = Vec::with_capacity(count * LANES);
        for (a, effects) in effects.iter().enumerate() {
            let energy = effects.iter().find(|effect| plan.electric == Some(effect.stock));
            for (l, draw) in draws.iter().enumerate() {
                let random = stream(seed, from + l, ACTIVITY + a as u64);
                let (chance, left) = Chance::start(plan.beliefs.habits[a].fano, random);
                let per_rate = 1.0 / draw.rates[a].max(1e-9);
                let each_wh = energy.map_or(0.0, |effect| effect.per_time[l]) as f32;
                habits.push(Habit { chance, next: left * per_rate, per_rate, each_wh });
            }
        }
        Happenings {
            habits,
            hours: 0..0,
            all: Vec::with_capacity(count * LANES * STRETCH / 12),
            begin: vec![0; count * LANES + 1],
            blocks: vec![vec![[0.0; LANES]; STRETCH / plan.step]; count],
            electric: vec![[0.0; LANES]; STRETCH],
        }
    }

    /// Draws the stretch that begins at `from`.
    pub fn draw(&mut self, plan: &Plan, effects: &[Vec<Effect>], group: &Group, from: usize) {
        self.hours = from..(from + STRETCH).min(plan.hours.len());
        self.electric.iter_mut().for_each(|lane| lane.fill(0.0));
        self.all.clear();
        for (a, effects) in effects.iter().enumerate() {
            self.blocks[a].iter_mut().for_each(|lane| lane.fill(0.0));
            let end = plan.clocks[a].reading(self.hours.end);
            for l in 0..LANES {
                if effects.iter().any(|e| group.needs(plan, e.stock, l, from)) {
                    self.live(plan, a, l, end);
                }
                self.begin[a * LANES + l + 1] = self.all.len() as u32;
            }
        }
    }

    /// What one activity did in one life, in time order, from an hour on.
    pub fn since(&self, a: usize, l: usize, hour: usize) -> &[Occurrence] {
        let place = a * LANES + l;
        let own = &self.all[self.begin[place] as usize..self.begin[place + 1] as usize];
        &own[own.partition_point(|(h, _)| (*h as usize) + self.hours.start < hour)..]
    }

    fn live(&mut self, plan: &Plan, a: usize, l: usize, end: f64) {
        let clock = &plan.clocks[a];
        let usual = plan.beliefs.habits[a].size as f32;
        let with_fans = plan.with_fans;
        let habit = &mut self.habits[a * LANES + l];
        let blocks = &mut self.blocks[a];
        let most = self.all.len() + MOST_OCCURRENCES;
        let mut next = habit.next;
        while next <= end && self.all.len() < most {
            let place = clock.hour(next) - self.hours.start;
            let (gap, relative) = habit.chance.occur();
            let size = relative * usual;
            next += gap * habit.per_rate;
            let block = if with_fans { place / FAN_STEP } else { place / BLOCK };
            blocks[block][l] += size;
            if habit.each_wh != 0.0 {
                self.electric[place][l] += habit.each_wh * size;
            }
            self.all.push((place as u32, size));
        }
        habit.next = next;
    }
}
