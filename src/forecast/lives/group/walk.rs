//! A stock's levels, hour by hour: the one place where an hour moves the lives' own levels.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use crate::forecast::lives::setup::StockSetup;
use crate::mechanism::climate::lanes::LANES;
use crate::physics::real::Real;
use std::ops::Range;

/// How far to walk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::forecast::lives) enum Until {
    /// To the end of the hours.
    TheEnd,
    /// Until every life that is sought has met the limit: nobody asks for the levels.
    AllMet,
}

/// Which stock is walked, and through which hours.
pub(in crate::forecast::lives) struct Hours<'a> {
    pub stock: &'a StockSetup,
    /// Whether the van moves camp, per hour from the first.
    pub moves: &'a [bool],
    pub block: &'a Range<usize>,
}

/// Walks a stock from `level` on: `change` says what each hour moves, from its place in the block
/// and the levels that it begins with; `seen` hears the levels that it ends with, before a new
/// camp resets them. What comes back is the hour at which each of the lives that are `sought`
/// first met the limit, infinite if it did not; of all others it means nothing.
#[inline(always)]
pub(in crate::forecast::lives) fn walk<F: Real>(
    hours: Hours,
    level: &mut [F; LANES],
    (sought, until): ([bool; LANES], Until),
    mut change: impl FnMut(usize, &[F; LANES]) -> [F; LANES],
    mut seen: impl FnMut(&[F; LANES]),
) -> [f64; LANES] {
    let stock = hours.stock;
    let (zero, capacity) = (F::of(0.0), F::of(stock.capacity));
    let (sign, limit) = (F::of(stock.limit.sign), F::of(stock.limit.level));
    let (mut open, mut now) = (sought, *level);
    // The place of the hour in which the limit was met, and the levels before it and after it;
    // those after it are not held within the stock, see `Limit::met`.
    let (mut place_met, mut before, mut after) = ([zero; LANES], now, now);
    for place in 0..hours.block.len() {
        // What is done before the first hour is in the levels that the lives begin with.
        if hours.block.start + place > 0 {
            stock.put(hours.block.start + place, &mut now);
        }
        let change = change(place, &now);
        let mut left = false;
        for l in 0..LANES {
            let moved = now[l] + change[l];
            let held = moved.most(zero).least(capacity);
            let meets = open[l] & (sign * (held - limit) <= zero);
            place_met[l] = if meets { F::of(place as f64) } else { place_met[l] };
            before[l] = if meets { now[l] } else { before[l] };
            after[l] = if meets { moved } else { after[l] };
            open[l] &= !meets;
            left |= open[l];
            now[l] = held;
        }
        seen(&now);
        if until == Until::AllMet && !left {
            break;
        }
        if stock.reset_by_camp && hours.moves[hours.block.start + place] {
            now = [F::of(stock.serviced_level); LANES];
        }
    }
    *level = now;
    let mut passages = [f64::INFINITY; LANES];
    for l in 0..LANES {
        if sought[l] && !open[l] {
            let hour = hours.block.start + place_met[l].into() as usize;
            passages[l] = stock.limit.met(hour, before[l].into(), after[l].into());
        }
    }
    passages
}
