//! A line of the journal screen, and which of them a person wants to see.

use crate::domain::search::Wanted;
use crate::domain::{EntryId, Standing};
use crate::text::plans::changed;

/// One line of the journal screen.
#[derive(Debug, Clone, PartialEq)]
pub struct JournalRow {
    /// The entry that it shows; of an outlook, its first day.
    pub entry: Standing,
    /// What happened, as a log line would say it then, made safe to show.
    pub words: String,
    /// The same with its time, to be corrected.
    pub line: String,
    /// Index of the row that may be the same thing, logged from another device.
    pub twin: Option<usize>,
    /// Further records that are shown with it: the other days of an outlook.
    pub more: Vec<EntryId>,
    /// It was taken back.
    pub gone: bool,
}

impl JournalRow {
    /// Words for what is special about it.
    pub fn marks(&self) -> impl Iterator<Item = &'static str> {
        let (twin, plan) = (self.twin.map(|_| "twin?"), self.entry.is_plan().then_some("plan"));
        let gone = self.gone.then_some("taken back");
        [twin, plan, changed(&self.entry), gone].into_iter().flatten()
    }

    /// All its records.
    pub fn ids(&self) -> impl Iterator<Item = &EntryId> {
        std::iter::once(&self.entry.id).chain(&self.more)
    }
}

/// Whether a row is wanted.
pub(super) fn takes(wanted: &Wanted, row: &JournalRow) -> bool {
    if !wanted.is_in_time(row.entry.at) || wanted.terms.is_empty() {
        return wanted.is_in_time(row.entry.at);
    }
    let kind = row.entry.event.kind();
    let also = match kind {
        "level" => "reading",
        "day" => "closed",
        "outlook" => "weather",
        _ => "",
    };
    let text = format!("{} {kind} {also} {}", row.words, row.entry.id.device).to_lowercase();
    let marked = |word: &str| row.marks().any(|mark| mark.split(' ').any(|part| part == word));
    wanted.terms.iter().all(|term| term.finds(&row.entry.event, &text) || marked(&term.word))
}
