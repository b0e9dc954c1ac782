//! Reads the journal: the union of every device's file and of conflict copies, by entry id.
//!
//! The result depends on the set of lines alone, not on the order of files or on how often a line
//! occurs. What cannot be read costs that line only and is reported with its place.

use super::line::{self, Beside, Reading};
use crate::domain::entry::{Entry, EntryId, IMPORT};
use rayon::prelude::*;

/// Largest journal file that is read or appended to, in bytes.
pub const LARGEST_FILE: u64 = 256 * 1024 * 1024;

/// Most entries that are read.
const MOST_ENTRIES: usize = 2_000_000;

/// Lines that are read at once, on all cores: many enough to share out, few enough that a file of
/// nothing but newlines and rubbish costs little memory.
const BATCH: usize = 16 * 1024;
/// Fewer lines than this are not worth another thread.
const SHARE: usize = 512;

/// Findings listed per file; more are counted.
const MOST_FINDINGS: usize = 100;

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
    pub(super) fn whole(kind: FindingKind, file: &str, message: impl Into<String>) -> Finding {
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
pub struct Source {
    /// The file, from the data folder on.
    pub file: String,
    /// All its bytes.
    pub bytes: Vec<u8>,
    /// Whether this device writes it: an unfinished last line is then no late arrival.
    pub own: bool,
}

/// Where an entry was read.
struct Origin<'a> {
    bytes: &'a [u8],
    file: usize,
    line: u64,
}

/// Entries as they are read, each with its origin.
#[derive(Default)]
struct Union<'a> {
    entries: Vec<Entry>,
    origins: Vec<Origin<'a>>,
    /// Whether a newer version wrote somewhere.
    newer: bool,
}

/// Whether a file of this name in the journal folder may hold records: a device's file or a copy
/// that a file syncer made of one when two versions met. Hidden and temporary files are not.
pub(super) fn is_journal_name(name: &str) -> bool {
    let name = name.to_ascii_lowercase();
    let passing = [".tmp", ".part", "~", ".swp"].iter().any(|end| name.ends_with(end));
    name.contains(".ron") && !name.starts_with(['.', '~']) && !passing
}

/// The union of `sources`.
pub fn read(sources: &[Source]) -> Journal {
    let mut journal = Journal::default();
    let mut union = Union::default();
    let bytes: usize = sources.iter().map(|source| source.bytes.len()).sum();
    // Records are longer than this, so that the list of them rarely has to move.
    union.entries.reserve((bytes / 128).min(MOST_ENTRIES));
    for (index, source) in sources.iter().enumerate() {
        let mut reader = FileReader::new(source, index);
        reader.read(&mut union);
        journal.findings.append(&mut reader.findings);
        journal.files.push(reader.report);
    }
    journal.read_only = union.newer;
    unite(union, &mut journal);
    journal.findings.sort_by(|a, b| (&a.file, a.line).cmp(&(&b.file, b.line)));
    journal
}

/// Sorts by id and drops repeats. Of two that differ, the one whose bytes sort first counts, so
/// that every device decides alike whatever its files are called.
fn unite(union: Union, journal: &mut Journal) {
    let Union { entries, origins, .. } = union;
    // A single device's file is in order, and has nothing twice.
    if entries.is_sorted_by(|a, b| a.id < b.id) {
        journal.entries = entries;
        return;
    }
    let mut items: Vec<(Entry, Origin)> = entries.into_iter().zip(origins).collect();
    items
        .sort_by(|(a, from), (b, other)| a.id.cmp(&b.id).then_with(|| from.bytes.cmp(other.bytes)));
    let mut kept: &[u8] = &[];
    journal.entries.reserve_exact(items.len());
    for (entry, origin) in items {
        if journal.entries.last().is_none_or(|last| last.id != entry.id) {
            kept = origin.bytes;
            journal.entries.push(entry);
        } else if kept != origin.bytes {
            let report = &mut journal.files[origin.file];
            report.conflicting += 1;
            journal.findings.push(Finding {
                kind: FindingKind::Conflicting,
                file: report.file.clone(),
                line: origin.line,
                column: 1,
                message: format!("another record is also called {}", entry.id),
            });
        }
    }
}

