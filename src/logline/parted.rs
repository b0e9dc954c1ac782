//! Things that are named and answered, `dishes yes, shower no`, or counted as none.

use super::face::is_face;
use super::listed::low;
use super::vocabulary::Vocabulary;

/// The line with what is answered as clauses of their own: `dishes, no shower`.
pub(super) fn parted(line: &str, known: &Vocabulary) -> String {
    let words: Vec<&str> = line.split_whitespace().filter(|word| !is_face(word)).collect();
    let lows: Vec<String> = words.iter().map(|word| low(word)).collect();
    let find = |at: usize| known.find(lows[at..].iter().map(String::as_str));
    let named = |at: usize| find(at).map_or(0, |(_, n)| n);
    let number = |at: usize| lows.get(at).is_some_and(|w| w.starts_with(char::is_numeric));
    // `shower 0 dishes 1` counts behind the name, `0 showers 1 dishes` before it.
    let first = (0..lows.len()).find(|at| number(*at) || named(*at) > 0).unwrap_or(0);
    let behind = !lows.is_empty() && !number(first) && number(first + named(first));
    let used =
        |at: usize| find(at).is_some_and(|(meaning, _)| behind && meaning.activity.is_some());
    let answer = |at: usize| {
        let to = at + named(at);
        match lows.get(to).map(String::as_str).filter(|_| to > at)? {
            "0" | "zero" if used(at) => Some("no"),
            answer => Some(answer).filter(|w| ["yes", "no"].contains(w)),
        }
    };
    let last = lows.len().saturating_sub(1);
    // `0 showers 1 dishes`.
    let none = |at: usize| {
        let none = ["0", "zero", "nae"].contains(&lows[at].as_str());
        none && at < last && named(at + 1) > 0
    };
    let zero = |at: usize| used(at) && answer(at) == Some("no");
    let answered = (0..lows.len()).any(|at| answer(at) == Some("yes") || zero(at));
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
