//! A value of a file, with its place: what it should be is asked of it, and what it is not is noted.

use super::fault_words::brief;
use super::reader::{Reader, Unlocated};
use super::ron_text::{Node, Shape};
use crate::domain::fault::{Fault, Path, PathStep};
use crate::text::count::either;

/// A value that stands somewhere in a file.
#[derive(Clone)]
pub(super) struct Value<'a> {
    pub(super) node: &'a Node,
    pub(super) path: Path,
    pub(super) reader: &'a Reader<'a>,
}

impl<'a> Value<'a> {
    /// All that the file says.
    pub(super) fn root(node: &'a Node, reader: &'a Reader<'a>) -> Value<'a> {
        Value { node, path: Path::root(), reader }
    }

    /// A part of this value that has no path of its own.
    pub(super) fn part(&self, node: &'a Node) -> Value<'a> {
        Value { node, ..self.clone() }
    }

    /// Its text in the file.
    pub(super) fn text(&self) -> &'a str {
        self.node.slice(self.reader.text)
    }

    /// Notes that it is wrong, and what was found.
    pub(super) fn wrong(&self, found: impl Into<String>, expected: impl Into<String>) {
        self.reader.wrong(&self.path, found, expected);
    }

    /// Notes that it is not what was expected.
    pub(super) fn not(&self, expected: impl Into<String>) {
        let (path, found) = (self.path.clone(), brief(self.text()));
        let fault = Fault { path, found, expected: expected.into() };
        let at = Some(self.node.span.start);
        self.reader.note(Unlocated { fault, at, stray: false, follows: false });
    }

    /// As a finite number.
    pub(super) fn number(&self) -> Option<f64> {
        let number = match self.node.shape {
            Shape::Word => ron::from_str::<f64>(self.text()).ok(),
            _ => None,
        };
        let finite = number.filter(|number| number.is_finite());
        if finite.is_none() {
            self.not("a number");
        }
        finite
    }

    /// As a quoted string without control characters.
    pub(super) fn string(&self) -> Option<String> {
        let text = self.node.string(self.reader.text);
        match &text {
            Some(text) if !text.chars().any(char::is_control) => {}
            Some(_) => self.not("text on one line, without control characters"),
            None => self.not("text in \"double quotes\""),
        }
        text.filter(|text| !text.chars().any(char::is_control))
    }

    /// As one of a few words, given with their meanings.
    pub(super) fn choice<T: Clone>(&self, choices: &[(&str, T)]) -> Option<T> {
        // A word with a blank in it can only stand in quotes; the others may.
        let word = self.text().trim_matches('"');
        let hit = choices.iter().find(|(name, _)| *name == word);
        if hit.is_none() {
            let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
            self.not(either(&names));
        }
        hit.map(|(_, value)| value.clone())
    }

    /// As a list.
    pub(super) fn items(&self) -> Vec<Value<'a>> {
        let Shape::List(items) = &self.node.shape else {
            self.not("a list in [ ]");
            return Vec::new();
        };
        let item = |(index, node)| {
            let path = self.path.with(PathStep::Item(index));
            Value { node, path, reader: self.reader }
        };
        items.iter().enumerate().map(item).collect()
    }

    /// As one value in brackets behind a word: `step(0.25)`.
    pub(super) fn tagged(&self) -> Option<(&'a str, Value<'a>)> {
        match &self.node.shape {
            Shape::Group { tag, members } => match members.as_slice() {
                [one] => Some((&self.reader.text[tag.clone()], self.part(&one.value))),
                _ => None,
            },
            _ => None,
        }
    }

    /// Whether it is a struct; noted where it is none.
    pub(super) fn is_struct(&self) -> bool {
        let is_struct = matches!(&self.node.shape, Shape::Group { tag, members }
            if tag.is_empty() && members.iter().all(|member| member.name.is_some()));
        if !is_struct {
            self.not("fields in ( ), each as name: value");
            self.reader.lost.set(true);
        }
        is_struct
    }
}
