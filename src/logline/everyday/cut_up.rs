//! A line cut up into sentences and clauses, whatever its words mean.

use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::lexicon::{Hedge, Sense, Tense, lexicon};
use crate::logline::lexis::listed::{has_digit, is_of, low as low_of};
use crate::logline::times::time::is_time_word;

/// How many words say how long something took.
const LONGEST_SPAN: usize = 6;

/// One clause of a line, as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::logline) struct Clause {
    pub text: String,
    /// Whether it stood in parentheses, and says something of the clause before it.
    pub aside: bool,
    /// Whether it is a question.
    pub asks: bool,
    /// Whether it stands before a colon.
    pub head: bool,
    /// The word that joins it to the one before it; empty where none does.
    pub joint: String,
    /// Whether a way of saying things has put it in words of the grammar.
    pub phrased: bool,
}

/// The clauses of a line, sentence by sentence.
pub(super) fn sentences(line: &str) -> Vec<Vec<Clause>> {
    let spaced = line.replace('(', " ( ").replace(')', " ) ");
    let all: Vec<&str> = spaced.split_whitespace().collect();
    let mut cut = Cut::default();
    for (at, word) in all.iter().enumerate() {
        if ["(", ")"].contains(word) || is_joint(&all, at) {
            cut.clause();
            cut.aside = *word == "(" || cut.aside && *word != ")";
            let joins = !["(", ")"].contains(word);
            cut.joint = if joins { word.to_lowercase() } else { String::new() };
            continue;
        }
        // `dishes done no showers`.
        let not = |w: &&str| {
            let sense = lexicon().sense(&w.to_lowercase());
            matches!(sense, Some(Sense::Hedge(Hedge::Not)))
        };
        let no = word.eq_ignore_ascii_case("no") && at + 1 < all.len();
        // `nell showered i didnt`.
        let next = all.get(at + 1).filter(|next| !is_of("late", &next.to_lowercase()));
        // `tomorrow we want to drive on`.
        let wish = |w: &&str| {
            cut.open.iter().all(|w| is_time_word(&w.to_lowercase()))
                && is_of("wanted", &w.to_lowercase())
        };
        let next = next.filter(|next| !wish(next));
        // `battery 60% i was hoping for more`.
        let hoped = !cut.open.is_empty() && all.get(at + 2).is_some_and(not);
        let who = is_of("subject", &word.to_lowercase()) && (next.is_some_and(not) || hoped);
        let other = is_of_another(&all, at);
        if no || who || other || begins_another(&all, at) || runs_on(&cut.open, word) {
            cut.clause();
        }
        let bare = word.trim_end_matches([',', ';', '!', '?', '.', ':']);
        let end = &word[bare.len()..];
        // `a.m.`, `no. 2`; not `92 L.`.
        let unit = at > 0 && all[at - 1].ends_with(|c: char| c.is_ascii_digit());
        let letter = bare.len() == 1 && bare.chars().all(char::is_alphabetic);
        // `min. 3` is cut short, too.
        let number = |w: &&str| w.starts_with(|c: char| c.is_ascii_digit() || c == '-');
        let cut_short =
            is_of("cut-short", &bare.to_lowercase()) && all.get(at + 1).is_some_and(number);
        let short = end == "." && (letter || cut_short) && !unit;
        cut.open.extend(range(bare));
        cut.head = end.contains(':');
        // `morning: 2 showers`; without a colon it may greet.
        if cut.head && cut.open.len() == 1 && is_of("day-parts", &bare.to_lowercase()) {
            cut.open.insert(0, "this".to_string());
        }
        match end {
            "" => {}
            _ if cut_short => *cut.open.last_mut().expect("just said") = bare.to_string(),
            _ if short => {}
            // `gas? 2 kg left`.
            "?" | "??" if cut.open.len() < 3 && at + 1 < all.len() && cut.clauses.is_empty() => {
                cut.head = true;
                cut.clause();
            }
            end if end.contains(['.', '!', '?']) => {
                cut.asks = end.contains('?');
                cut.sentence();
            }
            _ => cut.clause(),
        }
    }
    cut.sentence();
    cut.sentences
}

