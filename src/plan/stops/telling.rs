//! What a long search tells while it is at it, and how it is given up.

use super::answer::Against;
use super::problem::{Schedule, Watch};
use std::cell::RefCell;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What an answer is at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// Running the lives.
    Simulating,
    /// Choosing a schedule, for the first time or again.
    Choosing,
    /// Proving how many stops it takes at least.
    Proving,
    /// Looking for what would make an impossible trip possible.
    Relaxing,
}

/// How far an answer is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// What it is at.
    pub step: Phase,
    /// Stops of the best schedule found so far.
    pub found: Option<usize>,
    /// No schedule has fewer stops than this.
    pub least: Option<usize>,
    /// The other plan that is looked for, its number and of how many; `None` for the one asked for.
    pub beside: Option<(Against, usize, usize)>,
}

/// Whether to go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Onward {
    /// Yes.
    GoOn,
    /// No: the best found so far is the answer, if there is any.
    Settle,
    /// No: nobody wants an answer any more.
    Drop,
}

/// What is known so far: stops found, stops needed at least, whether the best found is to do.
type LastTold = (Option<usize>, Option<usize>, bool);

/// Keeps what is known so far and passes it on.
pub(super) struct Telling<'a> {
    tell: &'a (dyn Fn(Progress) -> Onward + Sync),
    known: Mutex<LastTold>,
}

impl<'a> Telling<'a> {
    pub(super) fn of(tell: &'a (dyn Fn(Progress) -> Onward + Sync)) -> Telling<'a> {
        Telling { tell, known: Mutex::default() }
    }

    fn known(&self) -> MutexGuard<'_, LastTold> {
        self.known.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Tells, and hears whether to go on.
    pub(super) fn goes_on(&self, step: Phase) -> bool {
        let (found, least, _) = *self.known();
        let onward = (self.tell)(Progress { step, found, least, beside: None });
        self.known().2 |= onward == Onward::Settle;
        onward == Onward::GoOn
    }

    /// Whether it was given up for the best that was found.
    pub(super) fn settles(&self) -> bool {
        self.known().2
    }

    /// A schedule with so many stops was found.
    pub(super) fn found(&self, stops: usize) {
        self.known().0 = Some(stops);
    }

    /// So many stops are needed at least; a bound that was known already stays.
    pub(super) fn least(&self, stops: usize) {
        let mut known = self.known();
        known.1 = known.1.max(Some(stops));
    }

    /// The best bound so far.
    pub(super) fn least_so_far(&self) -> Option<usize> {
        self.known().1
    }
}

/// Follows one search on behalf of a [`Telling`], and keeps what it has found.
pub(super) struct Following<'a> {
    /// Passes it on.
    pub telling: &'a Telling<'a>,
    /// The schedule found last.
    pub kept: RefCell<Option<Schedule>>,
}

impl Watch for Following<'_> {
    fn cancelled(&self) -> bool {
        !self.telling.goes_on(Phase::Choosing)
    }

    fn found(&self, found: &Schedule) {
        self.telling.found(found.visits.len());
        *self.kept.borrow_mut() = Some(found.clone());
    }
}
