//! The one place that writes to standard output and standard error.

use super::{Failure, json};
use crate::text::looks::Hours;
use crate::text::{fit, safe};
use serde_json::Value;
use std::io::{self, IsTerminal, Write};

/// Columns that every terminal has.
pub(super) const COLUMNS: usize = 80;
/// Fewer columns than this break words, not lines.
const NARROW: usize = 20;

/// Columns of the terminal that messages go to; `None` where they go elsewhere, and are not broken.
pub(super) fn columns_of_messages() -> Option<usize> {
    columns_of(std::io::stderr().is_terminal())
}

fn columns_of(is_terminal: bool) -> Option<usize> {
    let (columns, _) = is_terminal.then(|| crossterm::terminal::size().ok())??;
    Some(usize::from(columns)).filter(|columns| *columns >= NARROW)
}

/// A line broken between words into lines of at most so many columns, each as far in as the line
/// was; a longer word stays whole.
pub(super) fn broken(text: &str, columns: Option<usize>) -> Vec<String> {
    let Some(columns) = columns.filter(|columns| fit::width(text) > *columns) else {
        return vec![text.to_string()];
    };
    let indent: String = text.chars().take_while(|c| *c == ' ').collect();
    let lines = fit::broken(text, columns.saturating_sub(indent.len()).max(1));
    lines.into_iter().map(|line| indent.clone() + &line).collect()
}

/// Two checked writers. A reader that goes away (`waystock journal | head -1`) ends output
/// quietly; any other error is a failure with its own exit code.
pub struct Output<'a> {
    out: &'a mut dyn Write,
    err: &'a mut dyn Write,
    /// Columns of the terminals that both go to; `None` elsewhere, where lines are never broken.
    columns: (Option<usize>, Option<usize>),
    hours: Hours,
    failed: Option<io::Error>,
    gone: bool,
    saved: bool,
}

impl<'a> Output<'a> {
    /// Writes results to `out` and messages to `err`.
    pub fn new(out: &'a mut dyn Write, err: &'a mut dyn Write) -> Output<'a> {
        let hours = Hours::Day;
        Output { out, err, columns: (None, None), hours, failed: None, gone: false, saved: false }
    }

    /// The same, which breaks lines between words where they go to a terminal.
    pub fn to_terminals(self) -> Output<'a> {
        Output { columns: (columns_of(io::stdout().is_terminal()), columns_of_messages()), ..self }
    }

    /// From now on hours are written so.
    pub fn write_hours(&mut self, hours: Hours) {
        self.hours = hours;
    }

    /// Columns that results may take: those of the terminal, at most 80.
    pub(super) fn columns(&self) -> usize {
        self.columns.0.map_or(COLUMNS, |own| own.min(COLUMNS))
    }

    /// One line of result; control characters in it are made visible.
    pub fn line(&mut self, text: &str) {
        for line in broken(&self.hours.written(&safe::safe(text)), self.columns.0) {
            self.raw(line.as_bytes());
            self.raw(b"\n");
        }
    }

    /// Lines of result.
    pub fn lines<L: AsRef<str>>(&mut self, lines: impl IntoIterator<Item = L>) {
        lines.into_iter().for_each(|line| self.line(line.as_ref()));
    }

    /// A whole answer as JSON.
    pub(super) fn json(&mut self, value: &Value) {
        self.raw(json::text(value).as_bytes());
    }

    /// One sentence on lines that any terminal shows whole, each behind `indent`; a break is a
    /// blank to a reader.
    pub fn wrapped(&mut self, indent: &str, text: &str) {
        let columns = self.columns().saturating_sub(indent.len()).max(NARROW);
        for line in fit::wrap(&self.hours.written(text), columns) {
            self.line(&format!("{indent}{line}"));
        }
    }

    /// The same for each of several texts, or for one that there may be.
    pub(super) fn all_wrapped<T: AsRef<str>>(
        &mut self,
        indent: &str,
        texts: impl IntoIterator<Item = T>,
    ) {
        texts.into_iter().for_each(|text| self.wrapped(indent, text.as_ref()));
    }

    /// Text that is written as it is: JSON and exchange files.
    pub fn raw(&mut self, bytes: &[u8]) {
        if self.gone || self.failed.is_some() {
            return;
        }
        match self.out.write_all(bytes) {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => self.gone = true,
            Err(error) => self.failed = Some(error),
            Ok(()) => {}
        }
    }

    /// One message, broken between words where a terminal shows it. Nothing can be said about a
    /// standard error that does not work.
    pub fn say(&mut self, text: &str) {
        for line in broken(&self.hours.written(&safe::safe(text)), self.columns.1) {
            let _ = writeln!(self.err, "{line}");
        }
    }

    /// One line of message that is never broken: marks stand under its words.
    pub(super) fn say_whole(&mut self, text: &str) {
        let _ = writeln!(self.err, "{}", safe::safe(text));
    }

    /// From now on something is saved, which a failure to say so does not undo.
    pub fn saved(&mut self) {
        self.saved = true;
    }

    /// Flushes; fails if anything could not be written.
    pub fn finish(&mut self) -> Result<(), Failure> {
        match self.out.flush() {
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
                self.failed.get_or_insert(error);
            }
            _ => {}
        }
        match self.failed.take() {
            Some(error) => {
                let failure = Failure::new(74, format!("cannot write the result: {error}"));
                Err(match self.saved {
                    true => failure.hint("Saved all the same: `waystock journal` shows it."),
                    false => failure,
                })
            }
            None => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::broken;

    #[test]
    fn messages_break_between_words_and_nowhere_else() {
        let text = "  waystock: maps.ron: found none, expected some";
        assert_eq!(broken(text, None), [text]);
        assert_eq!(
            broken(text, Some(24)),
            ["  waystock: maps.ron:", "  found none, expected", "  some"]
        );
        // A path that is longer than the terminal is wide can still be copied.
        assert_eq!(
            broken("in /a/very/long/path now", Some(10)),
            ["in", "/a/very/long/path", "now"]
        );
    }
}
