//! What became of a plan: asked on the first screen, answered with one key, saved as records.

use super::super::hearing::Understood;
use super::instead::{about, instead};
use super::line;
use super::saving::save;
use crate::domain::{EntryId, Plan, PlanOutcome, plans};
use crate::text::plans::briefly;
use crate::tui::{Effect, Purpose, SavePurpose, Spends, State, Tone};

/// The plan that is asked about was done as planned.
pub fn done(state: &mut State) -> Vec<Effect> {
    let Some(plan) = asked(state) else { return Vec::new() };
    let said = format!("done as planned: {} (u takes it back)", briefly(&plan));
    answer(state, &plan, PlanOutcome::Done, SavePurpose { done: said, spends: Spends::Nothing })
}

/// It was not done.
pub(in crate::tui) fn not_done(state: &mut State) -> Vec<Effect> {
    let Some(plan) = asked(state) else { return Vec::new() };
    let said = format!("not done: {} (u takes it back)", briefly(&plan));
    answer(state, &plan, PlanOutcome::NotDone, SavePurpose { done: said, spends: Spends::Nothing })
}

/// Something else was done: opens the line with the plan's words, to be changed.
pub fn otherwise(state: &mut State) {
    if let Some(plan) = asked(state) {
        otherwise_than(state, &plan);
    }
}

/// The same of this plan.
pub(in crate::tui) fn otherwise_than(state: &mut State, plan: &Plan) {
    let lines = state.book.as_ref().map_or(&[][..], |book| &book.plan_lines);
    let words = lines.iter().find(|(id, _)| plan.holds(id)).map(|(_, words)| words.clone());
    line::open_with(state, Purpose::Answer(plan.id().clone()), &words.unwrap_or_default());
}

/// The line was submitted with what was done instead.
pub(in crate::tui) fn submit(
    state: &mut State,
    of: &EntryId,
    understood: Understood,
) -> Vec<Effect> {
    let Some(plan) = about(state, of) else {
        return state.only_say(Tone::Bad, "nothing saved: this plan is answered already");
    };
    let done = format!("saved instead of the plan: {}", understood.echo);
    let outcome = instead(understood.drafts);
    answer(state, &plan, outcome, SavePurpose { done, spends: Spends::Line })
}

/// The plan that is asked about first.
fn asked(state: &mut State) -> Option<Plan> {
    let plan = state.open_plans().into_iter().next().cloned();
    if plan.is_none() {
        state.say(Tone::Plain, "no plan waits for an answer");
    }
    plan
}

fn answer(
    state: &mut State,
    plan: &Plan,
    outcome: PlanOutcome,
    purpose: SavePurpose,
) -> Vec<Effect> {
    save(state, plans::answer(plan, outcome, state.now), purpose)
}
