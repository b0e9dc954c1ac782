//! Words that short answers are made of, names for one thing, and what was not done.

use super::everyday::telling::undone;
use super::grammar::prepared;
use super::grammar::scene::Scene;
use super::lexis::lexicon::{Sense, lexicon};
use super::lexis::vocabulary::Vocabulary;
use crate::domain::Moment;

/// Whether `text` is a phrase of the row `row`, in any case.
pub fn is_of(row: &str, text: &str) -> bool {
    let text = text.to_lowercase();
    lexicon().is_one(row, &text.split_whitespace().collect::<Vec<_>>())
}

/// Whether `text` begins a phrase of the row `row`.
pub fn begins(row: &str, text: &str) -> bool {
    lexicon().all(row).any(|phrase| phrase.starts_with(text))
}

/// Whether `text` begins a word or a phrase that the log line knows.
pub fn begins_any(text: &str) -> bool {
    let text = text.to_lowercase();
    lexicon().phrases().any(|phrase| phrase.starts_with(&text))
}

/// All words for the same thing of a van as `word`; none where the table has no such thing.
pub fn same(word: &str) -> &'static [&'static str] {
    let word = word.trim().to_lowercase();
    let mut rows = lexicon().same.iter();
    rows.find(|row| row.contains(&word.as_str())).map_or(&[], Vec::as_slice)
}

/// What a word of the table stands for: `hookup` for `shore`, `toilet` for `liquids` and `solids`; none
/// where it is the thing itself, or unknown.
pub fn meanings(word: &str) -> Vec<&'static str> {
    match lexicon().sense(&word.trim().to_lowercase()) {
        Some(Sense::Say(meaning, _)) => vec![meaning],
        Some(Sense::Ask(ways)) => {
            ways.split(" | ").map(|way| way.trim_matches(['{', '}'])).collect()
        }
        _ => Vec::new(),
    }
}

/// The activities of which a note says that there was none: `no showers today`.
pub fn none_of(note: &str, known: &Vocabulary, now: Moment) -> Vec<String> {
    let Ok(clock) = prepared::clock(known, now) else { return Vec::new() };
    undone(note, &Scene::now(known, &clock))
}

/// A number in words: "two", "a couple".
pub fn number(text: &str) -> Option<f64> {
    match lexicon().sense(&text.trim().to_lowercase()) {
        Some(Sense::Number(digits)) => digits.parse().ok(),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_short_answers_are_rows_of_the_table() {
        let rows = [("two", Some(2.0)), ("Twelve", Some(12.0)), ("a couple", Some(2.0))];
        for (word, wanted) in rows.into_iter().chain([("zero", Some(0.0)), ("many", None)]) {
            assert_eq!(number(word), wanted, "{word}");
        }
        assert!(same("Propane").contains(&"gas") && same("harp").is_empty());
        assert!(
            begins_any("plug") && begins_any("Dump") && begins_any("we") && !begins_any("vdsx")
        );
        assert_eq!(meanings("Hookup"), ["shore"]);
        assert_eq!(meanings("cassette"), ["liquids", "solids"]);
        assert!(meanings("harp").is_empty());
        assert!(is_of("yes", "Yes ") && is_of("none", "none") && !is_of("none", "nine"));
    }
}
