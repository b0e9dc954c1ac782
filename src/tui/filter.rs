//! A line of the journal screen, and which of them a person wants to see.

use crate::domain::search::Wanted;
use crate::domain::{EntryId, Event, Moment};

/// One line of the journal screen.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalRow {
    /// The record that first wrote it.
    pub id: EntryId,
    /// When it happened, or is planned.
    pub at: Moment,
    /// What happened, as a log line would say it then, made safe to show.
    pub words: String,
    /// The same with its time, to be corrected.
    pub line: String,
    /// It was written ahead of its time.
    pub plan: bool,
    /// The record that corrected it last, if any.
    pub corrected_by: Option<EntryId>,
    /// What that makes of it: it was planned, or its words were changed.
    pub changed: Option<&'static str>,
    /// Index of the row that may be the same thing, logged from another device.
    pub twin: Option<usize>,
    /// What it says.
    pub event: Event,
    /// Further records that are shown with it: the other days of an outlook.
    pub more: Vec<EntryId>,
    /// It was taken back.
    pub gone: bool,
}

impl JournalRow {
    /// Words for what is special about it.
    pub fn marks(&self) -> impl Iterator<Item = &'static str> {
        let (twin, plan) = (self.twin.map(|_| "twin?"), self.plan.then_some("plan"));
        let gone = self.gone.then_some("taken back");
        [twin, plan, self.changed, gone].into_iter().flatten()
    }

    /// All its records.
    pub fn ids(&self) -> impl Iterator<Item = &EntryId> {
        std::iter::once(&self.id).chain(&self.more)
    }
}

/// Whether a row is wanted.
pub(super) fn takes(wanted: &Wanted, row: &JournalRow) -> bool {
    if !wanted.is_in_time(row.at) || wanted.terms.is_empty() {
        return wanted.is_in_time(row.at);
    }
    let kind = row.event.kind();
    let also = match kind {
        "level" => "reading",
        "day" => "closed",
        "outlook" => "weather",
        _ => "",
    };
    let text = format!("{} {kind} {also} {}", row.words, row.id.device).to_lowercase();
    let marked = |word: &str| row.marks().any(|mark| mark.split(' ').any(|part| part == word));
    wanted.terms.iter().all(|term| term.finds(&row.event, &text) || marked(&term.word))
}
