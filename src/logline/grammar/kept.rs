//! Which words of a clause are of what it tells, and whether it takes itself back.

use super::beside::{is_another, is_done, says_nothing};
use crate::domain::unit::Unit;
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::Hedge;
use crate::logline::lexis::listed::{has_digit, is_of, is_small, stem};
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Word, as_written};
use crate::logline::tokens::item::{Is, Item};

/// Small words that say how an amount is meant, or of how many.
const KEPT: &str =
    "to left both each times x another out to-full completely at of about gone all up we lamps";

/// Whether an item says that something went in or out.
pub(in crate::logline) fn moves(item: &Item) -> bool {
    match item.is {
        Is::Ask(ways) => ["added", "emptied"].iter().any(|verb| ways.starts_with(verb)),
        _ => item.is_verb("filled added emptied swapped out-of"),
    }
}

/// Whether a place says where something was done, and not that somebody came there.
pub(super) fn is_there(items: &[Item], at: usize) -> bool {
    at > 0 && items[at - 1].is_of("at in by")
}

/// Whether an item is of what a clause tells.
pub(in crate::logline) fn is_kept(items: &[Item], at: usize) -> bool {
    let item = &items[at];
    let before = at.checked_sub(1).map(|at| &items[at]);
    // `40% when I put out the light at ten`: what else was done then.
    let when = items[..at].iter().position(|item| item.is_of("when while"));
    let told = |when: usize| items[..when].iter().any(|item| item.is_name() || item.is_number());
    match &item.is {
        Is::Verb(_) | Is::Name(_) | Is::Place if when.is_some_and(told) => false,
        Is::Verb("back" | "day") | Is::Remark | Is::Other | Is::Hedge(_) => false,
        Is::Name(_) => is_name_kept(items, at),
        // `filled up for tomorrow`.
        Is::Time(_) => !before.is_some_and(|b| b.is_of("for")),
        Is::Place => is_place_kept(items, at),
        Is::Verb(_) | Is::Until(Some(_)) | Is::Step(_) => true,
        // `from nine till one`.
        Is::Until(None) => items[at + 1..].iter().take(2).any(Item::is_amount),
        Is::Mark("about") if before.is_some_and(|b| matches!(b.is, Is::Until(_))) => false,
        // Who comes is read from a whole sentence.
        Is::Ask(ways) if ways.contains("guest") && has_digit(ways) => items.len() < 2,
        // `loo solids`; when it was may be asked of anything.
        Is::Ask(ways) if is_when(ways) => true,
        // `nearly gone, 9 percent`.
        Is::Ask(ways) if ways.ends_with('%') => !items.iter().any(Item::is_number),
        // `the first go did nothing` is of no day.
        Is::Ask("day closed") => !items.iter().any(is_strange),
        Is::Ask(ways) => {
            let named = items.iter().any(|item| item.is_name());
            let verb = items.iter().any(|item| matches!(item.is, Is::Verb(_)));
            let verbs = moves(item);
            verbs && named || !named && (verb || ways.matches('{').count() < 2)
        }
        // `2 coffees`, `cooked for one`.
        Is::Amount(Said::Bare(_)) => is_number_kept(items, at),
        // `cooked with four people`.
        Is::Amount(Said::Quantity(said)) if said.unit == Unit::Person => {
            !before.is_some_and(|b| b.is_of("with for"))
        }
        Is::Amount(_) => true,
        Is::Mark("from" | "since" | "after") => {
            let small = |item: &&Item| {
                item.is_other() && item.words.iter().all(says_nothing) || item.is_of("about")
            };
            let next = items[at + 1..].iter().find(|item| !small(item)).map(|item| &item.is);
            matches!(next, Some(Is::Time(_) | Is::Amount(_)))
        }
        // `we showered` leaves open how many.
        Is::Mark("we") => {
            items[at + 1..].first().is_some_and(|item| item.is_use())
                && !items.iter().any(|item| item.is_amount())
        }
        Is::Mark(_) => item.is_of(KEPT),
    }
}

/// Whether a place is where they came to: not `we left Oarlock Bay`; `emptied the grey at Barley Arm`
/// tells where that was.
fn is_place_kept(items: &[Item], at: usize) -> bool {
    let before = at.checked_sub(1).map(|at| &items[at]);
    // `Long Thwart to Sorrel Head`: where they came from.
    let from = matches!(&items[at + 1..], [to, place, ..] if to.is_of("to") && place.is_place());
    let served = items[..at].iter().any(|item| moves(item) || item.is_of("in into out"));
    !from && !before.is_some_and(|b| b.is_of("left") || served && b.is_of("at in by from"))
}

