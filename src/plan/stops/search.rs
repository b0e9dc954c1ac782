//! The fewest stops that keep every stock within its limit, as an exact search.
//!
//! Label setting over the number of stops: a [`PartialSchedule`] is the slot reached, each stock's last
//! service, and the lives lost so far. One replaces another at the same slot when it costs no
//! more, every stock was served as late or later, and it lost no other lives. Labels from which
//! some stock alone could no longer reach the end, or not in so few stops, are cut. Both are safe:
//! the result is the optimum of the [`Problem`] (fewest stops, then least driving, then least
//! cost) unless [`Schedule::exact`] says that labels had to be dropped.

use super::labels::{self, PartialSchedule};
use super::problem::{Cancelled, Problem, Schedule, Watch};
use super::windows::{NEVER, Reachable, ways, windows};
use crate::plan::stock_set::StockSet;

/// Trips of more slots than this are not searched exactly.
pub(super) const EXACT_SLOTS: usize = 16;
/// Most labels kept per number of stops and slot; beyond it the most promising stay and the
/// result may not be the optimum.
const MOST_LABELS: usize = 4000;
/// The same for the quick first pass, whose number of stops is the most that is looked for.
const QUICK_LABELS: usize = 24;
/// Comparisons of labels after which the search settles for what the first pass found.
const MOST_WORK: u64 = 12_000_000;

/// Finds the schedule, `Ok(None)` when none keeps within the lives that may be lost.
///
/// A quick pass over few labels finds some schedule; the full pass then looks for one with no
/// more stops. Where the full pass takes too long, the first one's schedule is the answer, with
/// [`Schedule::exact`] false.
///
/// # Errors
/// [`Cancelled`] when `watch` says so.
pub(super) fn search(problem: &Problem, watch: &dyn Watch) -> Result<Option<Schedule>, Cancelled> {
    let (windows, ways) = (windows(problem, problem.allowed), ways(problem));
    let mut pass = Pass {
        problem,
        reachable: Reachable::of(problem, &windows, &ways),
        by_slot: problem.useful_visits(),
        priced: problem.visits.iter().flat_map(|v| &v.prices).map(|(stock, _)| *stock).collect(),
        watch,
        most_stops: usize::MAX,
        most_labels: QUICK_LABELS,
        work: 0,
        complete: true,
    };
    let quick = pass.run()?;
    quick.iter().for_each(|found| watch.found(found));
    if pass.complete {
        return Ok(quick);
    }
    pass.most_stops = quick.as_ref().map_or(usize::MAX, |found| found.visits.len());
    pass.most_labels = MOST_LABELS;
    (pass.work, pass.complete) = (0, true);
    let full = pass.run()?;
    let better = |a: &Schedule, b: &Schedule| {
        (a.visits.len(), a.km, a.cost) <= (b.visits.len(), b.km, b.cost)
    };
    let both = [full, quick].into_iter().flatten();
    let best = both.reduce(|full, quick| if better(&full, &quick) { full } else { quick });
    best.iter().for_each(|found| watch.found(found));
    Ok(best)
}

/// One pass of label setting.
struct Pass<'a> {
    problem: &'a Problem,
    reachable: Reachable<'a>,
    by_slot: Vec<Vec<usize>>,
    /// Stocks that have a price anywhere.
    priced: StockSet,
    watch: &'a dyn Watch,
    /// More stops than this are not looked for.
    most_stops: usize,
    most_labels: usize,
    work: u64,
    /// Whether nothing was dropped.
    complete: bool,
}

impl Pass<'_> {
    fn run(&mut self) -> Result<Option<Schedule>, Cancelled> {
        let problem = self.problem;
        let mut level = vec![PartialSchedule::start(problem)];
        for _ in 0..problem.slots {
            if let Some(end) = self.best_end(&level) {
                let PartialSchedule { visits, count, km, cost, .. } = end;
                let exact = self.complete;
                return Ok(Some(Schedule { visits, lost: count, km, cost, exact }));
            }
            let mut next: Vec<Vec<PartialSchedule>> = vec![Vec::new(); problem.slots];
            for label in &level {
                if self.watch.cancelled() {
                    return Err(Cancelled);
                }
                self.extend(label, &mut next);
                if self.work > MOST_WORK {
                    self.complete = false;
                    return Ok(None);
                }
            }
            for labels in next.iter_mut().filter(|labels| labels.len() > self.most_labels) {
                self.complete = false;
                let served =
                    |l: &PartialSchedule| l.last.iter().map(|s| usize::from(*s)).sum::<usize>();
                labels.sort_by(|a, b| served(b).cmp(&served(a)).then(a.count.cmp(&b.count)));
                labels.truncate(self.most_labels);
            }
            level = next.into_iter().flatten().collect();
        }
        Ok(None)
    }

    /// A label carried on; `None` when too many lives are lost.
    fn carried(&self, label: &PartialSchedule, slot: usize) -> Option<PartialSchedule> {
        let there = label.carried(self.problem, slot);
        (there.count <= self.problem.allowed).then_some(there)
    }

    /// The label that reaches the end with least driving and cost, if any does.
    fn best_end(&self, level: &[PartialSchedule]) -> Option<PartialSchedule> {
        let ends = level.iter().filter_map(|label| self.carried(label, self.problem.end()));
        ends.min_by(|a, b| a.km.total_cmp(&b.km).then(a.cost.total_cmp(&b.cost)))
    }

    fn extend(&mut self, label: &PartialSchedule, next: &mut [Vec<PartialSchedule>]) {
        let problem = self.problem;
        for (slot, labels) in next.iter_mut().enumerate().skip(label.slot + 1) {
            if self.by_slot[slot].is_empty() {
                continue;
            }
            // Lives lost only grow with the slot, so that later slots cannot do either.
            let Some(there) = self.carried(label, slot) else { break };
            for index in self.by_slot[slot].iter().filter(|visit| label.allows(problem, **visit)) {
                let mut reached = there.visiting(problem, *index);
                let bill = |stock: usize| usize::from(there.last[stock]);
                reached.cost += problem.bill(&problem.visits[*index], bill);
                let needed = self.reachable.after(&reached.last);
                if needed < NEVER && reached.visits.len() + needed <= self.most_stops {
                    self.work += labels.len() as u64 + 1;
                    labels::keep(labels, reached, |a, b| covers(problem, &self.priced, a, b));
                }
            }
        }
    }
}

/// Whether label `b` is pointless beside label `a` at the same slot.
///
/// Safe, as any way on from `b` can be taken from `a` as well: it then has driven and paid no
/// more, is back as early and lost no other life, and each stock lasts at least as long after every
/// later service.
fn covers(problem: &Problem, priced: &StockSet, a: &PartialSchedule, b: &PartialSchedule) -> bool {
    let as_late = |stock: usize| {
        let (x, y) = (usize::from(a.last[stock]), usize::from(b.last[stock]));
        // Served earlier is as good where it was late enough for the whole trip. Not where the
        // stock has a price: filling up at the next stop then costs more.
        x >= y
            || !priced.has(stock)
                && problem.fails[stock][x][problem.end()].iter().all(|lives| *lives == 0)
    };
    (a.km < b.km || a.km == b.km && a.cost <= b.cost)
        && a.is_back(problem) <= b.is_back(problem)
        && a.lost.iter().zip(&b.lost).all(|(x, y)| x & !y == 0)
        && (0..problem.stocks).all(as_late)
}

#[cfg(test)]
mod tests;
