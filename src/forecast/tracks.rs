//! Further sets of levels carried along the same lives: what if these stocks had been serviced,
//! at these hours?
//!
//! What moves a stock in a life does not depend on its level, so one drawing of the lives serves
//! any number of tracks, and tracks are compared on the very same futures. A track's levels are
//! not held at the limit's side (a tank may be short by 12 L at the end), only at the other.

use super::scene::HourAhead;
use crate::domain::stock::{Direction, Stock};

/// What a service, or leaving, does to one stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Put {
    /// The level is this from now on, in the stock's unit.
    To(f64),
    /// So much is added (negative: taken out), as far as the stock holds.
    By(f64),
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

/// A track in one group of lives; arrays indexed `[stock * width + life]`.
#[derive(Debug, Clone)]
pub(super) struct TrackGroup {
    track: Track,
    next_put: usize,
    level: Vec<f64>,
    passage: Vec<f64>,
    first: Vec<f64>,
    marked: Vec<f64>,
    room: Vec<f64>,
}

impl TrackGroup {
    pub(super) fn of(track: &Track, cells: usize) -> TrackGroup {
        TrackGroup {
            track: track.clone(),
            next_put: 0,
            level: Vec::new(),
            passage: vec![f64::INFINITY; cells],
            first: Vec::new(),
            marked: Vec::new(),
            room: vec![f64::INFINITY; cells],
        }
    }

    /// Before the hour of that index moves anything: begins, and takes what is done then.
    /// `held` are the levels of the lives.
    pub(super) fn open(&mut self, index: usize, held: &[f64], stocks: &[Stock], width: usize) {
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
            let capacity = stocks[*stock].capacity;
            let free = stocks[*stock].runs == Direction::Up;
            for level in &mut self.level[stock * width..(stock + 1) * width] {
                *level = match put {
                    Put::To(to) => *to,
                    Put::By(by) if free => (*level + by).max(0.0),
                    Put::By(by) => (*level + by).min(capacity),
                };
            }
            self.next_put += 1;
        }
        if begins {
            self.first.clone_from(&self.level);
            for (s, stock) in stocks.iter().enumerate() {
                for cell in s * width..(s + 1) * width {
                    let room = room(stock, self.level[cell]);
                    self.room[cell] = room;
                    if room <= 0.0 {
                        self.passage[cell] = index as f64;
                    }
                }
            }
        }
    }

    /// The hour of that index moves the levels.
    pub(super) fn step(
        &mut self,
        index: usize,
        hour: &HourAhead,
        delta: &[f64],
        stocks: &[Stock],
        width: usize,
    ) {
        if self.level.is_empty() {
            return;
        }
        let counts = self.track.mark.is_none_or(|mark| index <= mark);
        for (s, stock) in stocks.iter().enumerate() {
            let cells = s * width..(s + 1) * width;
            let (limit, capacity) = (stock.limit(), stock.capacity);
            let (sign, low, high) = match stock.runs {
                Direction::Down => (1.0, f64::NEG_INFINITY, capacity),
                Direction::Up => (-1.0, 0.0, f64::INFINITY),
            };
            let levels = &mut self.level[cells.clone()];
            let passages = &mut self.passage[cells.clone()];
            let rooms = &mut self.room[cells.clone()];
            let lives = levels.iter_mut().zip(passages).zip(rooms).zip(&delta[cells]);
            for (((level, passage), least), change) in lives {
                let before = *level;
                let after = (before + change).clamp(low, high);
                let room = sign * (after - limit);
                if room <= 0.0 && passage.is_infinite() {
                    let part = ((before - limit) / (before - after)).clamp(0.0, 1.0);
                    *passage = index as f64 + if part.is_finite() { part } else { 1.0 };
                }
                if counts {
                    *least = least.min(room);
                }
                *level = after;
            }
            if hour.moves_camp && stock.reset_by_camp {
                levels.fill(stock.serviced_level());
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

/// Joins the groups of one track, life after life. Each comes with its number of lives.
pub(super) fn gather(groups: &[(usize, &TrackGroup)], stocks: usize) -> TrackLives {
    let join = |of: &dyn Fn(&TrackGroup) -> &Vec<f64>| -> Vec<Vec<f64>> {
        (0..stocks)
            .map(|s| {
                groups
                    .iter()
                    .flat_map(|(width, group)| {
                        of(group).get(s * width..(s + 1) * width).unwrap_or_default()
                    })
                    .copied()
                    .collect()
            })
            .collect()
    };
    TrackLives {
        passages: join(&|g| &g.passage),
        first: join(&|g| &g.first),
        marked: join(&|g| &g.marked),
        room: join(&|g| &g.room),
    }
}
