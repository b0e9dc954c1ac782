//! What the word under the cursor may become.

use super::lexis::lexicon::OPENERS;
use super::lexis::vocabulary::{Sort, Vocabulary, folded};

/// The most suggestions given.
const MOST: usize = 8;

/// Words that may stand in place of the one that ends at `cursor` (counted in characters), most
/// fitting first, at most eight; empty where nothing is known to fit. Each replaces the text
/// from the last space or comma before the cursor up to the cursor.
pub fn complete(words: &str, cursor: usize, vocabulary: &Vocabulary) -> Vec<String> {
    let before: String =
        words.chars().take(cursor.min(super::tokens::words::LONGEST_LINE)).collect();
    let piece = before.rsplit(',').next().unwrap_or_default();
    let ended = piece.ends_with(char::is_whitespace) || piece.is_empty();
    let mut said: Vec<String> = piece.split_whitespace().map(str::to_lowercase).collect();
    let partial = if ended { String::new() } else { said.pop().unwrap_or_default() };
    if said.iter().any(|w| w == "note") {
        return Vec::new();
    }
    let mut found: Vec<String> = Vec::new();
    for candidate in candidates(&said, vocabulary) {
        let Some(tail) = tail(&candidate, &said, &partial) else { continue };
        if !found.contains(&tail) {
            found.push(tail);
        }
        if found.len() == MOST {
            break;
        }
    }
    found
}

/// What of `candidate` is still to be written when `said` may hold its first words already.
fn tail(candidate: &str, said: &[String], partial: &str) -> Option<String> {
    let low = folded(candidate);
    let words: Vec<&str> = candidate.split_whitespace().collect();
    for written in (0..words.len().min(said.len() + 1)).rev() {
        let mut begun = said[said.len() - written..].join(" ");
        if written > 0 {
            begun.push(' ');
        }
        begun.push_str(partial);
        if (written > 0 || !partial.is_empty() || said.is_empty() || opens(said))
            && low.starts_with(&begun)
        {
            let tail = words[written..].join(" ");
            return (folded(&tail) != partial).then_some(tail);
        }
    }
    None
}

/// Whether a name follows the last word, so that it may be offered before its first letter.
fn opens(said: &[String]) -> bool {
    let last = said.last().map(String::as_str).unwrap_or_default();
    ["filled", "emptied", "camp", "from", "to"].contains(&last)
        || last.starts_with(|c: char| c.is_ascii_digit())
}

fn candidates(said: &[String], vocabulary: &Vocabulary) -> Vec<String> {
    let of = |sorts: &[Sort]| {
        let offered = vocabulary.offered.iter().filter(|o| sorts.contains(&o.of));
        offered.map(|o| o.word.clone()).collect::<Vec<_>>()
    };
    let words = |words: &[&str]| words.iter().map(|w| w.to_string()).collect::<Vec<_>>();
    let times = ["yesterday", "today", "tomorrow"];
    let last = said.last().map(String::as_str).unwrap_or_default();
    let first = said.first().map(String::as_str).unwrap_or_default();
    let number = last.starts_with(|c: char| c.is_ascii_digit());
    match (first, last) {
        (_, "to") if first == "filled" => words(&["full"]),
        (_, "from") => words(&["shore", "generator", "tomorrow"]),
        (_, "day") => words(&["closed"]),
        ("filled" | "fill" | "refilled" | "added", _) => {
            [of(&[Sort::Draining]), words(&["to full", "to"]), words(&times)].concat()
        }
        ("emptied" | "empty" | "dumped", _) => {
            [of(&[Sort::Filling]), words(&["to", "about half"]), words(&times)].concat()
        }
        ("camp", _) => [vocabulary.places.clone(), words(&times)].concat(),
        _ if number => [
            of(&[Sort::Plural]),
            of(&[Sort::Activity]),
            words(&["guests", "aboard", "min", "km", "ago"]),
        ]
        .concat(),
        ("", _) => [
            of(&[Sort::Draining, Sort::Filling, Sort::Activity]),
            words(&OPENERS.split(' ').take(14).collect::<Vec<_>>()),
            words(&times),
        ]
        .concat(),
        _ => [
            of(&[Sort::Draining, Sort::Filling, Sort::Activity, Sort::Plural]),
            words(&["full", "half", "empty", "in quarters", "until", "from", "closed"]),
            words(&times),
        ]
        .concat(),
    }
}
