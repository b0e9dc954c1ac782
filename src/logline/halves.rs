//! The parts of a line that puts something right: its first sentence, and what holds and what does not.

use super::lexis::lexicon::lexicon;
use super::lexis::listed::is_of;
use super::lexis::vocabulary::Vocabulary;

/// A line that puts something right.
pub(super) struct Fix<'l> {
    /// What holds; empty where nothing does.
    pub new: String,
    /// What does not.
    pub old: Option<String>,
    /// What else was said.
    pub rest: &'l str,
    /// Whether only a word like `only` says so, which may as well be said of a new thing.
    pub soft: bool,
    /// How it is taken back, where it is.
    pub back: Option<Back>,
    /// Whether it may as well be told for the first time.
    pub asks: bool,
    /// Whether that would be a thing of the last line, and of no other of its day.
    pub near: bool,
}

/// How plainly a word takes something back: who forgets the dishes may not have done them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Back {
    Plainly,
    Gently,
}

/// Reads what kind of line it is.
pub(super) fn fix<'l>(line: &'l str, known: &Vocabulary) -> Option<Fix<'l>> {
    let (said, rest) = sentence(line);
    let text = said.to_lowercase().replace('’', "'");
    let raw: Vec<&str> = text.split_whitespace().collect();
    let edge = |c: char| ",;:!".contains(c);
    let all: Vec<&str> = raw.iter().map(|w| w.trim_matches(edge)).collect();
    let Lead { from, strong, mut weak, soft, asks } = lead(line, &all);
    let mut to = all.len();
    while to > from + 1 && lexicon().begins("wait", &all[to - 1..to]) == 1 {
        weak = true;
        to -= 1;
    }
    let (raw, all) = (&raw[from..to], &all[from..to]);
    if from == 0
        && !weak
        && let Some(new) = only_so_many(raw, all)
    {
        return Some(Fix { new, old: None, rest, soft: true, back: None, asks: true, near: true });
    }
    let gone = lexicon().begins("scrap", all);
    if gone > 0 {
        let gently = lexicon().is_one("gently", &all[..gone]);
        let back = Some(if gently { Back::Gently } else { Back::Plainly });
        let new = raw[gone..].join(" ");
        return Some(Fix { new, old: None, rest, soft, back, asks, near: false });
    }
    let (new, old) = halves(all);
    let new = if old.is_some() { new } else { raw.join(" ") };
    let new = new.trim_end_matches(edge).to_string();
    let no_comma = weak && !strong && said.trim_start().to_lowercase().starts_with("no ");
    let bare = !new.contains(char::is_alphabetic);
    let holds = strong || old.is_some() || weak && (!no_comma || bare);
    let new = new.trim_start_matches("it was ").trim_start_matches("it is ").to_string();
    let named = || known.find(all.iter().copied()).is_some();
    let soft = soft && !strong;
    let told = holds && (!new.is_empty() || named());
    told.then_some(Fix { new, old, rest, soft, back: None, asks, near: false })
}

/// What begins a line that puts something right: where that ends, and how plainly it does so.
#[derive(Default)]
struct Lead {
    from: usize,
    strong: bool,
    weak: bool,
    soft: bool,
    asks: bool,
}

fn lead(line: &str, all: &[&str]) -> Lead {
    let mut read = Lead::default();
    loop {
        let rest = &all[read.from..];
        // `i only had one shower`.
        let led = rest.iter().take(1).filter(|w| is_of("subject", w)).count();
        let only = lexicon().begins("soft", &rest[led.min(rest.len())..]);
        if led > 0 && only > 0 && read.from == 0 {
            (read.soft, read.weak, read.asks) = (true, true, true);
            read.from += led + only;
            continue;
        }
        let plain = lexicon().begins("mends", rest);
        let aside = lexicon().begins("aside", rest).max(lexicon().begins("wait", rest));
        let taken = plain.max(aside);
        // `no showers` says that there was none.
        let whole = aside == 1
            && rest[0] == "no"
            && !line.trim_start().get(2..).is_some_and(|l| l.starts_with([',', '.', ' ', ':']));
        if taken == 0 || whole {
            break;
        }
        read.strong |= plain >= aside;
        read.weak |= aside > plain && !lexicon().is_one("filler", &rest[..taken]);
        read.soft |= lexicon().is_one("soft", &rest[..taken]);
        read.from += taken;
    }
    read
}

/// `dishes only 3 times`: without the word that may make a correction of it.
fn only_so_many(raw: &[&str], all: &[&str]) -> Option<String> {
    let at = (1..all.len()).find(|at| is_of("soft", all[*at]))?;
    lexicon().count(all.get(at + 1)?)?;
    Some([&raw[..at], &raw[at + 1..]].concat().join(" "))
}

/// The first sentence, and what is said behind it; where that holds a number, all is one.
fn sentence(line: &str) -> (&str, &str) {
    let ends = line.find(". ").or_else(|| line.find(", i ")).or_else(|| line.find(", I "));
    match ends.map(|at| line.split_at(at + 1)) {
        Some((first, rest)) if !rest.contains(|c: char| c.is_ascii_digit()) => {
            (first.trim_end_matches(['.', ',']), rest)
        }
        _ => (line.trim_end_matches(['.', '!']), ""),
    }
}

/// What holds, and what does not: `not 60 but 40`, `40 not 60`, `40 instead of 60`.
fn halves(all: &[&str]) -> (String, Option<String>) {
    let join = |part: &[&str]| part.join(" ");
    let not = all.iter().position(|w| *w == "not");
    if let (Some(at), Some(but)) = (not, all.iter().position(|w| *w == "but"))
        && at < but
    {
        let before = join(&all[..at]);
        return (
            format!("{before} {}", join(&all[but + 1..])).trim().into(),
            Some(join(&all[at + 1..but])),
        );
    }
    let pair = |one: &str, other: &str| {
        all.windows(2).position(|pair| pair[0] == one && pair[1] == other).map(|at| (at, at + 2))
    };
    let parts = not.map(|at| (at, at + 1)).or(pair("instead", "of")).or(pair("rather", "than"));
    match parts.filter(|(at, behind)| *at > 0 && *behind < all.len()) {
        Some((at, behind)) => {
            let mut new = all[..at].to_vec();
            if new.last() == Some(&"and") {
                new.pop();
            }
            // `90 not 80 for the water`.
            let of = all[behind..].iter().position(|w| ["for", "on"].contains(w));
            let old = &all[behind..of.map_or(all.len(), |of| behind + of)];
            let named = of.map(|of| join(&all[behind + of + 1..])).unwrap_or_default();
            (format!("{named} {}", join(&new)).trim().to_string(), Some(join(old)))
        }
        None => (join(all), None),
    }
}
