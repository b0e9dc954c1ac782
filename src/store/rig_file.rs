//! Reads `rig.ron`: text in, a rig that can be trusted out, or everything that is wrong with it.

pub use super::reader::{FaultKind, RigFault};
use super::reader::{Reader, Unlocated, Value, brief};
use super::rig_record::{self, FORMAT};
use super::ron_text::{Node, ScanFault, leading_format, position, scan};
use crate::domain::fault::{Fault, Path, PathStep, check};
use crate::domain::rig::Rig;
use std::path::Path as FilePath;

/// More than any rig needs; keeps a wrong file from filling the memory.
const LARGEST_BYTES: usize = 1 << 20;

/// The rig that `text`, the content of `file`, describes.
///
/// # Errors
/// Everything that is wrong, in the order of the text. A fault of form (a bracket that is not
/// closed) stands alone, as what follows it cannot be read.
pub fn parse(text: &str, file: &FilePath) -> Result<Rig, Vec<RigFault>> {
    let text = without_mark(text);
    let root = open(text, file, FORMAT).map_err(|fault| vec![*fault])?;
    let reader = Reader::new(text);
    let rig = rig_record::rig(Value::root(&root, &reader));
    if let (Some(rig), false) = (&rig, reader.is_lost()) {
        check(rig).into_iter().for_each(|fault| reader.note(in_file(fault, &root, text)));
    }
    let faults = reader.locate(&root, file);
    match rig {
        Some(rig) if faults.is_empty() => Ok(rig),
        _ => Err(faults),
    }
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

/// A finding of the domain by the names of the file, which writes `moves` as two lists.
fn in_file(fault: Fault, root: &Node, text: &str) -> Unlocated {
    let mut steps: Vec<PathStep> = Vec::new();
    let mut node = Some(root);
    let mut rest = fault.path.steps().iter().copied().peekable();
    while let Some(step) = rest.next() {
        let step = match (step, rest.peek()) {
            (PathStep::Field("moves"), Some(&PathStep::Item(index))) => {
                rest.next();
                let takes = node.and_then(|n| n.field(text, "takes"));
                let taken = takes.map_or(0, |n| n.items().len());
                let (list, index) = match index.checked_sub(taken) {
                    None => ("takes", index),
                    Some(index) => ("gives", index),
                };
                steps.push(PathStep::Field(list));
                node = node.and_then(|n| n.field(text, list));
                PathStep::Item(index)
            }
            (step, _) => step,
        };
        node = match step {
            PathStep::Field(name) => node.and_then(|n| n.field(text, name)),
            PathStep::Item(index) => node.and_then(|n| n.items().get(index)),
        };
        steps.push(step);
    }
    Unlocated {
        fault: Fault { path: Path::from(steps), ..fault },
        at: None,
        stray: false,
        follows: false,
    }
}

#[cfg(test)]
mod tests;
