//! What a journal is searched for, in words.

use super::answers::is_of;
use super::lexis::vocabulary::Vocabulary;
use super::tokens::span::span;
use crate::domain::Moment;
use crate::domain::search::{Term, Wanted};

/// Most words that name a day, or a thing: "17 october 2026 18:00".
const MOST_WORDS: usize = 4;

/// What `text` looks for at `now`: "water since monday", "gone shower".
pub fn sought(text: &str, known: &Vocabulary, now: Moment) -> Wanted {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split_whitespace().collect();
    let (mut wanted, mut at) = (Wanted::default(), 0);
    while at < words.len() {
        at += time(&mut wanted, &words[at..], (known, now));
        if let Some(rest) = words.get(at..).filter(|rest| !rest.is_empty()) {
            at += term(&mut wanted, rest, known);
        }
    }
    wanted
}

/// Takes a time at the beginning of `words`; how many words it has, 0 where there is none.
fn time(wanted: &mut Wanted, words: &[&str], (known, now): (&Vocabulary, Moment)) -> usize {
    let Some(first) = words.first() else { return 0 };
    let [since, until, on] = ["find-since", "find-until", "find-on"].map(|row| is_of(row, first));
    let side = since || until || on;
    let begin = usize::from(side);
    let longest = (begin + 1..=words.len().min(begin + MOST_WORDS))
        .rev()
        .find_map(|end| Some((end, span(&words[begin..end].join(" "), known, now)?)));
    // A number alone is no day: it stands in many rows.
    let alone = |end: usize| end == begin + 1 && words[begin].parse::<f64>().is_ok();
    let Some((end, (from, to))) = longest.filter(|(end, _)| side || !alone(*end)) else {
        return 0;
    };
    wanted.from = if until { wanted.from } else { Some(from) };
    wanted.to = if since { wanted.to } else { Some(to) };
    end
}

/// Takes the longest name at the beginning of `words`, or the first word; how many words it has.
fn term(wanted: &mut Wanted, words: &[&str], known: &Vocabulary) -> usize {
    if is_of("find-gone", words[0]) {
        wanted.gone = true;
        return 1;
    }
    let named = |word: &str| known.activity_named(word).or_else(|| known.stock_named(word));
    let longest = (1..=words.len().min(MOST_WORDS)).rev().find_map(|end| {
        let word = words[..end].join(" ");
        named(&word).map(str::to_string).map(|own| (end, Term { word, named: Some(own) }))
    });
    let plain = || (1, Term { word: words[0].to_string(), named: None });
    let (taken, term) = longest.unwrap_or_else(plain);
    wanted.terms.push(term);
    taken
}
