//! Reads the values of a scanned file and collects everything that is wrong, instead of
//! stopping at the first fault. Knows nothing about rigs; see `rig_record` and `places_file`.

use super::fault_place::FileSpot;
use super::fault_words::NOTHING;
use super::ron_text::{Node, position};
use crate::domain::fault::{Fault, Path, PathStep};
use std::cell::{Cell, RefCell};
use std::collections::HashSet;
use std::fmt;
use std::path::{Path as FilePath, PathBuf};

/// How bad a finding in a hand-written file is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FaultKind {
    /// A slip that its author can mend.
    Mistake,
    /// The file was written for a later version of this program.
    Newer,
}

/// One finding in a hand-written file: where it is, what stands there, what would be right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RigFault {
    /// A slip, or a file from a later version.
    pub kind: FaultKind,
    /// The file.
    pub file: PathBuf,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// The field and what it belongs to: `capacity in stock "fresh"`; empty for a fault of form.
    pub field: String,
    /// What stands there.
    pub found: String,
    /// What would be right.
    pub expected: String,
}

impl fmt::Display for RigFault {
    /// `rig.ron:12:34: capacity in stock "fresh": found -3, expected a number above 0`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = self.file.file_name().unwrap_or(self.file.as_os_str()).to_string_lossy();
        write!(f, "{name}:{}:{}: ", self.line, self.column)?;
        if !self.field.is_empty() {
            write!(f, "{}: ", self.field)?;
        }
        write!(f, "found {}, expected {}", self.found, self.expected)
    }
}

/// A finding that still has to be located.
#[derive(Debug, Clone)]
pub(super) struct Unlocated {
    /// What and where, by field names.
    pub fault: Fault,
    /// The exact place, where the path leads only near it.
    pub at: Option<usize>,
    /// About the name of a field in the struct at the path, not about a value.
    pub stray: bool,
    /// Follows from another finding, so it is not told; nor is what else is found there.
    pub follows: bool,
}

/// Reads one file and keeps what was wrong.
pub(super) struct Reader<'t> {
    /// The whole file.
    pub(super) text: &'t str,
    pub(super) found: RefCell<Vec<Unlocated>>,
    /// A struct was no struct, so that the result lacks an item and paths into it may mislead.
    pub(super) lost: Cell<bool>,
}

impl<'t> Reader<'t> {
    /// A reader of `text` that has found nothing yet.
    pub(super) fn new(text: &'t str) -> Reader<'t> {
        Reader { text, found: RefCell::default(), lost: Cell::new(false) }
    }

    /// Notes a finding.
    pub(super) fn note(&self, found: Unlocated) {
        self.found.borrow_mut().push(found);
    }

    /// Notes that the value at `path` is wrong.
    pub(super) fn wrong(&self, path: &Path, found: impl Into<String>, expected: impl Into<String>) {
        let fault = Fault { path: path.clone(), found: found.into(), expected: expected.into() };
        self.note(Unlocated { fault, at: None, stray: false, follows: false });
    }

    /// Takes back all that was noted.
    pub(super) fn forget(&self) {
        self.found.take();
    }

    /// Everything found, located in the file and in the order of the text. Of findings at the
    /// same path only the first stays, as the others follow from it.
    pub(super) fn locate(self, root: &Node, file: &FilePath) -> Vec<RigFault> {
        let mut seen = HashSet::new();
        let mut missing: Vec<Vec<PathStep>> = Vec::new();
        let mut located: Vec<(usize, RigFault)> = Vec::new();
        for found in self.found.into_inner() {
            let stray = found.at.filter(|_| found.stray);
            let path = found.fault.path.steps();
            if missing.iter().any(|whole| path.len() > whole.len() && path.starts_with(whole)) {
                continue;
            }
            if found.fault.found == NOTHING {
                missing.push(path.to_vec());
            }
            if !seen.insert((found.fault.path.clone(), stray)) || found.follows {
                continue;
            }
            let place = FileSpot::of(root, self.text, &found.fault.path);
            let at = found.at.unwrap_or(place.at);
            let (line, column) = position(self.text, at);
            let fault = RigFault {
                kind: FaultKind::Mistake,
                file: file.to_owned(),
                line,
                column,
                field: place.words,
                found: place.value.filter(|_| found.at.is_none()).unwrap_or(found.fault.found),
                expected: found.fault.expected,
            };
            located.push((at, fault));
        }
        located.sort_by_key(|(at, _)| *at);
        located.into_iter().map(|(_, fault)| fault).collect()
    }
}
