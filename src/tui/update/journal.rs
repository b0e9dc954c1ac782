//! Undo, redo, taking back, correcting, twins. All of them append; nothing is removed.

use super::super::filter::JournalRow;
use super::super::round::Round;
use super::line;
use super::saving::{append_all, save};
use crate::domain::{Body, Draft, EntryId};
use crate::text::safe;
use crate::tui::{Action, Context, JournalView, Purpose, SavePurpose, State};
use std::sync::Arc;

/// Takes the book that was read. The journal's selection stays on its entry, or on the newest.
pub(in crate::tui) fn keep_place(state: &mut State, book: Arc<JournalView>) {
    let was_newest = state.row == state.newest();
    let id = state.chosen_row().map(|row| row.entry.id.clone());
    state.book = Some(book);
    state.list();
    let same = |place: &usize| {
        let row = state.book.as_ref().and_then(|book| book.row(*place));
        row.map(|row| &row.entry.id) == id.as_ref()
    };
    let place = state.listed.iter().position(same);
    let last = state.listed.len().saturating_sub(1);
    state.row = if was_newest { state.newest() } else { place.unwrap_or(state.row).min(last) };
}

/// Opens the line for a remark on the selected entry.
pub(super) fn remark(state: &mut State) {
    if let Some(row) = selected(state) {
        line::open_with(state, Purpose::Note(row.entry.id), "");
    }
}

/// The line was submitted with a remark on an entry.
pub(super) fn save_remark(state: &mut State, of: EntryId, text: &str) {
    let row = state.rows().iter().find(|row| row.entry.id == of).cloned();
    let Some(row) = row else {
        return state.warn("nothing saved: this entry does not stand any more");
    };
    let note = Some(safe(text.trim()));
    let body = Body::Correct { of, event: row.entry.event };
    let done = format!("remark saved with: {}", row.words);
    save(state, vec![Draft { at: row.entry.at, note, body }], SavePurpose::line(done));
}

/// Takes back what this device wrote last, all of the line. The first press says what that is: who
/// types words on a screen loses nothing by a letter.
pub fn undo(state: &mut State) {
    let Some(book) = state.book.clone() else { return };
    let in_round = state.screen() == Some(Context::Round);
    // What was taken back just now by choosing it is what a person means first.
    let taken = std::mem::take(&mut state.just_taken);
    if !taken.is_empty() {
        let row = book.gone.iter().find(|row| taken.contains(&row.entry.id));
        let words = row.filter(|_| taken.len() == 1).map(|row| row.words.clone());
        let done = format!("put back: {}", words.unwrap_or("what was taken back".to_string()));
        return append_all(state, taken.into_iter().map(|of| Body::Restore { of }), done);
    }
    let (line, words) = book.undo.clone();
    if line.is_empty() {
        return state.say("this device has nothing to take back");
    }
    if !state.is_sure(Action::Undo, || format!("take back{words}? u again does it")) {
        return;
    }
    let it = if words.ends_with("entries") { "them" } else { "it" };
    let done = format!("took back{words} (U puts {it} back)");
    append_all(state, line.into_iter().map(|of| Body::Retract { of }), done);
    if in_round && state.saving {
        // What was written before the round is another matter.
        (state.round, state.sure) = (Round::default(), None);
        state.screens.pop();
    }
}

/// Puts back what this device took back last, all of the line.
pub fn redo(state: &mut State) {
    let Some(book) = state.book.clone() else { return };
    let (line, words) = book.redo.clone();
    match line.is_empty() {
        true => state.say("nothing to put back"),
        false if !state.is_sure(Action::Redo, || format!("put back{words}? U again does it")) => {}
        false => {
            let done = format!("put back{words}");
            append_all(state, line.into_iter().map(|of| Body::Restore { of }), done)
        }
    }
}

/// Takes back the selected entry, with all days of an outlook; puts back one that is gone.
pub fn retract(state: &mut State) {
    let Some(row) = selected(state) else { return };
    let ids: Vec<EntryId> = row.ids().cloned().collect();
    let what = if row.gone { "put back" } else { "take back" };
    if !state.is_sure_once(Action::Retract, || format!("{what}: {}? x again does it", row.words)) {
        return;
    }
    state.changed.extend(ids.iter().cloned());
    if row.gone {
        let done = format!("put back: {}", row.words);
        return append_all(state, ids.into_iter().map(|of| Body::Restore { of }), done);
    }
    let done = format!("took back: {} (u puts it back)", row.words);
    take_back(state, ids, done)
}

/// Takes back what was chosen, and remembers it for the next undo.
pub(super) fn take_back(state: &mut State, ids: Vec<EntryId>, done: String) {
    let was_saving = state.saving;
    append_all(state, ids.iter().cloned().map(|of| Body::Retract { of }), done);
    if state.saving && !was_saving {
        state.just_taken = ids;
    }
}

/// Opens the line with the selected entry's words in it.
pub fn correct(state: &mut State) {
    match selected(state) {
        None => {}
        Some(row) if row.gone => state.say("it was taken back; x puts it back"),
        Some(row) if !row.more.is_empty() => {
            state.say("weather of several days: x takes it back, then log it anew");
        }
        Some(row) => line::open_with(state, Purpose::Correct(row.entry.id), &row.line),
    }
}

/// Of two possible twins, takes back the one that is not selected.
pub(in crate::tui) fn keep_this(state: &mut State) {
    let Some(row) = selected(state) else { return };
    let twin = row.twin.and_then(|i| state.rows().get(i)).cloned();
    let Some(twin) = twin else {
        return state.say("no other entry looks like this one");
    };
    let (kept, gone) = (&row.entry.id.device, &twin.entry.id.device);
    let ask =
        || format!("keep the one from {kept}, take back the one from {gone}? t again does it");
    if !state.is_sure_once(Action::KeepThis, ask) {
        return;
    }
    let done = format!("kept the one from {kept}, took back the one from {gone}");
    take_back(state, vec![twin.entry.id], done)
}

fn selected(state: &mut State) -> Option<JournalRow> {
    let row = state.chosen_row().cloned();
    if row.is_none() {
        state.say("no entry is listed");
    }
    row
}
