//! `waystock undo` and `waystock redo`: take back this device's last entry, or put it back.
//! Both are entries of their own; nothing is ever removed. A schedule of stops was saved in one
//! go, and is taken back and put back in one.

use super::context::{Context, vocabulary};
use super::failure::Failure;
use super::json;
use super::log::words_of;
use super::output::Output;
use crate::domain::entry::{Body, Entry, EntryId};
use crate::domain::journal::{last_to_redo, last_to_undo};
use crate::domain::plans;
use crate::store::folder::Draft;
use serde_json::json;

/// Which way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// Take back.
    Undo,
    /// Put back.
    Redo,
}

/// Does it and says what it was.
pub fn run(which: Which, context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    let contents = context.load_without_places()?;
    let now = context.now(&contents.rig);
    let entries: Vec<Entry> =
        contents.journal.entries.iter().filter(|e| e.recorded <= now).cloned().collect();
    let device = context.folder.journal.device().unwrap_or_default().to_string();
    let of = match which {
        Which::Undo => last_to_undo(&entries, &device).map(|entry| entry.id.clone()),
        Which::Redo => last_to_redo(&entries, &device).cloned(),
    };
    let (nothing, done) = match which {
        Which::Undo => ("this device has nothing to take back", "took back"),
        Which::Redo => ("this device has taken nothing back since its last entry", "put back"),
    };
    let Some(of) = of else { return Err(Failure::new(1, nothing)) };
    let known = vocabulary(&contents, now);
    let all = match which {
        Which::Undo => {
            let entry = entries.iter().find(|entry| entry.id == of);
            entry.map_or(vec![of.clone()], |entry| plans::undone_with(&entries, entry))
        }
        Which::Redo => plans::redone_with(&entries, &of),
    };
    let words = match all.len() {
        0 | 1 => entries.iter().find(|e| e.id == of).map(|e| words_of(e, &known, now)),
        n => Some(match entries.iter().find(|e| e.id == of).map(|e| &e.body) {
            Some(Body::Correct { .. }) => format!("what was said of a plan, {n} entries"),
            _ => format!("a saved schedule, {n} planned entries"),
        }),
    };
    let bodies = all.iter().cloned().map(|of| match which {
        Which::Undo => Body::Retract { of },
        Which::Redo => Body::Restore { of },
    });
    let drafts = bodies.map(|body| Draft { at: now, recorded: now, note: None, body });
    let drafts: Vec<Draft> = drafts.collect();
    let mut after = entries.clone();
    after.extend(context.folder.journal.append(&drafts)?);
    context.after_saving(out);
    let words = words.unwrap_or_default();
    if context.common.json {
        let ids: Vec<String> = all.iter().map(EntryId::to_string).collect();
        let value = json!({ "schema": "waystock.undo/1", "done": done, "id": of.to_string(),
                            "ids": ids, "words": words });
        out.raw(json::text(&value).as_bytes());
    } else {
        out.line(&format!("{done}: {words}"));
        let before = last_to_undo(&after, &device).filter(|_| which == Which::Undo);
        let said_together = |other: &&Entry| {
            entries.iter().any(|entry| entry.id == of && entry.recorded == other.recorded)
        };
        if let Some(before) = before.filter(said_together) {
            let words = words_of(before, &known, now);
            out.say(&format!("again to take back the one before: {words}"));
        }
    }
    Ok(0)
}
