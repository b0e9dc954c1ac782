//! One word of a line.

use super::lexicon::{Hedge, Tense};

/// How a word was written, or what the table of words says of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Kind {
    /// Bare.
    Plain,
    /// Between double quotes: a name taken as it stands.
    Quoted,
    /// Between parentheses: a remark on the thing before it.
    Remark,
    /// All that follows `note`.
    Text,
    /// Takes a meaning back, or blurs it.
    Hedge(Hedge),
    /// Not clear: to be asked back with these words.
    Ask(&'static str),
}

/// What stood right behind a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(in crate::logline) enum Mark {
    /// Nothing that matters.
    #[default]
    Nothing,
    /// A colon.
    Colon,
}

/// One word and its place in the line, counted in characters.
#[derive(Debug, Clone)]
pub(in crate::logline) struct Word<'a> {
    /// As it was written.
    pub text: &'a str,
    /// As it is read: in lower case, a number with a decimal point.
    pub low: String,
    pub start: usize,
    pub end: usize,
    pub kind: Kind,
    pub mark: Mark,
    /// Which way it looks in time.
    pub tense: Tense,
    /// What was left out right before it: `had`, `did`.
    pub lead: Option<&'a str>,
}

/// The words as the grammar has them, in one text.
pub(in crate::logline) fn text(words: &[Word]) -> String {
    words.iter().map(|w| w.low.as_str()).collect::<Vec<_>>().join(" ").replace(" %", "%")
}

/// The words as they were written, in one text.
pub(in crate::logline) fn as_written(words: &[Word]) -> String {
    words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ")
}

impl<'a> Word<'a> {
    /// A word that stands in no line.
    pub(in crate::logline) fn bare(text: &'a str) -> Word<'a> {
        let (low, kind, mark) = (text.to_string(), Kind::Plain, Mark::Nothing);
        Word { text, low, start: 0, end: 0, kind, mark, tense: Tense::Behind, lead: None }
    }

    /// As it was written, or the word of the grammar that stands for what was written.
    pub(in crate::logline) fn said(&self) -> &str {
        if self.text.to_lowercase() == self.low { self.text } else { &self.low }
    }

    /// Whether this is the bare word `low`.
    pub fn is(&self, low: &str) -> bool {
        self.kind == Kind::Plain && self.low == low
    }

    /// Whether this is one of these bare words, which blanks part.
    pub(in crate::logline) fn is_any(&self, words: &str) -> bool {
        words.split(' ').any(|word| self.is(word))
    }

    /// Whether it was written so, whatever it stands for.
    pub(in crate::logline) fn is_said(&self, text: &str) -> bool {
        self.text.eq_ignore_ascii_case(text)
    }

    /// Whether it begins as a number does.
    pub(in crate::logline) fn is_numeric(&self) -> bool {
        let digits = self.low.trim_start_matches(['-', '+', '.']);
        self.kind == Kind::Plain && digits.starts_with(|c: char| c.is_ascii_digit())
    }
}
