//! Windows: until which slot each stock lasts, whatever else happens.
//!
//! A schedule that loses at most so many lives uses no interval that alone loses more. What every
//! schedule must keep to follows from that, and the bounds rest on nothing else.

use super::labels::Reach;
use super::problem::{Problem, Visit, count};
use crate::plan::stock_set::StockSet;

/// The latest slot that each stock reaches from a service at each slot: `[stock][from]`. A stock
/// that does not reach the next slot says its own.
pub(super) type Windows = Vec<Vec<u16>>;

/// Windows in which no interval alone loses more than `budget` lives.
pub(super) fn windows(problem: &Problem, budget: usize) -> Windows {
    windows_where(problem, &|fails| count(fails) <= budget)
}

/// Windows of the intervals that are `fine`, told the lives that each loses.
pub(super) fn windows_where(problem: &Problem, fine: &dyn Fn(&[u64]) -> bool) -> Windows {
    let end = problem.end();
    let last = |stock: usize, from: usize| {
        (from + 1..=end).take_while(|to| fine(&problem.fails[stock][from][*to])).last()
    };
    let of = |stock: usize| (0..end).map(|from| last(stock, from).unwrap_or(from) as u16).collect();
    (0..problem.stocks).map(of).collect()
}

/// The widest services at each slot, none within another: driving is no matter, but for what it
/// charges. A drive that charges counts as filling the electric store: a bound may be too low,
/// never too high.
pub(super) fn ways(problem: &Problem) -> Vec<Vec<StockSet>> {
    let at_slot = |slot: usize| {
        let visits = problem.visits.iter().filter(|v| v.slot == slot && slot < problem.end());
        let visits = visits.filter(|v| !v.serves.is_empty());
        let mut all: Vec<StockSet> = visits.map(|v| at_most_served(problem, v)).collect();
        all.sort_by_key(|serves| std::cmp::Reverse(serves.len()));
        let mut kept: Vec<StockSet> = Vec::new();
        for serves in all {
            if !kept.iter().any(|known| known.covers(&serves)) {
                kept.push(serves);
            }
        }
        kept
    };
    (0..problem.slots).map(at_slot).collect()
}

/// What a visit services, the electric store among it where its drives charge anything.
pub(super) fn at_most_served(problem: &Problem, visit: &Visit) -> StockSet {
    let mut serves = visit.serves.clone();
    if let Some(electric) = problem.electric.filter(|_| !visit.charge.is_empty()) {
        serves.add(electric);
    }
    serves
}

/// More stops than any trip has: nothing gets a stock to the end.
pub(super) const NEVER: usize = u16::MAX as usize;

/// What can be reached within windows, and in how many stops at least.
pub(super) struct Reachable<'a> {
    problem: &'a Problem,
    windows: &'a Windows,
    ways: &'a [Vec<StockSet>],
    /// Further stops that each stock alone needs, by the slot until which it lasts:
    /// `[stock][slot]`; [`NEVER`] where nothing gets it to the end.
    needs: Vec<Vec<u16>>,
}

impl<'a> Reachable<'a> {
    /// Prepares what every question needs.
    pub(super) fn of(
        problem: &'a Problem,
        windows: &'a Windows,
        ways: &'a [Vec<StockSet>],
    ) -> Reachable<'a> {
        let mut reachable = Reachable { problem, windows, ways, needs: Vec::new() };
        reachable.needs = (0..problem.stocks).map(|stock| reachable.of_stock(stock)).collect();
        reachable
    }

    /// Further stops by the slot until which the stock lasts: going to its last chance is best,
    /// as no later service lasts shorter.
    fn of_stock(&self, stock: usize) -> Vec<u16> {
        let end = self.problem.end();
        let mut needs = vec![u16::MAX; end + 1];
        needs[end] = 0;
        for until in (0..end).rev() {
            let mut least = u16::MAX;
            for slot in 1..=until.min(end - 1) {
                let given = self.problem.given[slot].has(stock);
                let reached = self.lasts(stock, slot);
                if reached > until
                    && (given || self.ways[slot].iter().any(|serves| serves.has(stock)))
                {
                    least = least.min(needs[reached].saturating_add(u16::from(!given)));
                }
            }
            needs[until] = least;
        }
        needs
    }

    /// Now, with nothing done yet.
    pub(super) fn start(&self) -> Reach {
        Reach { slot: 0, until: self.windows.iter().map(|of| of[0]).collect() }
    }

    /// Further stops that some stock needs after services at these slots, at least.
    pub(super) fn after(&self, last: &[u16]) -> usize {
        let of = last.iter().enumerate();
        let of = of.map(|(stock, last)| self.alone(stock, self.lasts(stock, usize::from(*last))));
        of.max().unwrap_or(0)
    }

    /// Further stops that some stock needs that lasts until these slots, at least.
    pub(super) fn needed(&self, until: &[u16]) -> usize {
        let of = until.iter().enumerate();
        of.map(|(stock, until)| self.alone(stock, usize::from(*until))).max().unwrap_or(0)
    }

    /// Further stops that a stock alone needs that lasts until a slot.
    fn alone(&self, stock: usize, until: usize) -> usize {
        usize::from(self.needs[stock][until])
    }

    /// Stocks that no chain of visits keeps within their limit, each looked at alone.
    pub(super) fn unserved(&self) -> Vec<usize> {
        let never = |stock: &usize| self.alone(*stock, self.lasts(*stock, 0)) == NEVER;
        (0..self.problem.stocks).filter(never).collect()
    }

    /// The slot until which a stock lasts from a service at `slot`.
    pub(super) fn lasts(&self, stock: usize, slot: usize) -> usize {
        usize::from(self.windows[stock][slot])
    }

    /// The same label at a later slot, what is given on the way taken into account; `None` when
    /// something runs out before.
    pub(super) fn carried(&self, label: &Reach, slot: usize) -> Option<Reach> {
        let mut moved = Reach { slot, ..label.clone() };
        for between in label.slot + 1..slot {
            self.serve(&mut moved.until, &self.problem.given[between], between);
        }
        moved.until.iter().all(|until| usize::from(*until) >= slot).then_some(moved)
    }

    fn serve(&self, until: &mut [u16], serves: &StockSet, slot: usize) {
        for stock in serves.iter() {
            if usize::from(until[stock]) >= slot {
                until[stock] = until[stock].max(self.windows[stock][slot]);
            }
        }
    }

    /// Tells `each` every label that lies one stop further and may reach the end in `left` more.
    pub(super) fn onward(&self, label: &Reach, left: usize, mut each: impl FnMut(Reach)) {
        for (slot, ways) in (0..self.problem.end()).zip(self.ways).skip(label.slot + 1) {
            let Some(mut there) = self.carried(label, slot) else { break };
            self.serve(&mut there.until, &self.problem.given[slot], slot);
            for serves in ways {
                let mut reached = there.clone();
                self.serve(&mut reached.until, serves, slot);
                if self.needed(&reached.until) <= left {
                    each(reached);
                }
            }
        }
    }

    /// Whether a label gets to the end without another stop.
    pub(super) fn ends(&self, label: &Reach) -> bool {
        self.carried(label, self.problem.end()).is_some()
    }
}
