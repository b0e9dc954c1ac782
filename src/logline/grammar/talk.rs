//! Talk: clauses and lines in which nothing is told that counts, and what they may say of what
//! stands beside them.

use super::beside::is_known;
use super::kept::is_ahead;
use crate::domain::unit::Unit;
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::{Hedge, Tense, lexicon};
use crate::logline::lexis::listed::{
    has_digit, is_digit, is_filler, is_of, is_small, lows, refs, stem,
};
use crate::logline::lexis::word::Word;
use crate::logline::times::time::is_time_word;
use crate::logline::tokens::item::{Is, Item};

/// Whether a line with nothing known in it tells of something, and puts nothing right.
pub(in crate::logline) fn is_talk(line: &str) -> bool {
    let words = lows(line);
    let words = refs(&words);
    let mends = ["mends", "wait", "scrap"].iter().any(|list| lexicon().begins(list, &words) > 0);
    let refers = words.iter().any(|w| is_of("refers", w)) && words.len() < 7;
    let refers = refers || words.iter().any(|w| is_of("shares", w));
    let says = words.iter().filter(|w| !is_small(w)).count();
    // `shwr, dshs`.
    let short = |w: &&str| w.len() > 2 && !w.contains(['a', 'e', 'i', 'o', 'u', 'y']);
    let short = words.iter().any(|w| short(w) && w.chars().all(char::is_alphabetic));
    let open = short || mends || refers || told_by_rows(&lows(line)).is_some();
    words.len() > 1 && says > 0 && !open && !line.contains('?')
}

/// Words of a line that tells such a thing at most: a longer one tells more.
const MOST_WORDS: usize = 12;

/// What words of two rows tell together, in words of the grammar, and how many they are: `shutting the
/// book on today`, `all our washing is folded`. `{name}` in it is the rig's own word.
pub(in crate::logline) fn told_by_rows(words: &[String]) -> Option<(&'static str, usize)> {
    let of = |row: &str| words.iter().filter(|w| is_of(row, stem(w))).count();
    let told = |(meaning, rows): &(&'static str, Vec<&str>)| {
        let each: Vec<usize> = rows.iter().map(|row| of(row)).collect();
        each.iter().all(|n| *n > 0).then(|| (*meaning, each.iter().sum()))
    };
    let short = words.len() <= MOST_WORDS && of("wanted") == 0;
    lexicon().pairs.iter().filter(|_| short).find_map(told)
}

/// What a clause that tells nothing says of itself, and of what stands beside it.
#[derive(Debug, Default)]
pub(in crate::logline) struct Tells {
    /// Whether something in it is of the van; a number may be.
    pub known: bool,
    /// Whether it can change nothing in what stands beside it.
    pub harmless: bool,
    /// Whether it names what may have been cooked, and nothing else.
    pub meal: bool,
    /// Whether it names what may have been cooked, and nothing in it takes that back.
    pub meal_said: bool,
    /// What of the van it says was not so: harmless where no other clause tells of it.
    pub apart: Option<Vec<String>>,
    /// The activities of which it says that there was none.
    pub undone: Vec<String>,
}

/// What the clause `text` of these items tells.
pub(in crate::logline) fn tells(items: &[Item], text: &str) -> Tells {
    let words = lows(text);
    let is = |list: &str| words.iter().any(|w| is_of(list, stem(w)));
    let of_van = |item: &Item| is_known(item) || item.words.iter().any(is_digit);
    let money =
        is_priced(text) && !items.iter().any(|item| matches!(item.is, Is::Name(_) | Is::Verb(_)));
    let times = items.iter().filter(|item| item.is_time()).count();
    // `to mum's friday to sunday` tells of who is aboard.
    let known = items.iter().any(of_van) || times > 1;
    // `the queue got impatient` puts nothing anywhere.
    let of_chores = |item: &Item| of_van(item) && !item.is_verb("added");
    let finite = |from: usize| words.iter().skip(from).any(|w| is_of("finite", w));
    // Nor does how it was.
    let so = words.first().is_some_and(|w| is_of("so", w));
    let open = |(at, w): (usize, &String)| {
        let listed = is_of("unsure undone elsewhere", stem(w)) && !is_of("vague", stem(w));
        listed && !(so && at == 0) || has_digit(w)
    };
    // `not my favourite job`.
    let not = words.len() > 2 && words[0] == "not" && is_of("notable", &words[1]);
    let small = |item: &Item| match item.is {
        Is::Other | Is::Mark(_) | Is::Amount(_) | Is::Verb("day") => true,
        _ => not && item.is_not() && item.words[0].low == "not",
    };
    let quiet = !known && items.iter().all(small) && !words.iter().enumerate().any(open);
    let idle = counts(items);
    let hedged = items.iter().any(|item| matches!(item.is, Is::Hedge(_)));
    let meal = is("meals") && !(hedged || is("elsewhere"));
    Tells {
        known,
        harmless: money
            || quiet
            || idle
            || (!known && is_apart(items))
            || (!(known && items.iter().any(of_chores)) && is_story(&words))
            || is_spoken_of(items)
            || is_filler(&refs(&words))
            || is_plan(items),
        meal_said: meal && !(is("undone") || is("wanted")),
        meal: meal && words.len() < 9 && !finite(2),
        undone: undone(items),
        apart: denied(items),
    }
}

