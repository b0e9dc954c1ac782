//! The evening's round: keys answer its questions, and Enter at the end saves them in one go.

use super::super::round::{Answer, AnswerReader, Asked, Doubt, Reply, Round};
use super::plans;
use super::saving::save;
use crate::domain::{Body, Draft, EntryId, Event, Happened, Moment};
use crate::logline::answers;
use crate::logline::{self, Vocabulary};
use crate::text::count::far_beyond;
use crate::text::{counted, led, listed};
use crate::tui::{Action, Context, Key, SavePurpose, Spends, State, keymap};

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

/// A key while something is asked or is to be saved; whether it is a part of an answer. The round's
/// own keys answer at once; a letter that is none of them begins a word, which Enter takes.
pub(super) fn typed(state: &mut State, key: Key) -> bool {
    let refused = state.round.was_refused();
    let begun = state.round.begun.take();
    if std::mem::take(&mut state.round.stale) && key != Key::Enter {
        state.round.typed.clear();
        if key == Key::Backspace {
            return true;
        }
    }
    let blank = state.round.typed.is_empty();
    match key {
        _ if state.round.before.is_some() => return false,
        Key::Enter if refused => state.say("no was taken; Enter now: as usual"),
        Key::Char(' ' | '?') if blank => return false,
        Key::Char(c) => letter(state, c, begun),
        Key::Backspace if !blank => _ = state.round.typed.pop(),
        Key::ClearLine | Key::EraseWord => state.round.typed.clear(),
        _ => return false,
    }
    true
}

fn letter(state: &mut State, c: char, begun: Option<Box<(char, Round)>>) {
    state.status = None;
    let own = keymap::action(Context::Round, Key::Char(c));
    let own = own.filter(|own| state.round.typed.is_empty() && state.round.is_answered_by(*own));
    if let Some(action) = own {
        let before = state.round.clone();
        match action {
            Action::CloseDay => close_day(state),
            Action::PlanOtherwise => plan_otherwise(state),
            _ => answer(state, action),
        }
        if !state.line.open && state.round != before {
            state.round.begun = Some(Box::new((c, before)));
        }
        return;
    }
    // The `n` before was no answer: it began `nine`. One by one, what follows is for the first.
    if let Some((first, before)) = begun.map(|begun| *begun).filter(|_| c.is_alphabetic()) {
        let word = format!("{first}{c}");
        let one_by_one = matches!(before.asked(), Some(Asked::Again(..)));
        if !one_by_one || answers::begins("yes", &word) || answers::begins("none", &word) {
            state.round = Round { typed: first.to_string(), ..before };
        }
    }
    let said = state.round.typed_on(c);
    take(state, said);
}

/// What words are read with: as if nothing had been written yet.
pub(in crate::tui) fn known(state: &State) -> Option<Vocabulary> {
    let book = state.book.as_ref()?;
    Some(Vocabulary::at(&book.loaded.rig, &[], state.now))
}

/// An answer by a key that is no part of a word.
pub fn answer(state: &mut State, action: Action) {
    let Some(known) = known(state) else { return };
    let reader = AnswerReader { known: &known, now: state.now };
    let (round, now) = (&state.round, state.now);
    let said = match (round.asked().is_some(), action) {
        (false, Action::Usual) => return finish(state),
        (false, _) => Reply::Nothing(round.over()),
        (true, Action::Skip) => round.onward(&reader),
        (true, Action::Usual) => round.enter(&reader),
        (true, _) if round.doubt.is_some() => Reply::Nothing("choose by its number"),
        (true, Action::Yes) => round.yes(now),
        (true, Action::No) => round.no(now),
        (true, _) => round.full(now),
    };
    take(state, said);
}

/// Takes what a key said, unless it is a reading that cannot be true.
fn take(state: &mut State, said: Reply) {
    match said {
        // What is refused is refused whole, and is no part of the next answer.
        Reply::Nothing(why) if !state.round.typed.is_empty() => {
            state.round.stale = true;
            state.say(format!("not taken: {}; {why}", state.round.typed));
        }
        Reply::Nothing(why) => state.say(why),
        Reply::Typed(typed) => state.round.typed = typed,
        Reply::Answer(answer) => match doubted(state, &answer) {
            Some(doubt) => {
                state.round.typed.clear();
                state.round.doubt = Some(doubt);
            }
            None => state.round.answer(answer),
        },
    }
}

/// What the log line would ask back of an answer.
fn doubted(state: &State, answer: &Answer) -> Option<Doubt> {
    let Answer::Said(drafts) = answer else { return None };
    // Settled already: the answer is one of the ways.
    let known = state.vocabulary().filter(|_| state.round.doubt.is_none())?;
    let said: Vec<_> = drafts.iter().filter_map(Draft::happened).collect();
    match state.round.asked() {
        Some(Asked::Reading { .. }) => doubted_reading(&said, &known, state.now),
        Some(Asked::Use(_)) => {
            let (_, most) = state.book.as_ref()?.often.exceeded(said.first()?)?;
            let line = logline::echo(&said, &known, state.now);
            Some(Doubt { why: far_beyond(&line, most), ways: vec![(line, drafts.clone())] })
        }
        _ => None,
    }
}

fn doubted_reading(said: &[Happened], known: &Vocabulary, now: Moment) -> Option<Doubt> {
    let line = logline::echo(said, known, now);
    let way = |line: String| {
        let said = logline::parse(&line, known, now).ok()?.into_iter();
        Some((line, said.map(Draft::from).collect()))
    };
    let misread = logline::parse(&line, known, now).err()?;
    let ways: Vec<_> = misread.instead.into_iter().filter_map(|offer| way(offer.line)).collect();
    let why = misread.message.split(": write `").next().unwrap_or_default().to_string();
    (!ways.is_empty()).then_some(Doubt { why, ways })
}

/// Something else was done than the plan that is asked about.
pub(super) fn plan_otherwise(state: &mut State) {
    if let Some(Asked::Plan(plan)) = state.round.asked().cloned() {
        plans::otherwise_than(state, &plan);
    }
}

/// The day is closed when the round is saved, or is not after all.
pub(super) fn close_day(state: &mut State) {
    state.round.closes = !state.round.closes;
    state.say(match state.round.closes {
        true => "the day will be closed when the round is saved; c again: it stays open",
        false => "the day stays open",
    });
}

/// The plan that is asked about was answered in the line: on to the next question.
pub(super) fn told_in_line(state: &mut State, of: &EntryId) {
    let is_it = matches!(state.round.asked(), Some(Asked::Plan(plan)) if plan.holds(of));
    if is_it && state.screen() == Some(Context::Round) {
        state.round.answer(Answer::Skipped);
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
    let entries = counted(drafts.len(), "entry");
    let done = format!("saved: {entries}{said} (u takes the whole round back)");
    save(state, drafts, SavePurpose { done, spends: Spends::Round })
}
