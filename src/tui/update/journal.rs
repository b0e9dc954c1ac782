//! Undo, redo, taking back, correcting, twins. All of them append; nothing is removed.

use super::super::effect::Effect;
use super::super::journal_view::{JournalView, Row};
use super::super::state::{Purpose, State, Tone};
use super::line;
use super::saving::{append, append_all};
use crate::domain::entry::{Body, Entry, EntryId};
use crate::domain::journal::is_of_a_stop;
use crate::domain::lines::{is_answer, line_to_undo};

/// Keeps the journal's selection on its entry, or on the newest, when the book changes.
pub(in crate::tui) fn keep_place(state: &mut State, book: &JournalView) {
    let rows = state.rows();
    let was_last = state.row + 1 >= rows.len();
    let id = rows.get(state.row).map(|r| r.id.clone());
    let same = book.rows.iter().position(|r| Some(&r.id) == id.as_ref());
    let last = book.rows.len().saturating_sub(1);
    state.row = if was_last { last } else { same.unwrap_or(state.row).min(last) };
}

/// Takes back what this device wrote last, all of the line.
pub fn undo(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    let line = line_to_undo(&book.loaded.entries, &book.loaded.device);
    let Some(last) = line.last() else {
        state.say(Tone::Plain, "nothing of this device to take back");
        return Vec::new();
    };
    let named = |entry: &&Entry| named(&book, &entry.id);
    let done = match &last.body {
        _ if line.len() > 1 && line.iter().all(|e| is_of_a_stop(e.note.as_deref())) => {
            format!("took back {} planned entries (U puts them back)", line.len())
        }
        _ if is_answer(&line) => "took back what was said of a plan (U puts it back)".to_string(),
        Body::Correct { of, .. } => {
            format!("took back the correction of: {} (U puts it back)", self::named(&book, of))
        }
        _ => {
            let words = line.iter().map(named).collect::<Vec<_>>().join(", ");
            format!("took back: {words} (U puts it back)")
        }
    };
    let ids: Vec<EntryId> = line.iter().map(|entry| entry.id.clone()).collect();
    append_all(state, ids.into_iter().map(|of| Body::Retract { of }), done)
}

/// Puts back what this device took back last, all of the line.
pub fn redo(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    let Some((line, words)) = book.redo.clone() else {
        state.say(Tone::Plain, "nothing to put back");
        return Vec::new();
    };
    let planned = book.loaded.entries.iter().filter(|e| line.contains(&e.id));
    let schedule = line.len() > 1 && planned.clone().all(|e| is_of_a_stop(e.note.as_deref()));
    let done = match schedule {
        true => format!("put back {} planned entries", line.len()),
        false => format!("put back: {words}"),
    };
    append_all(state, line.into_iter().map(|of| Body::Restore { of }), done)
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
pub(in crate::tui) fn keep_this(state: &mut State) -> Vec<Effect> {
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

fn named(book: &JournalView, id: &EntryId) -> String {
    let row = book.rows.iter().find(|r| r.id == *id);
    row.map_or_else(|| id.to_string(), |r| r.words.clone())
}
