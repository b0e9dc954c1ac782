//! The reading of one thing. What no meaning accounts for is never left out in silence: it is a
//! remark, a slip of a known word, or asked back.

use super::bag::{Bag, TAILS};
use super::gone;
use super::kept::is_there;
use super::meaning;
use super::scene::{SaidThing, Scene};
use super::talk::denied;
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::{Hedge, lexicon};
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::misread::{
    EXAMPLE, FORGOTTEN, GONE, LEFT_OVER, Misread, UNDONE, UNKNOWN, example,
};
use crate::logline::lexis::units::is_counted;
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Kind, as_written};
use crate::logline::tokens::item::{Is, Item, at_items};

/// Reads one thing.
pub(in crate::logline) fn read(items: &[Item], scene: &Scene) -> Result<Vec<SaidThing>, Misread> {
    if let Some(place) = elsewhere(items) {
        let rest = [&items[..place - 1], &items[place + 1..]].concat();
        let mut said = read(&rest, scene)?;
        let there = as_written(&[items[place - 1].words, items[place].words].concat());
        said.iter_mut().for_each(|said| said.remark = said.remark.take().or(Some(there.clone())));
        return Ok(said);
    }
    if let Some(gone) = gone::said(items) {
        return read(&gone, scene);
    }
    let bag = Bag::of(items);
    if let Some(hedge) = items.iter().position(|item| matches!(item.is, Is::Hedge(_))) {
        let doubt = |item: &&Item| matches!(item.is, Is::Hedge(Hedge::Doubt));
        let doubts: Vec<&Item> = items[hedge..].iter().take_while(doubt).collect();
        let figure = items.get(hedge + doubts.len());
        if !doubts.is_empty() && figure.is_some_and(|item| item.is_amount()) {
            let message = "not certain: write `about` where it is about right";
            return Err(at_items(&doubts, message).write("about"));
        }
        let misread = at_items(&[&items[hedge]], open_for(items, hedge));
        let amount = hedge > 0 && items[hedge - 1].is_amount();
        // `grey 40%?` is a reading that was not looked at well; how far `there and back` is is asked.
        let said = &items[hedge].words[0].low;
        let guess = amount && said == "?" || said.ends_with("back");
        return Err(if guess { misread.write("") } else { misread });
    }
    if let Some(at) = items.iter().position(|item| matches!(item.is, Is::Ask(_)))
        && let Is::Ask(ways) = items[at].is
    {
        // `2 toilet` can only be said of what is counted.
        let bare = |item: &Item| matches!(item.is, Is::Amount(Said::Bare(_)));
        let counted = at > 0 && bare(&items[at - 1]) && ways.starts_with('{');
        return Err(asked(ways, &items[at], (counted, scene)));
    }
    let quoted = bag.strays.iter().flat_map(|item| item.words).find(|w| w.kind == Kind::Quoted);
    if let Some(quoted) = quoted {
        return Err(Misread::at(quoted, "quotes go around the name of a camp"));
    }
    let said = meaning::said(&bag, scene);
    let strange = match &said {
        Ok((_, marks)) => bag.strange(marks),
        Err(_) => bag.strays.clone(),
    };
    match said {
        Ok((things, _)) if strange.is_empty() => Ok(things),
        Ok(_) => Err(near(&bag, &strange, scene).unwrap_or_else(|| left_over(strange[0]))),
        Err(misread) if strange.is_empty() || misread.mend.told => Err(misread),
        Err(mut misread) => {
            // What could be saved without it is no slip of a word.
            let complete = misread.mend.swaps.iter().any(|swap| !swap.text.contains(EXAMPLE));
            let slip = if complete { None } else { near(&bag, &strange, scene) };
            // Nor does it stand for the words that it would leave out.
            misread.mend.swaps.clear();
            Err(slip.unwrap_or(misread))
        }
    }
}

/// `emptied grey at Barley Arm`: the place where something was filled or emptied, which says nothing of
/// where the van stays.
fn elsewhere(items: &[Item]) -> Option<usize> {
    let served = items.iter().any(|item| item.is_verb("filled added emptied swapped"));
    let there = |at: &usize| items[*at].is_place() && is_there(items, *at);
    (1..items.len()).find(there).filter(|_| served)
}

