//! Letters that turn out to be words. Somebody who begins to type a line where no line is open starts
//! nothing by it and loses nothing of it: as soon as the letters can be no keys, all is as it was
//! before the first of them, and the line opens with them in it.

use super::{asking, line};
use crate::logline;
use crate::tui::begun::Begun;
use crate::tui::{Context, Effect, Key, Purpose, State};

/// So many letters that begin a known word are that word, and one fewer with a space behind them:
/// nobody goes through screens in that order.
const LETTERS: usize = 4;
/// So many letters are kept in mind.
const MOST: usize = 12;

fn before(state: &State, letter: char, asks: bool) -> Begun {
    Begun {
        letter,
        asks,
        screens: state.screens.clone(),
        stock: state.stock.clone(),
        rows: [state.row, state.rig.row, state.follow.row],
        scroll: state.scroll,
        values: [state.planner.values.clone(), state.trip.values.clone()],
        round: state.round.clone(),
        follow: state.follow.clone(),
        mouse: state.mouse,
    }
}

/// All is as it was then.
fn put_back(state: &mut State, before: Begun) {
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
    let [planner, trip] = before.values;
    let changed = [
        (Context::Stretch, state.planner.values != planner),
        (Context::Stops, state.trip.values != trip),
    ];
    (state.planner.values, state.trip.values) = (planner, trip);
    (state.screens, state.stock, state.scroll) = (before.screens, before.stock, before.scroll);
    [state.row, state.rig.row, state.follow.row] = before.rows;
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
    let asks = state.context() == Context::Round && state.round.before.is_none();
    let unready = state.line.open || state.first_run.is_some() || state.book.is_none();
    if unready || !(c.is_alphanumeric() || c == ' ') || asks && begun.is_empty() {
        return false;
    }
    begun.push_back(before(state, c, asks));
    let text: Vec<char> = begun.iter().map(|begun| begun.letter).collect();
    let begins = (0..text.len()).find(|at| !begun[*at].asks && is_a_line(state, &text[*at..]));
    match begins {
        Some(at) => {
            let before = begun.drain(at..).next();
            before.into_iter().for_each(|before| put_back(state, before));
            line::open_with(state, Purpose::Log, &text[at..].iter().collect::<String>());
        }
        None => {
            begun.drain(..begun.len().saturating_sub(MOST));
            state.begun = begun;
        }
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
    let seen = letters + usize::from(behind.get(letters) == Some(&' '));
    if behind.len() > seen || seen < LETTERS {
        return false;
    }
    // A word that is whole has no way on, but was one for all but its last letter.
    let known = state.book.as_ref().map(|book| &book.vocabulary);
    known.is_some_and(|known| {
        let ways = |letters| logline::complete(&word, letters, known);
        !ways(letters).is_empty() || ways(letters - 1).iter().any(|way| way.starts_with(&word))
    })
}
