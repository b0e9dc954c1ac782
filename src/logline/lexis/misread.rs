//! What a line said, or where it stops making sense.

use super::vocabulary::Vocabulary;
use super::word::{Word, as_written};
use std::fmt;

pub use crate::domain::entry::Happened as Understood;

/// A whole line in place of one that was asked back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// The line, which would be saved as it stands.
    pub line: String,
    /// What one key may write: the line without its invented numbers, and the place of the cursor
    /// in it, in characters from 0. `None` where what is left would be saved as something else.
    pub typed: Option<(String, usize)>,
    /// What an invented number stands for, in words; `None` where every number was said.
    pub(in crate::logline) lacks: Option<&'static str>,
}

impl Offer {
    /// A line in which nothing is invented.
    pub(in crate::logline) fn whole(line: String) -> Offer {
        let typed = Some((line.clone(), line.chars().count()));
        Offer { line, typed, lacks: None }
    }

    /// Whether it holds only what was said.
    pub fn is_whole(&self) -> bool {
        self.lacks.is_none()
    }

    /// `Write fresh, then the level: fresh 60%`, with `quote` around what is to be written; `None`
    /// where the line can be taken as it stands.
    pub fn way(&self, quote: &str) -> Option<String> {
        let lacks = self.lacks?;
        let line = &self.line;
        let before: Option<String> =
            self.typed.as_ref().map(|(text, cursor)| text.chars().take(*cursor).collect());
        Some(match before {
            Some(before) if before.trim().is_empty() => {
                format!("Write {lacks} first: {quote}{line}{quote}")
            }
            Some(before) => {
                format!("Write {quote}{}{quote}, then {lacks}: {quote}{line}{quote}", before.trim())
            }
            None => format!("Write {lacks} as well: {quote}{line}{quote}"),
        })
    }
}

/// Where a line stops making sense, and what would.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misread {
    /// First character concerned, counted in characters from 0.
    pub start: usize,
    /// The character after the last one concerned.
    pub end: usize,
    /// The words concerned, as written; empty where something is missing.
    pub word: String,
    /// What is wrong with them, and what would be right.
    pub message: String,
    /// Known words that are near, nearest first; at most three.
    pub nearest: Vec<String>,
    /// Whole lines that are like this one and would be saved, nearest first; at most three.
    pub instead: Vec<Offer>,
    /// How the line could be mended; apart, so that results stay small.
    pub(in crate::logline) mend: Box<Mend>,
}

/// What could stand in a line instead.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(in crate::logline) struct Mend {
    pub swaps: Vec<Swap>,
    /// The characters of the thing that the words belong to, with its times.
    pub thing: Option<(usize, usize)>,
    /// Whether the swaps say all that was said.
    pub told: bool,
    /// Whether they hold only where the thing stands by itself.
    pub alone: bool,
    /// Whether it asks if a time holds for two things.
    pub both: bool,
    /// Whether each of the swaps may be meant, so that one of them alone is no help.
    pub either: bool,
}

/// Words that could be written instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::logline) struct Swap {
    /// In place of these characters; `None` for all of the thing but its times.
    pub over: Option<(usize, usize)>,
    pub text: String,
    /// Whether that is what was meant, beyond doubt.
    pub sure: bool,
}

impl Swap {
    fn open(over: Option<(usize, usize)>, text: String) -> Swap {
        Swap { over, text, sure: false }
    }
}

/// What an example stands between, in words that could be written: no line that is read holds these.
pub(in crate::logline) const EXAMPLE: [char; 2] = ['\u{1}', '\u{2}'];

/// What is said of words that are no grammar, where nothing better is known to be said of them.
pub(in crate::logline) const LEFT_OVER: &str = "not understood here: a comma separates things";
pub(in crate::logline) const UNKNOWN: &str = "no such activity, stock or word here";
pub(in crate::logline) const UNDONE: &str = "not clear if this was done: write only what was done";
pub(in crate::logline) const GONE: &str = "how much of what is gone? Write `lost` with both";
pub(in crate::logline) const FORGOTTEN: &str =
    "forgotten to do, or to write? Write only what was done";
