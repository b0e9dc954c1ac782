//! What going whenever something runs out would take, on the same lives as the schedule: the
//! measure of what joining services saves.
//!
//! In each life the van goes on the last day on which a stock can still be seen to before it runs
//! out, to the nearest open place that sees to it, as if that day were known. That flatters going
//! without a plan: nobody knows the day so well. Where no place is open in time it goes on the
//! first day after.

use super::answer::{Unplanned, UnplannedWay};
use super::problem::{Problem, Visit};
use rayon::prelude::*;

/// Averages over all lives; `passages[slot][stock][life]` and `hours[slot]`, in hours from now.
pub(super) fn unplanned(problem: &Problem, passages: &[Vec<Vec<f64>>], hours: &[f64]) -> Unplanned {
    let nearest = nearest(problem);
    let chances = (0..problem.stocks).map(|stock| chances(problem, &nearest, hours, stock));
    let chances: Vec<Vec<f64>> = chances.collect();
    let of = |seen_to: SeenTo| {
        let going =
            Going { problem, passages, hours, nearest: &nearest, chances: &chances, seen_to };
        let each: Vec<Gone> =
            (0..problem.lives).into_par_iter().map(|life| going.in_life(life)).collect();
        let mean = |value: &dyn Fn(&Gone) -> f64| {
            each.iter().map(value).sum::<f64>() / each.len().max(1) as f64
        };
        UnplannedWay {
            stops: mean(&|gone| gone.stops as f64),
            km: mean(&|gone| gone.km),
            late: mean(&|gone| f64::from(u8::from(gone.late))),
        }
    };
    Unplanned { alone: of(SeenTo::WhatRunsOut), joined: of(SeenTo::Everything) }
}

#[derive(Default)]
struct Gone {
    stops: usize,
    km: f64,
    /// Something was out for a while.
    late: bool,
}

/// What is seen to at a stop.
#[derive(Clone, Copy, PartialEq)]
enum SeenTo {
    WhatRunsOut,
    /// All that the place offers.
    Everything,
}

struct Going<'a> {
    problem: &'a Problem,
    passages: &'a [Vec<Vec<f64>>],
    hours: &'a [f64],
    nearest: &'a [Vec<Option<&'a Visit>>],
    /// As [`chances`], by stock.
    chances: &'a [Vec<f64>],
    seen_to: SeenTo,
}

impl Going<'_> {
    fn in_life(&self, life: usize) -> Gone {
        let end = self.problem.end();
        let mut last = vec![0; self.problem.stocks];
        let mut gone = Gone::default();
        for slot in 1..end {
            self.problem.given[slot].iter().for_each(|stock| last[stock] = slot);
            for stock in 0..self.problem.stocks {
                let out = self.passages[last[stock]][stock][life];
                if last[stock] == slot || out >= self.chances[stock][slot] {
                    continue;
                }
                if let Some(visit) = self.nearest[stock][slot] {
                    gone.stops += 1;
                    gone.km += visit.leg.km;
                    gone.late |= out < self.hours[slot];
                    match self.seen_to {
                        SeenTo::WhatRunsOut => last[stock] = slot,
                        SeenTo::Everything => visit.serves.iter().for_each(|s| last[s] = slot),
                    }
                }
            }
        }
        let out =
            |(stock, last): (usize, &usize)| self.passages[*last][stock][life] < self.hours[end];
        gone.late |= last.iter().enumerate().any(out);
        gone
    }
}

/// Hours until the next slot after each at which a stock can be seen to, or the end.
fn chances(
    problem: &Problem,
    nearest: &[Vec<Option<&Visit>>],
    hours: &[f64],
    stock: usize,
) -> Vec<f64> {
    let chance = |slot: &usize| problem.given[*slot].has(stock) || nearest[stock][*slot].is_some();
    let next = |slot: usize| (slot + 1..problem.end()).find(chance).unwrap_or(problem.end());
    (0..problem.slots).map(|slot| hours[next(slot)]).collect()
}

/// The nearest place that sees to each stock at each slot: `[stock][slot]`.
pub(super) fn nearest(problem: &Problem) -> Vec<Vec<Option<&Visit>>> {
    let of = |stock: usize, slot: usize| {
        let visits = problem.visits.iter();
        visits
            .filter(|visit| visit.slot == slot && visit.serves.has(stock))
            .min_by(|a, b| a.leg.km.total_cmp(&b.leg.km).then(b.serves.len().cmp(&a.serves.len())))
    };
    let row = |stock: usize| (0..problem.slots).map(|slot| of(stock, slot)).collect();
    (0..problem.stocks).map(row).collect()
}
