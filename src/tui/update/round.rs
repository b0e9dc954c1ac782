//! The evening's round: keys answer its questions, and Enter at the end saves them in one go.

use super::super::round::{Answer, Asked, Doubt, Round, Said};
use super::plans;
use super::saving::save;
use crate::domain::{Body, Draft, Event};
use crate::logline;
use crate::text::{counted, led, listed};
use crate::tui::{Action, Context, Key, SavePurpose, Spends, State};

/// Opens it; answers that were given before and not saved are still there.
pub fn open(state: &mut State) {
    if state.evening.answer.is_none() {
        return state.say("the first forecast is still being worked out");
    }
    if !state.round.is_begun() {
        state.round = fresh(state);
    }
    state.open(Context::Round);
}

/// A new evening has other questions, unless somebody is answering the old ones or reads what
/// they moved.
pub(super) fn renew(state: &mut State) {
    let shown = state.screen() == Some(Context::Round) && state.round.before.is_some();
    if !state.round.is_begun() && !shown {
        state.round = fresh(state);
    }
}

fn fresh(state: &State) -> Round {
    let (Some(book), Some(evening)) = (&state.book, &state.evening.answer) else {
        return Round::default();
    };
    let today = state.zone().waking_date(state.now);
    let mut uses = book.uses.clone();
    // That there was none of it is not asked twice in an evening.
    for (known, activity) in &state.none {
        uses.entry((*known, activity.clone())).or_insert(0);
    }
    Round::of(evening, &book.loaded.rig.parts_on(today), &uses, today)
}

/// Whether a key is no part of the number that is being typed: `1gal` is no answer to `1`, and a
/// letter behind a digit opens no other screen.
pub(super) fn is_no_part(state: &State, key: Key) -> bool {
    let other = matches!(key, Key::Char(c) if !c.is_ascii_digit() && c != '?');
    other && !state.round.typed.is_empty()
}

/// A stroke behind digits; whether it is a part of the answer.
pub(super) fn stroke(state: &mut State, key: Key) -> bool {
    let typed = state.round.stroke().filter(|_| key == Key::Char('/'));
    typed.map(|typed| state.round.typed = typed).is_some()
}

/// A digit of an answer.
pub fn digit(state: &mut State, digit: u32) {
    let said = state.round.digit(digit);
    take(state, said);
}

/// An answer by a key that is no digit.
pub fn answer(state: &mut State, action: Action) {
    let (round, now) = (&state.round, state.now);
    let said = match (round.asked().is_some(), action) {
        (false, Action::Usual) => return finish(state),
        (false, _) => Said::Nothing(round.over()),
        (true, Action::Skip) => round.onward(now),
        (true, Action::Usual) => round.enter(now),
        (true, _) if round.doubt.is_some() => Said::Nothing("choose by its number"),
        (true, Action::Yes) => round.yes(now),
        (true, Action::No) => round.no(now),
        (true, _) => round.full(now),
    };
    take(state, said);
}

/// Takes what a key said, unless it is a reading that cannot be true.
fn take(state: &mut State, said: Said) {
    match said {
        Said::Nothing(why) => state.say(why),
        Said::Typed(typed) => state.round.typed = typed,
        Said::Answer(answer) => match doubted(state, &answer) {
            Some(doubt) => {
                state.round.typed.clear();
                state.round.doubt = Some(doubt);
            }
            None => state.round.answer(answer),
        },
    }
}

/// What the log line would ask back of a reading.
fn doubted(state: &State, answer: &Answer) -> Option<Doubt> {
    let (Answer::Said(drafts), Some(Asked::Reading { .. })) = (answer, state.round.asked()) else {
        return None;
    };
    let known = state.vocabulary()?;
    let said: Vec<_> = drafts.iter().filter_map(Draft::happened).collect();
    let line = logline::echo(&said, &known, state.now);
    let way = |line: String| {
        let said = logline::parse(&line, &known, state.now).ok()?.into_iter();
        Some((line, said.map(Draft::from).collect()))
    };
    // Settled already: the answer is one of the ways.
    let settled = state.round.doubt.is_some();
    let misread = logline::parse(&line, &known, state.now).err().filter(|_| !settled)?;
    let ways: Vec<_> = misread.instead.into_iter().filter_map(|offer| way(offer.line)).collect();
    let why = misread.message.split(": write `").next().unwrap_or_default().to_string();
    (!ways.is_empty()).then_some(Doubt { why, ways })
}

/// At the end: saves it, with the day closed. At a plan: it was done otherwise.
pub(super) fn close_day(state: &mut State) {
    match state.round.asked().cloned() {
        Some(Asked::Plan(plan)) => {
            state.round.answer(Answer::Skipped);
            plans::otherwise_than(state, &plan);
        }
        Some(_) => {
            state.round.closes = !state.round.closes;
            state.say(match state.round.closes {
                true => "the day will be closed when the round is saved; c again: it stays open",
                false => "the day stays open",
            });
        }
        None => {
            state.round.closes = true;
            finish(state)
        }
    }
}

fn finish(state: &mut State) {
    let mut drafts = state.round.drafts();
    let body = Body::Happened(Event::DayClosed);
    let closed = state.round.closes.then_some(Draft { at: state.now, note: None, body });
    drafts.extend(closed);
    let (today, saved) = (state.zone().waking_date(state.now), state.round.before.is_some());
    let none: Vec<String> = state.round.none().cloned().collect();
    let said = led("; none of ", &listed(&none));
    state.none.extend(none.into_iter().map(|activity| (today, activity)));
    if saved || drafts.is_empty() {
        state.round = Round::default();
        state.screens.pop();
        if !saved && !said.is_empty() {
            state.say(format!("nothing to save{said}"));
        }
        return;
    }
    let entries = counted(drafts.len() as u64, "entry");
    let done = format!("saved: {entries}{said} (u takes the whole round back)");
    save(state, drafts, SavePurpose { done, spends: Spends::Round })
}
