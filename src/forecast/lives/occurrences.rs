//! What the habits of a group of lives do, drawn a few days at a time.
//!
//! A few days fit near the processor, and a habit that no longer matters to a life (all that it
//! moves has met its limit) is not drawn on. Whatever happens is added, life by life, where it is
//! wanted: to its habit's hour, to its habit's block of hours, and to what the electric store
//! gives in that hour.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::clock::CumulativeIntensity;
use super::days::HomeDays;
use super::effects::StockEffect;
use super::grid::{BLOCK, DRAWN_HOURS};
use super::renewal::{self, RenewalProcess};
use super::setup::RunSetup;
use super::state::Group;
use crate::forecast::sampler::{Row, Sampler};
use crate::mechanism::climate::lanes::{LANES, Lane};

/// Most occurrences of one habit in one life and stretch: nobody has an hour for every
/// occurrence of a rate that is out of all bounds.
const MOST_OCCURRENCES: usize = 20_000;

/// One habit in one life.
struct Recurrence {
    process: RenewalProcess,
    /// Its clock at the next occurrence.
    next: f64,
    /// Its clock per expected occurrence.
    per_rate: f64,
}

/// Where one habit's occurrences go.
struct HabitSums<'a> {
    /// Amount per hour of those hours.
    cells: &'a mut [Lane],
    /// Amount per block of those hours.
    blocks: &'a mut [Row],
    /// What moves the electric store per hour of those hours, in Wh.
    electric: &'a mut [Lane],
    /// Which of those days are lived at home.
    home: &'a [Lane],
}

/// One life as its habit is drawn.
struct Drawn {
    lane: usize,
    /// The usual size of an occurrence.
    usual: f32,
    /// What a unit of it moves the electric store by, in Wh.
    each_wh: f32,
}

impl Recurrence {
    /// Draws occurrences into one lane until the clock reads `end`.
    #[inline(always)]
    fn draw<const COARSE: bool, const ELECTRIC: bool>(
        &mut self,
        clock: &CumulativeIntensity,
        end: f64,
        sums: &mut HabitSums,
        Drawn { lane, usual, each_wh }: Drawn,
    ) {
        let (mut own, mut at, mut left) = (self.process.clone(), self.next, MOST_OCCURRENCES);
        while at <= end && left > 0 {
            let (hour, block) = clock.place(clock.slot::<COARSE>(at));
            let (gap, relative) = own.next();
            let amount = relative * usual * sums.home[hour / BLOCK][lane];
            sums.cells[hour][lane] += amount;
            sums.blocks[block][lane] += f64::from(amount);
            if ELECTRIC {
                sums.electric[hour][lane] += amount * each_wh;
            }
            at += f64::from(gap) * self.per_rate;
            left -= 1;
        }
        (self.process, self.next) = (own, at);
    }
}

/// Room for what is drawn. It stays near the processor, so that the next group takes it over.
#[derive(Default)]
pub(super) struct Buffers {
    /// Per activity, amounts by the hour, and by its blocks.
    cells: Vec<Lane>,
    blocks: Vec<Row>,
    /// Per activity, whether any of these are not zero.
    used: Vec<bool>,
    /// What moves the electric store by the hour, in Wh.
    electric: Vec<Lane>,
}

/// What happens in the hours that are drawn together.
pub(super) struct Occurrences<'a> {
    habits: Vec<Recurrence>,
    room: &'a mut Buffers,
    /// Blocks among them.
    most_blocks: usize,
}

impl<'a> Occurrences<'a> {
    /// Before the first hour: each habit waits for its first occurrence.
    #[inline(always)]
    pub(super) fn of(
        setup: &RunSetup,
        sampler: &Sampler,
        (rates, from): (&[Row], usize),
        room: &'a mut Buffers,
    ) -> Occurrences<'a> {
        let mut habits = Vec::with_capacity(rates.len() * LANES);
        for (a, rates) in rates.iter().enumerate() {
            let law = (&setup.beliefs.habits[a].fano, setup.scatters[a]);
            let begun = renewal::begun(sampler, from, a, law);
            for ((process, left), rate) in begun.zip(rates) {
                let per_rate = process.each() / rate.max(1e-9);
                habits.push(Recurrence { process, next: left * per_rate, per_rate });
            }
        }
        let most_blocks = DRAWN_HOURS / setup.step;
        room.cells.resize(rates.len() * DRAWN_HOURS, [0.0; LANES]);
        room.blocks.resize(rates.len() * most_blocks, [0.0; LANES]);
        room.used.resize(rates.len(), false);
        room.electric.resize(DRAWN_HOURS, [0.0; LANES]);
        Occurrences { habits, room, most_blocks }
    }

    /// Draws the hours that begin at `from`, for the lives to which what a habit moves matters.
    #[inline(always)]
    pub(super) fn draw(
        &mut self,
        setup: &RunSetup,
        (effects, days): (&[Vec<StockEffect>], &HomeDays),
        group: &Group,
        from: usize,
    ) {
        let hours = from..(from + DRAWN_HOURS).min(setup.hours.len());
        let store = group.store(setup, from);
        if store.is_some() {
            self.room.electric.as_flattened_mut().fill(0.0);
        }
        let room = &mut *self.room;
        for (a, effects) in effects.iter().enumerate() {
            let clock = &setup.clocks[a];
            let mut sums = HabitSums {
                cells: &mut room.cells[a * DRAWN_HOURS..(a + 1) * DRAWN_HOURS],
                blocks: &mut room.blocks[a * self.most_blocks..(a + 1) * self.most_blocks],
                electric: &mut room.electric,
                home: days.drawn(),
            };
            if std::mem::take(&mut room.used[a]) {
                sums.cells.as_flattened_mut().fill(0.0);
                sums.blocks.as_flattened_mut().fill(0.0);
            }
            let slots = clock.slots(&hours);
            if slots.is_empty() {
                continue;
            }
            let usual = setup.beliefs.habits[a].size as f32;
            let electric = effects.iter().find(|effect| store == Some(effect.stock));
            let end = clock.reading(slots.end - 1);
            let mut lives = 0;
            for effect in effects {
                lives |= group.needing(setup, effect.stock, from);
            }
            room.used[a] = lives != 0;
            while lives != 0 {
                let l = lives.trailing_zeros() as usize;
                lives &= lives - 1;
                let habit = &mut self.habits[a * LANES + l];
                let each_wh = electric.map_or(0.0, |effect| effect.per_time[l] as f32);
                let life = Drawn { lane: l, usual, each_wh };
                match (clock.is_coarse(), electric.is_some()) {
                    (true, _) => habit.draw::<true, true>(clock, end, &mut sums, life),
                    (false, true) => habit.draw::<false, true>(clock, end, &mut sums, life),
                    (false, false) => habit.draw::<false, false>(clock, end, &mut sums, life),
                }
            }
        }
    }

    /// What an activity came to in an hour of those that were drawn.
    #[inline(always)]
    pub(super) fn in_hour(&self, a: usize, hour: usize) -> &Lane {
        &self.room.cells[a * DRAWN_HOURS + hour % DRAWN_HOURS]
    }

    /// The same in a block that begins at that hour.
    #[inline(always)]
    pub(super) fn in_block(&self, setup: &RunSetup, a: usize, start: usize) -> &Row {
        &self.room.blocks[a * self.most_blocks + start % DRAWN_HOURS / setup.step]
    }

    /// What all activities move the electric store by in an hour, in Wh.
    #[inline(always)]
    pub(super) fn electric(&self, hour: usize) -> &Lane {
        &self.room.electric[hour % DRAWN_HOURS]
    }
}
