//! Changing the rig on screen: each change is read again and foretold before anything is saved.

use super::super::rig::RigEdit;
use super::{asking, line};
use crate::logline;
use crate::setup::parts::{self, added, changed, dated, left_behind};
use crate::tui::{Action, Context, Effect, JournalView, Key, Purpose, State};
use std::sync::Arc;

/// Opens the rig; changes that were not saved are still there.
pub(super) fn open(state: &mut State) {
    let Some(book) = state.book.clone() else { return state.say("the folder is not read yet") };
    state.rig.read(&book.loaded.rig_text);
    if !state.rig.is_changed() {
        state.rig.before = state.evening.answer.clone();
        state.rig.after = None;
    }
    state.open(Context::Rig);
}

/// The selected value goes into the line.
pub(super) fn edit(state: &mut State) {
    if let Some(field) = state.rig.fields.get(state.rig.row).cloned() {
        // A number is written anew, words are changed.
        let is_number = field.value.parse::<f64>().is_ok();
        let value = if is_number { "" } else { field.value.trim_matches('"') };
        line::open_with(state, Purpose::RigValue(field.path), value);
    }
}

/// The same, written anew from this key on.
pub(super) fn edit_anew(state: &mut State, key: Key) {
    edit(state);
    line::clear(state);
    line::edit(state, key);
}

/// The line was submitted with a value, something to add, or a date.
pub(in crate::tui) fn submit(state: &mut State, text: &str) {
    let rig = &state.rig;
    let outcome = match &state.line.purpose {
        Purpose::RigValue(path) => changed(&rig.text, path, text).map(|new| (new, path.clone())),
        Purpose::RigAdd => added(&rig.text, text),
        _ => return date(state, text),
    };
    match outcome {
        Ok((new, path)) => {
            let before = std::mem::take(&mut state.rig.text);
            let stays = left_behind(&before, &new, &path);
            state.rig.history.push(before);
            state.rig.take(new, Some(&path));
            line::close(state);
            foretell(state);
            stays.into_iter().for_each(|stays| state.warn(stays));
        }
        // What is expected of a value stands there already.
        Err(_) if matches!(state.line.purpose, Purpose::RigValue(_)) => state.warn("not taken"),
        Err(expected) => state.warn(expected),
    }
}

/// Saves the changes as kit that is there from a day on.
fn date(state: &mut State, text: &str) {
    let span = state.vocabulary().and_then(|known| logline::span(text, &known, state.now));
    let Some((from, _)) = span else {
        return state.warn("expected a day: today, yesterday, 14 august");
    };
    let rig = &state.rig;
    let note = format!("changed: {}", rig.changes.join(", "));
    match dated(&rig.base, &rig.text, state.zone().date(from), &note) {
        Ok(after) => {
            line::close(state);
            write(state, after)
        }
        Err(expected) => state.warn(expected),
    }
}

/// Saves the changes as they stand: it was always so.
pub(super) fn save(state: &mut State) {
    let ask = format!("save {}? w again does it", state.rig.changes.join(", "));
    let can = state.rig.is_changed() && state.rig.elsewhere.is_none();
    if can && !state.is_sure_once(Action::SaveRig, || ask) {
        return;
    }
    let after = state.rig.text.clone();
    write(state, after)
}

fn write(state: &mut State, after: String) {
    if !state.rig.is_changed() {
        return state.say("nothing is changed");
    }
    if state.rig.elsewhere.is_some() {
        return state.warn("rig.ron was changed elsewhere; Backspace takes that, without yours");
    }
    state.want(Effect::WriteRig { before: Some(state.rig.base.clone()), after });
}

/// Opens the line for the day from which the changes hold.
pub(super) fn ask_date(state: &mut State) {
    match state.rig.is_changed() {
        true => line::open_with(state, Purpose::RigDate, "today"),
        false => state.say("nothing is changed"),
    }
}

/// Takes the last change back; where the file was changed elsewhere, takes that.
pub(super) fn undo(state: &mut State) {
    if let Some(text) = state.rig.elsewhere.take() {
        state.rig.history.clear();
        state.rig.base = text.clone();
        state.rig.take(text, None);
    } else if let Some(text) = state.rig.history.pop() {
        state.rig.take(text, None);
    } else {
        return state.say("no change to take back");
    }
    foretell(state)
}

/// Asks for the forecast with the changes.
fn foretell(state: &mut State) {
    let (Some(book), Ok(rig)) = (&state.book, parts::parse(&state.rig.text)) else { return };
    state.rig.after = None;
    if !state.rig.is_changed() {
        return;
    }
    let mut changed = JournalView::clone(book);
    let places = std::mem::take(&mut changed.loaded.rig.places);
    changed.loaded.rig = rig;
    changed.loaded.rig.places = places;
    asking::foretell(state, Arc::new(changed));
    state.rig.asked = Some(state.evening.generation);
}

/// The file was saved, or was not.
pub(super) fn saved(state: &mut State, outcome: Result<(), String>) {
    match outcome {
        Ok(()) => {
            let row = state.rig.row;
            state.rig = RigEdit { row, ..RigEdit::default() };
            state.done("saved: rig.ron, comments and all");
        }
        Err(reason) => state.warn(format!("NOT SAVED: {reason}")),
    }
    state.want(Effect::Load);
}
