//! One line of plain words, and the entries that it means: `2 showers, dishes, fresh 60%`.
//!
//! A small closed grammar of our own, and a table of everyday words that are brought to it. What a
//! person plainly means is understood; what is unclear is asked back, with lines that would be
//! saved; nothing is understood as something else. Things are separated by commas, `and`, or
//! nothing; all of the line is understood, or none of it. A time holds for the thing that it
//! stands at; at the start of the line, or before a colon, for what follows. The rules for times
//! are in `moment`, those for things in `thing` and its neighbours:
//!
//! ```text
//! 2 showers            shower 4 min        dishes twice        worked 3 hours
//! fresh 60%            grey 33 L           fresh 3/4           liquids half    fresh 50% in quarters
//! filled fresh         added 20 L diesel   filled fresh to 80% swapped the gas bottle
//! emptied grey         emptied grey 30 L   emptied half the grey   emptied liquids to 10%
//! drove 1 h 30 min     drove 120 km        plugged in 6 h      charged 800 Wh from generator
//! camp Alder flats     arrived at Alder flats   camp at 55.1,-3.2   camp "Pitch 9, east"
//! aboard 4             2 guests until sunday    away until friday   2 guests tonight
//! day closed           note free text to the end of the line
//! outlook tomorrow 3 to 11 C, cloud 60%, sun 2.4 kWh
//! emptied grey (slow drain)        a remark in parentheses goes with the thing before it
//! ```
//!
//! The way of a line: `words` cuts it, `speech` brings each piece to the grammar's words, `time`
//! takes its times off, `listing` gives back what a list leaves out, `split` and `thing` read what
//! is left, `doubt` compares readings with the journal, and `instead` finds a way out of a line
//! that is asked back.
//!
//! Pure: the clock, the zone and the rig are arguments. [`parse`] never panics and takes
//! microseconds, since the log line calls it at every keystroke.

mod amounts;
mod complete;
mod doubt;
mod echo;
mod help;
mod instead;
mod level;
mod lexicon;
mod listing;
mod moment;
mod offer;
mod people;
mod reader;
mod schedule;
mod service;
mod speech;
mod split;
mod thing;
mod time;
mod told;
mod travel;
mod uses;
mod vocabulary;
mod weather;
mod words;

pub use complete::complete;
pub use echo::{consequences, echo};
pub use help::help;
pub use offer::{Offer, offer};
pub use vocabulary::Vocabulary;
pub(crate) use vocabulary::{in_activity_unit, in_stock_unit};

use crate::domain::entry::Event;
use crate::domain::time::Moment;
use std::fmt;
use words::Word;

/// One thing that the line said.
#[derive(Debug, Clone, PartialEq)]
pub struct Understood {
    /// When it happened; after now, it is a plan.
    pub at: Moment,
    /// What happened.
    pub event: Event,
    /// The remark that stood with it in parentheses.
    pub note: Option<String>,
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
    pub instead: Vec<String>,
    /// How the line could be mended; apart, so that results stay small.
    mend: Box<Mend>,
}

/// What could stand in a line instead.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
struct Mend {
    /// What could stand in place of the words, or of more around them.
    swaps: Vec<Swap>,
    /// The characters of the thing that the words belong to.
    thing: Option<(usize, usize)>,
}

/// Words that could be written instead.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Swap {
    /// In place of the words concerned.
    Word(String),
    /// In place of their whole thing.
    Thing(String),
    /// In place of the line.
    Line(String),
}

impl Misread {
    fn new(start: usize, end: usize, word: &str, message: impl Into<String>) -> Misread {
        let word = word.to_string();
        let (nearest, instead, mend) = (Vec::new(), Vec::new(), Box::default());
        Misread { start, end, word, message: message.into(), nearest, instead, mend }
    }

    fn at(word: &Word, message: impl Into<String>) -> Misread {
        Misread::new(word.start, word.end, word.text, message)
    }

    /// About a run of words, of which there is at least one.
    fn over(words: &[Word], message: impl Into<String>) -> Misread {
        let said = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
        let start = words.iter().map(|w| w.start).min().unwrap_or_default();
        let end = words.iter().map(|w| w.end).max().unwrap_or_default();
        Misread::new(start, end, &said, message)
    }

    /// The same, with a text that would do in place of the words.
    fn write(mut self, text: impl Into<String>) -> Misread {
        self.mend.swaps.push(Swap::Word(text.into()));
        self
    }

    /// The same, with a text that would do in place of their whole thing.
    fn write_piece(mut self, text: impl Into<String>) -> Misread {
        self.mend.swaps.push(Swap::Thing(text.into()));
        self
    }

    /// The same, with a line that would do.
    fn write_line(mut self, text: impl Into<String>) -> Misread {
        self.mend.swaps.push(Swap::Line(text.into()));
        self
    }

    fn near<'w>(mut self, word: &str, known: impl Iterator<Item = &'w str>) -> Misread {
        self.nearest = Vocabulary::nearest(word, known);
        self
    }
}

impl fmt::Display for Misread {
    /// `shwer: no such word here; near: shower, showers`
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

/// What `words` say, in the order in which they say it, at `now` where they name no time.
///
/// # Errors
///
/// The first words that are not clear, with what would be; nothing is understood in part.
pub fn parse(
    words: &str,
    vocabulary: &Vocabulary,
    now: Moment,
) -> Result<Vec<Understood>, Misread> {
    schedule::understand(words, vocabulary, now).map_err(|mut misread| {
        misread.instead = instead::ways(words, &misread, vocabulary, now);
        let length = misread.end - misread.start;
        let as_written: String = words.chars().skip(misread.start).take(length).collect();
        if !as_written.contains(char::is_control) {
            misread.word = as_written;
        }
        misread
    })
}