/// A phrase that is not clear, with the words that would do; `{name}` in it is the rig's own word.
fn asked(ways: &str, item: &Item, (counted, scene): (bool, &Scene)) -> Misread {
    let known = scene.known;
    let fits =
        |own: &str| !counted || scene.parts.stock(own).is_some_and(|(_, s)| is_counted(&s.unit));
    let meant = ways.split(" | ").filter_map(|way| {
        match way.contains('{') {
            // A level that only seems to have been said.
            false if way.starts_with(|c: char| c.is_ascii_digit()) && way.ends_with('%') => {
                Some(example(way))
            }
            // `unplugged at 9` leaves open for how long it was not.
            false => match way.split_once(" 8 h") {
                Some((verb, _)) => Some(format!("{verb} {}", example("8 h"))),
                None => Some(way.to_string()),
            },
            true => in_own_words(way, known, fits),
        }
    });
    let meant: Vec<String> = meant.collect();
    if meant.is_empty() {
        return at_items(&[item], "this moves no stock of this rig");
    }
    let message = format!(
        "not clear: write `{}` if that is meant",
        meant.join("` or `").replace(EXAMPLE, "")
    );
    let either = meant.len() > 1 && ways.matches('{').count() > 1;
    let mut misread = meant.into_iter().fold(at_items(&[item], message), Misread::write);
    misread.mend.either = either;
    misread
}

/// What is said of a clause with a word that may change what it tells.
fn open_for(items: &[Item], hedge: usize) -> &'static str {
    let says = |row| items[hedge].words.iter().any(|w| is_of(row, &w.low));
    match () {
        () if denied(items).is_some() => {
            "what was not done takes nothing: a note, or `day closed` once the day is told"
        }
        () if says("likely-lost") => GONE,
        () if says("late") => FORGOTTEN,
        () => UNDONE,
    }
}

/// Words of a table with the rig's own word for the `{name}` in them; `None` where it has none that `fits`.
pub(in crate::logline) fn in_own_words(
    words: &str,
    known: &Vocabulary,
    fits: impl Fn(&str) -> bool,
) -> Option<String> {
    match words.split_once('{').and_then(|(b, rest)| Some((b, rest.split_once('}')?))) {
        None => Some(words.to_string()),
        Some((before, (name, after))) => {
            let own = known.stock_named(name).filter(|own| fits(own))?;
            Some(format!("{before}{own}{after}"))
        }
    }
}

/// Words that are nearly those of the rig or the grammar.
fn near(bag: &Bag, strange: &[&Item], scene: &Scene) -> Option<Misread> {
    // `showered at the pool` is no slip of a word.
    let behind = |item: &Item| {
        let before = bag.items.iter().take_while(|other| other.start() < item.start()).last();
        before.is_some_and(|mark| mark.is_of(TAILS) && !mark.is_of("from of"))
    };
    let strange = strange.iter().filter(|item| item.is_other() && !behind(item));
    let words = strange.flat_map(|item| item.words);
    words
        .filter(|w| w.kind == Kind::Plain && !w.low.contains(|c: char| c.is_ascii_digit()))
        .find_map(|word| {
            let names = scene.known.offered.iter().map(|o| o.word.as_str());
            let verbatim = |name: &&str| !["camp", "note", "outlook", "forecast"].contains(name);
            let verbs = lexicon().verbs().filter(verbatim);
            let shortest = if bag.items.len() > 1 { 4 } else { 3 };
            let long = word.low.chars().count() >= shortest && !lexicon().lists(&word.low);
            let names = names.chain(verbs).filter(|_| long);
            let mut near = Vocabulary::nearest(&word.low, names);
            let alone = bag.items.len() == 1;
            // Among other words a slip begins as its word does.
            let begins = |name: &str| name.chars().next() == word.low.chars().next();
            near.retain(|name| {
                alone || begins(name) && (!name.contains(' ') || word.low.contains('-'))
            });
            let mut misread = Misread::at(word, UNKNOWN);
            misread.nearest = near;
            (!misread.nearest.is_empty()).then_some(misread)
        })
}

/// The misread for a word after a thing that was complete without it.
fn left_over(item: &Item) -> Misread {
    let word = &item.words[0];
    let message = match crate::logline::times::time::is_month(&word.low) {
        true => "no such day in that month",
        false => LEFT_OVER,
    };
    Misread::at(word, message)
}
