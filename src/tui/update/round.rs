//! The evening's round: keys answer its questions, and Enter at the end saves them in one go.

use super::super::effect::{Effect, SavePurpose, Spends};
use super::super::key::Key;
use super::super::message::Action;
use super::super::round::{Answer, Asked, Round};
use super::super::state::{Screen, State, Tone};
use super::plans;
use super::saving::save;
use crate::domain::entry::{Body, Draft, Event};
use crate::text::count::counted;

/// Opens it; answers that were given before and not saved are still there.
pub fn open(state: &mut State) {
    if state.evening.is_none() {
        state.say(Tone::Plain, "the first forecast is still being worked out");
        return;
    }
    if !state.round.is_begun() {
        state.round = fresh(state);
    }
    state.open(Screen::Round);
}

/// A new evening has other questions, unless somebody is answering the old ones or reads what
/// they moved.
pub(super) fn renew(state: &mut State) {
    let shown = state.screen() == Some(Screen::Round) && state.round.before.is_some();
    if !state.round.is_begun() && !shown {
        state.round = fresh(state);
    }
}

fn fresh(state: &State) -> Round {
    let (Some(book), Some(evening)) = (&state.book, &state.evening) else {
        return Round::default();
    };
    let today = state.zone().date(state.now);
    Round::of(evening, &book.loaded.rig.parts_on(today), &book.uses, today)
}

/// A digit of an answer.
pub fn digit(state: &mut State, key: Key) -> Vec<Effect> {
    state.status = None;
    if let Key::Char(c) = key
        && let Some(digit) = c.to_digit(10)
    {
        let before = state.round.clone();
        state.round.digit(digit, state.now);
        if state.round == before {
            state.say(Tone::Plain, format!("{digit} answers nothing here"));
        }
    }
    Vec::new()
}

/// An answer by a key that is no digit.
pub fn answer(state: &mut State, action: Action) -> Vec<Effect> {
    let (round, now) = (&mut state.round, state.now);
    match (round.asked().is_some(), action) {
        (false, Action::Usual) => return finish(state, Vec::new()),
        (false, _) => state.say(Tone::Plain, "all is asked; Enter saves"),
        (true, Action::Yes) => round.yes(now),
        (true, Action::No) => round.no(now),
        (true, Action::Full) => round.full(now),
        (true, Action::Usual) => round.enter(now),
        (true, _) => round.answer(Answer::Skipped),
    }
    Vec::new()
}

/// At the end: saves it, with the day closed. At a plan: it was done otherwise.
pub(super) fn close_day(state: &mut State) -> Vec<Effect> {
    match state.round.asked().cloned() {
        Some(Asked::Plan(plan)) => {
            state.round.answer(Answer::Skipped);
            plans::otherwise_than(state, &plan)
        }
        Some(_) => {
            state.say(Tone::Plain, "the day is closed at the end of the round");
            Vec::new()
        }
        None => {
            let body = Body::Happened(Event::DayClosed);
            finish(state, vec![Draft { at: state.now, note: None, body }])
        }
    }
}

fn finish(state: &mut State, more: Vec<Draft>) -> Vec<Effect> {
    let mut drafts = state.round.drafts();
    drafts.extend(more);
    if state.round.before.is_some() || drafts.is_empty() {
        state.round = Round::default();
        state.screens.pop();
        return Vec::new();
    }
    let things = counted(drafts.len() as u64, "entry");
    let things = if drafts.len() == 1 { things } else { things.replace("entrys", "entries") };
    let done = format!("saved: {things} (u takes the whole round back)");
    save(state, drafts, SavePurpose { done, spends: Spends::Round })
}
