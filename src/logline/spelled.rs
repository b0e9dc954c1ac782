//! A clause with its slips of known names mended, and with what is counted twice in one number.

use super::lexicon::lexicon;
use super::listed::is_of;
use super::speech::is_grammar;
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
    // A word of a longer name is none by itself: `rinsed` in `rinsed the dog`.
    let named =
        |at: usize| known.find(words[at..].iter().map(|w| w.low.as_str())).map_or(0, |(_, n)| n);
    let within = |at: usize| (0..=at).any(|from| from + named(from) > at);
    // From the end, so that the places of those before stay as they are.
    (0..words.len()).rev().fold(clause.clone(), |clause, at| match slip_of(&words[at], known) {
        Some(name) if !within(at) => replaced(&clause, (words[at].start, words[at].end), &name),
        _ => clause,
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

/// The word of the table or the rig that a word is a slip of, which stands in no table itself.
fn slip_of(word: &Word, known: &Vocabulary) -> Option<String> {
    let plain = word.kind == Kind::Plain && word.low.chars().all(char::is_alphabetic);
    let told =
        || lexicon().lists(&word.low) || known.find([word.low.as_str()].into_iter()).is_some();
    if !plain || told() || is_grammar(&word.low, known) {
        return None;
    }
    let names = || known.offered.iter().map(|o| o.word.as_str());
    let spelled = || names().chain(lexicon().spellings()).filter(|name| !name.contains(' '));
    // `shwr` leaves its vowels out.
    let bare = |name: &str| name.chars().filter(|c| !"aeiou".contains(*c)).collect::<String>();
    if word.low.len() > 2 && !word.low.contains(['a', 'e', 'i', 'o', 'u', 'y']) {
        return spelled().find(|name| bare(name) == word.low).map(str::to_string);
    }
    let letters = word.low.chars().count();
    if letters < SHORTEST_SLIP {
        return None;
    }
    let begins = |name: &&str| name.chars().next() == word.low.chars().next();
    let near = |all: Vec<&str>| Vocabulary::nearest(&word.low, all.into_iter()).into_iter().next();
    let more = || {
        near(spelled().filter(begins).collect())
            .filter(|name| letters > SHORTEST_SLIP || bare(name) == bare(&word.low))
    };
    near(names().filter(begins).collect()).or_else(more)
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
