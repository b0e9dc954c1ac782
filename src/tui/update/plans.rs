//! What became of a plan: asked on the first screen, answered with a key pressed twice, saved as records.

use super::super::hearing::LineUnderstood;
use super::instead::{about, instead};
use super::line;
use super::saving::save;
use crate::domain::{EntryId, Plan, PlanOutcome, plans};
use crate::text::plans as words;
use crate::tui::{Action, Purpose, SavePurpose, State};

/// The plan that is asked about was done as planned, or was not done.
pub(super) fn answer(state: &mut State, outcome: PlanOutcome) {
    let Some(plan) = asked(state) else { return };
    let show = state.units();
    // By name: parts that were left out before are no part of it.
    let (said, action, key) = match outcome == PlanOutcome::Done {
        true => ("done", Action::PlanDone, 'y'),
        false => ("not done", Action::PlanNotDone, 'n'),
    };
    let ask = || format!("{said}: {}? {key} again writes it", words::in_parts(&plan, show));
    if !state.is_sure_once(action, ask) {
        return;
    }
    let purpose = SavePurpose::key(&format!("{said}: {}", words::in_parts(&plan, show)));
    save(state, plans::answer(&plan, outcome, state.now), purpose);
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
    let line = lines.iter().find(|(id, _)| plan.holds(id)).map(|(_, line)| line.clone());
    line::open_with(state, Purpose::Answer(plan.id().clone()), &line.unwrap_or_default());
}

/// The line was submitted with what was done instead.
pub(in crate::tui) fn submit(state: &mut State, of: &EntryId, understood: LineUnderstood) {
    let Some(plan) = about(state, of) else {
        return state.warn("nothing saved: this plan is answered already");
    };
    let purpose = SavePurpose::line(format!("saved instead of the plan: {}", understood.echo));
    save(state, plans::answer(&plan, instead(&understood.drafts), state.now), purpose);
}

/// The plan that is asked about first.
fn asked(state: &mut State) -> Option<Plan> {
    let plan = state.open_plans().into_iter().next();
    if plan.is_none() {
        state.say("no plan waits for an answer");
    }
    plan
}
