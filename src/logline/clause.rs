//! The reading of one thing. What no meaning accounts for is never left out in silence: it is a
//! remark, a slip of a known word, or asked back.

use super::bag::{BESIDE, Bag, TAILS, ends_done};
use super::item::{Is, Item, apart, at_items};
use super::lexicon::{Hedge, lexicon};
use super::meaning;
use super::misread::{EXAMPLE, Misread, Swap, example};
use super::scene::{SaidThing, Scene};
use super::vocabulary::Vocabulary;
use super::word::{Kind, Word};
use crate::domain::entry::Event;
use crate::domain::flow::Per;

/// Reads one thing.
pub(super) fn read(items: &[Item], scene: &Scene) -> Result<Vec<SaidThing>, Misread> {
    let bag = Bag::of(items);
    if let Some(hedge) = items.iter().position(|item| matches!(item.is, Is::Hedge(_))) {
        let message = "this leaves open what happened: only what did is written down";
        let doubt = |item: &&Item| matches!(item.is, Is::Hedge(Hedge::Doubt));
        let doubts: Vec<&Item> = items[hedge..].iter().take_while(doubt).collect();
        let figure = items.get(hedge + doubts.len());
        if !doubts.is_empty() && figure.is_some_and(|item| matches!(item.is, Is::Amount(_))) {
            let message = "not certain: write `about` where it is about right";
            return Err(at_items(&doubts, message).write("about"));
        }
        let misread = at_items(&[&items[hedge]], message);
        let amount = hedge > 0 && matches!(items[hedge - 1].is, Is::Amount(_));
        // `grey 40%?` is a reading that was not looked at well.
        let guess = amount && items[hedge].words[0].low == "?";
        return Err(if guess { misread.write("") } else { misread });
    }
    if let Some(item) = items.iter().find(|item| matches!(item.is, Is::Ask(_)))
        && let Is::Ask(ways) = item.is
    {
        return Err(asked(ways, item, scene.known));
    }
    let quoted = bag.strays.iter().flat_map(|item| item.words).find(|w| w.kind == Kind::Quoted);
    if let Some(quoted) = quoted {
        return Err(Misread::at(quoted, "quotes go around the name of a camp"));
    }
    let said = meaning::said(&bag, scene);
    let marks = said.as_ref().map_or("", |(_, marks)| *marks);
    let strange = match &said {
        Ok(_) => bag.strange(marks),
        Err(_) => bag.strays.clone(),
    };
    match said {
        Ok((things, _)) if strange.is_empty() => Ok(things),
        Ok((things, _)) => Err(remark(&bag, &strange, Some(&things[0].event), scene)
            .unwrap_or_else(|| left_over(strange[0], scene))),
        Err(misread) if strange.is_empty() || misread.mend.told => Err(misread),
        Err(mut misread) => {
            // What could be saved without it is no slip of a word.
            let complete = misread.mend.swaps.iter().any(|swap| !swap.text.contains(EXAMPLE));
            let slip = if complete { None } else { near(&bag, &strange, scene) };
            Err(slip.unwrap_or_else(|| {
                beside(&mut misread, &bag, &strange, scene);
                misread
            }))
        }
    }
}

/// Keeps strange words as a remark in what could be written instead, or else offers nothing.
fn beside(misread: &mut Misread, bag: &Bag, strange: &[&Item], scene: &Scene) {
    let number = |w: &Word| w.low.contains(|c: char| c.is_ascii_digit());
    let other =
        |item: &&Item| !matches!(item.is, Is::Other | Is::Mark(_)) || item.words.iter().any(number);
    let whole = |swap: &Swap| {
        swap.over.is_none() && !swap.text.contains(EXAMPLE) && !swap.text.contains('(')
    };
    let first = bag.amounts.iter().map(|a| a.item).chain(bag.names.iter().copied());
    let first = first.chain(bag.verbs.iter().copied()).map(Item::start).min();
    let before = strange.iter().any(|item| Some(item.start()) < first);
    if before || strange.iter().any(other) || !misread.mend.swaps.iter().all(whole) {
        return misread.mend.swaps.clear();
    }
    let (from, to) = (strange[0].start(), strange[strange.len() - 1].end());
    let words: String = scene.line.chars().skip(from).take(to - from).collect();
    let apart = strange.len() > 1 && strange[1].start() > strange[0].end() + 12;
    match apart {
        true => misread.mend.swaps.clear(),
        false => misread.mend.swaps.iter_mut().for_each(|swap| swap.text += &format!(" ({words})")),
    }
}

