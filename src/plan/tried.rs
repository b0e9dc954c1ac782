//! An offer tried by itself: the same lives with its changes made.

use super::answer::Choice;
use super::case::{Case, Outcome};
use super::options::Offer;

/// An offer that was tried by itself.
pub(super) struct Tried {
    /// What was tried.
    pub offer: Offer,
    /// What it buys.
    pub choice: Choice,
    /// When the limits are met with it.
    pub limits: Outcome,
}

impl Tried {
    /// Runs the same lives with an offer's changes made.
    pub(super) fn of(case: &Case, base: &Outcome, offer: Offer, confidence: f64) -> Tried {
        let limits = case.with(&offer.changes).limits();
        let (hours, or_more) = hours_added(case, base, &limits, confidence);
        let choice = Choice {
            proposal: offer.proposal.clone(),
            changes: offer.changes.clone(),
            hours,
            or_more,
            probability: limits.probability,
            gain: limits.probability - base.probability,
            burns: offer.burns,
        };
        Tried { offer, choice, limits }
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
