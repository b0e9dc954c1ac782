//! Words by the rows of the table that they stand in.

use super::lexicon::lexicon;
use super::word::Word;

/// Whether words say nothing.
pub(in crate::logline) fn is_filler(words: &[&str]) -> bool {
    let mut at = 0;
    while at < words.len() {
        match lexicon().begins("filler", &words[at..]) {
            0 => return false,
            taken => at += taken,
        }
    }
    true
}

/// Whether a word says nothing by itself.
pub(in crate::logline) fn is_small(word: &str) -> bool {
    is_of("filler unsure people subject aside", word) || lexicon().knows(word)
}

pub(in crate::logline) fn lows(text: &str) -> Vec<String> {
    text.split_whitespace().map(low).filter(|w| !w.is_empty()).collect()
}

/// A word in small letters without the marks at its ends; empty where it is nothing but marks.
pub(in crate::logline) fn low(word: &str) -> String {
    word.trim_matches(|c: char| !c.is_alphanumeric()).to_lowercase().replace('’', "'")
}

/// Whether a word stands in one of these rows, which blanks part.
pub(in crate::logline) fn is_of(rows: &str, word: &str) -> bool {
    lexicon().has(rows, word)
}

pub(in crate::logline) fn stem(word: &str) -> &str {
    word.strip_suffix("'s").unwrap_or(word)
}

pub(in crate::logline) fn is_digit(word: &Word) -> bool {
    has_digit(&word.low)
}

pub(in crate::logline) fn has_digit(text: &str) -> bool {
    text.contains(|c: char| c.is_ascii_digit())
}

pub(in crate::logline) fn refs(words: &[String]) -> Vec<&str> {
    words.iter().map(String::as_str).collect()
}
