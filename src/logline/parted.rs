//! Commas that a hurried line leaves out where it says what was not done: `dishes done no showers`,
//! `dishes yes shower no`, `Nell showered I didn't`.

use super::lexicon::lexicon;
use super::listed::{is_of, low};
use super::vocabulary::Vocabulary;
use super::words::is_face;

/// What says that there was none of a thing.
const NONE: [&str; 4] = ["no", "nae", "zero", "0"];

/// The line with its denials as clauses of their own.
pub(super) fn parted(line: &str, known: &Vocabulary) -> String {
    let words: Vec<&str> = line.split_whitespace().filter(|word| !is_face(word)).collect();
    let lows: Vec<String> = words.iter().map(|word| low(word)).collect();
    let named = |at: usize| known.find(lows[at..].iter().map(String::as_str)).map_or(0, |(_, n)| n);
    let answers = answered(&lows, &named);
    let mut all: Vec<String> = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let taken = named(at);
        if answers && taken > 0 && lows.get(at + taken).is_some_and(|w| is_answer(w)) {
            end(&mut all);
            let no = if lows[at + taken] == "no" { "no " } else { "" };
            all.push(format!("{no}{},", words[at..at + taken].join(" ")));
            at += taken + 1;
            continue;
        }
        // `shower Otis shower me`, `1 shower me 1 Nell`.
        let who = at > 1 && is_who(&lows[at - 1], known);
        let told = || (0..at - 1).any(|from| from + named(from) == at - 1 && named(from) > 0);
        let again = taken > 0 && lows[..at].contains(&lows[at]);
        let number = lows[at].parse::<u32>().is_ok() && who && is_of("people", &lows[at - 1]);
        if who && (again || number) && told() && !words[at - 2].ends_with(',') {
            end(&mut all);
        }
        let none = NONE.contains(&lows[at].as_str()) && at + 1 < words.len() && named(at + 1) > 0;
        if !answers && none || is_own_denial(&lows, at) {
            end(&mut all);
        }
        if answers || !none {
            all.push(words[at].to_string());
            at += 1;
            continue;
        }
        let to = at + 1 + named(at + 1);
        all.push(format!("no {}", words[at + 1..to].join(" ")));
        // `no showers 1 dishes`.
        let number = |low: &String| low.bytes().all(|b| b.is_ascii_digit());
        if lows.get(to).is_some_and(number) || to < words.len() && named(to) > 0 {
            end(&mut all);
        }
        at = to;
    }
    let whole = all.join(" ");
    let same = whole == line.split_whitespace().collect::<Vec<_>>().join(" ");
    if same { line.to_string() } else { whole }
}

/// Whether a word may be somebody's name.
fn is_who(word: &str, known: &Vocabulary) -> bool {
    let plain = word.len() > 1 && word.chars().all(char::is_alphabetic);
    is_of("people", word)
        || plain && !lexicon().lists(word) && known.find([word].into_iter()).is_none()
}

fn is_answer(word: &str) -> bool {
    ["yes", "no"].contains(&word)
}

/// Whether things are named and answered: with a yes, or with a no at the end.
fn answered(lows: &[String], named: &impl Fn(usize) -> usize) -> bool {
    let behind = |at: usize| named(at) > 0 && lows.get(at + named(at)).is_some_and(|w| w == "yes");
    let last = lows.len().saturating_sub(1);
    let no = |at: usize| named(at) > 0 && at + named(at) == last && lows[last] == "no";
    (0..lows.len()).any(|at| behind(at) || no(at))
}

/// Whether somebody says here of himself, or of another, that he did not: `I didn't`, `the little one
/// not`, in three words at most before the end of the line.
fn is_own_denial(lows: &[String], at: usize) -> bool {
    let who = is_of("subject", &lows[at]) || is_of("people", &lows[at]);
    let not = |w: &String| lexicon().is_one("didnt", &[w]);
    who && lows.get(at + 1).is_some_and(not) && at + 2 == lows.len()
}

/// Ends the clause before, where there is one.
fn end(all: &mut [String]) {
    let joints = ["and", "but", "or", "&", "+"];
    if let Some(last) = all.last_mut()
        && last.ends_with(|c: char| c.is_alphanumeric() || c == '%')
        && !joints.contains(&last.to_lowercase().as_str())
    {
        last.push(',');
    }
}
