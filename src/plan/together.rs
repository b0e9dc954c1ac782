//! A small set of choices that makes a stretch work, none of which can be left out.
//!
//! Which choice to take next is read off what each did by itself: in every life, the hours that
//! two changes add to one stock are close to the sum of what each adds. That is only a guess to
//! go by, made without running anything; what a set is said to do is always a run with all of its
//! changes made. Small changes are put together first. Doing altogether without something, or
//! buying a container, is only in a set where they are not enough.

use super::answer::{Choice, Together};
use super::case::{Case, Outcome, safe_hours, share_from};
use super::change::Change;
use super::options::{Candidate, Lever};
use super::proposal::Proposal;
use crate::forecast::passages::sorted;

/// Most choices in a set.
const LARGEST_SET: usize = 8;
/// Sets of the same size that are run, best guess first, before a larger one is put together.
const RUNS: usize = 4;

/// An offer that was tried by itself.
pub(super) struct Tried {
    /// Of what is alike, a set holds one.
    pub group: (Lever, usize),
    /// What it buys.
    pub choice: Choice,
    /// When the limits are met with it.
    pub limits: Outcome,
}

impl Tried {
    /// Runs the same lives with an offer's changes made.
    pub(super) fn of(case: &Case, base: &Outcome, offer: Candidate, confidence: f64) -> Tried {
        let limits = case.with(&offer.changes).limits();
        let (hours, or_more) = hours_added(case, base, &limits, confidence);
        let Candidate { proposal, changes, group, burns } = offer;
        let (probability, gain) = (limits.probability, limits.probability - base.probability);
        let choice = Choice { proposal, changes, hours, or_more, probability, gain, burns };
        Tried { group, choice, limits }
    }
}

/// Hours added to what is safe; whether the horizon cut them short.
pub(super) fn hours_added(
    case: &Case,
    base: &Outcome,
    with: &Outcome,
    confidence: f64,
) -> (f64, bool) {
    let horizon = case.scene.hours.len() as f64;
    let (before, after) = (base.safe_hours(confidence), with.safe_hours(confidence));
    (after.min(horizon) - before.min(horizon), after.is_infinite() && before.is_finite())
}

/// A set of small changes where they are enough, else of any.
pub(super) fn together(
    case: &Case,
    base: &Outcome,
    tried: &[Tried],
    confidence: f64,
) -> Option<Together> {
    let all: Vec<usize> = (0..tried.len()).collect();
    let small = |index: &usize| {
        !matches!(
            tried[*index].choice.proposal,
            Proposal::Without(_) | Proposal::Container { .. } | Proposal::Jerrycan { .. }
        )
    };
    let small: Vec<usize> = all.iter().copied().filter(small).collect();
    let set = |among| put_together(&Guess { case, base, tried, confidence, among });
    set(small).filter(|set| set.works).or_else(|| set(all))
}

/// Takes the best next choice until the set works, then drops what is no longer needed.
fn put_together(guess: &Guess) -> Option<Together> {
    let Guess { case, base, confidence, .. } = *guess;
    let mut set: Vec<usize> = Vec::new();
    let mut best = base.clone();
    while set.len() < LARGEST_SET && best.probability < confidence {
        let Some((next, limits)) = guess.next(&set, &best) else { break };
        set.push(next);
        best = limits;
    }
    if set.is_empty() {
        return None;
    }
    let mut place = 0;
    while place < set.len() && set.len() > 1 && best.probability >= confidence {
        let mut fewer = set.clone();
        fewer.remove(place);
        let limits = guess.run(&fewer);
        if limits.probability >= confidence {
            (set, best) = (fewer, limits);
        } else {
            place += 1;
        }
    }
    let (hours, _) = hours_added(case, base, &best, confidence);
    let probability = best.probability;
    Some(Together { choices: set, probability, hours, works: probability >= confidence })
}

struct Guess<'a> {
    case: &'a Case,
    base: &'a Outcome,
    tried: &'a [Tried],
    confidence: f64,
    /// Indices of those that may be taken.
    among: Vec<usize>,
}

impl Guess<'_> {
    fn run(&self, set: &[usize]) -> Outcome {
        let changes: Vec<Change> =
            set.iter().flat_map(|i| self.tried[*i].choice.changes.iter().cloned()).collect();
        self.case.with(&changes).limits()
    }

    /// The choice that does most for a set, and what the set then does; `None` when none does
    /// anything more.
    fn next(&self, set: &[usize], best: &Outcome) -> Option<(usize, Outcome)> {
        let taken =
            |index: &usize| set.iter().any(|t| self.tried[*t].group == self.tried[*index].group);
        let open = self.among.iter().copied().filter(|index| !taken(index));
        // With the first choice nothing has to be guessed.
        let mut guessed: Vec<(usize, (f64, f64))> = open
            .map(|index| match set.is_empty() {
                true => (index, key(&self.tried[index].limits, self.confidence)),
                false => (index, self.worth(best, index)),
            })
            .collect();
        guessed.sort_by(|a, b| (b.1.0.total_cmp(&a.1.0)).then(b.1.1.total_cmp(&a.1.1)));
        let runs = guessed.into_iter().take(RUNS).map(|(index, _)| match set.is_empty() {
            true => (index, self.tried[index].limits.clone()),
            false => (index, self.run(&[set, &[index]].concat())),
        });
        let better = |a: &(usize, Outcome), b: &(usize, Outcome)| {
            let (a, b) = (key(&a.1, self.confidence), key(&b.1, self.confidence));
            (a.0.total_cmp(&b.0)).then(a.1.total_cmp(&b.1))
        };
        let next = runs.max_by(better)?;
        (key(&next.1, self.confidence) > key(best, self.confidence)).then_some(next)
    }

    /// What a choice would make of a set that does `so_far`: share of lives, safe hours.
    fn worth(&self, so_far: &Outcome, index: usize) -> (f64, f64) {
        let horizon = self.case.scene.hours.len() as f64;
        let with = &self.tried[index].limits.lives.passages;
        let mut first = vec![f64::INFINITY; self.case.lives];
        for ((so_far, base), with) in
            so_far.lives.passages.iter().zip(&self.base.lives.passages).zip(with)
        {
            for (life, first) in first.iter_mut().enumerate() {
                let (base, with) = (base[life].min(horizon), with[life].min(horizon));
                let added = if with >= horizon { horizon } else { with - base };
                *first = first.min(so_far[life] + added);
            }
        }
        let first = sorted(first);
        (share_from(&first, self.case.until_hours), safe_hours(&first, self.confidence))
    }
}

fn key(limits: &Outcome, confidence: f64) -> (f64, f64) {
    (limits.probability, limits.safe_hours(confidence))
}
