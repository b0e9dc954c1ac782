//! A struct being read, field by field.

use super::fault_words::{NOTHING, brief, nearest};
use super::range::Range;
use super::reader::Unlocated;
use super::ron_text::Shape;
use super::value::Value;
use crate::domain::fault::{Fault, PathStep};
use crate::text::count::either;

/// A struct being read: hands out its fields, and knows in the end which ones nobody wanted.
pub(super) struct Block<'a> {
    whole: Value<'a>,
    asked: Vec<&'static str>,
}

impl<'a> Block<'a> {
    /// What `read` makes of the struct that a value is; anything else, and every field that `read`
    /// does not ask for, is noted as wrong.
    pub(super) fn read<T>(whole: Value<'a>, read: impl FnOnce(&mut Block<'a>) -> T) -> Option<T> {
        let mut block = whole.is_struct().then(|| Block { whole, asked: Vec::new() })?;
        let made = read(&mut block);
        block.close();
        Some(made)
    }

    /// Notes that the value of `field` is wrong.
    pub(super) fn wrong(
        &self,
        field: &'static str,
        found: impl Into<String>,
        expected: impl Into<String>,
    ) {
        self.whole.reader.wrong(&self.whole.path.with(PathStep::Field(field)), found, expected);
    }

    /// The value of `field`, if it is there. `None` and `Some(…)` are understood.
    pub(super) fn get(&mut self, field: &'static str) -> Option<Value<'a>> {
        self.asked.push(field);
        let text = self.whole.reader.text;
        let node = self.whole.node.field(text, field)?;
        let node = match &node.shape {
            Shape::Word if node.slice(text) == "None" => return None,
            Shape::Group { tag, members } if &text[tag.clone()] == "Some" => match &members[..] {
                [only] => &only.value,
                _ => return None,
            },
            _ => node,
        };
        let path = self.whole.path.with(PathStep::Field(field));
        Some(Value { node, path, reader: self.whole.reader })
    }

    /// The value of `field`; its absence is noted.
    pub(super) fn need(&mut self, field: &'static str, expected: &str) -> Option<Value<'a>> {
        let value = self.get(field);
        if value.is_none() {
            self.wrong(field, NOTHING, expected);
        }
        value
    }

    /// A number, or `default` if it is absent; not a number if it is wrong, which was noted.
    pub(super) fn number_or(&mut self, field: &'static str, default: f64, range: Range) -> f64 {
        self.number_maybe(field, range).unwrap_or(default)
    }

    /// A number that has to be there; not a number if it is not, which was noted.
    pub(super) fn number_needed(&mut self, field: &'static str, range: Range) -> f64 {
        self.need(field, "a number");
        self.number_maybe(field, range).unwrap_or(f64::NAN)
    }

    /// A number that may be absent; noted where it is wrong, and not a number where it is none.
    pub(super) fn number_maybe(&mut self, field: &'static str, range: Range) -> Option<f64> {
        let number = self.get(field)?.number();
        if let Some(expected) = number.and_then(|number| range.expected(number)) {
            self.wrong(field, number.unwrap_or(f64::NAN).to_string(), expected);
        }
        Some(number.unwrap_or(f64::NAN))
    }

    /// A string that has to be there; empty if it is not, which was noted.
    pub(super) fn text_needed(&mut self, field: &'static str, expected: &str) -> String {
        self.need(field, expected).and_then(|value| value.string()).unwrap_or_default()
    }

    /// A string that has to be there and to say something.
    pub(super) fn name_needed(&mut self, field: &'static str, expected: &str) -> String {
        let name = self.text_needed(field, expected);
        if name.trim().is_empty() {
            self.wrong(field, "\"\"", "a name");
        }
        name
    }

    /// A string that may be absent.
    pub(super) fn text_maybe(&mut self, field: &'static str) -> Option<String> {
        self.get(field)?.string()
    }

    /// What `parse` makes of a string that may be absent.
    pub(super) fn parsed<T>(
        &mut self,
        field: &'static str,
        expected: &str,
        parse: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        let text = self.text_maybe(field)?;
        let parsed = parse(&text);
        if parsed.is_none() {
            self.wrong(field, text, expected);
        }
        parsed
    }

    /// A list of strings, empty if absent.
    pub(super) fn texts(&mut self, field: &'static str) -> Vec<String> {
        self.list(field).iter().filter_map(Value::string).collect()
    }

    /// The values of a list; none if absent.
    pub(super) fn list(&mut self, field: &'static str) -> Vec<Value<'a>> {
        self.get(field).map_or(Vec::new(), |value| value.items())
    }

    /// What `read` makes of the struct under `field`; `None` where the file leaves it out.
    pub(super) fn part<T>(
        &mut self,
        field: &'static str,
        read: impl FnOnce(&mut Block<'a>) -> T,
    ) -> Option<T> {
        Block::read(self.get(field)?, read)
    }

    /// What `read` makes of each struct in a list.
    pub(super) fn structs<T>(
        &mut self,
        field: &'static str,
        mut read: impl FnMut(&mut Block<'a>) -> T,
    ) -> Vec<T> {
        self.each(field, |value| Block::read(value, &mut read))
    }

    /// What `read` makes of each value in a list.
    pub(super) fn each<T>(
        &mut self,
        field: &'static str,
        read: impl FnMut(Value<'a>) -> Option<T>,
    ) -> Vec<T> {
        self.list(field).into_iter().filter_map(read).collect()
    }

    /// `true` or `false`; false where it is absent.
    pub(super) fn flag(&mut self, field: &'static str) -> bool {
        self.choice_or(field, &[("true", true), ("false", false)], false)
    }

    /// One of a few words, or `default` if absent.
    pub(super) fn choice_or<T: Clone>(
        &mut self,
        field: &'static str,
        choices: &[(&str, T)],
        default: T,
    ) -> T {
        self.get(field).and_then(|value| value.choice(choices)).unwrap_or(default)
    }

    /// One of a few words; `None` if it is missing or wrong, which was noted.
    pub(super) fn choice_needed<T: Clone>(
        &mut self,
        field: &'static str,
        choices: &[(&str, T)],
    ) -> Option<T> {
        let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
        self.need(field, &either(&names))?.choice(choices)
    }

    /// What an unknown field should have been. A slip in a name is one fault, not two, so the
    /// field that it was meant for is no longer called missing.
    fn unknown(&self, name: &str) -> String {
        let mut known = self.asked.clone();
        known.dedup();
        let Some(near) = nearest(name, known.iter().copied()) else {
            return format!("one of the fields {}", either(&known));
        };
        let step =
            known.iter().find(|k| **k == near).map(|k| self.whole.path.with(PathStep::Field(k)));
        let meant = |found: &Unlocated| {
            found.fault.found == NOTHING && Some(&found.fault.path) == step.as_ref()
        };
        for found in self.whole.reader.found.borrow_mut().iter_mut().filter(|f| meant(f)) {
            found.follows = true;
        }
        format!("a known field such as {near}")
    }

    /// Notes every field that nobody asked for, and every field that is there twice.
    fn close(self) {
        let (text, path) = (self.whole.reader.text, &self.whole.path);
        let mut seen: Vec<&str> = Vec::new();
        for member in self.whole.node.members() {
            let (Some(name), Some(span)) = (member.name_in(text), &member.name) else { continue };
            let expected = if !self.asked.contains(&name) {
                self.unknown(name)
            } else if seen.contains(&name) {
                "each field only once".to_owned()
            } else {
                seen.push(name);
                continue;
            };
            self.whole.reader.note(Unlocated {
                fault: Fault { path: path.clone(), found: brief(name), expected },
                at: Some(span.start),
                stray: true,
                follows: false,
            });
        }
    }
}
