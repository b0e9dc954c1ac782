//! Fewer stops than this cannot do: bounds that are proved, not guessed.
//!
//! A schedule keeps to the [`windows`]. Take any group of lives as well: a schedule either loses
//! one of the group, or keeps all its windows. Where the lives are split into groups, a schedule
//! can lose a life in at most as many groups as lives may be lost; so if more groups than that
//! need `k` stops, all schedules need `k`. This is the scenario grouping bound for chance
//! constraints (Ahmed, Luedtke, Song and Xie, Nonanticipative duality, relaxations and
//! formulations for chance-constrained stochastic programs, 2017; from memory). Each group's need
//! is found exactly, by labels that hold until which slot every stock lasts.

use super::labels::{self, Reach};
use super::problem::{Cancelled, Problem};
use super::windows::{Reachable, Windows, ways, windows, windows_where};
use rayon::prelude::*;

/// Sizes of the groups that are tried. Larger ones need more stops each, but are fewer: at least
/// one more group than lives may be lost is needed to prove anything.
const GROUPS: [usize; 4] = [2, 4, 6, 8];
/// Most labels of one group's search; a group that needs more counts as needing no further stop.
const MOST_LABELS: usize = 1500;

/// Whether `most` stops can do. True as well where the search became too long, or nobody waits
/// for it any more: a bound may be too low, never too high.
fn can(reachable: &Reachable, most: usize, cancelled: &dyn Fn() -> bool) -> bool {
    let mut level: Vec<Reach> = vec![reachable.start()];
    for made in 0..=most {
        if level.iter().any(|label| reachable.ends(label)) {
            return true;
        }
        if made == most || level.is_empty() {
            return false;
        }
        let mut next: Vec<Reach> = Vec::new();
        for label in &level {
            reachable.onward(label, most - made - 1, |reached| {
                labels::keep(&mut next, reached, Reach::covers);
            });
            if next.len() > MOST_LABELS || cancelled() {
                return true;
            }
        }
        level = next;
    }
    false
}

/// The fewest stops that keep to windows alone; `None` when none do.
///
/// # Errors
/// [`Cancelled`] when `cancelled` says so.
pub(super) fn within(
    problem: &Problem,
    reachable: &Reachable,
    cancelled: &dyn Fn() -> bool,
) -> Result<Option<usize>, Cancelled> {
    let least = reachable.needed(&reachable.start().until);
    let found = (least..problem.slots).find(|most| can(reachable, *most, cancelled));
    if cancelled() { Err(Cancelled) } else { Ok(found) }
}

/// A number of stops that no schedule goes below, looking no further than `at_most`; `None` when
/// no schedule can do at all. `told` hears every bound as soon as it is proved.
///
/// # Errors
/// [`Cancelled`] when `told` gives back `false`: nobody waits any more.
pub(super) fn least_stops(
    problem: &Problem,
    at_most: usize,
    told: &(dyn Fn(usize) -> bool + Sync),
) -> Result<Option<usize>, Cancelled> {
    let (common, ways) = (windows(problem, problem.allowed), ways(problem));
    let within = within(problem, &Reachable::of(problem, &common, &ways), &|| !told(0))?;
    let Some(mut least) = within else { return Ok(None) };
    for size in GROUPS {
        let groups = problem.lives / size;
        if groups <= problem.allowed {
            continue;
        }
        // Lives of one group lie far apart, so that mirrored ones are not together.
        let group = |n: usize| within_group(problem, &common, (0..size).map(|k| k * groups + n));
        let each: Vec<Windows> = (0..groups).into_par_iter().map(group).collect();
        let each: Vec<Reachable> = each.iter().map(|w| Reachable::of(problem, w, &ways)).collect();
        while least < at_most.min(problem.slots) {
            let cannot = |group: &&Reachable| !can(group, least, &|| !told(least));
            let hard = each.par_iter().filter(cannot).count();
            if !told(least) {
                return Err(Cancelled);
            }
            // A schedule may lose a life of so many groups, and then need not keep to their
            // windows; only one group more than that proves anything.
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
    let mut group = problem.no_lives();
    lives.for_each(|life| group[life / 64] |= 1 << (life % 64));
    let unhurt = |fails: &[u64]| fails.iter().zip(&group).all(|(fails, group)| fails & group == 0);
    let mut own = windows_where(problem, &unhurt);
    for (own, common) in own.iter_mut().zip(common) {
        own.iter_mut().zip(common).for_each(|(own, common)| *own = (*own).min(*common));
    }
    own
}
