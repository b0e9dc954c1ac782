//! How much of a stock is gone: `lost fresh 4 L` without having been used, `used wood 6 kg in all` that
//! day. Only the second is a part of what is used on every day, so that the two are never mixed up.

use super::bag::Bag;
use super::scene::{SaidThing, Scene, in_stock};
use super::service::{Served, served, taken_out};
use crate::domain::{Direction, Event, Quantity, Unit};
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::{Hedge, lexicon};
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::word::{Word, as_written, text};
use crate::logline::tokens::item::{Is, Item, at_items};

/// `spilled 10 L of water`, `used 10 L of water`: so much of a stock is gone. Without an amount that a
/// stock may have the same words say something else.
pub(super) fn said<'p>(items: &[Item<'p>]) -> Option<Vec<Item<'p>>> {
    let verb = |item: &Item| {
        let said = match item.is {
            Is::Hedge(Hedge::Odd) => text(item.words),
            // `used up 2 L`, `3 L of diesel gone`.
            Is::Ask("empty") => item.words[0].text.to_lowercase(),
            _ => return item.is_of("gone").then_some("used"),
        };
        let is = |row: &&'static str| lexicon().all(row).any(|phrase| phrase == said);
        ["lost", "used"].into_iter().find(is)
    };
    let at = items.iter().position(|item| verb(item).is_some())?;
    let bare = items[at].is_of("gone");
    let stock = items.iter().any(|item| item.stock().is_some());
    let counted = |item: &Item| match &item.is {
        Is::Amount(Said::Quantity(q)) => {
            let measured = [Unit::Litre, Unit::Kilogram, Unit::WattHour, Unit::AmpHour];
            let own = matches!(q.unit, Unit::Own(_));
            stock && !bare || own || measured.iter().any(|unit| q.unit.converts_to(unit))
        }
        _ => stock && !bare && (item.is_number() || item.is_of("all")),
    };
    let blurs = |item: &&Item| matches!(item.is, Is::Hedge(_) | Is::Verb(_) | Is::Ask("empty"));
    let blurred = items.iter().filter(blurs).count() + usize::from(bare);
    let mut gone = items.to_vec();
    gone[at].is = Is::Verb(verb(&items[at])?);
    for at in 1..gone.len() {
        match gone[at].is {
            // `used 12 L for showers`: what it went into.
            Is::Name(_) if gone[at].is_use() && gone[at - 1].is_of("for on") => {
                gone[at].is = Is::Other;
            }
            Is::Ask(ways) if ways.contains(" until ") => gone[at].is = Is::Mark("since"),
            _ => {}
        }
    }
    (items.iter().any(counted) && blurred == 1).then_some(gone)
}

/// The same within a clause, where so much is told, and of a day.
pub(in crate::logline) fn of_a_day<'p>(items: &[Item<'p>]) -> Option<Vec<Item<'p>>> {
    let other = |item: &Item| match &item.is {
        Is::Time(when) => !when.is_a_day() || item.is_to_come(),
        _ => is_a_span(item),
    };
    let measured = |item: &Item| matches!(item.is, Is::Amount(Said::Quantity(_)));
    let told = items.iter().any(measured) && !items.iter().any(other);
    said(items).filter(|gone| told && !gone.iter().any(is_a_span))
}

/// Whether it says another time than a day: `since noon`, `this week`, `for 3 days`.
fn is_a_span(item: &Item) -> bool {
    match &item.is {
        Is::Amount(said) => said.days().is_some(),
        Is::Other => item.words.iter().any(|w| is_of("periods", &w.low)),
        _ => item.is_of("since"),
    }
}

/// What was spilled, leaked, given away: it is gone beside what is used.
pub(super) fn lost(bag: &Bag, scene: &Scene) -> Result<SaidThing, Misread> {
    let Served { stock, named, amount, after, about } = of_what(bag, "lost", scene)?;
    let name = stock.name.clone();
    if scene.parts.is_store(&name) || stock.reset_by_camp {
        return Err(by_its_level(named));
    }
    happened(bag, scene)?;
    if let Some(other) = bag.strays.first() {
        let amount = amount.map_or(String::new(), |told| as_written(&told.1));
        let behind = bag.items.iter().filter(|item| item.start() >= other.start());
        let why: Vec<Word> = behind.flat_map(|item| item.words).cloned().collect();
        let line = format!("lost {name} {amount} ({})", as_written(&why));
        let misread = at_items(&[other], format!("gone beside what is used? Write `{line}`"));
        return Err(misread.write_all([line]).told());
    }
    let after = match after {
        Some((said, words)) => Some(in_stock(stock, said, &words, scene)?),
        None => None,
    };
    let (amount, share) = match amount {
        Some((said, words)) => taken_out(stock, said, &words, scene)?,
        None if bag.has_mark("all") || after.is_some() => (None, None),
        None => {
            let all = format!("lost all {name}");
            let message = format!("how much? Write the amount, or `{all}` if nothing is left");
            return Err(at_items(&bag.verbs, message));
        }
    };
    Ok(SaidThing { event: Event::Empty { stock: name, amount, after }, remark: about.or(share) })
}

