//! Hours that lack their colon, and two days that a hyphen joins.

use crate::logline::lexis::listed::{is_of, stem};
use crate::logline::lexis::units::is_counted;
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::Word;
use crate::logline::times::time::{clocked, dotted, is_time_word};
use chrono::NaiveDate;

/// `mon-wed`: from one day to another, in words.
fn days(words: &mut Vec<Word>) {
    let is_day = |text: &str| is_time_word(&text.to_lowercase());
    let pair = words.last().and_then(|last| last.text.split_once(['-', '–']));
    let Some((from, to)) = pair.filter(|(from, to)| is_day(from) && is_day(to)) else { return };
    let Some(last) = words.pop() else { return };
    for text in [from, "to", to] {
        words.push(Word { text, low: text.to_lowercase(), ..last.clone() });
    }
}

/// `at 0740`, `left 1620`: gives the last word its colon where it is an hour and no unit begins `rest`;
/// `battery at 2350` is none.
pub(super) fn clock(words: &mut Vec<Word>, rest: impl Iterator<Item = char>, known: &Vocabulary) {
    days(words);
    let Some((last, before)) = words.split_last_mut() else { return };
    let next: String = rest.skip_while(|c| *c == ' ').take_while(|c| c.is_alphabetic()).collect();
    let stock = |w: &Word| known.stock_named(stem(&w.low)).is_some();
    let level = before.iter().any(stock);
    let told = before.iter().any(Word::is_numeric);
    let at = before.last().is_some_and(|w| w.is_any("at around"));
    let four = last.low.len() == 4 && before.last().is_some_and(|w| is_of("clocked", &w.low));
    let led = if level { at && told } else { at || four };
    // `shower 22.30`, `7.15 shower`: what is counted is no part of one, nor is it done a thousand times.
    // `diesel at 1.37` cost so much.
    let counted = match before.last() {
        Some(before) => names_counted(&before.low, known),
        None => names_counted(&next, known),
    };
    let there = place(before, known);
    let dotted = dotted(&last.low).filter(|_| led && !level || counted || there);
    let four = last.low.len() == 4 && (there || counted);
    let hour = last.low.starts_with('0') || led || four;
    let Some(clock) = dotted.or_else(|| clocked(&last.low).filter(|_| hour)) else { return };
    if known.unit_named(&next).is_none() {
        last.low = clock;
    }
}

/// Whether a word names an activity of which whole ones are counted, whatever the day.
fn names_counted(word: &str, known: &Vocabulary) -> bool {
    let name = known.activity_named(word);
    let found = name.and_then(|name| known.activity_on(name, NaiveDate::MAX));
    found.is_some_and(|(activity, _)| is_counted(&activity.counted_in))
}

/// Whether these words end with the name of a place.
fn place(words: &[Word], known: &Vocabulary) -> bool {
    (0..words.len()).any(|from| known.place_of_words(&words[from..]) == words.len() - from)
}
