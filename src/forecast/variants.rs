//! Further sets of levels carried along the same lives: what if these stocks had been serviced,
//! at these hours?
//!
//! What moves a stock in a life does not depend on its level, so one drawing of the lives serves
//! any number of variants, and these are compared on the very same futures. A variant's levels are
//! not held at the limit's side (a tank may be short by 12 L at the end), only at the other.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::limit::{Limit, moved};
use super::sampler::Row;
use crate::domain::{Direction, Stock};
use crate::mechanism::climate::lanes::LANES;
use crate::physics::real::Real;

/// What a service, or leaving, does to one stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LevelChange {
    /// The level is this from now on, in the stock's unit.
    To(f64),
    /// So much is added (negative: taken out), as far as the stock holds.
    By(f64),
}

impl LevelChange {
    /// Does it to the levels of a group of lives, of a stock that holds so much and whose limit lies
    /// on that side.
    pub(super) fn apply<F: Real>(self, capacity: f64, limit: &Limit, levels: &mut [F; LANES]) {
        for level in levels {
            *level = match self {
                LevelChange::To(to) => F::of(to),
                LevelChange::By(by) if limit.sign < 0.0 => (*level + F::of(by)).most(F::of(0.0)),
                LevelChange::By(by) => (*level + F::of(by)).least(F::of(capacity)),
            };
        }
    }
}

/// One set of levels and what is done to it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Variant {
    /// Hour at whose start it begins to count, with the levels that the lives hold then.
    pub from: usize,
    /// What is done, `(hour, stock, what)`, in order of hours; at or after `from`.
    pub puts: Vec<(usize, usize, LevelChange)>,
    /// Hour at whose end the levels are noted.
    pub mark: Option<usize>,
}

/// What a variant came to, `[stock][life]`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct VariantLives {
    /// Hours from the scene's start to the first limit met at or after `from`; infinite where it
    /// is not met within the horizon.
    pub passages: Vec<Vec<f64>>,
    /// Level at `from`, after what is done then.
    pub first: Vec<Vec<f64>>,
    /// Level at the end of the marked hour; empty without a mark. After it a stock is no longer
    /// carried on once all have met its limit: nobody asks for more.
    pub marked: Vec<Vec<f64>>,
    /// How far inside its limit the stock stayed until the mark (or the horizon), in its unit:
    /// negative by what it was short.
    pub room: Vec<Vec<f64>>,
}

impl VariantLives {
    /// Room for `count` lives.
    pub(super) fn none(stocks: usize, count: usize) -> VariantLives {
        let room = || vec![Vec::with_capacity(count); stocks];
        VariantLives { passages: room(), first: room(), marked: room(), room: room() }
    }
}

/// One hour that is carried out.
#[derive(Debug, Clone, Copy)]
pub(super) struct VariantHour {
    /// Its number from the scene's start.
    pub index: usize,
    /// Whether the van moves camp in it.
    pub moves_camp: bool,
}

/// The variants of one group of lives.
#[derive(Debug, Clone)]
pub(super) struct VariantSet {
    /// Levels that the lives hold if nothing is done.
    held: Vec<Row>,
    variants: Vec<VariantGroup>,
}

/// A variant in one group of lives; a row per stock.
#[derive(Debug, Clone)]
struct VariantGroup {
    variant: Variant,
    next_put: usize,
    level: Vec<Row>,
    passage: Vec<Row>,
    first: Vec<Row>,
    marked: Vec<Row>,
    room: Vec<Row>,
    /// Whether all have met the limit.
    met: Vec<bool>,
}

impl VariantSet {
    /// Starts from these levels.
    pub(super) fn begin(variants: &[Variant], levels: &[Row]) -> VariantSet {
        let never = || vec![[f64::INFINITY; LANES]; levels.len()];
        let group = |variant: &Variant| VariantGroup {
            variant: variant.clone(),
            next_put: 0,
            level: Vec::new(),
            passage: never(),
            first: Vec::new(),
            marked: Vec::new(),
            room: never(),
            met: vec![false; levels.len()],
        };
        VariantSet { held: levels.to_vec(), variants: variants.iter().map(group).collect() }
    }

