//! What the items of one thing mean together: uses and readings here, the rest dispatched. Each
//! meaning names the small words that it accounts for.

use super::bag::{Amt, Bag, Role};
use super::gone;
use super::level;
use super::people;
use super::scene::{Meant, SaidThing, Scene, stock_on};
use super::service;
use super::travel;
use super::uses::{self, Place};
use super::weather;
use crate::domain::entry::Event;
use crate::domain::flow::{Activity, Per};
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::stock::{Direction, Stock};
use crate::domain::unit::Unit;
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::misread::{LEFT_OVER, Misread, OF_WHAT, UNKNOWN, example};
use crate::logline::lexis::units::is_counted;
use crate::logline::lexis::word::{Kind, Word, text};
use crate::logline::tokens::item::{Is, Item, at_items};

/// Small words beside an activity.
const OF_USES: &str = "x times of another about at by each both us we all to only more";
/// Small words beside a level.
const OF_LEVELS: &str =
    "from to-full for of at to about by left gone in only x times all up we with lamps";
const OF_SERVICES: &str = "of to in into with by out up away completely about more to-full left all from it \
    we only for both on";

/// What the items of one thing mean.
pub(in crate::logline) fn said(bag: &Bag, scene: &Scene) -> Result<Meant, Misread> {
    let one = |said: SaidThing, marks| Ok((vec![said], marks));
    too_many(bag)?;
    match bag.verb() {
        Some("filled") => one(service::filled(bag, scene)?, OF_SERVICES),
        // `we've got 30 L of water left`.
        Some("added") if bag.amounts.iter().any(|amount| amount.role == Role::Left) => {
            named(bag, scene)
        }
        Some("added" | "+") => one(service::added(bag, scene)?, OF_SERVICES),
        Some("out-of") if bag.amounts.is_empty() => one(service::run_out(bag, scene)?, OF_LEVELS),
        Some("emptied" | "out-of") => one(service::emptied(bag, scene)?, OF_SERVICES),
        Some("lost") => one(gone::lost(bag, scene)?, OF_SERVICES),
        Some("used") => one(gone::used(bag, scene)?, OF_SERVICES),
        Some("swapped") => one(service::swapped(bag, scene)?, OF_SERVICES),
        Some("drove" | "drove-to" | "shore" | "on-shore" | "generator" | "charged" | "camp") => {
            travel::said(bag, scene)
        }
        Some("closed") => one(Event::DayClosed.into(), ""),
        Some("day") => {
            let message = "write `day closed` when nothing else happened that day";
            let misread = at_items(&bag.verbs, message);
            let named = bag.verbs.len() + bag.names.len() + bag.amounts.len() > 1;
            let alone = !named && bag.strays.is_empty() && bag.marks.is_empty();
            Err(misread.write_all(alone.then(|| "day closed".to_string())))
        }
        Some("outlook") => {
            let said = weather::outlook(bag.verbs[0].words, scene)?;
            one(said.into(), "")
        }
        Some("note") => match bag.verbs[0].words {
            [_, text, ..] if text.kind == Kind::Text => {
                one(Event::Note(text.text.to_string()).into(), "")
            }
            [word, ..] => Err(Misread::at(word, "an empty note: write its text after the word")),
            [] => Err(Misread::new(0, 0, "", "an empty note: write its text after the word")),
        },
        Some(_) => people::said(bag, scene),
        None if people::counted(bag) => people::said(bag, scene),
        None if is_errand(bag) => one(service::emptied(bag, scene)?, OF_SERVICES),
        None if !bag.names.is_empty() => named(bag, scene),
        None if !bag.places.is_empty() => travel::placed(bag, scene),
        None => match bag.amounts.first().and_then(|amount| counted_so(amount, scene)) {
            Some((stock, amount)) => one(
                level::level(stock, amount.said.clone(), amount.item.words, bag, scene)?.into(),
                OF_LEVELS,
            ),
            None => Err(unnamed(bag, scene)),
        },
    }
}