/// Whether a clause says that it was not so, or not aboard.
pub(in crate::logline) fn denied(items: &[Item]) -> bool {
    // Laundry is done elsewhere.
    let laundry = |item: &Item| matches!(item.is, Is::Ask(ways) if ways.starts_with("filled"));
    let served = |item: &Item| matches!(item.is, Is::Verb(_) | Is::Place) || laundry(item);
    let served = items.iter().any(served);
    let used = items.iter().any(|i| i.is_use());
    let pronoun = items.first().is_some_and(|item| is_of("pronouns", &item.words[0].low));
    let of_thing =
        pronoun || items.iter().any(|item| item.is_name() || matches!(item.is, Is::Ask(_)));
    let measured = |item: &Item| matches!(item.is, Is::Amount(Said::Quantity(_)));
    let stock = items.iter().any(|item| item.stock().is_some()) && items.iter().any(measured);
    let far = items.iter().any(|item| matches!(&item.is, Is::Amount(Said::Quantity(q)) if q.unit.converts_to(&Unit::Kilometre)));
    // `3 more nights here` are still to come.
    let more = |two: &[Item]| two[0].is_of("more") && two[1].stock().is_some();
    let strange = |at: usize| {
        let item = &items[at];
        let after = at > 0 && items[at - 1].is_of("after before");
        let told = |list| {
            let open = |w: &Word| is_of(list, stem(&w.low)) && !is_of("whose", &w.low);
            item.words.iter().any(open)
        };
        let down = !(served || used || far) && item.words.iter().any(|w| w.is("down"));
        // `2 showers, 4 euros`: not aboard; `diesel 40 L 60 euros` is bought.
        let paid = !stock && told("money");
        let gone = down || told("undone") || paid;
        gone || of_thing && !served && !after && told("elsewhere")
    };
    is_of_a_place(items)
        || items.windows(2).any(more)
        || is_left(items)
        || items.iter().enumerate().any(|(at, item)| match item.is {
            Is::Hedge(Hedge::Not) => !(is_manner(items, at) || is_wish(items, at)),
            // `nearly emptied the grey`.
            Is::Hedge(Hedge::Doubt) => {
                let verb = items.get(at + 1).is_some_and(|next| matches!(next.is, Is::Verb(_)));
                verb && item.words[0].text.to_lowercase().starts_with(['n', 'a'])
            }
            Is::Hedge(Hedge::Odd) => true,
            Is::Other => strange(at),
            _ => false,
        })
}

/// `tomorrow we want to drive to Sorrel Head`: whether a clause says what is to be done, and when.
pub(in crate::logline) fn wish(items: &[Item]) -> bool {
    (0..items.len()).any(|at| is_wish(items, at))
}

fn is_wish(items: &[Item], at: usize) -> bool {
    let done = |item: &Item| matches!(item.is, Is::Verb(_) | Is::Place);
    let wanted = |w: &Word| is_of("wanted", &w.low) || w.low.ends_with(" to");
    items[at].is_not()
        && items[at].words.iter().any(wanted)
        && items.iter().any(is_ahead)
        && items.iter().any(done)
        && !items.iter().any(|item| item.is_not() && !item.words.iter().any(wanted))
}

/// Whether it is a time that may lie ahead.
pub(in crate::logline) fn is_ahead(item: &Item) -> bool {
    let behind = |w: &Word| w.is_any("yesterday ago last today this now");
    item.is_time() && !item.words.iter().any(behind)
}

/// Whether words of no table tell of something, and not of who.
pub(in crate::logline) fn is_strange(item: &Item) -> bool {
    let goes = |w: &Word| is_of("goes", &w.low);
    item.is_other() && !item.words.iter().all(|w| is_small(&w.low) || is_who(w) || goes(w))
}

/// Whether a word says who.
pub(in crate::logline) fn is_who(word: &Word) -> bool {
    is_of("people", &word.low) || word.text.starts_with(char::is_uppercase)
}

/// `Sorrel Head was lovely`: what a place is like.
fn is_of_a_place(items: &[Item]) -> bool {
    let finite = |w: &Word| is_of("finite", &w.low);
    let like = |item: &Item| item.is_other() && item.words.iter().any(finite);
    matches!(items, [Item { is: Is::Place, .. }, rest @ ..] if rest.first().is_some_and(like))
}