/// `no showers today`: the activities of which there was none, where that is all that is said.
fn undone(items: &[Item]) -> Vec<String> {
    let of_uses = items.iter().filter(|item| item.is_name()).all(Item::is_use);
    let never = |item: &Item| item.words.iter().all(|w| is_of("didnt naught", &w.low));
    let never = items.iter().filter(|item| item.is_not()).all(never);
    let ahead = items.iter().any(Item::is_to_come);
    let plainly = of_uses && never && !ahead && denied(items).is_some();
    let uses = items.iter().filter(|_| plainly).filter_map(Item::activity);
    uses.map(str::to_string).collect()
}

/// `a task nobody thanks one for`, `we should be careful`: a clause that tells of something else by words
/// of its own. What bears on another clause has none: it says how far that came, or whether it is so.
fn is_apart(items: &[Item]) -> bool {
    let listed = |w: &Word| is_of("unsure undone elsewhere", stem(&w.low));
    let own = |w: &Word| {
        let other = listed(w) || is_of("finite bears idle", &w.low) || is_small(&w.low);
        !other && w.low.len() > 2 && w.text.starts_with(char::is_lowercase)
    };
    let bears = |w: &Word| {
        let open = listed(w) && !is_of("vague idle", stem(&w.low));
        open || is_digit(w) || is_of("bears", &w.low)
    };
    let begins = |item: &Item| {
        let of_another = item.is_of("at in into by on from with for of to up down off out when");
        // `couldn't`; not `no`, `not`, `none`.
        let no = item.is_not() && item.words[0].low.len() < 5;
        of_another || no || item.words.iter().any(|w| is_of("provided", &w.low))
    };
    let not = items.iter().any(Item::is_not);
    let quiet = |item: &Item| match item.is {
        Is::Other => !item.words.iter().any(bears),
        Is::Mark(mark) => !(["rather", "left", "gone"].contains(&mark) || not && mark == "it"),
        Is::Hedge(Hedge::Not) => !item.words.iter().any(|w| is_of("provided bears", &w.low)),
        _ => item.is_article(),
    };
    // `wouldn't start`, `the lid didn't open` say that it was not so; `couldn't be asked to do more` does not.
    let done = |item: &Item| ["n't", "nt"].iter().any(|end| item.words[0].low.ends_with(end));
    let verb = items.iter().position(|item| item.is_not() && done(item));
    let behind = verb.map_or(0, |not| not + 1);
    let words = items[behind..].iter().filter(|item| item.is_other()).flat_map(|item| item.words);
    let next = usize::from(verb.is_some());
    !items.first().is_some_and(begins) && items.iter().all(quiet) && words.skip(next).any(own)
}

/// Whether it says what something cost.
pub(in crate::logline) fn is_priced(text: &str) -> bool {
    let number = |c: char| c.is_ascii_digit() || c == '.';
    let money = |w: &String| is_of("money", stem(w).trim_start_matches(number));
    text.contains(['€', '£', '$']) || lows(text).iter().any(money)
}

/// Whether it says that and nothing else.
pub(in crate::logline) fn is_price(text: &str) -> bool {
    let says = |w: &String| has_digit(w) || is_of("money finite filler people", w);
    is_priced(text) && lows(text).iter().all(says)
}

