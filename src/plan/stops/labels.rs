//! The labels of all searches: schedules under way, and which of two makes the other pointless.
//!
//! The exact search and the heuristic carry a [`PartialSchedule`], which knows the lives lost so far. The
//! bounds carry a [`Reach`], which only knows until when each stock lasts.

use super::problem::{Bits, Problem, count, join};
use crate::plan::stock_set::StockSet;

/// A schedule under way, judged on all lives.
#[derive(Debug, Clone, Default)]
pub(super) struct PartialSchedule {
    /// Where it is.
    pub slot: usize,
    /// Slot of each stock's last service.
    pub last: Vec<u16>,
    /// Lives lost over the intervals that are closed.
    pub lost: Bits,
    /// Lives lost up to `slot`, the open intervals included, when it was last carried on.
    pub count: usize,
    /// Driving so far, in km.
    pub km: f64,
    /// Cost so far.
    pub cost: f64,
    /// The visits, in order.
    pub visits: Vec<usize>,
}

impl PartialSchedule {
    /// Nothing done yet.
    pub(super) fn start(problem: &Problem) -> PartialSchedule {
        PartialSchedule {
            last: vec![0; problem.stocks],
            lost: problem.no_lives(),
            ..PartialSchedule::default()
        }
    }

    /// The same carried on to `slot`, through what is given on the way, with the losses of every
    /// open interval counted. The intervals stay open: whether the stock is serviced at `slot` is
    /// not decided yet.
    pub(super) fn carried(&self, problem: &Problem, slot: usize) -> PartialSchedule {
        let mut moved = self.clone();
        for between in self.slot + 1..slot {
            moved.close(problem, &problem.given[between], between);
        }
        moved.slot = slot;
        let mut all = moved.lost.clone();
        for (stock, last) in moved.last.iter().enumerate() {
            join(&mut all, &problem.fails[stock][usize::from(*last)][slot]);
        }
        moved.count = count(&all);
        moved
    }

    /// Whether one is back from its last visit in time for this one.
    pub(super) fn allows(&self, problem: &Problem, index: usize) -> bool {
        let last = self.visits.last().map(|last| &problem.visits[*last]);
        last.is_none_or(|last| last.allows(&problem.visits[index]))
    }

    /// Hours from now at which one is back from its last visit.
    pub(super) fn is_back(&self, problem: &Problem) -> f64 {
        self.visits.last().map_or(0.0, |last| problem.visits[*last].away.1)
    }

    /// The same after one visit to where it has been carried, with what is given there.
    pub(super) fn visiting(&self, problem: &Problem, index: usize) -> PartialSchedule {
        let visit = &problem.visits[index];
        let mut reached = self.clone();
        reached.close(problem, &visit.serves, visit.slot);
        reached.close(problem, &problem.given[visit.slot], visit.slot);
        problem.close_charged(&visit.charge, visit.slot, &mut reached.last, &mut reached.lost);
        reached.km += visit.leg.km;
        reached.visits.push(index);
        reached
    }

    /// Closes the intervals of the stocks served at a slot.
    fn close(&mut self, problem: &Problem, serves: &StockSet, slot: usize) {
        for stock in serves.iter() {
            problem.close_one(stock, [slot, slot], &mut self.last, &mut self.lost);
        }
    }
}

/// A way to a slot on which nothing has run out yet.
#[derive(Debug, Clone)]
pub(super) struct Reach {
    /// Where it is.
    pub slot: usize,
    /// The slot until which each stock lasts.
    pub until: Vec<u16>,
}

impl Reach {
    /// Whether another one is pointless beside this: it stands as late or later, and no
    /// stock lasts longer. Whatever comes after it could come after this.
    pub(super) fn covers(&self, other: &Reach) -> bool {
        self.slot <= other.slot
            && self.until.iter().zip(&other.until).all(|(ours, theirs)| ours >= theirs)
    }
}

/// Adds a label unless one is there that makes it pointless; drops those that it makes pointless.
pub(super) fn keep<L>(labels: &mut Vec<L>, new: L, covers: impl Fn(&L, &L) -> bool) {
    if labels.iter().any(|label| covers(label, &new)) {
        return;
    }
    labels.retain(|label| !covers(&new, label));
    labels.push(new);
}
