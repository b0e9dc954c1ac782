//! A clause with its slips of known names mended, and with what is counted twice in one number.

use super::speech::is_grammar;
use super::words;
use crate::logline::lexis::lexicon::lexicon;
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Kind, Word};
use crate::logline::times::time::is_time_word;

/// The shortest word that may be a slip of a name.
const SHORTEST_SLIP: usize = 5;

/// The clause with the names of the rig spelled right.
pub(in crate::logline) fn spelled(clause: String, known: &Vocabulary) -> String {
    let clause = in_digits(clause);
    let Ok(pieces) = words::pieces(&clause, known) else { return clause };
    let words: Vec<Word> = pieces.into_iter().flat_map(|piece| piece.words).collect();
    // A word of a longer name is none by itself: `rinsed` in `rinsed the dog`.
    let named =
        |at: usize| known.find(words[at..].iter().map(|w| w.low.as_str())).map_or(0, |(_, n)| n);
    let within = |at: usize| (0..=at).any(|from| from + named(from) > at);
    // From the end, so that the places of those before stay as they are.
    let mended = |at: usize| slip_of(&words[at], known).or_else(|| place_begun(&words, at, known));
    (0..words.len()).rev().fold(clause.clone(), |clause, at| match mended(at) {
        Some(name) if !within(at) => replaced(&clause, (words[at].start, words[at].end), &name),
        _ => clause,
    })
}

/// Whether nothing else can be meant by `clause` than `said`: a letter within a word is missing, or one too
/// many, or two have changed places (`botle`, `guage`).
pub(in crate::logline) fn is_surely(clause: &str, said: &str) -> bool {
    let (one, other) = (clause.split_whitespace(), said.split_whitespace());
    let slip = |(slip, word): (&str, &str)| {
        let edge = |c: char| !c.is_alphanumeric();
        let (slip, word) =
            (slip.trim_matches(edge).to_lowercase(), word.trim_matches(edge).to_lowercase());
        let ends = |w: &str| (w.chars().next(), w.chars().next_back());
        let long = word.chars().count() >= SHORTEST_SLIP && word.chars().all(char::is_alphabetic);
        let inner = long && ends(&slip) == ends(&word);
        slip == word
            || inner && strsim::osa_distance(&slip, &word) == 1 && !is_other_letter(&slip, &word)
    };
    one.clone().count() == other.clone().count() && one.zip(other).all(slip)
}

/// Whether a letter of a word is another: `cooler` is no slip of `cooker`.
fn is_other_letter(slip: &str, word: &str) -> bool {
    let off = |(one, other): &(char, char)| one != other;
    slip.chars().count() == word.chars().count()
        && slip.chars().zip(word.chars()).filter(off).count() == 1
}

