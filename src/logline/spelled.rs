//! A clause with its slips of known names mended, and with what is counted twice in one number.

use super::lexicon::lexicon;
use super::listed::is_of;
use super::vocabulary::Vocabulary;
use super::word::{Kind, Word};
use super::words;

/// The shortest word that may be a slip of a name.
const SHORTEST_SLIP: usize = 5;

/// The clause with the names of the rig spelled right.
pub(super) fn spelled(clause: String, known: &Vocabulary) -> String {
    let clause = in_digits(clause);
    let Ok(pieces) = words::pieces(&clause, known) else { return clause };
    let words: Vec<Word> = pieces.into_iter().flat_map(|piece| piece.words).collect();
    // From the end, so that the places of those before stay as they are.
    words.iter().rev().fold(clause.clone(), |clause, word| match slip_of(word, known) {
        Some(name) => replaced(&clause, (word.start, word.end), &name),
        None => clause,
    })
}

/// `4O` and `6o%` are 40 and 60%: a letter typed for the digit beside it.
fn in_digits(clause: String) -> String {
    let mended = |word: &str| {
        let digits = word.trim_end_matches([',', '.', '%']);
        let zeros = digits.trim_end_matches(['o', 'O']);
        let slip = zeros.len() < digits.len() && !zeros.is_empty();
        match slip && zeros.bytes().all(|b| b.is_ascii_digit()) {
            true => word.replace(['o', 'O'], "0"),
            false => word.to_string(),
        }
    };
    let all: Vec<String> = clause.split(' ').map(mended).collect();
    all.join(" ")
}

/// The name that a word is a slip of, which stands in no table itself.
fn slip_of(word: &Word, known: &Vocabulary) -> Option<String> {
    let plain = word.kind == Kind::Plain && word.low.chars().all(char::is_alphabetic);
    let long = word.low.chars().count() >= SHORTEST_SLIP;
    let told =
        || lexicon().lists(&word.low) || known.find([word.low.as_str()].into_iter()).is_some();
    if !plain || !long || told() {
        return None;
    }
    let names = known.offered.iter().map(|o| o.word.as_str()).filter(|name| !name.contains(' '));
    let near = Vocabulary::nearest(&word.low, names).into_iter().next();
    near.filter(|name| name.chars().next() == word.low.chars().next())
}

/// The clause with `put` in place of these characters of it.
pub(super) fn replaced(clause: &str, (start, end): (usize, usize), put: &str) -> String {
    let before: String = clause.chars().take(start).collect();
    let after: String = clause.chars().skip(end).collect();
    format!("{before}{put}{after}")
}

/// `2 more days` are two days.
pub(super) fn without_more(words: Vec<Word>) -> Vec<Word> {
    let counts = |at: usize| words[at].is_numeric() || lexicon().count(&words[at].low).is_some();
    let more = |at: usize| at > 0 && at + 1 < words.len() && words[at].is("more") && counts(at - 1);
    let kept = (0..words.len()).filter(|at| !more(*at));
    kept.map(|at| words[at].clone()).collect()
}

/// `3 cans of 5 L` are 15 L.
pub(super) fn in_one(words: Vec<Word>) -> Vec<Word> {
    let can = |at: usize| {
        let number = words[at].low.parse::<f64>().ok()?;
        let of = 1 + usize::from(words.get(at + 2)?.is("of") || words[at + 2].is("with"));
        let each = words.get(at + 1 + of)?.low.parse::<f64>().ok()?;
        let unit = words.get(at + 2 + of)?.is_any(&["L", "l", "gal"]);
        (is_of("cans", &words[at + 1].low) && unit).then_some((number * each, at + 1 + of))
    };
    match (0..words.len()).find_map(|at| Some((at, can(at)?))) {
        Some((at, (all, to))) => {
            let whole = Word { low: all.to_string(), end: words[to].end, ..words[at].clone() };
            [&words[..at], &[whole], &words[to + 1..]].concat()
        }
        None => words,
    }
}
