//! What a line says of its being written: `forgot to type it`, `that nobody wrote down`, `not in the
//! book yet`. It takes nothing back of what was done.

use super::cut_up::{Clause, sentences};
use super::reduced::{Reduced, reduced};
use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::lexicon::{Hedge, Sense, lexicon};
use crate::logline::lexis::listed::{is_of, low, lows, refs};
use crate::logline::times::time::is_time_word;

/// How many words may stand between what takes back and what is said to be told.
const NEAR: usize = 3;

/// The line without what it says of its being written; `None` where it says nothing of that.
pub(super) fn untold(line: &str) -> Option<String> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let lows: Vec<String> = words.iter().map(|word| low(word)).collect();
    let (mut kept, mut at): (Vec<String>, usize) = (Vec::new(), 0);
    while at < words.len() {
        let dates = lows[..at].iter().rev().take_while(|low| is_when(low)).count();
        let begins = dates == at
            || dates > 0 && at + 1 == words.len()
            || !words[at - dates - 1].ends_with(char::is_alphanumeric);
        let taken = match told_late(&refs(&lows[at..]), &words[at..]) {
            0 if begins => forgot(&refs(&lows[at..]), &words[at..]),
            taken => taken,
        };
        if taken == 0 {
            kept.push(words[at].to_string());
        } else {
            let last = words[at + taken - 1].trim_end_matches(char::is_alphanumeric);
            part(&mut kept, last);
        }
        at += taken.max(1);
    }
    (kept.len() < words.len() && !kept.is_empty()).then(|| kept.join(" "))
}

/// Ends the clause before what is left out, by the mark that stood behind that.
fn part(kept: &mut [String], mark: &str) {
    let open = kept.last_mut().filter(|last| last.ends_with(char::is_alphanumeric));
    if let Some(last) = open {
        last.push_str(
            mark.chars().next_back().map_or(",", |c| if ".!?".contains(c) { "." } else { "," }),
        );
    }
}

/// `forgot yesterday: 2 showers`, and how many of these words say that and no more.
fn forgot(lows: &[&str], words: &[&str]) -> usize {
    let led = lows.iter().take_while(|w| is_of("subject aside", w)).count();
    if !lows.get(led).is_some_and(|w| is_of("late", w)) {
        return 0;
    }
    let ends = |at: usize| words[at].ends_with([',', '.', ';', '!', '?', ':']);
    let when = (led + 1..lows.len()).take_while(|at| !ends(at - 1) && is_when(lows[*at])).count();
    let last = led + when;
    let all = last + 1 == lows.len() || words[last].ends_with(':');
    if all { led + 1 } else { 0 }
}

/// How many of these words say that it is told late, or was not told.
fn told_late(lows: &[&str], words: &[&str]) -> usize {
    let begins = |row: &str, at: usize| lexicon().begins(row, &lows[at.min(lows.len())..]);
    let ends = |at: usize| words[at].ends_with([',', '.', ';', '!', '?', ':']);
    let small = |at: usize| is_of("subject join aside someone", lows[at]);
    let mut from = 0;
    while from < lows.len() && small(from) && !ends(from) && from < NEAR {
        from += 1;
    }
    let not = lexicon().find(lows[from..].iter().copied());
    let Some((Sense::Hedge(Hedge::Not), taken)) = not else { return 0 };
    let from = from + taken - 1;
    if ends(from) && from + 1 < lows.len() {
        return 0;
    }
    let to = (from + 1..lows.len().min(from + 1 + NEAR)).find(|at| begins("tells", *at) > 0);
    let Some(at) = to.filter(|to| !(from..*to).any(ends)) else { return 0 };
    let mut to = at + begins("tells", at);
    // `not in the log cabin`.
    let place = ["in", "on"].contains(&lows[at]) && to < lows.len() && !ends(to - 1);
    if place && begins("told-in", to) == 0 && !is_of("joints", lows[to]) {
        return 0;
    }
    // What it was told in, and that it was not yet.
    while to < lows.len() && !ends(to - 1) && begins("told-in", to) > 0 {
        to += begins("told-in", to);
    }
    to
}

fn is_when(low: &str) -> bool {
    // `yest`.
    let said = matches!(lexicon().sense(low), Some(Sense::Say(said, _)) if is_time_word(said));
    said || is_time_word(low) || ["last", "this", "on"].contains(&low)
}

/// What follows words that take all of the last line back.
pub(super) fn scrapped(line: &str) -> Option<&str> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let all = lows(line);
    (all.len() == words.len()).then_some(())?;
    let all = refs(&all);
    let scrap = lexicon().begins("scrap", &all);
    let last = lexicon().begins("last-line", &all[scrap..]);
    // `no wait grey is 1/2`.
    let aside = Some(lexicon().begins("aside", &all)).filter(|aside| *aside > 1);
    let gone = aside.or((scrap > 0 && last > 0).then_some(scrap + last))?;
    let rest = words.get(gone)?;
    // The words are parts of the line: so is all that follows them.
    let from = rest.as_ptr() as usize - line.as_ptr() as usize;
    line.get(from..)
}

/// The activities of which a line says that there was none.
pub(in crate::logline) fn undone(line: &str, scene: &Scene) -> Vec<String> {
    let clauses = sentences(line).into_iter().flatten();
    let undone = |clause: Clause| {
        let told = |of: Option<&Reduced>| of.map(|of| of.tells().undone).unwrap_or_default();
        reduced(&clause.text, scene, &mut |of| told(of))
    };
    clauses.flat_map(undone).collect()
}
