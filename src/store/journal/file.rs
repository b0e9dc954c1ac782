//! Reads one file of a journal, line by line; what it says goes into the union of all.

use super::report::{FileReport, Finding, FindingKind, Journal, SourceFile};
use super::union::{FoundRow, ReadEntry, Union};
use crate::store::line::{self, Beside, LineRead};
use crate::store::record;
use rayon::prelude::*;

/// Lines that are read at once, on all cores: many enough to share out, few enough that a file of
/// nothing but newlines and rubbish costs little memory.
const BATCH: usize = 4 * 1024;
/// Fewer lines than this are not worth another thread.
const SHARE: usize = 512;

/// Most entries that are read.
const MOST_ENTRIES: usize = 2_000_000;

/// Findings listed per file; more are counted.
const MOST_FINDINGS: usize = 100;

/// A line of a file that is not empty.
struct FileLine<'a> {
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
struct FileLines<'a> {
    rest: &'a [u8],
    number: u64,
}

impl<'a> Iterator for FileLines<'a> {
    type Item = FileLine<'a>;

    fn next(&mut self) -> Option<FileLine<'a>> {
        let mut apart = false;
        while !self.rest.is_empty() {
            self.number += 1;
            let end = memchr::memchr(b'\n', self.rest);
            let bytes = &self.rest[..end.unwrap_or(self.rest.len())];
            self.rest = end.map_or(&[], |end| &self.rest[end + 1..]);
            if !bytes.is_empty() {
                return Some(FileLine { bytes, number: self.number, last: end.is_none(), apart });
            }
            apart = true;
        }
        None
    }
}

/// Entries of a file that were saved in one go, as far as they were read: the last ones of the
/// union. They count once the one that says that it is the last is there.
#[derive(Default)]
struct SavedTogether {
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

impl SavedTogether {
    /// Whether the entry of `row`, which `more` follow, is of this group.
    fn goes_on_with(&self, row: &ReadEntry, more: u32, union: &Union) -> bool {
        let one_device = union.rows.last().is_some_and(|last| last.device == row.device);
        let next = match union.is_imported(row) {
            true => more + 1 == self.awaited,
            false => row.sequence.wrapping_add(u64::from(more)) == self.ends,
        };
        more < self.awaited && one_device && next && !self.cut
    }
}

/// What a line turned out to be.
enum LineSeen<'a> {
    Entry(FoundRow<'a>, Beside),
    /// Boxed, since it is seldom.
    Other(Box<LineRead>),
}

/// Reads the file of `sources[index]` into `union`, and tells `journal` how it fared.
pub(super) fn read<'a>(
    sources: &'a [SourceFile],
    index: usize,
    union: &mut Union<'a>,
    journal: &mut Journal,
) {
    let mut reader = FileReader::new(&sources[index], index as u32);
    reader.read(union);
    journal.findings.append(&mut reader.findings);
    journal.files.push(reader.report);
}

struct FileReader<'a> {
    group: SavedTogether,
    source: &'a SourceFile,
    index: u32,
    report: FileReport,
    findings: Vec<Finding>,
    unlisted: u64,
}

