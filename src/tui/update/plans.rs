//! What became of a plan: asked on the first screen, answered with one key, saved as records.

use super::super::host::Understood;
use super::line;
use super::saving::save;
use crate::domain::{Body, Draft, EntryId, Happened, Plan, PlanOutcome, plans};
use crate::text::plans::{briefly, left_out};
use crate::tui::{Effect, Purpose, SavePurpose, Screen, Spends, State, Tone};

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
pub fn otherwise(state: &mut State) -> Vec<Effect> {
    let Some(plan) = asked(state) else { return Vec::new() };
    otherwise_than(state, &plan)
}

/// The same of this plan.
pub(in crate::tui) fn otherwise_than(state: &mut State, plan: &Plan) -> Vec<Effect> {
    let lines = state.book.as_ref().map_or(&[][..], |book| &book.plan_lines);
    let words = lines.iter().find(|(id, _)| plan.holds(id)).map(|(_, words)| words.clone());
    line::open_with(state, Purpose::Answer(plan.id().clone()), &words.unwrap_or_default())
}

/// The line was submitted with what was done instead.
pub(in crate::tui) fn submit(
    state: &mut State,
    of: &EntryId,
    understood: Understood,
) -> Vec<Effect> {
    let Some(plan) = about(state, of) else {
        state.say(Tone::Bad, "nothing saved: this plan is answered already");
        return Vec::new();
    };
    let done = format!("saved instead of the plan: {}", understood.echo);
    let outcome = instead(understood.drafts);
    answer(state, &plan, outcome, SavePurpose { done, spends: Spends::Line })
}

/// What the line says, where it answers a plan with what it leaves out of that.
pub(in crate::tui) fn with_left_out(state: &State, mut said: Understood) -> Understood {
    let Purpose::Answer(of) = &state.line.purpose else { return said };
    if let Some(plan) = about(state, of) {
        let records = plans::answer(&plan, instead(said.drafts.clone()), state.now);
        said.echo.push_str(&left_out(&plan, &records));
    }
    said
}

fn instead(drafts: Vec<Draft>) -> PlanOutcome {
    let things = drafts.into_iter().filter_map(|draft| match draft {
        Draft { at, note, body: Body::Happened(event) } => Some(Happened { at, note, event }),
        _ => None,
    });
    PlanOutcome::Otherwise(things.collect())
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

/// The plan that an answer in the line is about: one thing of the stop that is followed, or an open
/// plan.
fn about(state: &State, of: &EntryId) -> Option<Plan> {
    let followed = state.screen() == Some(Screen::Follow);
    let book = state.book.as_ref().filter(|_| followed);
    let chosen = book.and_then(|book| state.follow.chosen(book)).filter(|plan| plan.holds(of));
    chosen.or_else(|| state.open_plans().into_iter().find(|plan| plan.holds(of)).cloned())
}
