//! The one place that writes to standard output and standard error.

use super::failure::Failure;
use crate::text::{fit, safe};
use std::io::{self, Write};

/// Columns that every terminal has.
const COLUMNS: usize = 80;

/// Two checked writers. A reader that goes away (`waystock journal | head -1`) ends output
/// quietly; any other error is a failure with its own exit code.
pub struct Output<'a> {
    out: &'a mut dyn Write,
    err: &'a mut dyn Write,
    failed: Option<io::Error>,
    gone: bool,
    saved: bool,
}

impl<'a> Output<'a> {
    /// Writes results to `out` and messages to `err`.
    pub fn new(out: &'a mut dyn Write, err: &'a mut dyn Write) -> Output<'a> {
        Output { out, err, failed: None, gone: false, saved: false }
    }

    /// One line of result; control characters in it are made visible.
    pub fn line(&mut self, text: &str) {
        let text = safe::safe(text);
        self.raw(text.as_bytes());
        self.raw(b"\n");
    }

    /// One sentence on lines that any terminal shows whole, each behind `indent`; a break is a
    /// blank to a reader.
    pub fn wrapped(&mut self, indent: &str, text: &str) {
        for line in fit::wrap(text, COLUMNS - indent.len()) {
            self.line(&format!("{indent}{line}"));
        }
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

    /// One line of message. Nothing can be said about a standard error that does not work.
    pub fn say(&mut self, text: &str) {
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
