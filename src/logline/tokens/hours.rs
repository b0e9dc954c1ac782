//! Hours that lack their colon, and two days that a hyphen joins.

use crate::logline::lexis::listed::{is_of, stem};
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::Word;
use crate::logline::times::time::{clocked, is_time_word};

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
    let stock = |w: &Word| known.stock_named(stem(&w.low)).is_some();
    let level = before.iter().any(stock);
    let told = before.iter().any(Word::is_numeric);
    let at = before.last().is_some_and(|w| w.is_any("at around"));
    let four = last.low.len() == 4 && before.last().is_some_and(|w| is_of("clocked", &w.low));
    let led = if level { at && told } else { at || four };
    let place = || {
        (0..before.len()).any(|from| known.place_of_words(&before[from..]) == before.len() - from)
    };
    let hour = last.low.starts_with('0') || led || last.low.len() == 4 && place();
    let Some(clock) = clocked(&last.low).filter(|_| hour) else { return };
    let unit: String = rest.skip_while(|c| *c == ' ').take_while(|c| c.is_alphabetic()).collect();
    if known.unit_named(&unit).is_none() {
        last.low = clock;
    }
}
