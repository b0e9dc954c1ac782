//! Who is aboard, and for how long.

use super::bag::Bag;
use super::scene::{Meant, SaidThing, Scene};
use crate::domain::{Amount, Event, Moment, Unit};
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::lexicon;
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::misread::{LEFT_OVER, Misread, example};
use crate::logline::lexis::word::{Word, as_written, text};
use crate::logline::times::time::is_time_word;
use crate::logline::tokens::item::{Item, at_items};

/// The most people that one van is believed to hold.
const MOST_ABOARD: i64 = 30_000;
/// Small words beside people.
const MARKS: &str = "of us we with on to for from more all only off out";
/// The verbs of it.
const VERBS: &str = "guests away aboard";

/// Whether a thing of these items is about who is aboard, so that it may have an end of its own.
pub(super) fn is_about(items: &[Item]) -> bool {
    items.iter().any(|item| item.is_verb(VERBS)) || counted(&Bag::of(items))
}

/// Whether these are so many people, by a number alone: `4 people`, `we are 4`, `two more`.
pub(in crate::logline) fn counted(bag: &Bag) -> bool {
    let people = match bag.amounts.first().map(|amount| amount.said) {
        Some(Said::Quantity(q)) => q.unit == Unit::Person,
        Some(Said::Bare(_)) => bag.has_mark("us more"),
        _ => false,
    };
    people && bag.names.is_empty() && bag.verbs.is_empty() && !bag.has_mark("for")
}

/// The number of people that is said; how long they stay is no number of them.
fn number(bag: &Bag) -> Result<Option<Amount>, Misread> {
    let mut counts = bag.amounts.iter().filter(|amount| !is_long(amount.said));
    let Some(first) = counts.next() else { return Ok(None) };
    match first.said {
        Said::Bare(people) => Ok(Some(*people)),
        Said::Quantity(q) if q.unit == Unit::Person => Ok(Some(q.amount)),
        _ => {
            let message = "people are just counted: `aboard 4`";
            Err(at_items(&[first.item], message))
        }
    }
}

/// Days or nights.
pub(super) fn is_long(said: &Said) -> bool {
    matches!(said, Said::Days(_)) || matches!(said, Said::Quantity(q) if q.unit == Unit::Night)
}

/// Who is aboard from now on.
pub(in crate::logline) fn said(bag: &Bag, scene: &Scene) -> Result<Meant, Misread> {
    let (number, aboard) = (number(bag)?, scene.known.aboard);
    let about: Vec<&Item> =
        bag.verbs.iter().chain(bag.amounts.first().map(|a| a.item).iter()).copied().collect();
    let one = |event: Event| Ok((vec![SaidThing::from(event)], MARKS));
    if let Some(place) = bag.places.first().or(bag.names.first()) {
        return Err(at_items(&[place], LEFT_OVER));
    }
    match bag.verb() {
        Some("away") if number.is_none() => match who(bag, scene) {
            Some(left) => {
                let message = "who is aboard is told by a number";
                Err(at_items(&about, message).write_piece(left).told())
            }
            // `I am away`: the others stay.
            None if alone(bag) && aboard.milli() > 1000 => {
                let left = format!("aboard {}", aboard.value() - 1.0);
                let message = format!("you alone, or all of you? Write `{left}`, or `away`");
                Err(at_items(&about, message).write_piece(left).write_piece("away"))
            }
            None => one(Event::Crew(Amount::ZERO)),
        },
        Some("back") => {
            Err(at_items(&bag.verbs, "who is aboard again? Write `aboard 3`, for instance"))
        }
        Some("guests") => one(guests(number, bag, scene)?),
        Some("away") => Err(so_many_away(bag, number, aboard)),
        _ => match number {
            Some(more) if bag.has_mark("more") => {
                let all = Amount::from_milli(aboard.milli().saturating_add(more.milli()));
                one(crew(all.unwrap_or_default(), &about)?)
            }
            Some(people) => one(crew(people, &about)?),
            None => {
                let message = "how many are aboard? Write `aboard 4`";
                let misread = at_items(&about, message);
                Err(misread.write_piece(format!("aboard {}", example(&aboard.to_string()))))
            }
        },
    }
}

/// `2 away`, `away 8 to 18`: how many that leaves, or that a number says nothing plainly.
fn so_many_away(bag: &Bag, number: Option<Amount>, aboard: Amount) -> Misread {
    let items: Vec<&Item> = bag.amounts.iter().map(|amount| amount.item).collect();
    let first = items.first().is_some_and(|item| item.start() < bag.verbs[0].start());
    let gone = number.filter(|_| first && items.len() == 1).map_or(0, Amount::milli);
    if (1..=aboard.milli()).contains(&gone) {
        let left = Amount::from_milli(aboard.milli() - gone).unwrap_or_default();
        let left = format!("aboard {left}");
        let message = format!("how many are aboard then? Write `{left}`");
        return at_items(&items, message).write_piece(left).told();
    }
    let message = "hours, or people? Write `away today 08:00 until 18:00`, or `aboard 2`";
    at_items(&items, message)
}