/// Two verbs, or a name beside a verb that takes none: two things, that nothing parts.
fn too_many(bag: &Bag) -> Result<(), Misread> {
    let charged = bag.verbs.iter().any(|verb| verb.is_verb("charged"));
    let renewed = bag.verbs.iter().all(|verb| verb.is_verb("swapped added"));
    let second = bag.verbs.get(1).filter(|_| !charged && !renewed);
    let alone = ["closed", "outlook", "note", "day"].iter().any(|verb| bag.verb() == Some(verb));
    let named =
        bag.names.first().filter(|_| alone || bag.verb().is_none() && !bag.places.is_empty());
    let placed = bag.places.first().filter(|_| alone);
    match second.or(named).or(placed) {
        Some(more) => Err(at_items(&[more], LEFT_OVER)),
        None => Ok(()),
    }
}

/// `empty grey`, which is something to do; `grey empty` is a level.
pub(super) fn is_errand(bag: &Bag) -> bool {
    let first = bag.items.iter().find(|item| !item.is_time());
    first.is_some_and(|item| item.words[0].is("empty"))
        && bag.names.first().is_some_and(|name| name.stock().is_some())
}

/// A use or a reading.
fn named(bag: &Bag, scene: &Scene) -> Result<Meant, Misread> {
    let Some((meaning, item)) = bag.name() else {
        let message = LEFT_OVER;
        let second = bag.names.get(1);
        return Err(second.map_or_else(|| unnamed(bag, scene), |more| at_items(&[more], message)));
    };
    if let [_, other, ..] = &bag.amounts[..] {
        return Err(at_items(&[other.item], "one amount too many: a comma separates things"));
    }
    let amount = bag.amounts.first();
    let said = amount.map(|amount| amount.said);
    let of_stock = match said {
        Some(Said::Share { .. } | Said::Days(_)) => meaning.stock.is_some(),
        Some(Said::Quantity(q)) if q.unit == Unit::Percent => meaning.stock.is_some(),
        _ => meaning.activity.is_none(),
    };
    match (&meaning.stock, &meaning.activity) {
        (Some(stock), _) if of_stock => {
            let stock = stock_on(stock, item.words, scene)?;
            let said = reading(stock, amount, bag, scene)?;
            Ok((vec![said.into()], OF_LEVELS))
        }
        (_, Some(activity)) => {
            let manner = item.words[0].lead.filter(|lead| is_of("manner", &lead.to_lowercase()));
            let event = use_of(activity, item, bag, scene)?;
            Ok((vec![SaidThing { event, remark: manner.map(str::to_string) }], OF_USES))
        }
        _ => Err(Misread::over(item.words, "this names nothing in the rig")),
    }
}

/// What is said of a stock: a reading, or so many uses of it.
fn reading(
    stock: &Stock,
    amount: Option<&Amt>,
    bag: &Bag,
    scene: &Scene,
) -> Result<Event, Misread> {
    let name = &stock.name;
    let Some(amount) = amount else { return to_the_brim(stock, bag, scene) };
    let words = amount.item.words;
    let whole = [amount.item, bag.names[0]];
    match amount.said {
        Said::Share { percent, parts } if amount.role == Role::Gone => {
            let left = Amount::from_milli(100_000 - percent.milli()).unwrap_or_default();
            let over = parts - (percent.value() / 100.0 * *parts as f64).round() as i64;
            let left = match *parts {
                1 => Quantity::new(left, Unit::Percent).to_string(),
                parts => format!("{over}/{parts}"),
            };
            let message = format!("so much is left: write `{name} {left}`");
            Err(at_items(&whole, message).write_piece(format!("{name} {left}")))
        }
        _ if amount.role == Role::Gone => {
            Err(at_items(&whole, "what is gone is told by a use or by what is left"))
        }
        Said::Quantity(said) if is_put_or_left(said, amount, stock) => {
            let (left, put) = (format!("{name} {said}"), format!("filled {name} {said}"));
            let message = format!("what is left, or what went in? Write `{left}` or `{put}`");
            let mut misread = at_items(&whole, message).write_piece(left).write_piece(put);
            misread.mend.alone = true;
            Err(misread)
        }
        Said::Bare(_) if words.iter().any(|w| w.is_any("a an")) => {
            Err(at_items(&whole, "one of it is no level"))
        }
        said => {
            let often = words.iter().any(|w| is_of("often", &w.text.to_lowercase()));
            let place = match said {
                Said::Quantity(q) if q.unit == Unit::Time => Place::Times,
                Said::Bare(_) if often || bag.has_mark("x times") => Place::Times,
                _ if amount.behind || bag.has_mark("left") => Place::Behind,
                _ => Place::InFront,
            };
            let number = match said {
                Said::Bare(number) => Some(*number),
                Said::Quantity(q) if q.unit == Unit::Time => Some(q.amount),
                _ => None,
            };
            if let Some(number) = number
                && let Some(uses) = uses::of_stock(stock, number, place, &both(&whole), scene)?
            {
                return Ok(uses);
            }
            level::level(stock, said.clone(), words, bag, scene)
        }
    }
}

