//! Asking for records to be written: one at a time, and none where nothing can be.

use crate::domain::{Body, Draft};
use crate::tui::{Effect, SavePurpose, Spends, State};

/// Appends several records at this moment.
pub(in crate::tui) fn append_all(
    state: &mut State,
    bodies: impl Iterator<Item = Body>,
    done: String,
) {
    let at = state.now;
    let drafts = bodies.map(|body| Draft { at, note: None, body }).collect();
    save(state, drafts, SavePurpose { done, spends: Spends::Nothing })
}

/// Appends, unless something is being saved or nothing can be.
pub fn save(state: &mut State, drafts: Vec<Draft>, purpose: SavePurpose) {
    let read_only = state.book.as_ref().and_then(|b| b.loaded.read_only.clone());
    if let Some(reason) = read_only {
        return state.warn(format!("NOT SAVED, the folder is read only: {reason}"));
    }
    if state.saving {
        return state.say("still saving; press it again in a moment");
    }
    state.saving = true;
    state.just_taken.clear();
    state.say("saving");
    state.want(Effect::Append { purpose, drafts });
}
