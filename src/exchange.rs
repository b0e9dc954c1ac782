//! Exchange files: entries and outlooks from other programs and for them. Text in, values out.
//!
//! The forms are the contract's: RFC 4180 tables with a header row, and JSON Lines. A file is
//! taken as a whole or not at all; each fault names line, column and what would be right. What
//! a row means is in `row`, what makes it the same as another in `identity`.
//!
//! Pure: files are opened by `store` or `cli`, and the rig's names come in a [`Vocabulary`].

pub mod gpx;
mod identity;
mod json;
mod outlook;
mod readings;
mod row;
mod table;
mod write;

pub use json::write_jsonl;
pub use write::{write_csv, write_outlook_csv};

use crate::domain::entry::Entry;
use crate::logline::Vocabulary;
use std::fmt;

/// The largest file read, in bytes.
pub const LARGEST_FILE: usize = 256 * 1024 * 1024;
/// The most rows read from one file.
pub const MOST_ROWS: usize = 2_000_000;
/// The longest cell, in bytes: a log line of the longest kind fits, whatever its script.
pub const LONGEST_CELL: usize = 16 * 1024;
/// Reading stops after this many faults.
pub const MOST_FAULTS: usize = 100;

/// One thing wrong with an exchange file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExchangeFault {
    /// Line of the file, from 1, on which the cell begins.
    pub line: u64,
    /// Which cell of its row, from 1; 0 for the row as a whole.
    pub column: usize,
    /// The column's name in the header; empty for the row as a whole.
    pub field: String,
    /// What stands there.
    pub found: String,
    /// What would be right.
    pub expected: String,
}

impl fmt::Display for ExchangeFault {
    /// ``line 3, column 4 (amount): found `1e5`, expected a plain decimal number like 8.5``
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}", self.line)?;
        if self.column > 0 {
            write!(f, ", column {}", self.column)?;
        }
        if !self.field.is_empty() {
            write!(f, " ({})", self.field)?;
        }
        match self.found.as_str() {
            "" => write!(f, ": found nothing, expected {}", self.expected),
            found => write!(f, ": found `{found}`, expected {}", self.expected),
        }
    }
}

impl std::error::Error for ExchangeFault {}

/// Something odd in a file that does not stop it from being read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// Line of the file, from 1.
    pub line: u64,
    /// What was found and what was done about it.
    pub message: String,
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {}: {}", self.line, self.message)
    }
}

/// What a file says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Imported {
    /// One entry per row, in the file's order. Their ids follow from their cells and their place
    /// alone, so that two devices which import the same file write the same records.
    pub entries: Vec<Entry>,
    /// What was odd.
    pub warnings: Vec<Warning>,
}

/// Reads a journal or an outlook; the header tells which.
///
/// # Errors
///
/// Every fault found, up to [`MOST_FAULTS`]; then no row counts.
pub fn read(text: &str, vocabulary: &Vocabulary) -> Result<Imported, Vec<ExchangeFault>> {
    let table = table::read(text).map_err(|fault| vec![fault])?;
    let (mut imported, mut faults) = (Imported::default(), Vec::new());
    imported.warnings = table.warnings.clone();
    let mut identities = identity::Identities::default();
    let mut readings = readings::Readings::default();
    for row in table.rows() {
        let read = match table.sort {
            table::Sort::Journal => row::entry(&row, vocabulary, &mut imported.warnings),
            table::Sort::Outlook => outlook::entry(&row),
        };
        match read {
            Ok(entry) => {
                imported.warnings.extend(readings.look(&row, &entry, vocabulary));
                imported.entries.push(identities.identified(entry));
            }
            Err(fault) => faults.push(fault),
        }
        if faults.len() >= MOST_FAULTS {
            break;
        }
    }
    match faults.is_empty() {
        true => Ok(imported),
        false => Err(faults),
    }
}

/// The entries that `existing` does not hold yet: a row is there already when all its cells are
/// those of an entry there (as first written, as corrected, even if taken back since), and that
/// often. So a file imported twice adds nothing, and two equal showers stay two.
pub fn new_entries(imported: &Imported, existing: &[Entry]) -> Vec<Entry> {
    identity::unknown(&imported.entries, existing)
}
