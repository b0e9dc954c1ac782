//! What the habits of a group of lives do, drawn a few days at a time.
//!
//! A few days fit near the processor, and a habit that no longer matters to a life (all that it
//! moves has met its limit) is not drawn on. Whatever happens is added, life by life, where it is
//! wanted: to its habit's hour, to its habit's block of hours, and to what the electric store
//! gives in that hour.

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

/// Where one habit's occurrences go.
struct Sums<'a> {
    /// Amount per hour of the stretch.
    cells: &'a mut [Lane],
    /// Amount per block of the stretch.
    blocks: &'a mut [Row],
    /// What moves the electric store per hour of the stretch, in Wh.
    electric: &'a mut [Lane],
}

impl Habit {
    /// Draws occurrences of this usual size until the clock reads `end`, into one lane; each unit
    /// moves the electric store by `each_wh`.
    #[inline(always)]
    fn draw<const COARSE: bool, const ELECTRIC: bool>(
        &mut self,
        clock: &Clock,
        end: f64,
        sums: &mut Sums,
        lane: usize,
        (usual, each_wh): (f32, f32),
    ) {
        let (mut own, mut at, mut left) = (self.chance.clone(), self.next, MOST_OCCURRENCES);
        while at <= end && left > 0 {
            let (hour, block) = clock.place(clock.slot::<COARSE>(at));
            let (gap, relative) = own.occur();
            let amount = relative * usual;
            sums.cells[hour][lane] += amount;
            sums.blocks[block][lane] += f64::from(amount);
            if ELECTRIC {
                sums.electric[hour][lane] += amount * each_wh;
            }
            at += f64::from(gap) * self.per_rate;
            left -= 1;
        }
        (self.chance, self.next) = (own, at);
    }
}

/// What happens in a stretch of hours.
pub(super) struct Happenings {
    habits: Vec<Habit>,
    /// Per activity, amounts by the hour of the stretch, and by its blocks.
    cells: Vec<Lane>,
    blocks: Vec<Row>,
    /// Blocks in a stretch.
    most_blocks: usize,
    /// Per activity, whether any of these are not zero.
    used: Vec<bool>,
    /// What moves the electric store by the hour of the stretch, in Wh.
    electric: Vec<Lane>,
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
        let most_blocks = STRETCH / plan.step;
        Happenings {
            habits,
            cells: vec![[0.0; LANES]; rates.len() * STRETCH],
            blocks: vec![[0.0; LANES]; rates.len() * most_blocks],
            most_blocks,
            used: vec![false; rates.len()],
            electric: vec![[0.0; LANES]; STRETCH],
        }
    }

    /// Draws the stretch that begins at `from`.
    #[inline(always)]
    pub fn draw(&mut self, plan: &Plan, effects: &[Vec<Effect>], group: &Group, from: usize) {
        let hours = from..(from + STRETCH).min(plan.hours.len());
        if from < group.left {
            self.electric.as_flattened_mut().fill(0.0);
        }
        for (a, effects) in effects.iter().enumerate() {
            let clock = &plan.clocks[a];
            let mut sums = Sums {
                cells: &mut self.cells[a * STRETCH..(a + 1) * STRETCH],
                blocks: &mut self.blocks[a * self.most_blocks..(a + 1) * self.most_blocks],
                electric: &mut self.electric,
            };
            if std::mem::take(&mut self.used[a]) {
                sums.cells.as_flattened_mut().fill(0.0);
                sums.blocks.as_flattened_mut().fill(0.0);
            }
            let slots = clock.slots(&hours);
            if slots.is_empty() {
                continue;
            }
            let usual = plan.beliefs.habits[a].size as f32;
            let electric = effects
                .iter()
                .find(|effect| plan.electric == Some(effect.stock) && from < group.left);
            let end = clock.reading(slots.end - 1);
            let mut lives = 0;
            for effect in effects {
                lives |= group.needing(plan, effect.stock, from);
            }
            self.used[a] = lives != 0;
            while lives != 0 {
                let l = lives.trailing_zeros() as usize;
                lives &= lives - 1;
                let habit = &mut self.habits[a * LANES + l];
                let each = (usual, electric.map_or(0.0, |effect| effect.per_time[l] as f32));
                match (clock.is_coarse(), electric.is_some()) {
                    (true, _) => habit.draw::<true, true>(clock, end, &mut sums, l, each),
                    (false, true) => habit.draw::<false, true>(clock, end, &mut sums, l, each),
                    (false, false) => habit.draw::<false, false>(clock, end, &mut sums, l, each),
                }
            }
        }
    }

    /// What an activity came to in each hour of a block of the stretch.
    #[inline(always)]
    pub fn by_hour(&self, a: usize, block: &Range<usize>) -> &[Lane] {
        let from = a * STRETCH + block.start % STRETCH;
        &self.cells[from..from + block.len()]
    }

    /// An activity's amounts in a block of the stretch that begins at that hour.
    #[inline(always)]
    pub fn in_block(&self, plan: &Plan, a: usize, start: usize) -> &Row {
        &self.blocks[a * self.most_blocks + start % STRETCH / plan.step]
    }

    /// What all activities move the electric store by in an hour of the stretch, in Wh.
    #[inline(always)]
    pub fn electric(&self, hour: usize) -> &Lane {
        &self.electric[hour % STRETCH]
    }
}
