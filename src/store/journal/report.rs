//! What comes of reading a journal: its entries, and what was noticed on the way.

use crate::domain::Entry;

/// What kind of thing was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum FindingKind {
    /// A line that is no whole record; it is lost unless another copy has it.
    Damaged,
    /// The end of another device's file, or of entries that it saved in one go, is not there yet;
    /// nothing is wrong.
    Arriving,
    /// A record of a kind, or with fields, that this version does not know; it stays in the file.
    Unknown,
    /// A record of a newer version of the form: the folder can be read, not written.
    Newer,
    /// Two records with one id differ; one of them counts.
    Conflicting,
    /// A file that is not read: a link, a pipe, too large, no permission.
    Skipped,
    /// What was being saved when the program or the machine stopped: it does not count, and was
    /// told once, by the next save.
    Torn,
    /// Entries that this device saved are no longer in the folder.
    Lost,
    /// Entries that were written by a clock ahead of this one.
    Ahead,
    /// An entry that may have been saved twice.
    Repeated,
    /// This device's own file is not as this device left it; it goes on under a new name.
    Device,
}

/// Something to tell about a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// What kind of thing.
    pub kind: FindingKind,
    /// The file, from the data folder on.
    pub file: String,
    /// Line, from 1; 0 for the whole file.
    pub line: u64,
    /// Column in bytes, from 1; 0 for the whole line or file.
    pub column: u64,
    /// What was found; not made safe for a terminal yet.
    pub message: String,
}

impl Finding {
    /// Whether it is told beside an answer: all but what is told once.
    pub fn is_news(&self) -> bool {
        self.kind != FindingKind::Torn
    }

    /// A finding about a whole file.
    pub(in crate::store) fn whole(
        kind: FindingKind,
        file: &str,
        message: impl Into<String>,
    ) -> Finding {
        Finding { kind, file: file.into(), line: 0, column: 0, message: message.into() }
    }
}

/// How one file fared.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileReport {
    /// The file, from the data folder on.
    pub file: String,
    /// Records read.
    pub good: u64,
    /// Lines that are no record that this version understands.
    pub skipped: u64,
    /// Those of them that break off, or are still arriving: no loss.
    pub torn: u64,
    /// Records that differ from another one with the same id.
    pub conflicting: u64,
}

/// What a data folder's journal says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Journal {
    /// Every entry once, in the order of ids; see `domain::journal` for what stands.
    pub entries: Vec<Entry>,
    /// What was noticed on the way, by file and line.
    pub findings: Vec<Finding>,
    /// Whether a newer version wrote here, so that this one must not.
    pub read_only: bool,
    /// How each file fared.
    pub files: Vec<FileReport>,
}

/// One file of the journal folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceFile {
    /// The file, from the data folder on.
    pub file: String,
    /// All its bytes.
    pub bytes: Vec<u8>,
    /// Whether this device writes it: an unfinished last line is then no late arrival.
    pub own: bool,
}
