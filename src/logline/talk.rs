//! Talk: clauses and lines in which nothing of the van is known, and what they may say of what
//! stands beside them.

use super::cores::is_known;
use super::item::{Is, Item};
use super::lexicon::{Hedge, lexicon};
use super::listed::{is_digit, is_filler, is_of, is_small, lows, stem};
use super::time;

/// Whether a line with nothing known in it tells of something, and puts nothing right.
pub(super) fn is_talk(line: &str) -> bool {
    let words = lows(line);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let mends = ["mends", "wait", "scrap"].iter().any(|list| lexicon().begins(list, &words) > 0);
    let refers = words.iter().any(|w| is_of("refers", w)) && words.len() < 7;
    let share = ["half", "third", "quarter", "full", "empty"];
    let refers = refers || words.iter().any(|w| share.contains(w));
    let says = words.iter().filter(|w| !is_small(w)).count();
    words.len() > 1 && says > 0 && !mends && !refers && !line.contains('?')
}

/// What a clause without a core tells of itself, and of what stands beside it.
pub(super) struct Tells {
    /// Whether something in it is of the van; a number may be.
    pub known: bool,
    /// Whether it can change nothing in what stands beside it.
    pub harmless: bool,
    /// Whether it says of the others when they were, or that they were not.
    pub denies: bool,
    /// Whether a time in it is said of what it tells itself.
    pub own_time: bool,
    /// Whether it names what may have been cooked, and nothing else.
    pub meal: bool,
}

/// What the clause `text` of these items tells.
pub(super) fn tells(items: &[Item], text: &str) -> Tells {
    let words = lows(text);
    let is = |list: &str| words.iter().any(|w| is_of(list, stem(w)));
    let hedge = |how: Hedge| items.iter().any(|item| matches!(item.is, Is::Hedge(h) if h == how));
    let of_van = |item: &Item| is_known(item) || item.words.iter().any(is_digit);
    let money = (is("money") || text.contains(['€', '£', '$']))
        && !items.iter().any(|item| matches!(item.is, Is::Name(_) | Is::Verb(_)));
    let all: Vec<&str> = words.iter().map(String::as_str).collect();
    let times = items.iter().filter(|item| item.is_time()).count();
    // `to mum's friday to sunday` tells of who is aboard.
    let known = items.iter().any(of_van) || times > 1;
    let finite = |from: usize| words.iter().skip(from).any(|w| is_of("finite", w));
    // `tuesday we have to be there` holds for what follows.
    let now =
        |w: &String| "is are am has have do does says looks feels seems".split(' ').any(|n| n == w);
    let past = words.iter().skip(1).any(|w| is_of("finite", w) && !now(w))
        && !items.first().is_some_and(Item::is_time);
    // What is still to be done takes nothing back; nor does how it was.
    let wanted = words.len() > 3 && is("wanted");
    let owned = words.iter().skip(1).any(|w| w.ends_with("'s"));
    let so = words.first().is_some_and(|w| is_of("so", w)) && !owned;
    let open = |(at, w): (usize, &String)| {
        let listed = ["unsure", "undone", "elsewhere"].iter().any(|list| is_of(list, stem(w)));
        let excused = wanted && time::is_time_word(w) || so && at == 0;
        listed && !excused || w.contains(|c: char| c.is_ascii_digit())
    };
    let small = |item: &Item| match item.is {
        Is::Other | Is::Mark(_) | Is::Amount(_) => true,
        Is::Hedge(_) | Is::Time(_) => wanted,
        _ => false,
    };
    let quiet = !known && items.iter().all(small) && !words.iter().enumerate().any(open);
    let harmless = money || is_filler(&all) || quiet;
    let today = |item: &Item| item.is_time() && item.words[0].is("today");
    let timed = items.iter().any(|item| item.is_time() && !today(item))
        || words.iter().any(|w| is_of("when", w) && w != "today");
    let apart = hedge(Hedge::Not) && words.iter().all(|w| is_small(w))
        || hedge(Hedge::Odd)
            && words.len() < 4
            && !items.iter().any(|i| matches!(i.is, Is::Name(_)));
    // A clause of its own tells when it was itself.
    let clause = (finite(0) || words.first().is_some_and(|w| is_of("subject", w))) && !so;
    let clause = clause && !items.first().is_some_and(Item::is_time);
    let one = |item: &Item| matches!(item.is, Is::Amount(_)) && item.words[0].is("1");
    let more = items.iter().any(|item| of_van(item) && !one(item));
    let hedged = items.iter().any(|item| matches!(item.is, Is::Hedge(_)));
    Tells {
        known,
        harmless,
        denies: !harmless && (timed && !(wanted || clause || hedge(Hedge::Doubt)) || apart),
        own_time: timed && past && !(known || so || is("reads") || hedge(Hedge::Not)),
        meal: is("meals") && words.len() < 9 && !(more || hedged || is("elsewhere") || finite(2)),
    }
}
