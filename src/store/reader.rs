//! Reads the values of a scanned file and collects everything that is wrong, instead of
//! stopping at the first fault. Knows nothing about rigs; see `rig_record` and `places_file`.

mod block;
mod place;
mod words;

pub use block::Block;
pub use words::nearest;

use self::place::Spot;
use self::words::NOTHING;
pub(super) use self::words::{brief, one_of};
use super::ron_text::{Node, Shape, position};
use crate::domain::fault::{Fault, Path, PathStep};
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
pub struct Unlocated {
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
pub struct Reader<'t> {
    /// The whole file.
    pub text: &'t str,
    /// What was found so far.
    pub faults: Vec<Unlocated>,
    /// A struct was no struct, so that the result lacks an item and paths into it may mislead.
    pub lost: bool,
}

impl<'t> Reader<'t> {
    /// A reader of `text` that has found nothing yet.
    pub fn new(text: &'t str) -> Reader<'t> {
        Reader { text, faults: Vec::new(), lost: false }
    }

    /// Notes that the value at `path` is wrong.
    pub fn wrong(&mut self, path: &Path, found: impl Into<String>, expected: impl Into<String>) {
        let fault = Fault { path: path.clone(), found: found.into(), expected: expected.into() };
        self.faults.push(Unlocated { fault, at: None, stray: false, follows: false });
    }

    /// Notes that `node`, which stands at `path`, is not what was expected there.
    pub fn not(&mut self, node: &Node, path: &Path, expected: impl Into<String>) {
        let found = brief(node.slice(self.text));
        self.wrong(path, found, expected);
        if let Some(last) = self.faults.last_mut() {
            last.at = Some(node.span.start);
        }
    }

    /// A finite number.
    pub fn number(&mut self, node: &Node, path: &Path) -> Option<f64> {
        let number = match node.shape {
            Shape::Word => ron::from_str::<f64>(node.slice(self.text)).ok(),
            _ => None,
        };
        match number {
            Some(number) if number.is_finite() => Some(number),
            _ => {
                self.not(node, path, "a number");
                None
            }
        }
    }

    /// A quoted string without control characters.
    pub fn string(&mut self, node: &Node, path: &Path) -> Option<String> {
        match node.string(self.text) {
            Some(text) if !text.chars().any(char::is_control) => Some(text),
            Some(_) => {
                self.not(node, path, "text on one line, without control characters");
                None
            }
            None => {
                self.not(node, path, "text in \"double quotes\"");
                None
            }
        }
    }

    /// One of a few words, given with their meanings.
    pub fn choice<T: Clone>(
        &mut self,
        node: &Node,
        path: &Path,
        choices: &[(&str, T)],
    ) -> Option<T> {
        let word = node.slice(self.text);
        let hit = choices.iter().find(|(name, _)| *name == word).map(|(_, value)| value.clone());
        if hit.is_none() {
            let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
            self.not(node, path, one_of(&names));
        }
        hit
    }

    /// The values of a list.
    pub fn items<'n>(&mut self, node: &'n Node, path: &Path) -> &'n [Node] {
        match &node.shape {
            Shape::List(items) => items,
            _ => {
                self.not(node, path, "a list in [ ]");
                &[]
            }
        }
    }

    /// Everything found, located in the file and in the order of the text. Of findings at the
    /// same path only the first stays, as the others follow from it.
    pub(in crate::store) fn locate(self, root: &Node, file: &FilePath) -> Vec<RigFault> {
        let mut seen = HashSet::new();
        let mut missing: Vec<Vec<PathStep>> = Vec::new();
        let mut located: Vec<(usize, RigFault)> = Vec::new();
        for found in self.faults {
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
            let place = Spot::of(root, self.text, &found.fault.path);
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
