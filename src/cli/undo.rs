//! `waystock undo` and `waystock redo`: take back this device's last line, or put it back.
//! Both are entries of their own; nothing is ever removed. A log line, or a schedule of stops, was
//! saved in one go, and is taken back and put back in one.

use super::log::words_of_line;
use super::{CommandResult, Failure, Output, Session, object, vocabulary};
use crate::domain::journal::{gone, is_of_a_stop};
use crate::domain::lines::{is_answer, line_to_redo, line_to_undo};
use crate::domain::{Body, Draft, Entry, EntryId, Moment, Standing, standing};

/// Which way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// Take back.
    Undo,
    /// Put back.
    Redo,
}

/// Does it and says what it was.
pub fn run(which: Which, session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load_without_places()?;
    let now = session.now(&contents.rig);
    let entries: Vec<Entry> =
        contents.journal.entries.iter().filter(|e| e.recorded <= now).cloned().collect();
    let device = session.folder.journal.device().unwrap_or_default().to_string();
    let all: Vec<EntryId> = match which {
        Which::Undo => line_to_undo(&entries, &device).iter().map(|e| e.id.clone()).collect(),
        Which::Redo => line_to_redo(&entries, &device).into_iter().cloned().collect(),
    };
    let (nothing, done) = match which {
        Which::Undo => ("this device has nothing to take back", "took back"),
        Which::Redo => ("this device has taken nothing back since its last entry", "put back"),
    };
    let Some(of) = all.last() else { return Err(Failure::new(1, nothing)) };
    let known = vocabulary(&contents, now);
    let line: Vec<&Entry> = entries.iter().filter(|e| all.contains(&e.id)).collect();
    let words = match line.iter().all(|e| is_of_a_stop(e.note.as_deref())) {
        true if line.len() > 1 => format!("a saved schedule, {} planned entries", line.len()),
        _ if is_answer(&line) && line.len() > 1 => {
            format!("a change to a plan, {} entries", line.len())
        }
        _ if is_answer(&line) => "a change to a plan".to_string(),
        _ => words_of_line(&as_it_is(&line, &entries, now), &known, now),
    };
    let bodies = all.iter().cloned().map(|of| match which {
        Which::Undo => Body::Retract { of },
        Which::Redo => Body::Restore { of },
    });
    let drafts = bodies.map(|body| Draft { at: now, note: None, body });
    let drafts: Vec<Draft> = drafts.collect();
    session.folder.journal.append(&drafts, now)?;
    session.after_saving(out);
    let value =
        object!(all; schema = "waystock.undo/1", done = done, id = of, ids = all, words = words);
    session.result(&value, &format!("{done}: {words}"), out);
    Ok(0)
}

/// What a line says, corrections of it included, whether or not it stands.
fn as_it_is(line: &[&Entry], entries: &[Entry], now: Moment) -> Vec<Standing> {
    let all: Vec<Standing> = standing(entries, now).into_iter().chain(gone(entries, now)).collect();
    let said = |entry: &&Entry| {
        let last = all.iter().find(|said| said.id == entry.id).cloned();
        last.or_else(|| Standing::as_written(entry))
    };
    line.iter().filter_map(said).collect()
}
