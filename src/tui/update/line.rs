//! The line at the bottom: to log, to correct, and as the palette.

use super::super::hearing::{Completion, complete as ways_on, far_beyond, understand};
use super::super::state::InputLine;
use super::super::values::Field;
use super::instead::with_left_out;
use crate::text::{commas, safe};
use crate::tui::{Context, Key, Purpose, State, keymap};
use tui_input::{Input, InputRequest};

/// Longest text that a line takes, in bytes.
const LONGEST: usize = 4096;

/// Opens the line to log.
pub(in crate::tui) fn open_log(state: &mut State) {
    if state.book.is_none() {
        return state.say("the folder is not read yet");
    }
    if state.line.purpose != Purpose::Log {
        state.line = InputLine::default();
    }
    state.line.open = true;
    state.recalled = None;
    changed(state);
}

/// Opens the line with `text` in it.
pub(in crate::tui) fn open_with(state: &mut State, purpose: Purpose, text: &str) {
    let input = Input::new(text.to_string());
    state.line = InputLine { open: true, purpose, input, ..InputLine::default() };
    changed(state);
}

/// What the line said is saved.
pub(super) fn saved(state: &mut State) {
    let said = std::mem::take(&mut state.line).input.value().to_string();
    state.said.retain(|line| *line != said);
    state.said.push(said);
}

/// Fetches a line said before: those of this run, then the journal's own words, the latest first.
pub(super) fn recall(state: &mut State, by: isize) {
    if state.line.purpose != Purpose::Log {
        return;
    }
    let next = match (state.recalled, by > 0) {
        (None, true) => Some(0),
        (Some(at), true) => Some(at + 1),
        (Some(0) | None, false) => None,
        (Some(at), false) => Some(at - 1),
    };
    let own = state.book.as_ref().map(|book| book.loaded.device.as_str());
    let rows = state.rows().iter().rev().filter(|row| Some(row.entry.id.device.as_str()) == own);
    let words = rows.filter(|row| !row.entry.is_plan()).map(|row| row.words.as_str());
    let mut all = state.said.iter().rev().map(String::as_str).chain(words);
    let text = match next {
        Some(place) => all.nth(place).map(str::to_string),
        None => Some(String::new()),
    };
    match text {
        Some(text) => {
            state.recalled = next;
            state.line.input = Input::new(text);
            changed(state);
        }
        None => state.say("no line before this one"),
    }
}

/// Closes the line. What was being logged can be fetched again; the rest is dropped.
pub fn close(state: &mut State) {
    if state.line.purpose == Purpose::Setup {
        state.say("kept; Enter goes on with the questions, q leaves and forgets them");
        state.line.open = false;
        return;
    }
    let left = std::mem::take(&mut state.line);
    if left.purpose == Purpose::Log && !left.input.value().is_empty() {
        state.said.push(left.input.value().to_string());
        state.say("not saved; Up in the line brings the words back");
    }
}

/// A key that is no command of the line.
pub(in crate::tui) fn edit(state: &mut State, key: Key) {
    let request = match key {
        Key::Char(c) if state.line.input.value().len() + c.len_utf8() <= LONGEST => {
            InputRequest::InsertChar(c)
        }
        Key::Left => InputRequest::GoToPrevChar,
        Key::Right => InputRequest::GoToNextChar,
        Key::Home => InputRequest::GoToStart,
        Key::End => InputRequest::GoToEnd,
        Key::WordLeft => InputRequest::GoToPrevWord,
        Key::WordRight => InputRequest::GoToNextWord,
        Key::EraseWord => InputRequest::DeletePrevWord,
        Key::Backspace => InputRequest::DeletePrevChar,
        Key::Delete => InputRequest::DeleteNextChar,
        _ => return,
    };
    state.status = None;
    state.line.input.handle(request);
    changed(state);
}

/// Pasted text goes into an open line and nowhere else; its lines become parts of one.
pub(in crate::tui) fn paste(state: &mut State, text: &str) {
    if !state.line.open {
        return state.say("pasted text is ignored here; open the line first");
    }
    let lines = text.split(['\n', '\r']).map(|l| l.trim().trim_end_matches(',').trim_end());
    let flat = safe(&commas(lines.filter(|l| !l.is_empty())).replace('\t', " "));
    for c in flat.chars() {
        if state.line.input.value().len() + c.len_utf8() > LONGEST {
            state.warn("the pasted text was too long and is cut");
            break;
        }
        state.line.input.handle(InputRequest::InsertChar(c));
    }
    changed(state);
}

