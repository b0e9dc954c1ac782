//! What going whenever something runs out would take, on the same lives as the schedule: the
//! measure of what joining services saves.
//!
//! In each life the van goes on the last day on which a stock can still be seen to before it runs
//! out, to the nearest open place that sees to it, as if that day were known. That flatters going
//! without a plan: nobody knows the day so well. Where no place is open in time it goes on the
//! first day after.

use super::answer::{Unplanned, UnplannedWay};
use super::search::{Problem, Visit};
use rayon::prelude::*;

/// Averages over all lives; `passages[slot][stock][life]` and `hours[slot]`, in hours from now.
pub fn unplanned(problem: &Problem, passages: &[Vec<Vec<f64>>], hours: &[f64]) -> Unplanned {
    let nearest = nearest(problem);
    let of = |joined: bool| {
        let lives = (0..problem.lives).into_par_iter();
        let each: Vec<Gone> = lives
            .map(|life| Going { problem, passages, hours, nearest: &nearest, life, joined }.all())
            .collect();
        let mean = |value: &dyn Fn(&Gone) -> f64| {
            each.iter().map(value).sum::<f64>() / each.len().max(1) as f64
        };
        UnplannedWay {
            stops: mean(&|gone| gone.stops as f64),
            km: mean(&|gone| gone.km),
            late: mean(&|gone| f64::from(u8::from(gone.late))),
        }
    };
    Unplanned { alone: of(false), joined: of(true) }
}

#[derive(Default)]
struct Gone {
    stops: usize,
    km: f64,
    /// Something was out for a while.
    late: bool,
}

struct Going<'a> {
    problem: &'a Problem,
    passages: &'a [Vec<Vec<f64>>],
    hours: &'a [f64],
    nearest: &'a [Vec<Option<&'a Visit>>],
    life: usize,
    /// All that the place offers is seen to, not only what runs out.
    joined: bool,
}

impl Going<'_> {
    fn all(&self) -> Gone {
        let end = self.problem.slots - 1;
        let mut last = vec![0; self.problem.stocks];
        let mut gone = Gone::default();
        for slot in 1..end {
            let given = self.problem.given.get(slot).copied().unwrap_or(0);
            serve(&mut last, given, slot);
            for stock in 0..self.problem.stocks {
                let out = self.passages[last[stock]][stock][self.life];
                if last[stock] == slot || out >= self.next_chance(stock, slot) {
                    continue;
                }
                if let Some(visit) = self.nearest[stock][slot] {
                    gone.stops += 1;
                    gone.km += visit.km;
                    gone.late |= out < self.hours[slot];
                    let mask = if self.joined { visit.serves } else { 1 << stock };
                    serve(&mut last, mask, slot);
                }
            }
        }
        let out = |(stock, last): (usize, &usize)| {
            self.passages[*last][stock][self.life] < self.hours[end]
        };
        gone.late |= last.iter().enumerate().any(out);
        gone
    }

    /// Hours until the next slot at which a stock is seen to, or the end.
    fn next_chance(&self, stock: usize, slot: usize) -> f64 {
        let end = self.problem.slots - 1;
        let chance = |slot: &usize| {
            let given = self.problem.given.get(*slot).copied().unwrap_or(0);
            given >> stock & 1 == 1 || self.nearest[stock][*slot].is_some()
        };
        self.hours[(slot + 1..end).find(chance).unwrap_or(end)]
    }
}

/// The nearest place that sees to each stock at each slot: `[stock][slot]`.
fn nearest(problem: &Problem) -> Vec<Vec<Option<&Visit>>> {
    let of = |stock: usize, slot: usize| {
        let visits = problem.visits.iter();
        visits.filter(|visit| visit.slot == slot && visit.serves >> stock & 1 == 1).min_by(
            |a, b| {
                let more = b.serves.count_ones().cmp(&a.serves.count_ones());
                a.km.total_cmp(&b.km).then(more)
            },
        )
    };
    let row = |stock: usize| (0..problem.slots).map(|slot| of(stock, slot)).collect();
    (0..problem.stocks).map(row).collect()
}

fn serve(last: &mut [usize], mask: u32, slot: usize) {
    for (stock, last) in last.iter_mut().enumerate() {
        if mask >> stock & 1 == 1 {
            *last = slot;
        }
    }
}