/// A line of a file that is not empty.
struct Line<'a> {
    /// Without its newline.
    bytes: &'a [u8],
    /// From 1.
    number: u64,
    /// Whether the file ends within it.
    last: bool,
    /// Whether an empty line stands before it: what goes on after an end that was not known to be
    /// whole begins with a newline.
    apart: bool,
}

/// The lines of a file that are not empty.
struct Lines<'a> {
    rest: &'a [u8],
    number: u64,
}

impl<'a> Iterator for Lines<'a> {
    type Item = Line<'a>;

    fn next(&mut self) -> Option<Line<'a>> {
        let mut apart = false;
        while !self.rest.is_empty() {
            self.number += 1;
            let end = memchr::memchr(b'\n', self.rest);
            let bytes = &self.rest[..end.unwrap_or(self.rest.len())];
            self.rest = end.map_or(&[], |end| &self.rest[end + 1..]);
            if !bytes.is_empty() {
                return Some(Line { bytes, number: self.number, last: end.is_none(), apart });
            }
            apart = true;
        }
        None
    }
}

/// Entries of a file that were saved in one go, as far as they were read: the last ones of the
/// union. They count once the one that says that it is the last is there.
#[derive(Default)]
struct Group {
    /// How many were read.
    read: usize,
    /// How many are still to come; 0 = no group is open.
    awaited: u32,
    /// The number of the last one, where a device numbered them as it wrote them.
    ends: u64,
    /// The line that the first one stands in.
    line: u64,
    /// Whether the line before is the beginning of a record: cut off while it was written, unless
    /// the next line turns out to be its end.
    cut: bool,
}

impl Group {
    /// Whether the entry `id`, which `more` follow, is of this group; `last` was read before it.
    fn goes_on_with(&self, id: &EntryId, more: u32, last: Option<&Entry>) -> bool {
        let one_device = last.is_some_and(|last| last.id.device == id.device);
        let next = match id.device.as_str() {
            IMPORT => more + 1 == self.awaited,
            _ => id.sequence.wrapping_add(u64::from(more)) == self.ends,
        };
        more < self.awaited && one_device && next && !self.cut
    }
}

struct FileReader<'a> {
    group: Group,
    source: &'a Source,
    index: usize,
    report: FileReport,
    findings: Vec<Finding>,
    unlisted: u64,
}