#[derive(Default)]
struct Cut {
    open: Vec<String>,
    aside: bool,
    asks: bool,
    head: bool,
    joint: String,
    clauses: Vec<Clause>,
    sentences: Vec<Vec<Clause>>,
}

impl Cut {
    fn clause(&mut self) {
        let text = std::mem::take(&mut self.open).join(" ");
        if text.contains(char::is_alphanumeric) {
            let (aside, asks, head) = (self.aside, self.asks, self.head);
            let joint = std::mem::take(&mut self.joint);
            self.clauses.push(Clause { text, aside, asks, head, joint, phrased: false });
        }
        (self.asks, self.head) = (false, false);
    }

    fn sentence(&mut self) {
        self.clause();
        if !self.clauses.is_empty() {
            self.sentences.push(std::mem::take(&mut self.clauses));
        }
    }
}

/// `shower yesterday not today`, `a quarter not half`: what it was not.
fn is_of_another(all: &[&str], at: usize) -> bool {
    let next = |n: usize| all.get(at + n).map(|w| w.to_lowercase());
    let share = [next(1), next(2)].iter().flatten().any(|w| is_of("shares", w));
    all[at].eq_ignore_ascii_case("not") && at > 0 && share
}

/// Takes these clauses, counted over all sentences, out of them.
pub(in crate::logline) fn without(sentences: &mut [Vec<Clause>], used: &[usize]) {
    let mut at = 0;
    for sentence in sentences {
        sentence.retain(|_| {
            at += 1;
            !used.contains(&(at - 1))
        });
    }
}

/// Whether its clauses may be cut where none ends: somebody's words in quotes at their commas, joined
/// initials, a name with an `and` in it.
pub(super) fn misleads(line: &str, scene: &Scene) -> bool {
    line.contains('"') || names_initials(line) || names_with_and(line, scene)
}

/// Whether initials are joined in it, which nobody counts: `N + O showered`.
fn names_initials(line: &str) -> bool {
    let all: Vec<&str> = line.split_whitespace().collect();
    let initial = |w: &str| w.len() == 1 && w != "I" && w.starts_with(char::is_uppercase);
    all.windows(3).any(|three| initial(three[0]) && is_of("ands", three[1]) && initial(three[2]))
}

/// Whether it has a name of the rig in which an `and` stands, which parts no two clauses: `wash and dry`.
fn names_with_and(line: &str, scene: &Scene) -> bool {
    let low = line.to_lowercase();
    let names = scene.known.offered.iter().map(|offered| offered.word.to_lowercase());
    names.filter(|name| name.contains(" and ")).any(|name| low.contains(&name))
}

/// Whether a word parts two clauses: not within `an hour and a half`, `Ada and Nell`.
fn is_joint(all: &[&str], at: usize) -> bool {
    let low = all[at].to_lowercase();
    let of = all.get(at + 3).is_some_and(|w| *w == "of");
    let half = |w: &&str| is_of("parts", &low_of(w));
    // `a kilo and a half of gas`.
    let unit =
        || at > 0 && matches!(lexicon().sense(&all[at - 1].to_lowercase()), Some(Sense::Unit(_)));
    let part = || all.get(at + 2).is_some_and(|w| half(w) && (!of || unit()));
    let capital = |at: usize| all.get(at).is_some_and(|w| w.starts_with(char::is_uppercase));
    let names = || at > 0 && capital(at - 1) && capital(at + 1);
    let idiom = low == "and" && all.get(at + 1).is_some_and(|w| is_of("and", &w.to_lowercase()));
    // `an hour and twenty`.
    let minutes = || {
        let hour = at > 0 && lexicon().sense(&low_of(all[at - 1])) == Some(Sense::Unit("h"));
        let next = all.get(at + 1).map(|w| low_of(w)).unwrap_or_default();
        let count = lexicon().count(&next).is_some_and(|next| (5..60).contains(&next));
        hour && count
    };
    !idiom && is_of("joints", &low) && !(is_of("ands", &low) && (part() || names() || minutes()))
}

