//! One line of plain words, and the entries that it means: `2 showers, dishes, fresh 60%`.
//!
//! A small closed grammar of our own. Things are separated by commas (or `and`); all of the line
//! is understood, or none of it. A time that begins or ends the line holds for all of it, a time
//! inside one thing only for that thing; what one leaves open (the day, the hour) the other
//! fills in. The rules for times are in `time`, those for things in `thing` and its neighbours:
//!
//! ```text
//! 2 showers            shower 4 min        dishes              work 3 h
//! fresh 60%            grey 33 L           fresh 3/4           liquids half    fresh 50% in quarters
//! filled fresh         filled diesel 20 L  filled fresh to full    filled fresh to 80%
//! emptied grey         emptied grey 30 L   emptied grey about half emptied liquids to 10%
//! drove 1 h 30 min     drove 120 km        shore 6 h           charged 800 Wh from generator
//! camp Alder flats     camp at 55.1,-3.2   camp "Pitch 9, east"
//! aboard 4             2 guests until sunday    away until friday
//! day closed           note free text to the end of the line
//! outlook tomorrow 3 to 11 C, cloud 60%, sun 2.4 kWh
//! emptied grey (slow drain)        a remark in parentheses goes with the thing before it
//! ```
//!
//! Pure: the clock, the zone and the rig are arguments. [`parse`] never panics and takes
//! microseconds, since the log line calls it at every keystroke.

mod amounts;
mod complete;
mod count;
mod echo;
mod schedule;
mod service;
mod thing;
mod time;
mod travel;
mod vocabulary;
mod weather;
mod words;

pub use complete::complete;
pub use echo::echo;
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
}

impl Misread {
    fn new(start: usize, end: usize, word: &str, message: impl Into<String>) -> Misread {
        let word = word.to_string();
        Misread { start, end, word, message: message.into(), nearest: Vec::new() }
    }

    fn at(word: &Word, message: impl Into<String>) -> Misread {
        Misread::new(word.start, word.end, word.text, message)
    }

    /// About a run of words, of which there is at least one.
    fn over(words: &[Word], message: impl Into<String>) -> Misread {
        let said = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
        let start = words.first().map_or(0, |w| w.start);
        let end = words.last().map_or(0, |w| w.end);
        Misread::new(start, end, &said, message)
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
/// The first word that makes no sense, with what would; nothing is understood in part.
pub fn parse(
    words: &str,
    vocabulary: &Vocabulary,
    now: Moment,
) -> Result<Vec<Understood>, Misread> {
    schedule::understand(words, vocabulary, now).map_err(|mut misread| {
        let length = misread.end - misread.start;
        let as_written: String = words.chars().skip(misread.start).take(length).collect();
        if !as_written.contains(char::is_control) {
            misread.word = as_written;
        }
        misread
    })
}