/// A phrase that is not clear, with the words that would do; `{name}` in it is the rig's own word.
fn asked(ways: &str, item: &Item, known: &Vocabulary) -> Misread {
    let meant = ways.split(" | ").filter_map(|way| {
        match way.split_once('{').and_then(|(b, rest)| Some((b, rest.split_once('}')?))) {
            // A level that only seems to have been said.
            None if way.starts_with(|c: char| c.is_ascii_digit()) && way.ends_with('%') => {
                Some(example(way))
            }
            None => Some(way.to_string()),
            Some((before, (name, after))) => {
                known.stock_named(name).map(|own| format!("{before}{own}{after}"))
            }
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
    let either = ways.matches('{').count() > 1;
    let mut misread = meant.into_iter().fold(at_items(&[item], message), Misread::write);
    misread.mend.either = either;
    misread
}

/// Strange words as a remark on what was done, where they cannot change what that is.
fn remark(bag: &Bag, strange: &[&Item], event: Option<&Event>, scene: &Scene) -> Option<Misread> {
    let event = event?;
    let digits = |item: &&Item| {
        let number = item.words.iter().any(|w| w.low.contains(|c: char| c.is_ascii_digit()));
        number || matches!(item.is, Is::Amount(_))
    };
    let told = bag.items.iter().any(|item| matches!(item.is, Is::Remark));
    let for_whom = strange.iter().position(|item| item.is_mark(&["for"]));
    let numbers =
        strange.iter().position(digits).is_some_and(|at| for_whom.is_none_or(|from| from > at));
    let for_whom = for_whom == Some(0) && strange.len() > 1 && !matches!(event, Event::Crew(_));
    let words = strange.iter().any(|item| matches!(item.is, Is::Other)) || for_whom;
    let who = strange[0]
        .words
        .iter()
        .all(|w| w.text.starts_with(char::is_uppercase) && !w.low.ends_with("ed"));
    let done = bag.is_done(event) || who && matches!(event, Event::Use { .. });
    if told || !words || numbers || !done && !for_whom {
        return None;
    }
    let amounts = bag.amounts.iter().map(|amount| amount.item);
    let core = bag.verbs.iter().chain(&bag.names).copied().chain(amounts).map(|item| item.start());
    let (first, last) = (core.clone().min()?, core.max()?);
    let (who, rest): (Vec<&Item>, Vec<&Item>) =
        strange.iter().partition(|item| item.start() < first);
    let of_use = matches!(event, Event::Use { .. } | Event::Level { .. });
    let behind = rest.first().is_none_or(|item| {
        let beside = if of_use { BESIDE } else { TAILS };
        item.start() > last && (item.is_of(beside) || matches!(item.is, Is::Other))
    });
    let named = |item: &&Item| match item.is {
        Is::Other => item.words.len() <= 2 && is_person(item, bag),
        _ => item.is_mark(&["and"]),
    };
    if !behind || !who.iter().all(named) || !who.is_empty() && matches!(event, Event::Level { .. })
    {
        return None;
    }
    let (kept, aside) = apart(bag.items, strange, scene.span, scene.line);
    let people = who.iter().filter(|item| matches!(item.is, Is::Other)).count();
    let each = match event {
        Event::Use { activity, .. } => {
            scene.parts.activity(activity).is_some_and(|(_, a)| a.per == Per::Person)
        }
        _ => false,
    };
    let both = if people == 2 && each && bag.amounts.is_empty() { "both " } else { "" };
    let misread = at_items(&strange[..1], "is this a remark? Write it in parentheses");
    Some(misread.write_over(scene.span, format!("{both}{kept} ({aside})")))
}

/// Whether a strange word in front is who has done it.
fn is_person(item: &Item, bag: &Bag) -> bool {
    let name = |w: &Word| w.text.starts_with(char::is_uppercase);
    let done = !bag.verbs.is_empty()
        || bag.names.iter().any(|n| {
            n.words.iter().any(|w| w.low.ends_with("ed")) || n.words[0].lead.is_some_and(ends_done)
        });
    let counted = bag.amounts.iter().any(|a| a.item.words[0].lead.is_some_and(ends_done));
    // `I wrote ...`: who it was has been said.
    if item.words[0]
        .lead
        .is_some_and(|lead| ["i", "we", "he", "she"].contains(&lead.to_lowercase().as_str()))
    {
        return false;
    }
    item.words.iter().all(name) || item.words.len() == 1 && (done || counted)
}

/// Words that are nearly those of the rig or the grammar.
fn near(bag: &Bag, strange: &[&Item], scene: &Scene) -> Option<Misread> {
    // `showered at the pool` is no slip of a word.
    let behind = |item: &Item| {
        let before = bag.items.iter().take_while(|other| other.start() < item.start()).last();
        before.is_some_and(|mark| mark.is_of(TAILS) && !mark.is_mark(&["from", "of"]))
    };
    let strange = strange.iter().filter(|item| matches!(item.is, Is::Other) && !behind(item));
    let words = strange.flat_map(|item| item.words);
    words
        .filter(|w| w.kind == Kind::Plain && !w.low.contains(|c: char| c.is_ascii_digit()))
        .find_map(|word| {
            let names = scene.known.offered.iter().map(|o| o.word.as_str());
            let verbatim = |name: &&str| !["camp", "note", "outlook", "forecast"].contains(name);
            let verbs = lexicon().verbs().filter(verbatim);
            let long = word.low.chars().count() > 2 && !lexicon().knows(&word.low);
            let names = names.chain(verbs).filter(|_| long);
            let mut near = Vocabulary::nearest(&word.low, names);
            let alone = bag.items.len() == 1;
            near.retain(|name| alone || !name.contains(' ') || word.low.contains('-'));
            let mut misread = Misread::at(word, "no such activity, stock or word here");
            misread.nearest = near;
            (!misread.nearest.is_empty()).then_some(misread)
        })
}

/// The misread for a word after a thing that was complete without it.
fn left_over(item: &Item, _scene: &Scene) -> Misread {
    let word = &item.words[0];
    let message = match super::time::is_month(&word.low) {
        true => "no such day in that month",
        false => "not understood here: a comma separates things",
    };
    Misread::at(word, message)
}
