//! Fewer stops than this cannot do: bounds that are proved, not guessed.
//!
//! A schedule that loses at most so many lives uses no interval that alone loses more (a
//! *window*). Take any group of lives as well: a schedule either loses one of the group, or keeps
//! all its windows. Where the lives are split into groups, a schedule can lose a life in at most
//! as many groups as lives may be lost; so if more groups than that need `k` stops, all schedules
//! need `k`. This is the scenario grouping bound for chance constraints (Ahmed, Luedtke, Song and
//! Xie, Nonanticipative duality, relaxations and formulations for chance-constrained stochastic
//! programs, 2017; from memory). Each group's need is found exactly, by labels that hold until
//! which slot every stock lasts.

use super::search::{Cancelled, Problem, count};
use rayon::prelude::*;

/// Sizes of the groups that are tried.
const GROUPS: [usize; 4] = [2, 4, 6, 8];
/// Most labels of one group's search; a group that needs more counts as needing no further stop.
const MOST_LABELS: usize = 1500;

/// The latest slot that each stock reaches from a service at each slot: `[stock][from]`. A stock
/// that does not reach the next slot says its own.
pub type Windows = Vec<Vec<u16>>;

/// Windows in which no interval alone loses more than `budget` lives.
pub fn windows(problem: &Problem, budget: usize) -> Windows {
    reach(problem, &|fails| count(fails) <= budget)
}

fn reach(problem: &Problem, fine: &dyn Fn(&[u64]) -> bool) -> Windows {
    let end = problem.slots - 1;
    let last = |stock: usize, from: usize| {
        (from + 1..=end).take_while(|to| fine(&problem.fails[stock][from][*to])).last()
    };
    let of = |stock: usize| (0..end).map(|from| last(stock, from).unwrap_or(from) as u16).collect();
    (0..problem.stocks).map(of).collect()
}

/// How many further stops each stock alone needs, by the slot until which it lasts:
/// `[stock][slot]`; `u16::MAX` where nothing gets it to the end.
type Needs = Vec<Vec<u16>>;

/// Whether a number of stops can do within windows.
pub struct Fewest<'a> {
    problem: &'a Problem,
    windows: &'a Windows,
    needs: Needs,
    masks: &'a [Vec<u32>],
}