/// Whether a word may say something of another clause.
fn leaves_open(low: &str) -> bool {
    let listed = is_of("unsure undone refers", stem(low));
    listed && !is_of("pronouns", low)
}

/// Whether a clause is of what no van counts by the piece: `three coffees`, `heater 2 h`.
fn counts(items: &[Item]) -> bool {
    let is = |low: &str| is_of("uncounted", low) || is_of("uncounted", low.trim_end_matches('s'));
    let other = || items.iter().filter(|item| item.is_other());
    let hours = |unit: &Unit| matches!(unit, Unit::Hour | Unit::Minute | Unit::Time);
    let quiet = items.iter().all(|item| match &item.is {
        Is::Other => !item.words.iter().any(|w| leaves_open(&w.low)),
        Is::Amount(Said::Bare(_)) => true,
        Is::Amount(Said::Quantity(said)) => hours(&said.unit),
        Is::Time(_) | Is::Hedge(Hedge::Doubt | Hedge::Odd) => true,
        Is::Mark(mark) => !["more", "all", "both", "another", "left"].contains(mark),
        _ => false,
    });
    quiet && other().flat_map(|item| item.words).any(|w| is(&w.low))
}

/// `have to dump tomorrow`, `will shop on friday`: what is still to be done, on a day to come.
fn is_plan(items: &[Item]) -> bool {
    let wanted = |item: &Item| {
        item.words.iter().any(|w| {
            w.tense == Tense::Will
                || is_of("wanted", &w.low)
                || item.is_not() && w.low.ends_with(" to")
        })
    };
    items.iter().any(wanted) && items.iter().any(is_ahead)
}

/// `the queue was long`, `I have just looked at it`: whether somebody did, or was, something, which is no
/// part of what stands beside it.
fn is_story(words: &[String]) -> bool {
    let is = |rows: &str, w: &String| is_of(rows, stem(w));
    let joined = words.iter().take_while(|w| is("joints", w)).count();
    let [first, rest @ ..] = &words[joined..] else { return false };
    let someone = is("subject someone speaker", first);
    // `the phone that is`.
    let thing = is("article", first) && rest.len() > 1 && !rest.iter().any(|w| is("which so", w));
    let digit = |w: &String| has_digit(w);
    let outcome = |w: &String| is("outcome", w) || is_time_word(w) || digit(w);
    let there = rest.iter().any(|w| is("elsewhere", w)) && rest.iter().any(|w| is("there", w));
    rest.len() > 1 && (someone || thing) && !there && !words.iter().any(outcome)
}

/// `gas getting low`, `toilet fine`: whether stocks are spoken of, and no more is told.
fn is_spoken_of(items: &[Item]) -> bool {
    let plain = |item: &Item| match item.is {
        // `with the water of the sea` tells which water it was.
        Is::Other => !item
            .words
            .iter()
            .any(|w| leaves_open(&w.low) || is_digit(w) || is_of("elsewhere", &w.low)),
        Is::Name(_) => item.stock().is_some(),
        Is::Ask(ways) => ways.starts_with('{'),
        Is::Mark(mark) => !["to-full", "completely", "gone", "left", "out", "in"].contains(&mark),
        _ => item.is_article(),
    };
    let named = |item: &Item| item.is_name() || matches!(item.is, Is::Ask(_));
    items.len() > 1 && items.iter().any(named) && items.iter().all(plain)
}

/// `nobody showered`, `no dishes yet`: the words of what was not done, where it says no more.
pub(in crate::logline) fn denied(items: &[Item]) -> Option<Vec<String>> {
    let said = |w: &str| is_of("unsure undone refers", stem(w));
    let plain = |item: &Item| match item.is {
        Is::Other => !item.words.iter().any(|w| said(&w.low) || is_digit(w)),
        Is::Name(_) | Is::Hedge(Hedge::Not) | Is::Time(_) => true,
        Is::Mark(mark) => !["but", "only", "rather"].contains(&mark),
        _ => item.is_article(),
    };
    let names = items.iter().filter(|item| item.is_name());
    let names: Vec<String> = names.flat_map(|item| item.words).map(|w| w.low.clone()).collect();
    // `didn't work`.
    let bears = names.iter().any(|name| is_of("bears", name));
    (!(names.is_empty() || bears)
        && items.iter().any(|item| item.is_not())
        && items.iter().all(plain))
    .then_some(names)
}