impl<'a> FileReader<'a> {
    fn new(source: &'a Source, index: usize) -> FileReader<'a> {
        let report = FileReport { file: source.file.clone(), ..FileReport::default() };
        FileReader {
            group: Group::default(),
            source,
            index,
            report,
            findings: Vec::new(),
            unlisted: 0,
        }
    }

    fn read(&mut self, union: &mut Union<'a>) {
        let mut lines = Lines { rest: &self.source.bytes, number: 0 };
        loop {
            let batch: Vec<Line<'a>> = lines.by_ref().take(BATCH).collect();
            if batch.is_empty() || !self.batch(&batch, union) {
                break;
            }
        }
        let at_end = if self.source.own { FindingKind::Torn } else { FindingKind::Arriving };
        self.drop_group(at_end, union);
        if self.unlisted > 0 {
            let more = format!("and {} more findings in this file", self.unlisted);
            self.findings.push(Finding::whole(FindingKind::Damaged, &self.source.file, more));
        }
    }

    /// Takes a batch of lines in; `false` when there is no room for more entries.
    fn batch(&mut self, batch: &[Line<'a>], union: &mut Union<'a>) -> bool {
        let read = |line: &Line| line::read(line.bytes);
        let readings: Vec<Reading> = batch.par_iter().with_min_len(SHARE).map(read).collect();
        for (line, reading) in batch.iter().zip(readings) {
            if union.entries.len() >= MOST_ENTRIES {
                let message = "more entries than can be read".into();
                self.tell(FindingKind::Skipped, line.number, 1, message);
                return false;
            }
            self.line(line, reading, union);
        }
        true
    }

    fn line(&mut self, at: &Line<'a>, reading: Reading, union: &mut Union<'a>) {
        let Line { bytes, number: line, last, .. } = *at;
        let torn = matches!(reading, Reading::Damaged(..)) && line::is_beginning(bytes);
        self.report.skipped += u64::from(!matches!(reading, Reading::Entry(..)));
        self.report.torn += u64::from(torn);
        self.heed_group(at, &reading, union);
        match reading {
            Reading::Entry(entry, Beside { unknown, .. }) => {
                self.report.good += 1;
                union.entries.push(entry);
                union.origins.push(Origin { bytes, file: self.index, line });
                if unknown > 0 {
                    let message = format!("{unknown} fields that this version does not know");
                    self.tell(FindingKind::Unknown, line, 1, message);
                }
            }
            Reading::UnknownKind(kind) => {
                let message = format!("this version does not know entries of kind {kind:?}");
                self.tell(FindingKind::Unknown, line, 1, message);
            }
            Reading::Newer(version) => {
                union.newer = true;
                let message = format!(
                    "form {version} of a newer program; this one reads up to {}",
                    super::record::VERSION
                );
                self.tell(FindingKind::Newer, line, 1, message);
            }
            Reading::Damaged(_, _) if torn && last && !self.source.own => {
                self.tell(FindingKind::Arriving, line, 1, "the last line is still arriving".into());
            }
            Reading::Damaged(_, _) if torn => {
                let message =
                    "a record breaks off: it was being saved when the program was stopped";
                self.tell(FindingKind::Torn, line, 1, message.into());
            }
            Reading::Damaged(column, message) => {
                self.tell(FindingKind::Damaged, line, column, message);
            }
        }
    }

    /// Opens, continues or ends a group with a line that was read, before an entry in it is added.
    /// Lines that somebody took out of it by hand are no reason not to count the others.
    fn heed_group(&mut self, at: &Line, reading: &Reading, union: &mut Union) {
        if at.apart {
            self.drop_group(FindingKind::Torn, union);
        }
        let group = &mut self.group;
        match reading {
            Reading::Entry(entry, Beside { more: Some(more), .. })
                if group.goes_on_with(&entry.id, *more, union.entries.last()) =>
            {
                (group.read, group.awaited) = (group.read + 1, *more);
            }
            Reading::Entry(entry, Beside { more, .. }) => {
                self.drop_group(FindingKind::Torn, union);
                if let Some(awaited @ 1..) = *more {
                    let ends = entry.id.sequence.wrapping_add(u64::from(awaited));
                    self.group = Group { read: 1, awaited, ends, line: at.number, cut: false };
                }
            }
            // Records that were damaged later, in their place: the others count all the same.
            Reading::Damaged(..) => match u32::try_from(line::seals(at.bytes)).unwrap_or(0) {
                0 if group.cut => self.drop_group(FindingKind::Torn, union),
                0 => group.cut = true,
                lost => {
                    (group.awaited, group.cut) = (group.awaited.saturating_sub(lost), false);
                }
            },
            Reading::UnknownKind(_) | Reading::Newer(_) => {
                group.awaited = group.awaited.saturating_sub(1);
            }
        }
    }

    /// Takes what was read of an open group out of the union again.
    fn drop_group(&mut self, kind: FindingKind, union: &mut Union) {
        let Group { read, awaited, line, .. } = std::mem::take(&mut self.group);
        if awaited == 0 {
            return;
        }
        let left = union.entries.len() - read;
        union.entries.truncate(left);
        union.origins.truncate(left);
        self.report.good -= read as u64;
        let many = format!("{read} entries of {}", read as u64 + u64::from(awaited));
        let message = match kind {
            FindingKind::Arriving => format!("{many} are here; the rest is still arriving"),
            _ => format!(
                "{many} that were being saved in one go: the rest was cut off, so that none counts"
            ),
        };
        self.tell(kind, line, 1, message);
    }

    fn tell(&mut self, kind: FindingKind, line: u64, column: u64, message: String) {
        if self.findings.len() >= MOST_FINDINGS {
            self.unlisted += 1;
            return;
        }
        let file = self.source.file.clone();
        self.findings.push(Finding { kind, file, line, column, message });
    }
}