/// So many more than live aboard, or fewer where they are gone.
fn guests(number: Option<Amount>, bag: &Bag, scene: &Scene) -> Result<Event, Misread> {
    let (crew_of_van, aboard) = (scene.known.crew.milli(), scene.known.aboard_at(scene.at).milli());
    if bag.has_mark("left gone off") {
        let gone = number.map_or(i64::MAX, Amount::milli);
        let left = aboard.saturating_sub(gone).max(crew_of_van.min(aboard));
        let written =
            |left: i64| format!("aboard {}", Amount::from_milli(left).unwrap_or_default());
        let message = format!("how many are aboard now? Write `{}`", written(left));
        let misread = at_items(&bag.verbs, message).write_piece(written(left));
        // Where no guest is known, one of the crew may have left.
        let one = gone == 1000 && (gone..=crew_of_van).contains(&aboard);
        return Err(misread.write_all(one.then(|| written(aboard - gone))));
    }
    let words = bag.verbs[0].words;
    let one = words.iter().any(|w| !w.text.ends_with('s'));
    let more = number.map_or(if one { 1000 } else { 0 }, Amount::milli);
    if more <= 0 {
        let misread = Misread::over(words, "how many? Write `2 guests until sunday`");
        let some = format!("{} guests", example("2"));
        return Err(if bag.amounts.is_empty() { misread.write(some) } else { misread });
    }
    let all = Amount::from_milli(aboard.saturating_add(more));
    let all = all.unwrap_or(Amount::from_milli(i64::from(i32::MAX)).unwrap_or_default());
    let amount = bag.amounts.first().map(|amount| amount.item);
    crew(all, &bag.verbs.iter().copied().chain(amount).collect::<Vec<_>>())
}

/// `1 guest thursday until saturday`, where one is planned for these days: that one, or another?
pub(super) fn expected(
    items: &[Item],
    (at, end): (Moment, Moment),
    scene: &Scene,
) -> Option<Misread> {
    let (known, now) = (scene.known, scene.clock.now);
    let guests = items.iter().find(|item| item.is_verb("guests"))?;
    let more = items.iter().any(|item| item.is_of("more another"));
    let least = known.crew.max(known.aboard);
    let mut planned = known.aboard_ahead.iter().filter(|(from, _)| (at..end).contains(from));
    let told = at > now && planned.any(|(_, people)| *people > least);
    let number = items.iter().find(|item| item.is_amount());
    let number = number.map_or("1".to_string(), |item| text(item.words));
    let another = format!("{number} more {}", as_written(guests.words));
    let message = format!("guests are planned for then: others? Write `{another}`");
    (told && !more).then(|| at_items(&[guests], message).write_piece(another))
}

/// So many aboard from now on.
fn crew(people: Amount, items: &[&Item]) -> Result<Event, Misread> {
    match people.milli() {
        0..=MOST_ABOARD => Ok(Event::Crew(people)),
        _ => {
            let message = format!("0 to {} people can be aboard", MOST_ABOARD / 1000);
            Err(at_items(items, message))
        }
    }
}

/// Whether the one who speaks is away, and no one else is said to be.
fn alone(bag: &Bag) -> bool {
    let lead = bag.verbs[0].words[0].lead.unwrap_or_default().to_lowercase();
    is_of("speaker", lead.split(' ').next().unwrap_or_default())
}

/// So many guests, in words of the grammar.
pub(in crate::logline) fn so_many_guests(number: usize) -> String {
    format!("{number} guest{}", if number == 1 { "" } else { "s" })
}

/// How many stay where some are away by name: `Nell away until sunday`.
fn who(bag: &Bag, scene: &Scene) -> Option<String> {
    let known = |w: &&Word| lexicon().lists(&w.low) || is_time_word(&w.low);
    let words = bag.strays.iter().filter(|item| item.is_other()).flat_map(|item| item.words);
    // `Otis away to the match in Tullan`: where he is names nobody else.
    let led = |w: &&Word| w.start < bag.verbs[0].words[0].start && !lexicon().lists(&w.low);
    let before = words.clone().any(|w| led(&w));
    let words = words.filter(|w| !before || led(w));
    let names: Vec<&str> = words.filter(|w| !known(w)).map(|w| w.text).collect();
    let thing = |name: &&str| {
        name.ends_with('s') || scene.known.offered.iter().any(|o| o.word.contains(*name))
    };
    let lone = names.len() == 1 && names.iter().any(thing);
    // Who was away on a day before is back.
    if names.is_empty() || names.len() > 3 || lone || scene.date < scene.clock.civil.date() {
        return None;
    }
    let all = bag.verbs[0].words.iter().flat_map(|w| w.text.split(' '));
    let all = all.into_iter().any(|w| w.eq_ignore_ascii_case("all"));
    let left = (scene.known.aboard.value() - names.len() as f64).max(0.0);
    Some(format!("aboard {}", if all { 0.0 } else { left }))
}
