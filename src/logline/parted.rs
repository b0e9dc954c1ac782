//! Things that are named and answered, `dishes yes, shower no`, or counted as none.

use super::listed::low;
use super::vocabulary::Vocabulary;
use super::words::is_face;

/// The line with what is answered as clauses of their own: `dishes, no shower`.
pub(super) fn parted(line: &str, known: &Vocabulary) -> String {
    let words: Vec<&str> = line.split_whitespace().filter(|word| !is_face(word)).collect();
    let lows: Vec<String> = words.iter().map(|word| low(word)).collect();
    let named = |at: usize| known.find(lows[at..].iter().map(String::as_str)).map_or(0, |(_, n)| n);
    let answer = |at: usize| {
        let to = at + named(at);
        lows.get(to).map(String::as_str).filter(|w| to > at && ["yes", "no"].contains(w))
    };
    let last = lows.len().saturating_sub(1);
    let ends = |at: usize| answer(at) == Some("no") && at + named(at) == last;
    // `0 showers 1 dishes`.
    let none = |at: usize| {
        ["0", "zero", "nae"].contains(&lows[at].as_str()) && at < last && named(at + 1) > 0
    };
    let answered = (0..lows.len()).any(|at| answer(at) == Some("yes") || ends(at));
    if !answered && !(0..lows.len()).any(none) {
        return line.to_string();
    }
    let (mut all, mut at): (Vec<String>, usize) = (Vec::new(), 0);
    while at < words.len() {
        let none = none(at);
        let (at_name, answer) = if none { (at + 1, Some("no")) } else { (at, answer(at)) };
        let Some(answer) = answer.filter(|_| none || answered) else {
            all.push(words[at].to_string());
            at += 1;
            continue;
        };
        let to = at_name + named(at_name);
        if let Some(last) = all.last_mut().filter(|w| w.ends_with(char::is_alphanumeric)) {
            last.push(',');
        }
        let no = if answer == "no" { "no " } else { "" };
        all.push(format!("{no}{},", words[at_name..to].join(" ").trim_end_matches(',')));
        at = if none { to } else { to + 1 };
    }
    all.join(" ")
}