    /// Moves all levels by what one hour changes, a row per stock.
    #[inline(always)]
    pub(super) fn hour(&mut self, hour: VariantHour, changes: &[Row], stocks: &[Stock]) {
        for variant in &mut self.variants {
            variant.open(hour.index, &self.held, stocks);
            variant.step(hour, changes, stocks);
        }
        for ((levels, changes), stock) in self.held.iter_mut().zip(changes).zip(stocks) {
            *levels = moved(levels, changes, (0.0, stock.capacity));
            if hour.moves_camp && stock.reset_by_camp {
                levels.fill(stock.serviced_level());
            }
        }
    }

    /// Adds this group's lives to the results, up to `count` in all.
    pub(super) fn put_away(&self, all: &mut [VariantLives], count: usize) {
        for (variant, all) in self.variants.iter().zip(all) {
            let add = |all: &mut [Vec<f64>], rows: &[Row]| {
                for (all, row) in all.iter_mut().zip(rows) {
                    let width = LANES.min(count - all.len());
                    all.extend_from_slice(&row[..width]);
                }
            };
            add(&mut all.passages, &variant.passage);
            add(&mut all.first, &variant.first);
            add(&mut all.marked, &variant.marked);
            add(&mut all.room, &variant.room);
        }
    }
}

impl VariantGroup {
    /// Before the hour of that index moves anything: begins, and takes what is done then.
    /// `held` are the levels of the lives.
    fn open(&mut self, index: usize, held: &[Row], stocks: &[Stock]) {
        if index < self.variant.from {
            return;
        }
        let begins = self.level.is_empty();
        if begins {
            self.level = held.to_vec();
        }
        while let Some((_, stock, put)) =
            self.variant.puts.get(self.next_put).filter(|(hour, ..)| *hour <= index)
        {
            let kind = &stocks[*stock];
            put.apply(kind.capacity, &Limit::of(kind), &mut self.level[*stock]);
            self.next_put += 1;
        }
        if begins {
            self.first.clone_from(&self.level);
            for (s, stock) in stocks.iter().enumerate() {
                let limit = Limit::of(stock);
                for l in 0..LANES {
                    let room = limit.room(self.level[s][l]);
                    self.room[s][l] = room;
                    if room <= 0.0 {
                        self.passage[s][l] = index as f64;
                    }
                }
            }
        }
    }

    /// The hour of that index moves the levels.
    #[inline(always)]
    fn step(&mut self, hour: VariantHour, changes: &[Row], stocks: &[Stock]) {
        let VariantHour { index, moves_camp } = hour;
        if self.level.is_empty() {
            return;
        }
        let counts = self.variant.mark.is_none_or(|mark| index <= mark);
        for (s, stock) in stocks.iter().enumerate() {
            if !counts && self.met[s] {
                continue;
            }
            let limit = Limit::of(stock);
            // Held at the far side only: how short it falls is what a plan wants to know.
            let sides = match stock.runs {
                Direction::Down => (f64::NEG_INFINITY, stock.capacity),
                Direction::Up => (0.0, f64::INFINITY),
            };
            let before = self.level[s];
            let level = moved(&before, &changes[s], sides);
            self.level[s] = level;
            let (passage, least) = (&mut self.passage[s], &mut self.room[s]);
            let (mut room, mut out) = ([0.0; LANES], 0u32);
            for l in 0..LANES {
                room[l] = limit.room(level[l]);
                out |= u32::from(room[l] <= 0.0) & u32::from(passage[l] == f64::INFINITY);
            }
            if counts {
                for l in 0..LANES {
                    least[l] = if room[l] < least[l] { room[l] } else { least[l] };
                }
            }
            if out != 0 {
                for l in 0..LANES {
                    if room[l] <= 0.0 && passage[l] == f64::INFINITY {
                        passage[l] = limit.met(index, before[l], level[l]);
                    }
                }
                self.met[s] = passage.iter().all(|met| *met < f64::INFINITY);
            }
            if moves_camp && stock.reset_by_camp {
                self.level[s].fill(stock.serviced_level());
            }
        }
        if self.variant.mark == Some(index) {
            self.marked.clone_from(&self.level);
        }
    }
}