/// `grey to the brim`; else nothing is told of it.
fn to_the_brim(stock: &Stock, bag: &Bag, scene: &Scene) -> Result<Event, Misread> {
    let full = bag.marks.iter().find(|mark| mark.is_of("to-full"));
    match full.filter(|_| bag.strays.is_empty() && stock.runs == Direction::Up) {
        Some(full) => {
            let percent = Amount::from_milli(100_000).unwrap_or_default();
            level::level(stock, Said::Share { percent, parts: 1 }, full.words, bag, scene)
        }
        None => Err(no_level(stock, bag)),
    }
}

/// The misread for a stock of which nothing is told.
fn no_level(stock: &Stock, bag: &Bag) -> Misread {
    let name = &stock.name;
    let half = level::half(stock);
    let message = format!("how much? Write `{name} 60%` or `{name} {half}`");
    let misread = match bag.strays.first() {
        Some(stray) => at_items(&[stray], message.replace("how much", "not a level")),
        None => at_items(&bag.names, message),
    };
    let way = [("out", "emptied", Direction::Up), ("in", "filled", Direction::Down)];
    let way = way.iter().find(|(mark, _, runs)| bag.has_mark(mark) && stock.runs == *runs);
    let whole = bag.marks.iter().filter(|mark| !mark.is_of("completely all")).count() == 1;
    let behind = bag.marks.first().is_some_and(|mark| mark.start() > bag.names[0].start());
    if let Some((_, verb, _)) = way.filter(|_| whole && behind) {
        return misread.write_piece(format!("{verb} {name}"));
    }
    if bag.has_mark("gone") {
        return misread.write_piece(format!("{name} 0%"));
    }
    let open = bag.marks.iter().all(|mark| mark.is_of("to at about of"));
    let levels = ["60%", &half].map(|level| format!("{name} {}", example(level)));
    if open { misread.write_all(levels) } else { misread }
}

fn both<'a>(items: &[&Item<'a>]) -> Vec<Word<'a>> {
    let mut words: Vec<Word> = items.iter().flat_map(|item| item.words).cloned().collect();
    words.sort_by_key(|w| w.start);
    words
}

/// Whether an amount in front of a stock may have gone in, or be what is left: `20 L diesel`.
fn is_put_or_left(said: &Quantity, amount: &Amt, stock: &Stock) -> bool {
    let measured = said.unit != Unit::Percent && !is_counted(&said.unit);
    let plain = amount.role == Role::Plain && !amount.behind;
    plain && measured && stock.runs == Direction::Down
}