impl<'a> Fewest<'a> {
    /// Prepares what every question needs.
    pub fn of(problem: &'a Problem, windows: &'a Windows, masks: &'a [Vec<u32>]) -> Fewest<'a> {
        let mut fewest = Fewest { problem, windows, needs: Vec::new(), masks };
        fewest.needs = (0..problem.stocks).map(|stock| fewest.of_stock(stock)).collect();
        fewest
    }

    /// Further stops by the slot until which the stock lasts: going to its last chance is best,
    /// as no later service lasts shorter.
    fn of_stock(&self, stock: usize) -> Vec<u16> {
        let end = self.problem.slots - 1;
        let mut needs = vec![u16::MAX; end + 1];
        needs[end] = 0;
        for until in (0..end).rev() {
            let mut least = u16::MAX;
            for slot in 1..=until.min(end - 1) {
                let given = self.problem.given.get(slot).copied().unwrap_or(0) >> stock & 1 == 1;
                let paid = self.masks[slot].iter().any(|mask| mask >> stock & 1 == 1);
                let reached = usize::from(self.windows[stock][slot]);
                if reached > until && (given || paid) {
                    least = least.min(needs[reached].saturating_add(u16::from(!given)));
                }
            }
            needs[until] = least;
        }
        needs
    }

    /// Further stops that some stock needs after services at these slots, at least.
    pub fn after(&self, last: &[u16]) -> usize {
        let of = last.iter().enumerate().map(|(stock, last)| {
            self.needs[stock][usize::from(self.windows[stock][usize::from(*last)])]
        });
        of.max().map_or(0, usize::from)
    }

    /// The slot until which a stock lasts from a service at `slot`.
    pub(super) fn lasts(&self, stock: usize, slot: usize) -> usize {
        usize::from(self.windows[stock][slot])
    }

    /// Further stops that some stock needs that lasts until these slots, at least.
    pub(super) fn needed(&self, until: &[u16]) -> u16 {
        let of = until.iter().zip(&self.needs);
        of.map(|(until, needs)| needs[usize::from(*until)]).max().unwrap_or(0)
    }

    /// What is given after `from`, up to `to`, taken into account; `None` when something runs
    /// out before `to`.
    pub(super) fn carried(&self, until: &[u16], from: usize, to: usize) -> Option<Vec<u16>> {
        let mut until = until.to_vec();
        for slot in from + 1..to {
            let given = self.problem.given.get(slot).copied().unwrap_or(0);
            self.serve(&mut until, given, slot);
        }
        until.iter().all(|until| usize::from(*until) >= to).then_some(until)
    }

    pub(super) fn serve(&self, until: &mut [u16], mask: u32, slot: usize) {
        for (stock, until) in until.iter_mut().enumerate() {
            if mask >> stock & 1 == 1 && usize::from(*until) >= slot {
                *until = (*until).max(self.windows[stock][slot]);
            }
        }
    }

    /// Whether `most` stops can do. True as well where the search became too long, or nobody
    /// waits for it any more.
    fn can(&self, most: usize, cancelled: &dyn Fn() -> bool) -> bool {
        let end = self.problem.slots - 1;
        let first: Vec<u16> = self.windows.iter().map(|of| of[0]).collect();
        let mut level: Vec<(usize, Vec<u16>)> = vec![(0, first)];
        for made in 0..=most {
            if level.iter().any(|(slot, until)| self.carried(until, *slot, end).is_some()) {
                return true;
            }
            if made == most || level.is_empty() {
                return false;
            }
            let mut next: Vec<(usize, Vec<u16>)> = Vec::new();
            for (slot, until) in &level {
                self.extend(*slot, until, most - made - 1, &mut next);
                if next.len() > MOST_LABELS || cancelled() {
                    return true;
                }
            }
            level = next;
        }
        false
    }

    fn extend(&self, from: usize, until: &[u16], left: usize, next: &mut Vec<(usize, Vec<u16>)>) {
        for slot in from + 1..self.problem.slots - 1 {
            let Some(there) = self.carried(until, from, slot) else { break };
            for mask in &self.masks[slot] {
                let mut served = there.clone();
                let given = self.problem.given.get(slot).copied().unwrap_or(0);
                self.serve(&mut served, mask | given, slot);
                if usize::from(self.needed(&served)) <= left {
                    keep(next, slot, served);
                }
            }
        }
    }
}

/// Adds a label unless one is there that stands earlier and lasts as long with every stock.
fn keep(labels: &mut Vec<(usize, Vec<u16>)>, slot: usize, until: Vec<u16>) {
    let covers = |a: (usize, &[u16]), b: (usize, &[u16])| {
        a.0 <= b.0 && a.1.iter().zip(b.1).all(|(x, y)| x >= y)
    };
    if labels.iter().any(|(at, lasts)| covers((*at, lasts), (slot, &until))) {
        return;
    }
    labels.retain(|(at, lasts)| !covers((slot, &until), (*at, lasts)));
    labels.push((slot, until));
}

/// Services of the visits at each slot, bit by bit, none within another.
pub fn masks(problem: &Problem) -> Vec<Vec<u32>> {
    (0..problem.slots).map(|slot| at_slot(problem, slot)).collect()
}

fn at_slot(problem: &Problem, slot: usize) -> Vec<u32> {
    let mut masks: Vec<u32> = problem
        .visits
        .iter()
        .filter(|visit| visit.slot == slot && slot + 1 < problem.slots && visit.serves != 0)
        .map(|visit| visit.serves)
        .collect();
    masks.sort_by_key(|mask| std::cmp::Reverse(mask.count_ones()));
    let mut kept: Vec<u32> = Vec::new();
    for mask in masks {
        if !kept.iter().any(|known| known & mask == mask) {
            kept.push(mask);
        }
    }
    kept
}

/// The fewest stops that keep to windows alone; `None` when none do.
///
/// # Errors
/// [`Cancelled`] when `cancelled` says so.
pub fn within(
    problem: &Problem,
    windows: &Windows,
    cancelled: &dyn Fn() -> bool,
) -> Result<Option<usize>, Cancelled> {
    let masks = masks(problem);
    let fewest = Fewest::of(problem, windows, &masks);
    let first: Vec<u16> = windows.iter().map(|of| of[0]).collect();
    let least = usize::from(fewest.needed(&first));
    let found = (least..problem.slots).find(|most| fewest.can(*most, cancelled));
    if cancelled() { Err(Cancelled) } else { Ok(found) }
}

/// A number of stops that no schedule goes below, looking no further than `at_most`; `None` when
/// no schedule can do at all. `told` hears every bound as soon as it is proved.
///
/// # Errors
/// [`Cancelled`] when `told` gives back `false`: nobody waits any more.
pub fn least_stops(
    problem: &Problem,
    at_most: usize,
    told: &(dyn Fn(usize) -> bool + Sync),
) -> Result<Option<usize>, Cancelled> {
    let common = windows(problem, problem.allowed);
    let within = within(problem, &common, &|| !told(0))?;
    let Some(mut least) = within else { return Ok(None) };
    let masks = masks(problem);
    for size in GROUPS {
        let groups = problem.lives / size;
        if groups <= problem.allowed {
            continue;
        }
        let groups: Vec<Windows> = (0..groups)
            .into_par_iter()
            .map(|group| {
                // Lives of one group lie far apart, so that mirrored ones are not together.
                let lives = (0..size).map(|n| n * groups + group);
                within_group(problem, &common, lives)
            })
            .collect();
        let groups: Vec<Fewest> = groups.iter().map(|w| Fewest::of(problem, w, &masks)).collect();
        while least < at_most.min(problem.slots) {
            let cannot = |group: &&Fewest| !group.can(least, &|| !told(least));
            let hard = groups.par_iter().filter(cannot).count();
            if !told(least) {
                return Err(Cancelled);
            }
            if hard <= problem.allowed {
                break;
            }
            least += 1;
        }
    }
    Ok(Some(least))
}

/// The windows of a group: those of all schedules, and none of its lives lost.
fn within_group(
    problem: &Problem,
    common: &Windows,
    lives: impl Iterator<Item = usize>,
) -> Windows {
    let mut group = vec![0u64; problem.lives.div_ceil(64)];
    lives.for_each(|life| group[life / 64] |= 1 << (life % 64));
    let mut own =
        reach(problem, &|fails| fails.iter().zip(&group).all(|(fails, group)| fails & group == 0));
    for (own, common) in own.iter_mut().zip(common) {
        own.iter_mut().zip(common).for_each(|(own, common)| *own = (*own).min(*common));
    }
    own
}