/// What was used, by whatever: all of it on a day, or else it is asked which of the two is meant.
pub(super) fn used(bag: &Bag, scene: &Scene) -> Result<SaidThing, Misread> {
    let hour = scene.at != scene.clock.now && !scene.all_day && !bag.has_mark("all");
    if hour || bag.items.iter().any(is_a_span) {
        let message = "only what a whole day used is kept: write `used` and all of that day, `in all`, or what is left";
        return Err(at_items(&bag.verbs, message).told());
    }
    let served = match of_what(bag, "used", scene) {
        Ok(served) => served,
        Err(misread) => return fed(bag, scene).unwrap_or(Err(misread)),
    };
    let Served { stock, named, amount, after, about } = served;
    let name = &stock.name;
    if stock.runs == Direction::Up || scene.parts.is_store(name) || after.is_some() {
        return Err(by_its_level(named));
    }
    happened(bag, scene)?;
    let Some((said, words)) = amount else {
        return Err(at_items(&bag.verbs, "how much? Write the amount"));
    };
    let amount = in_stock(stock, said, &words, scene)?;
    if amount.unit == Unit::Percent {
        let unit = stock.unit.word();
        let message = format!("a share of what? Write so many {unit}, or what is left, like `60%`");
        return Err(Misread::over(&words, message));
    }
    let burnt = is_burnt(bag) && scene.parts.is_warmed_by(name);
    // `used 5 L for the bikes` is no part of what is used on every day; nor is what is just gone.
    let on_board = |item: &&Item| item.words.iter().any(|w| scene.known.names(&w.low));
    let for_it = bag.strays.first().is_some_and(|item| item.is_of("for"));
    let for_it = for_it && !bag.strays.iter().any(on_board);
    if !bag.strays.is_empty() || !(scene.all_day || burnt || bag.has_mark("all")) {
        let (all, beside) =
            (format!("used {name} {amount} in all"), format!("lost {name} {amount}"));
        let message =
            format!("all that was used that day, or beside the usual? Write `{all}` or `{beside}`");
        let whole: Vec<_> = bag.items.iter().collect();
        let (first, other) = if for_it || is_gone(bag) { (beside, all) } else { (all, beside) };
        return Err(at_items(&whole, message).write_all([first, other]).told());
    }
    Ok(SaidThing { event: Event::Spent { stock: name.clone(), amount }, remark: about })
}

fn is_burnt(bag: &Bag) -> bool {
    ["burned", "burnt"].iter().any(|word| bag.verbs[0].words[0].is_said(word))
}

/// `kids had a bath, 12 litres gone`.
fn is_gone(bag: &Bag) -> bool {
    bag.verbs.iter().any(|verb| verb.words[0].is_said("gone"))
}

/// `burned 6 kg`: of the one fuel that heats and is measured so.
fn fed(bag: &Bag, scene: &Scene) -> Option<Result<SaidThing, Misread>> {
    let [amount] = &bag.amounts[..] else { return None };
    let said = amount.said.quantity().filter(|_| bag.names.is_empty() && is_burnt(bag))?;
    let fuels = scene.parts.heat_fuels().into_iter().filter_map(|name| scene.parts.stock(name));
    let mut fuels = fuels.filter(|(_, fuel)| said.unit.converts_to(&fuel.unit));
    let (_, fuel) = fuels.next().filter(|_| fuels.next().is_none())?;
    let spent = |amount| Event::Spent { stock: fuel.name.clone(), amount }.into();
    let amount = in_stock(fuel, amount.said.clone(), amount.item.words, scene);
    Some(amount.and_then(|amount| happened(bag, scene).map(|()| spent(amount))))
}

/// The stock and how much; where it is not named, the one that holds so much is asked for.
fn of_what<'p, 's>(
    bag: &Bag<'_, 'p>,
    verb: &str,
    scene: &Scene<'s>,
) -> Result<Served<'p, 's>, Misread> {
    let energy = |q: &Quantity| q.unit == Unit::AmpHour || q.unit.converts_to(&Unit::WattHour);
    if bag.names.is_empty()
        && let Some(amount) = bag.amounts.first()
        && amount.said.quantity().is_some_and(|said| energy(&said))
    {
        return Err(by_its_level(amount.item.words));
    }
    served(bag, verb, scene).map_err(|mut misread| {
        misread.mend.told |= bag.names.is_empty();
        let swaps = misread.mend.swaps.iter_mut().filter(|_| verb == "used");
        swaps.for_each(|swap| match is_gone(bag) {
            true => swap.text = swap.text.replacen(verb, "lost", 1),
            false => swap.text += " in all",
        });
        misread
    })
}

fn by_its_level(words: &[Word]) -> Misread {
    Misread::over(words, "how much of it goes is learned from its level: write that, like `60%`")
}

/// Refuses what is still to come.
fn happened(bag: &Bag, scene: &Scene) -> Result<(), Misread> {
    match scene.at > scene.clock.now {
        true => Err(at_items(&bag.verbs, "not gone yet: write it when it is")),
        false => Ok(()),
    }
}
