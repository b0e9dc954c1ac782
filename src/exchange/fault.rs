//! What may be wrong with a file, and how large it may be.

use std::fmt;

/// The largest file read, in bytes.
pub const LARGEST_FILE: usize = 256 * 1024 * 1024;
/// The most rows read from one file.
pub(super) const MOST_ROWS: usize = 2_000_000;
/// The longest cell, in bytes: a log line of the longest kind fits, whatever its script.
pub(super) const LONGEST_CELL: usize = 16 * 1024;
/// Reading stops after this many faults.
pub(super) const MOST_FAULTS: usize = 100;

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

impl ExchangeFault {
    /// Of what was found where, `(line, column)`, shortened for a message.
    pub(super) fn new(
        place: (u64, usize),
        field: &str,
        found: &str,
        expected: impl Into<String>,
    ) -> ExchangeFault {
        let (field, found) = (field.to_string(), shortened(found));
        ExchangeFault { line: place.0, column: place.1, field, found, expected: expected.into() }
    }
}

/// At most forty characters, on one line.
/// The text without the mark that some programs put first; refused where it is too long.
pub(super) fn within_size(text: &str) -> Result<&str, ExchangeFault> {
    if text.len() > LARGEST_FILE {
        let most = format!("at most {} MiB", LARGEST_FILE / 1024 / 1024);
        return Err(ExchangeFault::new((1, 0), "", &format!("{} bytes", text.len()), most));
    }
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

pub(super) fn shortened(text: &str) -> String {
    let short: String =
        text.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().count() > 40 { short + "..." } else { short }
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