pub(in crate::logline) const OF_WHAT: &str = "of what? An activity or a stock goes with an amount";

/// A number that nobody said, in words that could be written.
pub(in crate::logline) fn example(number: &str) -> String {
    format!("{}{number}{}", EXAMPLE[0], EXAMPLE[1])
}

impl Misread {
    pub(in crate::logline) fn new(
        start: usize,
        end: usize,
        word: &str,
        message: impl Into<String>,
    ) -> Misread {
        let word = word.to_string();
        let (nearest, instead, mend) = (Vec::new(), Vec::new(), Box::default());
        Misread { start, end, word, message: message.into(), nearest, instead, mend }
    }

    pub(in crate::logline) fn at(word: &Word, message: impl Into<String>) -> Misread {
        Misread::new(word.start, word.end, word.text, message)
    }

    /// About a run of words, of which there is at least one.
    pub(in crate::logline) fn over(words: &[Word], message: impl Into<String>) -> Misread {
        let said = as_written(words);
        let start = words.iter().map(|w| w.start).min().unwrap_or_default();
        let end = words.iter().map(|w| w.end).max().unwrap_or_default();
        Misread::new(start, end, &said, message)
    }

    /// The same, of where its words stand in `line`, without what could be written instead.
    pub(in crate::logline) fn in_place(&self, line: &str) -> Option<Misread> {
        let at = line.find(self.word.as_str()).filter(|_| !self.word.is_empty())?;
        let start = line[..at].chars().count();
        let mut misread = Misread::new(start, start + self.word.chars().count(), &self.word, "");
        (misread.message, misread.nearest) = (self.message.clone(), self.nearest.clone());
        Some(misread)
    }

    /// Whether it says of its words no more than that they are no grammar.
    pub(in crate::logline) fn is_vague(&self) -> bool {
        let known =
            [LEFT_OVER, UNKNOWN, UNDONE, GONE, FORGOTTEN, OF_WHAT].contains(&self.message.as_str());
        known && self.nearest.is_empty()
    }

    /// The same, with a text that would do in place of the words.
    pub(in crate::logline) fn write(self, text: impl Into<String>) -> Misread {
        let over = (self.start, self.end);
        self.write_over(over, text)
    }

    /// The same, with a text that would do in place of their whole thing.
    pub(in crate::logline) fn write_piece(mut self, text: impl Into<String>) -> Misread {
        self.mend.swaps.push(Swap::open(None, text.into()));
        self
    }

    /// The same, with a text that would do in place of these characters.
    pub(in crate::logline) fn write_over(
        mut self,
        over: (usize, usize),
        text: impl Into<String>,
    ) -> Misread {
        self.mend.swaps.push(Swap::open(Some(over), text.into()));
        self
    }

    /// The same, where what could be written says all that was said.
    pub(in crate::logline) fn told(mut self) -> Misread {
        self.mend.told = true;
        self
    }

    /// The same, with each of these in place of their whole thing.
    pub(in crate::logline) fn write_all(self, texts: impl IntoIterator<Item = String>) -> Misread {
        texts.into_iter().fold(self, Misread::write_piece)
    }

    pub(in crate::logline) fn near<'w>(
        mut self,
        word: &str,
        known: impl Iterator<Item = &'w str>,
    ) -> Misread {
        self.nearest = Vocabulary::nearest(word, known);
        self
    }
}

impl fmt::Display for Misread {
    /// `showet: no such word here; near: shower, showers`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.word.is_empty() {
            write!(f, "{}: ", self.word)?;
        }
        f.write_str(&self.message)?;
        match self.nearest.is_empty() {
            true => Ok(()),
            false => write!(f, "; near: {}", self.nearest.join(", ")),
        }
    }
}

impl std::error::Error for Misread {}