/// `washed up without being asked`: how something was done.
pub(super) fn is_manner(items: &[Item], at: usize) -> bool {
    let named = items[..at].iter().any(|item| matches!(item.is, Is::Name(_) | Is::Verb(_)));
    named && items[at].words[0].is_said("without")
}

/// `left the washing up for the morning`, `the pots can stay dirty`: a use that was not made yet.
fn is_left(items: &[Item]) -> bool {
    let left = |item: &Item| item.words.iter().any(|w| is_of("leaving", &w.text.to_lowercase()));
    let open = |item: &Item| item.is_use() && !item.words.iter().any(is_done);
    if items.iter().any(left) && items.iter().any(open) && !items.iter().any(Item::is_number) {
        return true;
    }
    let used = items.iter().position(Item::is_use);
    let before = used.and_then(|at| items[..at].iter().rev().find(|item| !item.is_article()));
    before.is_some_and(|item| item.is_of("left"))
}

/// Where a clause goes on with a camp that nobody knows, in small letters: there it says where.
pub(in crate::logline) fn unknown_camp(items: &[Item], known: &Vocabulary) -> Option<usize> {
    let place = items.iter().position(|item| item.is_place())?;
    let name = as_written(items[place].words);
    let unknown = known.place(&name).is_none() && !name.starts_with(char::is_uppercase);
    place.checked_sub(1).filter(|_| unknown)
}

/// Whether what is to be asked is when it was.
pub(in crate::logline) fn is_when(ways: &str) -> bool {
    ways.starts_with("this ")
}

/// Whether a name is of the thing that a clause tells of.
fn is_name_kept(items: &[Item], at: usize) -> bool {
    let (item, before) = (&items[at], at.checked_sub(1).map(|at| &items[at]));
    // `a flannel wash` is no beginning of `wash-up`.
    let begun = item.words[0].low.starts_with(&item.words[0].text.to_lowercase())
        && item.words[0].low != item.words[0].text.to_lowercase();
    let another = before.is_some_and(|b| b.is_other() && is_another(b, item));
    // `a wee shower`, `a bottle of wine`, `dinner dishes`.
    let next = items.get(at + 1);
    let of = next.is_some_and(|next| next.is_of("of")) && items.get(at + 2).is_some_and(is_strange);
    let hour = item.words.iter().all(|w| is_of("mealtimes", &w.low));
    !(another || of || hour || begun && items.iter().any(Item::is_other))
}

/// Whether a number without a unit is of the thing that a clause tells of.
fn is_number_kept(items: &[Item], at: usize) -> bool {
    let (item, before) = (&items[at], at.checked_sub(1).map(|at| &items[at]));
    let strange = |item: Option<&Item>| item.is_some_and(|item| item.is_other());
    // `showers 2 coffee 4` counts behind, `2 showers 4 coffees` in front.
    let told = |item: &Item| matches!(item.is, Is::Name(_) | Is::Amount(_));
    let first = items.iter().find(|item| told(item));
    let behind = first.is_some_and(|item| item.is_name());
    let small = |item: &&Item| item.is_other() && item.words.iter().all(says_nothing);
    let next = items[at + 1..].iter().find(|item| !small(item));
    let last = items[..at].iter().rev().find(|item| !small(item));
    let of = if behind { last } else { next };
    // `wee one`.
    let used = items.iter().any(|i| i.is_use());
    // `rinsed her down twice`.
    let often = is_of("often", &item.words[0].text.to_lowercase());
    if often && (behind || !used) {
        // `dishes. twice yesterday`.
        return used || !items.iter().any(|item| is_strange(item) || item.is_name());
    }
    let number = item.words.iter().all(|w| w.is_said("one"));
    let one = number && before.is_some_and(|item| item.stock().is_some());
    // `lamp two`, `two friends`.
    let stock = items.iter().any(|item| item.stock().is_some());
    // `battery showed 88`, `I read 62 on the battery` are of no lamp.
    let reads = |item: &Item| item.words.iter().any(|w| is_of("reads finite", &w.low));
    let verb = at > 1 && items[at - 2].stock().is_some() || before.is_some_and(reads);
    let lamp = stock && !verb && before.is_some_and(is_strange);
    let us = items[at + 1..].iter().take(2).any(|item| item.is_of("us"));
    // `worked till 5`.
    let ranged = |at: usize| at > 0 && (items[at - 1].is_amount() || items[at - 1].is_time());
    let until = before.is_some_and(|b| matches!(b.is, Is::Until(None))) && !ranged(at - 1);
    let for_whom = us || until || before.is_some_and(|b| b.is_of("for us by"));
    !(item.is_article() || for_whom || lamp || one || strange(of))
}
