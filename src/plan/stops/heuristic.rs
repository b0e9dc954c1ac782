//! A schedule with a given number of stops that loses as few lives as can be found, and then
//! drives as little: a beam of labels, then a local search that puts one stop after another where
//! it is best.
//!
//! Nothing here proves anything; what is found is judged on all lives, and [`super::bound`] says
//! how far from the optimum it can be.

use super::labels::PartialSchedule;
use super::problem::{Cancelled, Done, Problem, Schedule};
use super::windows::Reachable;

/// Labels kept per number of stops and slot.
const WIDTH: usize = 48;
/// Rounds of putting every stop anew.
const ROUNDS: usize = 12;

/// Looks for whole schedules, a visit per slot at most.
pub(super) struct Heuristic<'a> {
    problem: &'a Problem,
    useful: Vec<Vec<usize>>,
}

impl<'a> Heuristic<'a> {
    /// Prepares what every schedule needs.
    pub(super) fn of(problem: &'a Problem) -> Heuristic<'a> {
        Heuristic { problem, useful: problem.useful_visits() }
    }

    /// Visits per slot, without those that another one there makes pointless.
    pub(super) fn useful(&self) -> impl Iterator<Item = usize> {
        self.useful.iter().flatten().copied()
    }

    /// Driving, then cost.
    fn price(&self, visits: &[usize]) -> (f64, f64) {
        let km = visits.iter().map(|visit| self.problem.visits[*visit].leg.km).sum();
        (km, self.problem.cost(visits))
    }

    /// A schedule with what it drives and costs.
    pub(super) fn found(&self, visits: Vec<usize>, lost: usize) -> Schedule {
        let (km, cost) = self.price(&visits);
        Schedule { visits, lost, km, cost, exact: false }
    }

    /// Puts one stop after another where the fewest lives are lost (or, once few enough are,
    /// where there is least driving and cost), until that helps no more. Lives lost.
    pub(super) fn local_search(&self, visits: &mut [usize]) -> usize {
        let problem = self.problem;
        let mut bits = problem.no_lives();
        let at = |visits: &[usize], n: usize| problem.visits[visits[n]].slot;
        let mut done = problem.done(problem.made(visits));
        let mut best = (problem.lost_into(&done, &mut bits), self.price(visits));
        // Fewer lives lost than allowed is no better.
        let key = |(lost, price): (usize, (f64, f64))| (lost.max(problem.allowed), price);
        for _ in 0..ROUNDS {
            let mut moved = false;
            for n in 0..visits.len() {
                let here = at(visits, n);
                let taken: Vec<usize> = (0..visits.len()).map(|n| at(visits, n)).collect();
                let free = |slot: &usize| *slot == here || !taken.contains(slot);
                let set = |done: &mut [Done], slot: usize, visit: Option<usize>| {
                    done[slot].stocks.clone_from(&problem.given[slot]);
                    done[slot].charge.clear();
                    if let Some(visit) = visit.map(|visit| &problem.visits[visit]) {
                        done[slot].stocks.add_all(&visit.serves);
                        done[slot].charge.extend(&visit.charge);
                    }
                };
                set(&mut done, here, None);
                let mut chosen = visits[n];
                for slot in (1..problem.end()).filter(free) {
                    for visit in &self.useful[slot] {
                        let before = std::mem::replace(&mut visits[n], *visit);
                        if !problem.fits(visits, n) {
                            visits[n] = before;
                            continue;
                        }
                        set(&mut done, slot, Some(*visit));
                        let lost = problem.lost_into(&done, &mut bits);
                        set(&mut done, slot, None);
                        if lost.max(problem.allowed) <= best.0.max(problem.allowed) {
                            let this = (lost, self.price(visits));
                            if key(this) < key(best) {
                                (best, chosen, moved) = (this, *visit, true);
                            }
                        }
                        visits[n] = before;
                    }
                }
                visits[n] = chosen;
                set(&mut done, at(visits, n), Some(chosen));
            }
            if !moved {
                break;
            }
        }
        visits.sort_by_key(|visit| problem.visits[*visit].slot);
        best.0
    }

    /// A schedule of at most `most` stops that loses few lives, over labels from which the stops
    /// left can do; `None` when none reaches the end.
    ///
    /// # Errors
    /// [`Cancelled`] when `cancelled` says so.
    pub(super) fn beam(
        &self,
        most: usize,
        reachable: &Reachable,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<Option<Vec<usize>>, Cancelled> {
        let problem = self.problem;
        let mut levels: Vec<Vec<PartialSchedule>> = vec![Vec::new(); problem.slots];
        levels[0].push(PartialSchedule::start(problem));
        let mut best: Option<PartialSchedule> = None;
        for made in 0..=most {
            for label in levels.iter().flatten() {
                let ended = label.carried(problem, problem.end());
                if best.as_ref().is_none_or(|b| (ended.count, ended.km) < (b.count, b.km)) {
                    best = Some(ended);
                }
            }
            if made == most {
                break;
            }
            let mut next: Vec<Vec<PartialSchedule>> = vec![Vec::new(); problem.slots];
            for labels in &levels {
                if cancelled() {
                    return Err(Cancelled);
                }
                for label in labels {
                    self.extend(label, most - made - 1, reachable, &mut next);
                }
            }
            next.iter_mut().for_each(narrow);
            levels = next;
        }
        Ok(best.map(|label| label.visits))
    }

    fn extend(
        &self,
        label: &PartialSchedule,
        left: usize,
        reachable: &Reachable,
        next: &mut [Vec<PartialSchedule>],
    ) {
        let problem = self.problem;
        let labels = next.iter_mut().enumerate().take(problem.end()).skip(label.slot + 1);
        for (slot, labels) in labels {
            let there = label.carried(problem, slot);
            // Some more than allowed may be lost on the way: the local search wins lives back.
            if there.count > 2 * problem.allowed + problem.lives / 16 {
                break;
            }
            for index in self.useful[slot].iter().filter(|visit| label.allows(problem, **visit)) {
                let reached = there.visiting(problem, *index);
                if reachable.after(&reached.last) <= left {
                    labels.push(reached);
                }
            }
            if labels.len() > 8 * WIDTH {
                narrow(labels);
            }
        }
    }
}

/// Keeps the labels with the fewest lives lost, each with other services.
fn narrow(labels: &mut Vec<PartialSchedule>) {
    labels.sort_by(|a, b| a.count.cmp(&b.count).then(a.km.total_cmp(&b.km)));
    let mut seen: Vec<Vec<u16>> = Vec::new();
    labels.retain(|label| {
        let new = !seen.iter().any(|last| last.iter().zip(&label.last).all(|(a, b)| a >= b));
        if new && seen.len() < WIDTH {
            seen.push(label.last.clone());
        }
        new && seen.len() <= WIDTH
    });
    labels.truncate(WIDTH);
}