/// So many uses of an activity.
fn use_of(name: &str, named: &Item, bag: &Bag, scene: &Scene) -> Result<Event, Misread> {
    let amount = bag.amounts.first();
    let known = scene.parts.activity(name).map(|(_, activity)| activity);
    if let Some(activity) = known
        && let Some(misread) = how_many(activity, named, bag, scene)
    {
        return Err(misread);
    }
    if let (Some(activity), Some(amount)) = (known, amount)
        && let Said::Bare(people) = amount.said
        && (bag.has_mark("us") && activity.per != Per::Person && people.milli() > 1000)
    {
        let message = format!("so many people, or so often? Write `{name}`, or `{people} {name}`");
        let often = format!("{people} {name}");
        return Err(at_items(&[amount.item], message).write_all([name.to_string(), often]));
    }
    let Some(amount) = amount else {
        let said = known.and_then(|activity| shared(activity, 1000, bag, scene)).map(Said::Bare);
        return uses::used(name, named.words, said, &[], scene);
    };
    let words = amount.item.words;
    let mut said = amount.said.clone();
    if let (Said::Bare(number), Some(activity)) = (&said, known) {
        let at = bag.has_mark("at");
        let place = match amount.behind {
            true if at => Place::AfterAt,
            true if !bag.has_mark("x times") => Place::Behind,
            _ => Place::InFront,
        };
        if place != Place::InFront && bag.strays.is_empty() {
            uses::plausible_behind(name, *number, place, words, scene)?;
        }
        if let Some(all) = shared(activity, number.milli(), bag, scene) {
            said = Said::Bare(all);
        }
    }
    if let (Said::Quantity(long), Some(activity)) = (&said, known)
        && let Some(people) = sharers(bag, scene).filter(|people| *people > 1)
    {
        return Err(each_so_long(activity, long, people, words));
    }
    if let Said::Share { .. } = &said
        && known.is_none_or(|activity| uses::stock_of(&activity.name, scene).is_none())
        && !amount.behind
    {
        let message = format!("a share of nothing: {name} is counted, not measured");
        let misread = Misread::over(&both(&[named, amount.item]), message);
        let part = said.quantity().map_or(0.0, |share| share.amount.value() / 100.0);
        // `half the dishes`.
        return Err(misread.write_all((part == 0.5).then(|| format!("0.5 {name}"))));
    }
    let words = if amount.behind { words.to_vec() } else { both(&[named, amount.item]) };
    uses::used(name, named.words, Some(said), &words, scene)
}

/// `we showered` and bare `showers` leave open how many.
fn how_many(activity: &Activity, named: &Item, bag: &Bag, scene: &Scene) -> Option<Misread> {
    let (name, plural) = (&activity.name, &activity.plural);
    let who = bag.strays.first().is_some_and(|stray| stray.start() < named.start());
    let told = !bag.amounts.is_empty() || who || bag.has_mark("each both another");
    let word = &named.words[named.words.len() - 1].low;
    // `made noodles` is one meal.
    let plain = named.words.len() == 1 || text(named.words) == *plural;
    let many = plain && word.ends_with('s') && !name.ends_with('s') && plural != name;
    let we = bag.has_mark("we") && activity.per == Per::Person;
    if told || !is_counted(&activity.counted_in) || !many && !we {
        return None;
    }
    let all = scene.known.aboard;
    let message = format!("how many? Write `2 {plural}`");
    let misread = Misread::over(named.words, message);
    let misread = misread.write_all((we && all.milli() > 1000).then(|| format!("{all} {plural}")));
    let some = format!("{} {plural}", example("2"));
    Some(misread.write_piece(if many { &some } else { name }))
}

/// `everyone showered`, `2 showers each`: once for each who is aboard, where that is done by each;
/// a meal that two have cooked is one meal.
fn shared(activity: &Activity, milli: i64, bag: &Bag, scene: &Scene) -> Option<Amount> {
    let people = sharers(bag, scene)?;
    let each = if activity.per == Per::Person { people.max(1) } else { 1 };
    Amount::from_milli(milli * each)
}

/// Of how many people it is said: `both`, `each`.
fn sharers(bag: &Bag, scene: &Scene) -> Option<i64> {
    match () {
        () if bag.has_mark("both") => Some(2),
        // `a shower each for the two of us`.
        () if bag.has_mark("each") => {
            let so_many = bag.items.windows(2).find_map(|pair| match &pair[0].is {
                Is::Amount(Said::Bare(many)) if pair[1].is_of("us") => Some(*many),
                _ => None,
            });
            Some(so_many.unwrap_or(scene.known.aboard).milli() / 1000)
        }
        () => None,
    }
}

