//! Reads `rig.ron`: text in, a rig that can be trusted out, or everything that is wrong with it.

use super::block::Block;
use super::fault_words::brief;
use super::range::Range;
pub use super::reader::{FaultKind, RigFault};
use super::reader::{Reader, Unlocated};
use super::rig_record::{self, FORMAT};
use super::ron_text::{Node, ScanFault, leading_format, position, scan};
use super::value::Value;
use crate::domain::Rig;
use crate::domain::fault::{Fault, Path, PathStep, check};
use std::path::Path as FilePath;

/// More than any rig needs; keeps a wrong file from filling the memory.
const LARGEST_BYTES: usize = 1 << 20;

/// The rig that `text`, the content of `file`, describes.
///
/// # Errors
/// Everything that is wrong, in the order of the text. A fault of form (a bracket that is not
/// closed) stands alone, as what follows it cannot be read.
pub fn parse(text: &str, file: &FilePath) -> Result<Rig, Vec<RigFault>> {
    let rig = read(text, file, FORMAT, |root| {
        let (node, reader) = (root.node, root.reader);
        let rig = Block::read(root, rig_record::rig);
        if let (Some(rig), false) = (&rig, reader.lost.get()) {
            check(rig).into_iter().for_each(|fault| reader.note(in_file(fault, node, reader.text)));
        }
        rig
    });
    // What is no struct was noted.
    rig.and_then(|rig| rig.ok_or_else(Vec::new))
}

/// What `make` makes of `text`, the content of `file` in a form that is `known`.
///
/// # Errors
/// Everything that is wrong, in the order of the text; a fault of form stands alone.
pub(super) fn read<T>(
    text: &str,
    file: &FilePath,
    known: u32,
    make: impl FnOnce(Value) -> T,
) -> Result<T, Vec<RigFault>> {
    let text = without_mark(text);
    let root = open(text, file, known).map_err(|fault| vec![*fault])?;
    let reader = Reader::new(text);
    let made = make(Value::root(&root, &reader));
    let faults = reader.locate(&root, file);
    if faults.is_empty() { Ok(made) } else { Err(faults) }
}

/// What `make` makes of each struct in a list, the whole of a file (the field, and what one of them
/// is called), whose names differ.
pub(super) fn each_named<T>(
    root: Value,
    (list, one): (&'static str, &str),
    make: impl Fn(&mut Block) -> Option<T>,
    name: impl Fn(&T) -> &str,
) -> Vec<T> {
    let read = |block: &mut Block| {
        block.number_needed("format", Range::FromZero);
        block.need(list, &format!("a list of {list} in [ ]"));
        let mut all: Vec<T> = Vec::new();
        for value in block.list(list) {
            let Some(made) = Block::read(value.clone(), &make).flatten() else { continue };
            if !name(&made).is_empty() && all.iter().any(|known| name(known) == name(&made)) {
                let expected = format!("a name that no other {one} has");
                value.reader.wrong(&value.path.field("name"), "", expected);
            }
            all.push(made);
        }
        all
    };
    Block::read(root, read).unwrap_or_default()
}

/// `text` without the mark that some editors put before the first character.
pub(super) fn without_mark(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

/// The scanned file, if it is RON and no newer than `known`.
pub(super) fn open(text: &str, file: &FilePath, known: u32) -> Result<Node, Box<RigFault>> {
    let fault = |kind, at, field: &str, found: String, expected: String| {
        let (line, column) = position(text, at);
        let (file, field) = (file.to_owned(), field.to_owned());
        Box::new(RigFault { kind, file, line, column, field, found, expected })
    };
    if text.len() > LARGEST_BYTES {
        let found = format!("{} bytes", text.len());
        let expected = format!("at most {LARGEST_BYTES} bytes");
        return Err(fault(FaultKind::Mistake, 0, "", found, expected));
    }
    let newer = |at, found: &str| {
        let expected = format!("at most {known}: this file needs a newer waystock");
        fault(FaultKind::Newer, at, "format", brief(found), expected)
    };
    let root = match scan(text) {
        Ok(root) => root,
        // A later version may use a form that this one cannot even scan.
        Err(ScanFault { at, found, expected }) => {
            return Err(match leading_format(text) {
                Some(number) if number > f64::from(known) => newer(0, &number.to_string()),
                _ => fault(FaultKind::Mistake, at, "", found, expected),
            });
        }
    };
    let Some(format) = root.field(text, "format") else { return Ok(root) };
    let (at, word) = (format.span.start, format.slice(text));
    match ron::from_str::<f64>(word) {
        Ok(number) if number > f64::from(known) => Err(newer(at, word)),
        Ok(number) if number >= 1.0 && number.fract() == 0.0 => Ok(root),
        _ => Err(fault(FaultKind::Mistake, at, "format", brief(word), known.to_string())),
    }
}

/// A finding of the domain by the names of the file, which writes `moves` as two lists, and may leave
/// out the list of a single source of heat.
fn in_file(mut fault: Fault, root: &Node, text: &str) -> Unlocated {
    let mut steps = fault.path.steps().to_vec();
    let moves = steps.iter().position(|step| *step == PathStep::Field("moves"));
    if let Some((list, PathStep::Item(index))) = moves.map(|at| (at, steps[at + 1])) {
        let owner = steps[..list].iter().try_fold(root, |node, step| node.at(text, step));
        let takes = owner.and_then(|owner| owner.field(text, "takes"));
        let (name, index) = match index.checked_sub(takes.map_or(0, |takes| takes.items().len())) {
            None => ("takes", index),
            Some(index) => ("gives", index),
        };
        (steps[list], steps[list + 1]) = (PathStep::Field(name), PathStep::Item(index));
    }
    let sources = steps.iter().position(|step| *step == PathStep::Field("sources"));
    if let Some(list) = sources {
        let owner = steps[..list].iter().try_fold(root, |node, step| node.at(text, step));
        if owner.is_some_and(|owner| owner.field(text, "sources").is_none()) {
            steps.drain(list..list + 2);
        }
    }
    fault.path = Path::from(steps);
    Unlocated { fault, at: None, stray: false, follows: false }
}

#[cfg(test)]
mod tests;
