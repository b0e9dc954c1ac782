//! Further sets of levels carried along the same lives: what if these stocks had been serviced,
//! at these hours?
//!
//! What moves a stock in a life does not depend on its level, so one drawing of the lives serves
//! any number of tracks, and tracks are compared on the very same futures. A track's levels are
//! not held at the limit's side (a tank may be short by 12 L at the end), only at the other.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::draw::Row;
use super::lives::met;
use crate::domain::stock::{Direction, Stock};
use crate::mechanism::climate::lanes::LANES;

/// What a service, or leaving, does to one stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Put {
    /// The level is this from now on, in the stock's unit.
    To(f64),
    /// So much is added (negative: taken out), as far as the stock holds.
    By(f64),
}

impl Put {
    /// Does it to the levels of a group of lives.
    pub(super) fn apply(self, stock: &Stock, levels: &mut Row) {
        let free = stock.runs == Direction::Up;
        for level in levels {
            *level = match self {
                Put::To(to) => to,
                Put::By(by) if free => (*level + by).max(0.0),
                Put::By(by) => (*level + by).min(stock.capacity),
            };
        }
    }
}

/// One set of levels and what is done to it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Track {
    /// Hour at whose start it begins to count, with the levels that the lives hold then.
    pub from: usize,
    /// What is done, `(hour, stock, what)`, in order of hours; at or after `from`.
    pub puts: Vec<(usize, usize, Put)>,
    /// Hour at whose end the levels are noted.
    pub mark: Option<usize>,
}

/// What a track came to, `[stock][life]`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TrackLives {
    /// Hours from the scene's start to the first limit met at or after `from`; infinite where it
    /// is not met within the horizon.
    pub passages: Vec<Vec<f64>>,
    /// Level at `from`, after what is done then.
    pub first: Vec<Vec<f64>>,
    /// Level at the end of the marked hour; empty without a mark.
    pub marked: Vec<Vec<f64>>,
    /// How far inside its limit the stock stayed until the mark (or the horizon), in its unit:
    /// negative by what it was short.
    pub room: Vec<Vec<f64>>,
}

impl TrackLives {
    /// Room for `count` lives.
    pub(super) fn none(stocks: usize, count: usize) -> TrackLives {
        let room = || vec![Vec::with_capacity(count); stocks];
        TrackLives { passages: room(), first: room(), marked: room(), room: room() }
    }
}

/// The tracks of one group of lives.
#[derive(Debug, Clone)]
pub(super) struct TrackSet {
    /// Levels that the lives hold if nothing is done.
    held: Vec<Row>,
    tracks: Vec<TrackGroup>,
}

/// A track in one group of lives; a row per stock.
#[derive(Debug, Clone)]
struct TrackGroup {
    track: Track,
    next_put: usize,
    level: Vec<Row>,
    passage: Vec<Row>,
    first: Vec<Row>,
    marked: Vec<Row>,
    room: Vec<Row>,
}

impl TrackSet {
    pub(super) fn of(tracks: &[Track]) -> TrackSet {
        let group = |track: &Track| TrackGroup {
            track: track.clone(),
            next_put: 0,
            level: Vec::new(),
            passage: Vec::new(),
            first: Vec::new(),
            marked: Vec::new(),
            room: Vec::new(),
        };
        TrackSet { held: Vec::new(), tracks: tracks.iter().map(group).collect() }
    }

    /// Starts from these levels.
    pub(super) fn begin(&mut self, levels: &[Row]) {
        if self.tracks.is_empty() {
            return;
        }
        self.held = levels.to_vec();
        for track in &mut self.tracks {
            track.passage = vec![[f64::INFINITY; LANES]; levels.len()];
            track.room = vec![[f64::INFINITY; LANES]; levels.len()];
        }
    }

    /// Moves all levels by what one hour changes, a row per stock.
    #[inline(always)]
    pub(super) fn hour(
        &mut self,
        index: usize,
        moves_camp: bool,
        changes: &[Row],
        stocks: &[Stock],
    ) {
        for track in &mut self.tracks {
            track.open(index, &self.held, stocks);
            track.step(index, moves_camp, changes, stocks);
        }
        for ((levels, changes), stock) in self.held.iter_mut().zip(changes).zip(stocks) {
            for l in 0..LANES {
                let level = levels[l] + changes[l];
                let level = if level < 0.0 { 0.0 } else { level };
                levels[l] = if level > stock.capacity { stock.capacity } else { level };
            }
            if moves_camp && stock.reset_by_camp {
                levels.fill(stock.serviced_level());
            }
        }
    }

    /// Adds this group's lives to the results, up to `count` in all.
    pub(super) fn put_away(&self, all: &mut [TrackLives], count: usize) {
        for (track, all) in self.tracks.iter().zip(all) {
            let add = |all: &mut [Vec<f64>], rows: &[Row]| {
                for (all, row) in all.iter_mut().zip(rows) {
                    let width = LANES.min(count - all.len());
                    all.extend_from_slice(&row[..width]);
                }
            };
            add(&mut all.passages, &track.passage);
            add(&mut all.first, &track.first);
            add(&mut all.marked, &track.marked);
            add(&mut all.room, &track.room);
        }
    }
}

impl TrackGroup {
    /// Before the hour of that index moves anything: begins, and takes what is done then.
    /// `held` are the levels of the lives.
    fn open(&mut self, index: usize, held: &[Row], stocks: &[Stock]) {
        if index < self.track.from {
            return;
        }
        let begins = self.level.is_empty();
        if begins {
            self.level = held.to_vec();
        }
        while let Some((_, stock, put)) =
            self.track.puts.get(self.next_put).filter(|(hour, ..)| *hour <= index)
        {
            put.apply(&stocks[*stock], &mut self.level[*stock]);
            self.next_put += 1;
        }
        if begins {
            self.first.clone_from(&self.level);
            for (s, stock) in stocks.iter().enumerate() {
                for l in 0..LANES {
                    let room = room(stock, self.level[s][l]);
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
    fn step(&mut self, index: usize, moves_camp: bool, changes: &[Row], stocks: &[Stock]) {
        if self.level.is_empty() {
            return;
        }
        let counts = self.track.mark.is_none_or(|mark| index <= mark);
        for (s, stock) in stocks.iter().enumerate() {
            let (limit, capacity) = (stock.limit(), stock.capacity);
            let (sign, low, high) = match stock.runs {
                Direction::Down => (1.0, f64::NEG_INFINITY, capacity),
                Direction::Up => (-1.0, 0.0, f64::INFINITY),
            };
            let (change, before) = (&changes[s], self.level[s]);
            let (level, passage) = (&mut self.level[s], &mut self.passage[s]);
            let least = &mut self.room[s];
            let (mut room, mut out) = ([0.0; LANES], 0u32);
            for l in 0..LANES {
                let after = before[l] + change[l];
                let after = if after < low { low } else { after };
                let after = if after > high { high } else { after };
                level[l] = after;
                room[l] = sign * (after - limit);
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
                        passage[l] = met(index, before[l], level[l], limit);
                    }
                }
            }
            if moves_camp && stock.reset_by_camp {
                self.level[s].fill(stock.serviced_level());
            }
        }
        if self.track.mark == Some(index) {
            self.marked.clone_from(&self.level);
        }
    }
}

/// How far inside its limit a stock at `level` is, in its unit.
fn room(stock: &Stock, level: f64) -> f64 {
    match stock.runs {
        Direction::Down => level - stock.limit(),
        Direction::Up => stock.limit() - level,
    }
}
