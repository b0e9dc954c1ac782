//! Undo, redo, taking back, correcting, twins. All of them append; nothing is removed.

use super::super::backstage::Draft;
use super::super::book::{Book, Row};
use super::super::effect::{Effect, Errand};
use super::super::state::{Purpose, State, Tone};
use super::line;
use crate::domain::entry::{Body, Entry, EntryId};
use crate::domain::journal::last_to_undo;
use crate::plan::stops::saved;

/// Keeps the journal's selection on its entry, or on the newest, when the book changes.
pub fn keep_place(state: &mut State, book: &Book) {
    let rows = state.rows();
    let was_last = state.row + 1 >= rows.len();
    let id = rows.get(state.row).map(|r| r.id.clone());
    let same = book.rows.iter().position(|r| Some(&r.id) == id.as_ref());
    let last = book.rows.len().saturating_sub(1);
    state.row = if was_last { last } else { same.unwrap_or(state.row).min(last) };
}

/// Takes back this device's last entry.
pub fn undo(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    let Some(entry) = last_to_undo(&book.loaded.entries, &book.loaded.device) else {
        state.say(Tone::Plain, "nothing of this device to take back");
        return Vec::new();
    };
    if saved::is_saved(entry.note.as_deref()) {
        let all = schedule(&book, entry, true);
        let done = format!("took back {} planned entries (U puts them back)", all.len());
        return append_all(state, all.into_iter().map(|of| Body::Retract { of }), done);
    }
    let words = match &entry.body {
        Body::Correct { of, .. } => format!("took back the correction of: {}", named(&book, of)),
        _ => format!("took back: {}", named(&book, &entry.id)),
    };
    append(state, Body::Retract { of: entry.id.clone() }, format!("{words} (U puts it back)"))
}

/// Puts back what this device took back last.
pub fn redo(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    let Some((of, words)) = book.redo.clone() else {
        state.say(Tone::Plain, "nothing to put back");
        return Vec::new();
    };
    let entry = book.loaded.entries.iter().find(|e| e.id == of);
    if let Some(entry) = entry.filter(|e| saved::is_saved(e.note.as_deref())) {
        let all = schedule(&book, entry, false);
        let done = format!("put back {} planned entries", all.len());
        return append_all(state, all.into_iter().map(|of| Body::Restore { of }), done);
    }
    append(state, Body::Restore { of }, format!("put back: {words}"))
}

/// What a schedule wrote together with this entry, of which it stands, or does not.
fn schedule(book: &Book, entry: &Entry, stands: bool) -> Vec<EntryId> {
    let mut all = saved::written_with(&book.loaded.entries, entry);
    all.retain(|id| book.rows.iter().any(|row| row.id == *id) == stands);
    all
}

/// Takes back the selected entry.
pub fn retract(state: &mut State) -> Vec<Effect> {
    let Some(row) = selected(state) else { return Vec::new() };
    let done = format!("took back: {} (U puts it back)", row.words);
    append(state, Body::Retract { of: row.id }, done)
}

/// Opens the line with the selected entry's words in it.
pub fn correct(state: &mut State) -> Vec<Effect> {
    let Some(row) = selected(state) else { return Vec::new() };
    line::open_with(state, Purpose::Correct(row.id), &row.line)
}

/// Of two possible twins, takes back the one that is not selected.
pub fn keep_this(state: &mut State) -> Vec<Effect> {
    let Some(row) = selected(state) else { return Vec::new() };
    let twin = row.twin.and_then(|i| state.rows().get(i)).cloned();
    let Some(twin) = twin else {
        state.say(Tone::Plain, "this entry has no possible twin");
        return Vec::new();
    };
    let done =
        format!("kept the one from {}, took back the one from {}", row.id.device, twin.id.device);
    append(state, Body::Retract { of: twin.id }, done)
}

fn selected(state: &mut State) -> Option<Row> {
    let row = state.rows().get(state.row).cloned();
    if row.is_none() {
        state.say(Tone::Plain, "the journal is empty");
    }
    row
}

/// Appends one record at this moment.
fn append(state: &mut State, body: Body, done: String) -> Vec<Effect> {
    let drafts = vec![Draft { at: state.now, note: None, body }];
    save(state, drafts, Errand { done, from_line: false })
}

/// Appends several records at this moment.
fn append_all(state: &mut State, bodies: impl Iterator<Item = Body>, done: String) -> Vec<Effect> {
    let at = state.now;
    let drafts = bodies.map(|body| Draft { at, note: None, body }).collect();
    save(state, drafts, Errand { done, from_line: false })
}

/// Appends, unless something is being saved or nothing can be.
pub fn save(state: &mut State, drafts: Vec<Draft>, errand: Errand) -> Vec<Effect> {
    let read_only = state.book.as_ref().and_then(|b| b.loaded.read_only.clone());
    if let Some(reason) = read_only {
        state.say(Tone::Bad, format!("NOT SAVED, the folder is read only: {reason}"));
        return Vec::new();
    }
    if state.saving {
        state.say(Tone::Plain, "still saving; once more in a moment");
        return Vec::new();
    }
    state.saving = true;
    state.say(Tone::Plain, "saving");
    vec![Effect::Append { errand, drafts }]
}

fn named(book: &Book, id: &EntryId) -> String {
    let row = book.rows.iter().find(|r| r.id == *id);
    row.map_or_else(|| id.to_string(), |r| r.words.clone())
}
