//! Letters that turn out to be words. Somebody who begins to type a line where no line is open starts
//! nothing by it and loses nothing of it: as soon as the letters can be no keys, all is as it was
//! before the first of them, and the line opens with them in it.

use super::super::state::Begun;
use super::{asking, line};
use crate::logline::{self, answers};
use crate::tui::{Context, Effect, Key, Purpose, State};
use std::collections::VecDeque;

/// So many letters that begin what the log line knows, a space among them, are words: nobody goes
/// through screens in that order.
const LETTERS: usize = 4;
/// So many letters are kept in mind.
const MOST: usize = 12;

/// All that is shown is as it was then; what came meanwhile stays.
fn put_back(state: &mut State, before: State) {
    for screen in [Context::Stops, Context::LookBack] {
        let is_new = state.screens.contains(&screen) && !before.screens.contains(&screen);
        let stopped = is_new
            && match screen {
                Context::Stops => state.trip.asked.stop(),
                _ => state.lookback.asked.stop(),
            };
        if stopped {
            state.want(Effect::Cancel(screen));
        }
    }
    if state.mouse != before.mouse {
        state.want(Effect::Mouse(before.mouse));
    }
    let (planner, trip) = (before.planner.values, before.trip.values);
    let changed = [
        (Context::Stretch, state.planner.values != planner),
        (Context::Stops, state.trip.values != trip),
    ];
    (state.planner.values, state.trip.values) = (planner, trip);
    (state.screens, state.stock, state.scroll) = (before.screens, before.stock, before.scroll);
    (state.row, state.rig.row) = (before.row, before.rig.row);
    (state.round, state.follow) = (before.round, before.follow);
    (state.mouse, state.sure, state.status) = (before.mouse, None, None);
    // What was to be agreed to is asked as long as its screen stands.
    state.screens.retain(|screen| *screen != Context::Confirm || state.proposal.is_some());
    state.proposal = state.proposal.take().filter(|_| state.screens.contains(&Context::Confirm));
    for (screen, changed) in changed {
        if changed && state.screens.contains(&screen) {
            asking::ask(state, screen);
        }
    }
}

/// A key where no line is open; whether it is a part of a word. Where questions are asked letters
/// are words anyway, unless it was a letter that opened them.
pub(super) fn typed(state: &mut State, key: Key) -> bool {
    let mut begun = std::mem::take(&mut state.begun);
    let Key::Char(c) = key else { return false };
    if state.line.open {
        return opened_within(state, begun, c);
    }
    let asks = state.context() == Context::Round && state.round.before.is_none();
    let unready = state.first_run.is_some() || state.book.is_none();
    if unready || !(c.is_alphanumeric() || c == ' ') || asks && begun.is_empty() {
        return false;
    }
    begun.push_back(Begun { letter: c, asks, before: Box::new(state.clone()) });
    let text: Vec<char> = begun.iter().map(|begun| begun.letter).collect();
    // A number said to what the first letter asked is no word with it: `d` and then `one`.
    let answers = |at: usize| {
        let said: String = text[at + 1..].iter().collect();
        begun.get(at + 1).is_some_and(|next| next.asks) && answers::number(&said).is_some()
    };
    let is_line = |at: &usize| !begun[*at].asks && !answers(*at) && is_a_line(state, &text[*at..]);
    let begins = (0..text.len()).find(is_line);
    match begins {
        Some(at) => open(state, begun, at, &text),
        None => {
            begun.drain(..begun.len().saturating_sub(MOST));
            state.begun = begun;
        }
    }
    begins.is_some()
}

/// Opens the line with these letters from that one on, and all is as it was before it.
fn open(state: &mut State, mut begun: VecDeque<Begun>, at: usize, letters: &[char]) {
    let before = begun.drain(at..).next();
    before.into_iter().for_each(|begun| put_back(state, *begun.before));
    line::open_with(state, Purpose::Log, &letters[at..].iter().collect::<String>());
}

/// The key that opens the line is a letter of many words: `filled`, `plugged`, `lost`. What was typed
/// since is told by what it makes with that letter and those before.
fn opened_within(state: &mut State, begun: VecDeque<Begun>, c: char) -> bool {
    let opener = begun.len().checked_sub(1);
    let typed = state.line.input.value().to_string() + &c.to_string();
    if opener.is_none() || !c.is_alphabetic() || state.line.purpose != Purpose::Log {
        return false;
    }
    let letters: Vec<char> = begun.iter().map(|begun| begun.letter).chain(typed.chars()).collect();
    let word = |at: usize| letters[at..].iter().collect::<String>();
    let is_one = |at: &usize| {
        letters.len() - at >= LETTERS && !begun[*at].asks && answers::begins_any(&word(*at))
    };
    let begins = opener.and_then(|opener| (0..=opener).find(is_one));
    let begins = begins.filter(|_| !answers::begins_any(&typed));
    match begins {
        Some(at) => open(state, begun, at, &letters),
        None => state.begun = begun,
    }
    begins.is_some()
}

/// Whether no keys are pressed in this order, but words begun: some letters of one that is known, or
/// a number and a letter behind it; where digits are no keys, a digit.
fn is_a_line(state: &State, typed: &[char]) -> bool {
    const NO_DIGITS: [Context; 6] = [
        Context::Horizon,
        Context::Stock,
        Context::Spent,
        Context::Journal,
        Context::Follow,
        Context::LookBack,
    ];
    let digits = typed.iter().take_while(|c| c.is_ascii_digit()).count();
    let (counts, behind) = (digits > 0, &typed[digits..]);
    match behind {
        [] => return counts && NO_DIGITS.contains(&state.context()),
        [' ', c, ..] if counts => return c.is_alphabetic(),
        _ => {}
    }
    let word: String = behind.iter().take_while(|c| c.is_alphabetic()).collect();
    let letters = word.chars().count();
    let ends = behind.get(letters);
    if behind.len() < LETTERS || letters < 2 || ends.is_some_and(|c| *c != ' ') {
        return false;
    }
    if answers::begins_any(&if ends.is_some() { word.clone() + " " } else { word.clone() }) {
        return true;
    }
    // What the van calls its things; one that is whole has no way on, but was one for all but its
    // last letter.
    let known = state.book.as_ref().map(|book| &book.vocabulary);
    known.is_some_and(|known| {
        let ways = |letters| logline::complete(&word, letters, known);
        let is_it = |way: &String| match ends {
            // A word that has ended begins no longer one: `da third` is an answer behind a key.
            Some(_) => {
                way.strip_prefix(&word).is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
            }
            None => way.starts_with(&word),
        };
        ends.is_none() && !ways(letters).is_empty() || ways(letters - 1).iter().any(is_it)
    })
}
