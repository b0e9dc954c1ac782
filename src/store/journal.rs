//! Reads the journal: the union of every device's file and of conflict copies, by entry id.
//!
//! The result depends on the set of lines alone, not on the order of files or on how often a line
//! occurs. What cannot be read costs that line only and is reported with its place.

mod file;
mod report;
#[cfg(test)]
mod tests;
mod union;

use crate::domain::Moment;
pub use report::{Finding, FindingKind, Journal, SourceFile};

/// Largest journal file that is read or appended to, in bytes.
pub const LARGEST_FILE: u64 = 256 * 1024 * 1024;

/// Whether a file of this name in the journal folder may hold records: a device's file or a copy
/// that a file syncer made of one when two versions met. Hidden and temporary files are not.
pub(super) fn is_journal_name(name: &str) -> bool {
    let name = name.to_ascii_lowercase();
    let passing = [".tmp", ".part", "~", ".swp"].iter().any(|end| name.ends_with(end));
    name.contains(".ron") && !name.starts_with(['.', '~']) && !passing
}

/// The union of `sources`.
pub fn read(sources: &[SourceFile]) -> Journal {
    read_since(sources, None)
}

/// The same without the entries of before `since` that nothing later rests on; see
/// `domain::remembered`. They are read, checked and counted, but not kept, which takes a third of
/// the time and of the memory.
pub(super) fn read_since(sources: &[SourceFile], since: Option<Moment>) -> Journal {
    // On one of the threads that share the work, so that none is woken for every part of it.
    rayon::scope(|_| {
        let mut journal = Journal::default();
        let mut union = union::Union::new(sources, since);
        for index in 0..sources.len() {
            file::read(sources, index, &mut union, &mut journal);
        }
        journal.read_only = union.newer;
        union.unite(&mut journal);
        journal.findings.sort_by(|a, b| (&a.file, a.line).cmp(&(&b.file, b.line)));
        journal
    })
}
