//! The stops of a trip: saving what was found, taking it back.

use super::super::state::ToConfirm;
use super::journal;
use super::saving::save;
use crate::domain::{Draft, Happened, standing};
use crate::plan::Trip;
use crate::plan::stops::saved;
use crate::text::plans::thing;
use crate::text::stops as words;
use crate::text::{Form, date_time};
use crate::tui::{Action, Context, Extent, SavePurpose, Spends, State};
use std::sync::Arc;

/// The schedule came, or the best that a search had found when it was given up; that may have
/// been over at the same moment.
pub(in crate::tui) fn scheduled(state: &mut State, generation: u64, answer: Arc<Trip>) {
    let promised = state.trip.has_found() && state.trip.asked.stopped;
    if !answer.stopped && !promised {
        return state.trip.asked.answered(generation, answer, Extent::Whole);
    }
    let said = match (answer.stopped, state.trip.comparing()) {
        (true, _) => "stopped; this is the best found until then, r asks again".to_string(),
        (false, Some((_, of))) if answer.against.len() < of => {
            format!("stopped; compared with {} of {of} plans, r asks again", answer.against.len())
        }
        (false, _) => "the search was over just then".to_string(),
    };
    if state.trip.asked.settled(generation, answer) {
        state.say(said);
    }
}

/// Shows what saving the schedule would write, to be agreed to.
pub(in crate::tui) fn propose(state: &mut State) {
    let Some(book) = state.book.clone() else { return };
    let trip = match &state.trip.asked {
        asked if asked.current && !asked.working => asked.answer.clone(),
        _ => None,
    };
    let refusal = match &trip {
        None => Some("no schedule to save yet".to_string()),
        Some(trip) if !trip.carries() => Some(words::not_saved(trip)),
        Some(trip) if trip.stops.is_empty() => Some("nothing to save: no stop is needed".into()),
        Some(_) => None,
    };
    let (None, Some(trip)) = (&refusal, trip) else {
        return state.say(refusal.unwrap_or_default());
    };
    let rig = &book.loaded.rig;
    let zone = state.zone();
    // What the schedule counts on is part of it.
    let from = state.trip.values.from(state.now, zone);
    let mut planned: Vec<Happened> =
        from.map(|from| saved::setting_out(rig, from)).unwrap_or_default();
    planned.extend(saved::planned(rig, &trip));
    planned.sort_by_key(|plan| plan.at);
    let mut lines = Vec::new();
    let mut before = None;
    for plan in &planned {
        if before.replace(plan.at) != Some(plan.at) {
            let place = plan.note.as_deref().and_then(|note| note.strip_prefix(saved::REMARK));
            let place = place.unwrap_or_default();
            lines.push(format!("{}  {place}", date_time(zone.here(plan.at), Form::Short)));
        }
        lines.push(format!("  {}", thing(&plan.event, rig.show)));
    }
    let count = planned.len();
    let done = format!("saved: {count} planned entries (u takes all of them back)");
    state.proposal = Some(ToConfirm {
        title: format!("Write these {count} planned entries to the journal?"),
        lines,
        drafts: planned.into_iter().map(Draft::from).collect(),
        purpose: SavePurpose { done, spends: Spends::Nothing },
    });
    state.open(Context::Confirm);
}

/// A person agreed to what was proposed.
pub fn confirm(state: &mut State) {
    let Some(proposal) = state.proposal.take() else { return };
    state.screens.retain(|screen| *screen != Context::Confirm);
    state.scroll = 0;
    save(state, proposal.drafts, proposal.purpose)
}

/// Takes back what saved schedules still have ahead.
pub(in crate::tui) fn take_back(state: &mut State) {
    let Some(book) = state.book.clone() else { return };
    let stands = standing(&book.loaded.entries, state.now);
    let ids: Vec<_> = saved::ahead(&stands, state.now).map(|entry| entry.id.clone()).collect();
    if ids.is_empty() {
        return state.say("no schedule that was saved lies ahead");
    }
    let planned = format!("{} planned entries", ids.len());
    let ask = || format!("take back {planned}? x again does it");
    if !state.is_sure_once(Action::DropSchedule, ask) {
        return;
    }
    let done = format!("took back {planned} (u puts them back)");
    journal::take_back(state, ids, done)
}