/// Empties the line.
pub fn clear(state: &mut State) {
    state.line.input = Input::default();
    changed(state);
}

/// The text changed: it is read again, and completions of the old text are void.
fn changed(state: &mut State) {
    state.line.ways.clear();
    state.line.way = None;
    match state.line.purpose {
        Purpose::Search if state.screen() == Some(Context::Rig) => {
            let words = state.line.input.value().to_string();
            state.rig.look_for(&words);
        }
        Purpose::Search => {
            let words = state.line.input.value().to_string();
            state.search(&words);
        }
        Purpose::Log | Purpose::Correct(_) | Purpose::Answer(_) => read(state),
        _ => {}
    }
}

/// Reads the line as it stands.
fn read(state: &mut State) {
    let text = state.line.input.value();
    let reading = state.book.as_ref().zip(state.vocabulary()).map(|(book, known)| {
        let said = understand(&known, state.now, text)?;
        far_beyond(said, &book.often, &known, (text, state.now))
    });
    let reading = reading.map(|reading| reading.map(|said| with_left_out(state, said)));
    state.line.reading = reading;
}

/// Completes the word before the end: the first way, or the next one.
pub fn complete(state: &mut State) {
    let typed = state.line.input.value().to_string();
    match state.line.purpose {
        Purpose::Setup => super::first_run::choose(state),
        Purpose::Palette => {
            let found = keymap::matching(state.context_below_line(), &typed);
            let name = found.first().map(|binding| binding.name.to_string());
            name.into_iter().for_each(|name| state.line.input = Input::new(name));
        }
        Purpose::Value | Purpose::Elsewhere => {
            let place = place_like(state, &typed);
            place.into_iter().for_each(|place| state.line.input = Input::new(place));
        }
        Purpose::Log | Purpose::Correct(_) | Purpose::Answer(_) => next_way(state, &typed),
        _ => {}
    }
}

/// The known place that what is typed begins, where a place is chosen.
fn place_like(state: &State, typed: &str) -> Option<String> {
    let begun = typed.trim().to_lowercase();
    let like = |name: &&String| name.to_lowercase().starts_with(&begun);
    let values = &state.planner.values;
    match state.line.purpose {
        Purpose::Elsewhere => {
            let places = state.book.iter().flat_map(|book| &book.loaded.rig.places);
            let useful = places.filter(|place| place.offers_anything());
            useful.map(|place| &place.name).find(like).cloned()
        }
        _ if state.screen() == Some(Context::Stops) || values.chosen != Field::Place => None,
        _ => values.places.iter().find(like).cloned(),
    }
}

/// Puts the first of the ways to go on from what is typed, or the next of them.
fn next_way(state: &mut State, typed: &str) {
    if state.line.ways.is_empty() {
        let book = state.book.as_ref();
        let words = book.map_or_else(Vec::new, |book| ways_on(&book.vocabulary, typed));
        state.line.ways = with_lines(state, words);
    }
    let ways = &state.line.ways;
    let next = state.line.way.map_or(0, |way| (way + 1) % ways.len());
    match ways.get(next).cloned() {
        Some(way) => insert_way(state, next, way),
        None => state.say("no word to complete this with"),
    }
}

/// The ways to complete the last word, and the lines that would be saved instead of one that is
/// asked back: those first where the trouble lies before the last word.
fn with_lines(state: &State, words: Vec<Completion>) -> Vec<Completion> {
    let Some(Err(misread)) = &state.line.reading else { return words };
    let lines = misread.instead.iter().cloned();
    let typed = state.line.input.value().trim_end().chars().count();
    match misread.end < typed {
        true => lines.chain(words).collect(),
        false => words.iter().cloned().chain(lines).collect(),
    }
}

fn insert_way(state: &mut State, place: usize, way: Completion) {
    let kept: String = state.line.input.value().chars().take(way.start).collect();
    let input = Input::new(format!("{kept}{}", way.word));
    state.line.input = match way.cursor {
        Some(cursor) => input.with_cursor(cursor),
        None => input,
    };
    state.line.way = Some(place);
    read(state);
}
