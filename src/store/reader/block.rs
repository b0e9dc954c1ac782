//! A struct being read, field by field.

use super::words::{NOTHING, brief, nearest, one_of};
use super::{Reader, Unlocated};
use crate::domain::fault::{Fault, Path, PathStep};
use crate::store::ron_text::{Node, Shape};

/// A struct being read: hands out its fields, and knows in the end which ones nobody wanted.
pub struct Block<'n> {
    node: &'n Node,
    path: Path,
    asked: Vec<&'static str>,
}

impl<'n> Block<'n> {
    /// Opens the struct `node` at `path`; anything else is noted as wrong.
    pub fn open(node: &'n Node, path: Path, reader: &mut Reader) -> Option<Block<'n>> {
        match node.shape {
            Shape::Group { ref tag, ref members }
                if tag.is_empty() && members.iter().all(|m| m.name.is_some()) =>
            {
                Some(Block { node, path, asked: Vec::new() })
            }
            _ => {
                reader.not(node, &path, "fields in ( ), each as name: value");
                reader.lost = true;
                None
            }
        }
    }

    /// The path of a field of this struct.
    pub fn path(&self, field: &'static str) -> Path {
        self.path.with(PathStep::Field(field))
    }

    /// The value of `field`, if it is there. `None` and `Some(…)` are understood.
    pub fn get(&mut self, field: &'static str, reader: &Reader) -> Option<&'n Node> {
        self.asked.push(field);
        let node = self.node.field(reader.text, field)?;
        match &node.shape {
            Shape::Word if node.slice(reader.text) == "None" => None,
            Shape::Group { tag, members } if &reader.text[tag.clone()] == "Some" => {
                members.first().map(|m| &m.value).filter(|_| members.len() == 1)
            }
            _ => Some(node),
        }
    }

    /// The value of `field`; its absence is noted.
    pub fn need(
        &mut self,
        field: &'static str,
        expected: &str,
        reader: &mut Reader,
    ) -> Option<&'n Node> {
        let node = self.get(field, reader);
        if node.is_none() {
            reader.wrong(&self.path(field), NOTHING, expected);
        }
        node
    }

    /// A number, or `default` if it is absent; not a number if it is wrong, which was noted.
    pub(in crate::store) fn number_or(
        &mut self,
        field: &'static str,
        default: f64,
        reader: &mut Reader,
    ) -> f64 {
        self.number(field, reader, Some(default)).unwrap_or(f64::NAN)
    }

    /// A number that has to be there; not a number if it is not, which was noted.
    pub(in crate::store) fn number_needed(
        &mut self,
        field: &'static str,
        reader: &mut Reader,
    ) -> f64 {
        match self.need(field, "a number", reader) {
            Some(node) => reader.number(node, &self.path(field)).unwrap_or(f64::NAN),
            None => f64::NAN,
        }
    }

    /// A number that may be absent.
    pub(in crate::store) fn number_maybe(
        &mut self,
        field: &'static str,
        reader: &mut Reader,
    ) -> Option<f64> {
        self.number(field, reader, None)
    }

    fn number(
        &mut self,
        field: &'static str,
        reader: &mut Reader,
        default: Option<f64>,
    ) -> Option<f64> {
        match self.get(field, reader) {
            None => default,
            Some(node) => Some(reader.number(node, &self.path(field)).unwrap_or(f64::NAN)),
        }
    }

    /// A string that has to be there; empty if it is not, which was noted.
    pub(in crate::store) fn text_needed(
        &mut self,
        field: &'static str,
        expected: &str,
        reader: &mut Reader,
    ) -> String {
        let node = self.need(field, expected, reader);
        node.and_then(|n| reader.string(n, &self.path(field))).unwrap_or_default()
    }

    /// A string that may be absent.
    pub(in crate::store) fn text_maybe(
        &mut self,
        field: &'static str,
        reader: &mut Reader,
    ) -> Option<String> {
        let node = self.get(field, reader)?;
        reader.string(node, &self.path(field))
    }

    /// A list of strings, empty if absent.
    pub fn texts(&mut self, field: &'static str, reader: &mut Reader) -> Vec<String> {
        let items = self.list(field, reader);
        items.iter().filter_map(|(node, path)| reader.string(node, path)).collect()
    }

    /// The values of a list with their paths; none if absent.
    pub fn list(&mut self, field: &'static str, reader: &mut Reader) -> Vec<(&'n Node, Path)> {
        let path = self.path(field);
        let Some(node) = self.get(field, reader) else { return Vec::new() };
        let items = reader.items(node, &path);
        items.iter().enumerate().map(|(i, n)| (n, path.with(PathStep::Item(i)))).collect()
    }

    /// `true` or `false`; false where it is absent.
    pub(in crate::store) fn flag(&mut self, field: &'static str, reader: &mut Reader) -> bool {
        self.choice_or(field, &[("true", true), ("false", false)], false, reader)
    }

    /// One of a few words, or `default` if absent.
    pub(in crate::store) fn choice_or<T: Clone>(
        &mut self,
        field: &'static str,
        choices: &[(&str, T)],
        default: T,
        reader: &mut Reader,
    ) -> T {
        match self.get(field, reader) {
            None => default,
            Some(node) => reader.choice(node, &self.path(field), choices).unwrap_or(default),
        }
    }

    /// One of a few words; `None` if it is missing or wrong, which was noted.
    pub(in crate::store) fn choice_needed<T: Clone>(
        &mut self,
        field: &'static str,
        choices: &[(&str, T)],
        reader: &mut Reader,
    ) -> Option<T> {
        let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
        let node = self.need(field, &one_of(&names), reader)?;
        reader.choice(node, &self.path(field), choices)
    }

    /// What an unknown field should have been. A slip in a name is one fault, not two, so the
    /// field that it was meant for is no longer called missing.
    fn unknown(&self, name: &str, reader: &mut Reader) -> String {
        let mut known = self.asked.clone();
        known.dedup();
        let Some(near) = nearest(name, known.iter().copied()) else {
            return format!("one of the fields {}", one_of(&known));
        };
        let step = known.iter().find(|k| **k == near).map(|k| self.path(k));
        let meant = |found: &Unlocated| {
            found.fault.found == NOTHING && Some(&found.fault.path) == step.as_ref()
        };
        for found in reader.faults.iter_mut().filter(|f| meant(f)) {
            found.follows = true;
        }
        format!("a known field such as {near}")
    }

    /// Notes every field that nobody asked for, and every field that is there twice.
    pub fn close(self, reader: &mut Reader) {
        let text = reader.text;
        let mut seen: Vec<&str> = Vec::new();
        for member in self.node.members() {
            let (Some(name), Some(span)) = (member.name_in(text), &member.name) else { continue };
            let expected = if !self.asked.contains(&name) {
                self.unknown(name, reader)
            } else if seen.contains(&name) {
                "each field only once".to_owned()
            } else {
                seen.push(name);
                continue;
            };
            reader.faults.push(Unlocated {
                fault: Fault { path: self.path.clone(), found: brief(name), expected },
                at: Some(span.start),
                stray: true,
                follows: false,
            });
        }
    }
}
