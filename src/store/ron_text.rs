//! Where things stand in a RON file that people write by hand.
//!
//! The `ron` crate stops at the first fault and knows only roughly where it was. This scanner
//! keeps the place of every field and value, with comments and strings understood, so that all
//! faults can be named at once and a single value can be edited while comments survive.
//! It reads the part of RON that our files use: structs, lists, tuples, strings, numbers, words
//! and tagged values such as `step(0.25)`; maps and byte strings are refused.

mod scanner;

pub(super) use scanner::leading_format;
pub use scanner::scan;

use crate::domain::fault::PathStep;
use std::fmt;
use std::ops::Range;

/// One value of the file and where it stands (byte offsets into the text).
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// From its first byte to after its last one.
    pub span: Range<usize>,
    /// What it is.
    pub shape: Shape,
}

/// What a value is made of.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// `( … )`, perhaps after a word: a struct, a tuple or a tagged value.
    Group {
        /// The word before the bracket, empty if there is none.
        tag: Range<usize>,
        /// What stands inside, with names in a struct and without in a tuple.
        members: Vec<FieldNode>,
    },
    /// `[ … ]`.
    List(Vec<Node>),
    /// A quoted string, quotes included.
    Text,
    /// A number or a bare word.
    Word,
}

/// One member of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldNode {
    /// The field's name; `None` in a tuple.
    pub name: Option<Range<usize>>,
    /// Its value.
    pub value: Node,
}

/// Why a text is not RON, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScanFault {
    /// Byte offset.
    pub at: usize,
    /// What stands there.
    pub found: String,
    /// What would be right.
    pub expected: String,
}

impl fmt::Display for ScanFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "found {:?}, expected {}", self.found, self.expected)
    }
}

impl Node {
    /// The value of the field `name` of a struct.
    pub fn field<'n>(&'n self, text: &str, name: &str) -> Option<&'n Node> {
        self.members().iter().find(|m| m.name_in(text) == Some(name)).map(|m| &m.value)
    }

    /// The part that one step leads to.
    pub(super) fn at<'n>(&'n self, text: &str, step: &PathStep) -> Option<&'n Node> {
        match step {
            PathStep::Field(name) => self.field(text, name),
            PathStep::Item(index) => self.items().get(*index),
        }
    }

    /// The members of a struct or tuple; none for anything else.
    pub fn members(&self) -> &[FieldNode] {
        match &self.shape {
            Shape::Group { members, .. } => members,
            _ => &[],
        }
    }

    /// The values of a list; none for anything else.
    pub fn items(&self) -> &[Node] {
        match &self.shape {
            Shape::List(items) => items,
            _ => &[],
        }
    }

    /// Its text.
    pub fn slice<'t>(&self, text: &'t str) -> &'t str {
        &text[self.span.clone()]
    }

    /// What a quoted string says; `None` for anything else or a bad escape.
    pub fn string(&self, text: &str) -> Option<String> {
        match self.shape {
            Shape::Text => ron::from_str(self.slice(text)).ok(),
            _ => None,
        }
    }
}

impl FieldNode {
    /// The field's name as it is written.
    pub(super) fn name_in<'t>(&self, text: &'t str) -> Option<&'t str> {
        self.name.clone().map(|span| &text[span])
    }
}

/// Line and column of a byte offset, both from 1, columns counted in characters.
pub fn position(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |i| i + 1);
    (before.matches('\n').count() + 1, before[line_start..].chars().count() + 1)
}
