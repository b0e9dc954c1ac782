//! The folder as the screens want it: what was read, and the journal as rows of words.

use super::backstage::{Backstage, Loaded};
use crate::domain::entry::{Body, EntryId};
use crate::domain::journal::{last_to_redo, possible_twins, standing};
use crate::domain::time::Moment;
use crate::text::safe::safe;

/// One line of the journal screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The record that first wrote it.
    pub id: EntryId,
    /// When it happened, or is planned.
    pub at: Moment,
    /// What happened, as a log line would say it, made safe to show.
    pub words: String,
    /// A remark that came with it, made safe to show.
    pub note: Option<String>,
    /// It was written ahead of its time.
    pub plan: bool,
    /// A later entry corrected it.
    pub corrected: bool,
    /// Index of the row that may be the same thing, logged from another device.
    pub twin: Option<usize>,
}

/// What was read, and the journal's rows, oldest first.
#[derive(Debug, Clone, PartialEq)]
pub struct Book {
    /// What was read.
    pub loaded: Loaded,
    /// What stands, in time order.
    pub rows: Vec<Row>,
    /// What redo would put back, in words.
    pub redo: Option<(EntryId, String)>,
}

impl Book {
    /// Makes rows of what stands at `now`.
    pub fn new(loaded: Loaded, now: Moment, backstage: &dyn Backstage) -> Book {
        let stands = standing(&loaded.entries, now);
        let mut rows: Vec<Row> = stands
            .iter()
            .map(|s| Row {
                id: s.id.clone(),
                at: s.at,
                words: safe(&backstage.words(&loaded.rig, now, s.at, &s.event)),
                note: s.note.as_deref().map(safe),
                plan: s.is_plan(),
                corrected: s.corrected_by.is_some(),
                twin: None,
            })
            .collect();
        for (first, second) in possible_twins(&stands) {
            rows[first].twin = Some(second);
            rows[second].twin = Some(first);
        }
        let redo = last_to_redo(&loaded.entries, &loaded.device).map(|of| {
            let entry = loaded.entries.iter().find(|e| e.id == *of);
            let words = entry.map_or_else(String::new, |e| match &e.body {
                Body::Happened(event) => safe(&backstage.words(&loaded.rig, now, e.at, event)),
                _ => "a correction".to_string(),
            });
            (of.clone(), words)
        });
        Book { loaded, rows, redo }
    }
}