/// `rinsed when we got back`, `took half out before it stank`: a clause of its own.
fn begins_another(all: &[&str], at: usize) -> bool {
    let low = |w: &str| w.trim_end_matches(|c: char| !c.is_alphanumeric()).to_lowercase();
    let next = all.get(at + 1).map(|w| low(w)).filter(|_| at > 0);
    let whilst =
        is_of("whilst", &low(all[at])) && next.is_some_and(|w| is_of("subject pronouns", &w));
    // `ran till the neighbour complained`: no time follows.
    let when = |w: &&str| {
        let (low, half) = (low(w), is_of("parts", &low(w)));
        let said = matches!(
            lexicon().sense(&low),
            Some(Sense::Say(..) | Sense::Number(_) | Sense::Ask(_))
        );
        half || said || is_time_word(&low) || has_digit(&low)
    };
    let until = matches!(lexicon().sense(&low(all[at])), Some(Sense::Say("until", _)));
    let rest = &all[at + 1..];
    // `otis showered me too`; `4 days left if nobody eats the ravioli`.
    let too = at > 0 && is_of("speaker people", &low(all[at])) && at + 2 == all.len();
    let too = too && low(all[at + 1]) == "too";
    let number = |w: &&str| has_digit(w) || lexicon().count(&low(w)).is_some();
    let if_so = is_of("provided", &low(all[at])) && at > 2 && all[..at].iter().any(number);
    // `burned loads only 9 l diesel left`, `grey isnt empty still 20%`.
    let next = rest.first().is_some_and(number);
    let left = |w: &&str| matches!(lexicon().sense(&low(w)), Some(Sense::Say("left", _)));
    let left = rest.iter().take(LONGEST_SPAN).any(left);
    let only = low(all[at]) == "only" && next && left && at > 1;
    let not = |w: &&str| matches!(lexicon().sense(&low(w)), Some(Sense::Hedge(Hedge::Not)));
    let still = low(all[at]) == "still" && next && all[..at].iter().any(not);
    whilst
        || (only || still)
        || too
        || if_so
        || until && at > 0 && rest.len() > 1 && !rest.iter().take(LONGEST_SPAN).any(when)
}

/// `drove 85 km stopped at Fennel Cross dumped grey filled water`: a clause that goes on without a comma.
fn runs_on(open: &[String], word: &str) -> bool {
    let done = |w: &str| {
        let sense = lexicon().sense(&low_of(w));
        matches!(sense, Some(Sense::Say("filled" | "emptied" | "drove" | "camp", Tense::Behind)))
    };
    let last = open.last().filter(|_| open.len() > 2 && done(word));
    last.is_some_and(|last| !(done(last) || is_of("subject people finite joints", &low_of(last))))
        && open.iter().any(|w| done(w))
}

/// `10-16.30`, `2-5pm` as two hours, `2.15pm` as clocks show it.
fn range(word: &str) -> Vec<String> {
    let half = ["am", "pm"].iter().any(|half| word.to_lowercase().ends_with(half));
    let one = !word.contains(['-', '–']);
    if half && one && word.starts_with(|c: char| c.is_ascii_digit()) {
        return vec![word.replacen('.', ":", 1)];
    }
    let hour = |text: &str| {
        let digits = text.bytes().all(|b| b.is_ascii_digit() || b".:".contains(&b));
        digits && text.starts_with(|c: char| c.is_ascii_digit()) && text.len() < 6
    };
    let letters = |w: &str| w.chars().all(char::is_alphabetic) && lexicon().count(w).is_some();
    match word.split_once(['-', '–']) {
        // `forty-five`.
        Some((tens, ones)) if letters(&tens.to_lowercase()) && letters(ones) => {
            vec![tens.to_string(), ones.to_string()]
        }
        Some((from, to)) if hour(from) && hour(&to[..to.len() - if half { 2 } else { 0 }]) => {
            vec!["from".into(), from.replace('.', ":"), "to".into(), to.replace('.', ":")]
        }
        _ => vec![word.to_string()],
    }
}
