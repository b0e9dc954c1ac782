//! What a line says was done instead of a plan.

use super::super::hearing::LineUnderstood;
use crate::domain::{Draft, EntryId, Plan, PlanOutcome, plans};
use crate::text::plans::left_out;
use crate::tui::{Context, Purpose, State};

/// What the line says, where it answers a plan with what it leaves out of that.
pub(super) fn with_left_out(state: &State, mut said: LineUnderstood) -> LineUnderstood {
    let Purpose::Answer(of) = &state.line.purpose else { return said };
    if let Some(plan) = about(state, of) {
        let records = plans::answer(&plan, instead(&said.drafts), state.now);
        said.echo.push_str(&left_out(&plan, &records, state.units()));
    }
    said
}

/// What was done instead of a plan.
pub(super) fn instead(drafts: &[Draft]) -> PlanOutcome {
    PlanOutcome::Otherwise(drafts.iter().filter_map(Draft::happened).collect())
}

/// The plan that an answer in the line is about: one thing of the stop that is followed, or an open
/// plan.
pub(super) fn about(state: &State, of: &EntryId) -> Option<Plan> {
    let followed = state.screen() == Some(Context::Follow);
    let book = state.book.as_ref().filter(|_| followed);
    let chosen = book.and_then(|book| state.follow.chosen(book)).filter(|plan| plan.holds(of));
    chosen.or_else(|| state.open_plans().into_iter().find(|plan| plan.holds(of)))
}