impl<'a> FileReader<'a> {
    fn new(source: &'a SourceFile, index: u32) -> FileReader<'a> {
        let report = FileReport { file: source.file.clone(), ..FileReport::default() };
        FileReader {
            group: SavedTogether::default(),
            source,
            index,
            report,
            findings: Vec::new(),
            unlisted: 0,
        }
    }

    fn read(&mut self, union: &mut Union<'a>) {
        let mut lines = FileLines { rest: &self.source.bytes, number: 0 };
        // One after the other in the same memory: fresh memory costs more than what is put there.
        let (mut batch, mut seen) = (Vec::new(), Vec::new());
        loop {
            batch.clear();
            batch.extend(lines.by_ref().take(BATCH));
            if batch.is_empty() || !self.batch(&batch, &mut seen, union) {
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
    fn batch(
        &mut self,
        batch: &[FileLine<'a>],
        all: &mut Vec<LineSeen<'a>>,
        union: &mut Union<'a>,
    ) -> bool {
        let (file, known) = (self.index, &*union);
        let read = |line: &FileLine<'a>| {
            let at = (file, line.number as u32);
            line::read_as(line.bytes, |said, beside| {
                LineSeen::Entry(known.found(said, line.bytes, at), beside)
            })
            .unwrap_or_else(LineSeen::Other)
        };
        batch.par_iter().with_min_len(SHARE).map(read).collect_into_vec(all);
        for (line, seen) in batch.iter().zip(all.drain(..)) {
            if union.rows.len() >= MOST_ENTRIES {
                let message = "more entries than can be read".into();
                self.tell(FindingKind::Skipped, line.number, 1, message);
                return false;
            }
            match seen {
                LineSeen::Entry(found, beside) => self.entry(line, found, beside, union),
                LineSeen::Other(reading) => self.other(line, *reading, union),
            }
        }
        true
    }

    fn entry(
        &mut self,
        at: &FileLine,
        mut found: FoundRow<'a>,
        beside: Beside,
        union: &mut Union<'a>,
    ) {
        union.name(&mut found);
        self.heed_entry(at, &found.row, beside.more, union);
        self.report.good += 1;
        union.push(found);
        if beside.unknown > 0 {
            let message = format!("{} fields that this version does not know", beside.unknown);
            self.tell(FindingKind::Unknown, at.number, 1, message);
        }
    }

    /// A line that is no entry.
    fn other(&mut self, at: &FileLine, reading: LineRead, union: &mut Union) {
        let FileLine { bytes, number: line, last, .. } = *at;
        let torn = matches!(reading, LineRead::Damaged(..)) && line::is_beginning(bytes);
        self.report.skipped += 1;
        self.report.torn += u64::from(torn);
        self.heed_other(at, &reading, union);
        match reading {
            // Taken care of by whoever calls this.
            LineRead::Entry(..) => {}
            LineRead::UnknownKind(kind) => {
                let message = format!("this version does not know entries of kind {kind:?}");
                self.tell(FindingKind::Unknown, line, 1, message);
            }
            LineRead::Newer(version) => {
                union.newer = true;
                let known = record::VERSION;
                let message =
                    format!("form {version} of a newer program; this one reads up to {known}");
                self.tell(FindingKind::Newer, line, 1, message);
            }
            LineRead::Damaged(_, _) if torn && last && !self.source.own => {
                self.tell(FindingKind::Arriving, line, 1, "the last line is still arriving".into());
            }
            LineRead::Damaged(_, _) if torn => {
                let message =
                    "a record breaks off: it was being saved when the program was stopped";
                self.tell(FindingKind::Torn, line, 1, message.into());
            }
            LineRead::Damaged(column, message) => {
                self.tell(FindingKind::Damaged, line, column, message);
            }
        }
    }

    /// Opens, continues or ends a group before the entry of `row` is added, which `more` follow.
    fn heed_entry(&mut self, at: &FileLine, row: &ReadEntry, more: Option<u32>, union: &mut Union) {
        if at.apart {
            self.drop_group(FindingKind::Torn, union);
        }
        if let Some(more) = more.filter(|more| self.group.goes_on_with(row, *more, union)) {
            (self.group.read, self.group.awaited) = (self.group.read + 1, more);
            return;
        }
        self.drop_group(FindingKind::Torn, union);
        if let Some(awaited @ 1..) = more {
            let ends = row.sequence.wrapping_add(u64::from(awaited));
            self.group = SavedTogether { read: 1, awaited, ends, line: at.number, cut: false };
        }
    }

    /// The same for a line that is no entry. Lines that somebody took out of a group by hand are no
    /// reason not to count the others.
    fn heed_other(&mut self, at: &FileLine, reading: &LineRead, union: &mut Union) {
        if at.apart {
            self.drop_group(FindingKind::Torn, union);
        }
        let group = &mut self.group;
        match reading {
            // Records that were damaged later, in their place: the others count all the same.
            LineRead::Damaged(..) => match u32::try_from(line::seals(at.bytes)).unwrap_or(0) {
                0 if group.cut => self.drop_group(FindingKind::Torn, union),
                0 => group.cut = true,
                lost => {
                    (group.awaited, group.cut) = (group.awaited.saturating_sub(lost), false);
                }
            },
            _ => group.awaited = group.awaited.saturating_sub(1),
        }
    }

    /// Takes what was read of an open group out of the union again.
    fn drop_group(&mut self, kind: FindingKind, union: &mut Union) {
        let SavedTogether { read, awaited, line, .. } = std::mem::take(&mut self.group);
        if awaited == 0 {
            return;
        }
        union.take_back(read);
        self.report.good -= read as u64;
        let many = format!("{read} of {} entries", read as u64 + u64::from(awaited));
        let message = match kind {
            FindingKind::Arriving => format!("{many} are here; the rest is still arriving"),
            _ => format!(
                "{many} that were saved together are whole; the rest was cut off, so none of them counts"
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