/// `2 h laptop each`: of one, or of all together?
fn each_so_long(activity: &Activity, long: &Quantity, people: i64, words: &[Word]) -> Misread {
    let name = &activity.name;
    let all = long.amount.milli().checked_mul(people).and_then(Amount::from_milli);
    let misread = Misread::over(words, "of each, or in all? Write it for all together");
    let all = all.map(|all| format!("{name} {}", Quantity::new(all, long.unit.clone())));
    misread.write_all(all).write_piece(format!("{name} {long}"))
}

/// What is said where all is told to be as it was before.
const SAME: &str = "the same of what? Nothing is taken over from another day: write what was done";

/// The misread for a thing that names nothing.
fn unnamed(bag: &Bag, scene: &Scene) -> Misread {
    let all: Vec<&Item> = bag.items.iter().filter(|i| !matches!(i.is, Is::Remark)).collect();
    let Some(amount) = bag.amounts.first() else {
        let first = bag.items.iter().find(|item| !item.is_time());
        let message = UNKNOWN;
        if let [at, place, ..] = all[..]
            && at.is_of("at")
            && place.is_other()
            && (place.words[0].text.starts_with(char::is_uppercase)
                || !scene.known.places_near(&text(place.words)).is_empty())
        {
            let message = "where the van stands? Write `camp` and the place";
            return at_items(&[at], message).write("camp at").told();
        }
        let ditto = all.iter().flat_map(|item| item.words).any(|w| is_of("ditto", &w.low));
        let message = if ditto { SAME } else { message };
        let misread = first
            .map_or(Misread::new(0, 0, "", message), |item| Misread::at(&item.words[0], message));
        return command(&all).unwrap_or(misread);
    };
    let message = OF_WHAT;
    let misread = match bag.strays[..] {
        // Beside a number stands one word that nobody knows: that word is what is wrong.
        [stray] if stray.words.len() == 1 && all.len() == 2 => at_items(&[stray], UNKNOWN),
        _ => at_items(&all, message),
    };
    let alone = bag.strays.is_empty() && bag.amounts.len() == 1;
    // `tomorrow 300 km to the ferry`.
    let far = amount.said.quantity().filter(|q| q.unit.converts_to(&Unit::Kilometre));
    if let Some(far) = far.filter(|_| !alone && bag.has_mark("to")) {
        return misread.write_piece(format!("drove {far}")).told();
    }
    // `80 km 1.5 h`.
    if let ([one, other], []) = (&bag.amounts[..], &bag.strays[..])
        && travel::are_two_measures(one.said, other.said)
    {
        let told = [one, other].map(|amount| text(amount.item.words)).join(", ");
        return misread.write_piece(format!("drove {told}"));
    }
    match () {
        // `half full`: one of the tanks.
        () if alone
            && amount.item.words.iter().any(|w| w.is("full"))
            && amount.item.words.len() > 1 =>
        {
            let tanks = scene.parts.stocks.iter().filter(|s| s.unit.converts_to(&Unit::Litre));
            misread
                .write_all(tanks.map(|stock| format!("{} {}", stock.name, text(amount.item.words))))
        }
        () => misread,
    }
}

/// An amount in a unit of the owner's is of the one stock that is counted so: `20 outfits`.
fn counted_so<'x, 's>(
    amount: &'x Amt<'x, 'x>,
    scene: &Scene<'s>,
) -> Option<(&'s Stock, &'x Amt<'x, 'x>)> {
    let said = amount.said.quantity().filter(|q| matches!(q.unit, Unit::Own(_)))?;
    let mut stocks = scene.parts.stocks.iter().filter(|stock| stock.unit == said.unit);
    let stock = stocks.next().filter(|_| stocks.next().is_none())?;
    Some((stock, amount))
}

/// What is a command and no entry.
fn command(all: &[&Item]) -> Option<Misread> {
    let [item] = all else { return None };
    let message = match text(item.words).as_str() {
        "undo" => "no entry: `waystock undo`, or u outside this line, takes the last one back",
        "help" => "no entry: `waystock help log`, or ? outside this line, shows what can be said",
        _ => return None,
    };
    Some(at_items(&[item], message))
}