/// `4O` and `6o%` are 40 and 60%: a letter typed for the digit beside it.
fn in_digits(clause: String) -> String {
    let mended = |word: &str| {
        // `2,950 Wh` has its thousands parted; by itself that is asked.
        if let Some((whole, rest)) = word.split_once(',')
            && [whole, rest].iter().all(|part| part.bytes().all(|b| b.is_ascii_digit()))
            && (1..4).contains(&whole.len())
            && rest.len() == 3
        {
            return format!("{whole}{rest}");
        }
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

/// The place that is meant where only its first word is said: `to Mossback`.
fn place_begun(words: &[Word], at: usize, known: &Vocabulary) -> Option<String> {
    let night = at == 0 && words.get(1).is_some_and(|w| w.is("tonight"));
    let led = at > 0 && words[at - 1].is_any("to reached");
    let led = led || night;
    let word = &words[at];
    let whole = (0..=at).any(|from| from + known.place_of_words(&words[from..]) > at);
    let first =
        |place: &&String| place.split(' ').next().is_some_and(|w| w.to_lowercase() == word.low);
    let mut begins = known.places.iter().filter(first);
    let place = begins.next().filter(|_| begins.next().is_none())?;
    let own = !lexicon().lists(&word.low) && place.contains(' ');
    (led && !whole && own).then(|| place.clone())
}

/// The word of the table or the rig that a word is a slip of, which stands in no table itself.
fn slip_of(word: &Word, known: &Vocabulary) -> Option<String> {
    let plain = word.kind == Kind::Plain && word.low.chars().all(char::is_alphabetic);
    let listed = || lexicon().lists(&word.low) || lexicon().meant_of(&word.low).is_some();
    let several = word.low.strip_suffix('s').is_some_and(is_time_word);
    let told = || several || listed() || known.names(word.low.as_str());
    if !plain || told() || is_grammar(&word.low, known) {
        return None;
    }
    let names = || known.offered.iter().map(|o| o.word.as_str());
    let spelled = || names().chain(lexicon().spellings()).filter(|name| !name.contains(' '));
    // `shwr`, `btry` leave their vowels out.
    if word.low.len() > 2 && !word.low.chars().skip(1).any(|c| "aeiou".contains(c)) {
        return spelled().find(|name| bare(name) == bare(&word.low)).map(str::to_string);
    }
    let letters = word.low.chars().count();
    // `gery` has the letters of grey.
    let sorted = |name: &str| {
        let mut all: Vec<char> = name.chars().collect();
        all.sort_unstable();
        all
    };
    if letters < SHORTEST_SLIP {
        let turned = |name: &&str| letters > 3 && sorted(name) == sorted(&word.low);
        // `watr` leaves one letter out.
        let short = |name: &&str| {
            letters > 3
                && name.chars().count() == letters + 1
                && name.chars().next() == word.low.chars().next()
                && strsim::osa_distance(name, &word.low) == 1
        };
        let begun = |name: &&str| {
            letters > 3 && name.starts_with(&word.low) && known.stock_named(name).is_some()
        };
        let found = names().find(turned).or_else(|| spelled().find(short));
        return found.or_else(|| spelled().find(begun)).map(str::to_string);
    }
    let begins = |name: &&str| name.chars().next() == word.low.chars().next();
    let near = |all: Vec<&str>| Vocabulary::nearest(&word.low, all.into_iter()).into_iter().next();
    let more = || {
        near(spelled().filter(begins).collect())
            .filter(|name| letters > SHORTEST_SLIP || bare(name) == bare(&word.low))
    };
    // `showrd`, `dishs`.
    let short = || {
        let mut all = spelled().filter(begins).filter(|name| bare(name) == bare(&word.low));
        all.find(|name| leaves_out(&word.low, name)).map(str::to_string)
    };
    near(names().filter(begins).collect()).or_else(more).or_else(short)
}

/// Whether a word has letters of a name in their order, and no others.
fn leaves_out(word: &str, name: &str) -> bool {
    let mut letters = name.chars();
    word.chars().all(|c| letters.any(|own| own == c))
}

/// The letters of a word that its short form keeps: the first, and no vowel and nothing twice behind it.
fn bare(word: &str) -> String {
    let mut kept = String::new();
    for c in word.chars() {
        if kept.is_empty() || !("aeiou".contains(c) || kept.ends_with(c)) {
            kept.push(c);
        }
    }
    kept
}

/// The clause with `put` in place of these characters of it.
pub(in crate::logline) fn replaced(
    clause: &str,
    (start, end): (usize, usize),
    put: &str,
) -> String {
    let before: String = clause.chars().take(start).collect();
    let after: String = clause.chars().skip(end).collect();
    format!("{before}{put}{after}")
}

/// `2 more days` are two days.
pub(in crate::logline) fn without_more<'a>(
    words: Vec<Word<'a>>,
    known: &Vocabulary,
) -> Vec<Word<'a>> {
    let counts = |at: usize| words[at].is_numeric() || lexicon().count(&words[at].low).is_some();
    // `3 more nights here` are no level.
    let named = |at: usize| known.find(words[at..].iter().map(|w| w.low.as_str())).is_some();
    let more = |at: usize| {
        at > 0 && at + 1 < words.len() && words[at].is("more") && counts(at - 1) && !named(at + 1)
    };
    let kept = (0..words.len()).filter(|at| !more(*at));
    kept.map(|at| words[at].clone()).collect()
}
