//! What the habits of a group of lives do, drawn a few days at a time.
//!
//! A few days fit near the processor, and a habit that no longer matters to a life (all that it
//! moves has met its limit) is not drawn on. What happened is kept as one sum per life and hour
//! in which a habit can occur at all: its slots, see [`super::clock::Clock`].

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::clock::Clock;
use super::effects::Effect;
use super::group::Group;
use super::plan::Plan;
use crate::forecast::draw::{ACTIVITY, Chance, Drawer, Row, START, stream};
use crate::mechanism::climate::lanes::{LANES, Lane};
use std::ops::Range;

/// Hours that are drawn at a time.
pub(super) const STRETCH: usize = 120;

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
}

impl Habit {
    /// Draws occurrences of this usual size until the clock reads `end`, into one lane of the
    /// cells, which begin with the slot `begin`.
    #[inline(always)]
    fn draw<const COARSE: bool>(
        &mut self,
        clock: &Clock,
        (begin, end): (usize, f64),
        cells: &mut [Lane],
        lane: usize,
        usual: f32,
    ) {
        let (mut own, mut at, mut left) = (self.chance.clone(), self.next, MOST_OCCURRENCES);
        while at <= end && left > 0 {
            let slot = clock.slot::<COARSE>(at).wrapping_sub(begin);
            let (gap, relative) = own.occur();
            cells[slot][lane] += relative * usual;
            at += f64::from(gap) * self.per_rate;
            left -= 1;
        }
        (self.chance, self.next) = (own, at);
    }
}

/// What happens in a stretch of hours.
pub(super) struct Happenings {
    habits: Vec<Habit>,
    /// Per activity, its slots in the stretch at hand, and where they begin in `cells`.
    slots: Vec<(Range<usize>, usize)>,
    /// Amount per slot, one activity after another.
    cells: Vec<Lane>,
}

impl Happenings {
    #[inline(always)]
    pub fn of(plan: &Plan, drawer: &Drawer, rates: &[Row], seed: u64, from: usize) -> Happenings {
        let mut habits = Vec::with_capacity(rates.len() * LANES);
        for (a, rates) in rates.iter().enumerate() {
            let law = Chance::law(plan.beliefs.habits[a].fano);
            let number = START + 2 * a as u64;
            let (gaps, places) = (drawer.even(from, number), drawer.even(from, number + 1));
            for l in 0..LANES {
                let pair = l / 2;
                let random = stream(seed, from / 2 + pair, ACTIVITY + a as u64);
                let bits = [gaps[pair], places[pair]];
                let (chance, left) = Chance::start(law, random, l % 2 == 1, bits);
                let per_rate = 1.0 / rates[l].max(1e-9);
                habits.push(Habit { chance, next: left * per_rate, per_rate });
            }
        }
        let most = |a: usize| plan.clocks[a].most_slots(STRETCH);
        let cells = (0..rates.len()).map(most).sum();
        Happenings { habits, slots: vec![(0..0, 0); rates.len()], cells: vec![[0.0; LANES]; cells] }
    }

    /// Draws the stretch that begins at `from`.
    #[inline(always)]
    pub fn draw(&mut self, plan: &Plan, effects: &[Vec<Effect>], group: &Group, from: usize) {
        let hours = from..(from + STRETCH).min(plan.hours.len());
        let mut begin = 0;
        for (a, effects) in effects.iter().enumerate() {
            let clock = &plan.clocks[a];
            let slots = clock.slots(&hours);
            self.slots[a] = (slots.clone(), begin);
            if slots.is_empty() {
                continue;
            }
            let cells = &mut self.cells[begin..begin + slots.len()];
            begin += slots.len();
            cells.iter_mut().for_each(|cell| *cell = [0.0; LANES]);
            let usual = plan.beliefs.habits[a].size as f32;
            let reach = (slots.start, clock.reading(slots.end - 1));
            for l in 0..LANES {
                if effects.iter().any(|e| group.needs(plan, e.stock, l, from)) {
                    let habit = &mut self.habits[a * LANES + l];
                    match clock.is_coarse() {
                        true => habit.draw::<true>(clock, reach, cells, l, usual),
                        false => habit.draw::<false>(clock, reach, cells, l, usual),
                    }
                }
            }
        }
    }

    /// What an activity did in a range of hours of the stretch, slot by slot: the hours, and the
    /// amounts in each life.
    #[inline(always)]
    pub fn within<'p>(
        &self,
        plan: &'p Plan,
        a: usize,
        hours: &Range<usize>,
    ) -> (&'p [u32], &[Lane]) {
        let (all, begin) = &self.slots[a];
        let slots = plan.clocks[a].slots(hours);
        let from = begin + slots.start - all.start;
        (plan.clocks[a].hours(&slots), &self.cells[from..from + slots.len()])
    }
}
