//! Reads the values of a scanned file and collects everything that is wrong, instead of
//! stopping at the first fault. Knows nothing about rigs; see `rig_record` and `places_file`.

use super::ron_text::{Node, Shape, position};
use crate::domain::fault::{Fault, Path, Step};
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
    /// The field and what it belongs to: `capacity of stock "fresh"`; empty for a fault of form.
    pub field: String,
    /// What stands there.
    pub found: String,
    /// What would be right.
    pub expected: String,
}

impl fmt::Display for RigFault {
    /// `rig.ron:12:34: capacity of stock "fresh": found -3, expected a number above 0`
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
pub struct Found {
    /// What and where, by field names.
    pub fault: Fault,
    /// The exact place, where the path does not lead there (an unknown field).
    pub at: Option<usize>,
    /// The field's words, where they are not those of the path.
    pub field: Option<String>,
}

/// Reads one file and keeps what was wrong.
pub struct Reader<'t> {
    /// The whole file.
    pub text: &'t str,
    /// What was found so far.
    pub faults: Vec<Found>,
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
        self.faults.push(Found { fault, at: None, field: None });
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
    pub fn locate(self, root: &Node, file: &FilePath) -> Vec<RigFault> {
        let mut seen = HashSet::new();
        let mut located: Vec<(usize, RigFault)> = Vec::new();
        for found in self.faults {
            if found.field.is_none() && !seen.insert(found.fault.path.clone()) {
                continue;
            }
            let place = Place::of(root, self.text, &found.fault.path);
            let at = found.at.unwrap_or(place.at);
            let (line, column) = position(self.text, at);
            let fault = RigFault {
                kind: FaultKind::Mistake,
                file: file.to_owned(),
                line,
                column,
                field: found.field.unwrap_or(place.words),
                found: place.value.filter(|_| found.at.is_none()).unwrap_or(found.fault.found),
                expected: found.fault.expected,
            };
            located.push((at, fault));
        }
        located.sort_by_key(|(at, _)| *at);
        located.into_iter().map(|(_, fault)| fault).collect()
    }
}

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
        self.path.with(Step::Field(field))
    }

    /// The path of the struct itself.
    pub fn own_path(&self) -> &Path {
        &self.path
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
            reader.wrong(&self.path(field), "nothing", expected);
        }
        node
    }

    /// A number, or `default` if it is absent; not a number if it is wrong, which was noted.
    pub fn number_or(&mut self, field: &'static str, default: f64, reader: &mut Reader) -> f64 {
        self.number(field, reader, Some(default)).unwrap_or(f64::NAN)
    }

    /// A number that has to be there; not a number if it is not, which was noted.
    pub fn number_needed(&mut self, field: &'static str, reader: &mut Reader) -> f64 {
        match self.need(field, "a number", reader) {
            Some(node) => reader.number(node, &self.path(field)).unwrap_or(f64::NAN),
            None => f64::NAN,
        }
    }

    /// A number that may be absent.
    pub fn number_maybe(&mut self, field: &'static str, reader: &mut Reader) -> Option<f64> {
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
    pub fn text_needed(
        &mut self,
        field: &'static str,
        expected: &str,
        reader: &mut Reader,
    ) -> String {
        let node = self.need(field, expected, reader);
        node.and_then(|n| reader.string(n, &self.path(field))).unwrap_or_default()
    }

    /// A string that may be absent.
    pub fn text_maybe(&mut self, field: &'static str, reader: &mut Reader) -> Option<String> {
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
        items.iter().enumerate().map(|(i, n)| (n, path.with(Step::Item(i)))).collect()
    }

    /// `true` or `false`, or `default` if absent.
    pub fn flag_or(&mut self, field: &'static str, default: bool, reader: &mut Reader) -> bool {
        self.choice_or(field, &[("true", true), ("false", false)], default, reader)
    }

    /// One of a few words, or `default` if absent.
    pub fn choice_or<T: Clone>(
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
    pub fn choice_needed<T: Clone>(
        &mut self,
        field: &'static str,
        choices: &[(&str, T)],
        reader: &mut Reader,
    ) -> Option<T> {
        let names: Vec<&str> = choices.iter().map(|(name, _)| *name).collect();
        let node = self.need(field, &one_of(&names), reader)?;
        reader.choice(node, &self.path(field), choices)
    }

    /// Notes every field that nobody asked for, and every field that is there twice.
    pub fn close(self, reader: &mut Reader) {
        let text = reader.text;
        let mut seen: Vec<&str> = Vec::new();
        for member in self.node.members() {
            let (Some(name), Some(span)) = (member.name_in(text), &member.name) else { continue };
            let expected = if !self.asked.contains(&name) {
                unknown_field(name, &self.asked)
            } else if seen.contains(&name) {
                "each field only once".to_owned()
            } else {
                seen.push(name);
                continue;
            };
            reader.faults.push(Found {
                fault: Fault { path: self.path.clone(), found: brief(name), expected },
                at: Some(span.start),
                field: Some(String::new()),
            });
        }
    }
}

fn unknown_field(name: &str, known: &[&'static str]) -> String {
    match nearest(name, known.iter().copied()) {
        Some(near) => format!("a known field such as {near}"),
        None => one_of(known),
    }
}

/// The known word most like `word`, if one is near enough to be a slip.
pub fn nearest<'w>(word: &str, known: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let score = |known: &str| strsim::damerau_levenshtein(&word.to_lowercase(), known);
    let near = known.map(|k| (score(k), k)).min()?;
    let allowed = (word.chars().count() / 3).clamp(1, 3);
    (near.0 <= allowed).then_some(near.1)
}

/// `a`, `a or b`, `a, b or c`.
pub fn one_of(words: &[&str]) -> String {
    match words {
        [] => "nothing".to_owned(),
        [only] => (*only).to_owned(),
        [most @ .., last] => format!("{} or {last}", most.join(", ")),
    }
}

/// A value's text, short enough for a message and without control characters.
pub fn brief(text: &str) -> String {
    const LONGEST: usize = 40;
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let shown: String = line.chars().filter(|c| !c.is_control()).take(LONGEST).collect();
    if shown.is_empty() {
        return "nothing".to_owned();
    }
    if line.chars().count() > LONGEST { format!("{shown}…") } else { shown }
}

/// Where a path leads in a file.
struct Place {
    at: usize,
    words: String,
    value: Option<String>,
}

impl Place {
    fn of(root: &Node, text: &str, path: &Path) -> Place {
        let mut place = Place { at: root.span.start, words: String::new(), value: None };
        let (mut node, mut list, mut owners) = (root, "", Vec::new());
        for (depth, step) in path.steps().iter().enumerate() {
            let last = depth + 1 == path.steps().len();
            let next = match step {
                Step::Field(name) => {
                    list = name;
                    node.field(text, name)
                }
                Step::Item(index) => node.items().get(*index),
            };
            let words = match step {
                Step::Field(name) => (*name).to_owned(),
                Step::Item(index) => owner(next, text, list, *index),
            };
            let is_list = next.is_some_and(|n| matches!(n.shape, Shape::List(_)));
            if last || !is_list {
                owners.push(words);
            }
            let Some(next) = next else { break };
            node = next;
            let scalar = matches!(node.shape, Shape::Text | Shape::Word);
            place.value = (last && scalar).then(|| brief(node.slice(text)));
        }
        owners.reverse();
        place.words = owners.join(" of ");
        place.at = node.span.start;
        place
    }
}

/// An item of a list in words: by its name where it has one.
fn owner(item: Option<&Node>, text: &str, list: &str, index: usize) -> String {
    let of = |field: &str| item.and_then(|n| n.field(text, field)).and_then(|n| n.string(text));
    let (kind, name) = match list {
        "stocks" => ("stock", of("name")),
        "activities" => ("activity", of("name")),
        "base" => ("base use", of("name")),
        "places" => ("place", of("name")),
        "changes" => ("the change from", of("from")),
        "panels" => ("panel", None),
        other => (other, of("stock")),
    };
    match name {
        Some(name) => format!("{kind} \"{}\"", brief(&name)),
        None => format!("{kind} {}", index + 1),
    }
}
