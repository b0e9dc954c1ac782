//! Driving, charging from outside, and camps.

use super::bag::{Amt, Bag, TAILS};
use super::scene::{Meant, SaidThing, Scene};
use crate::domain::{Amount, ChargeSource, Event, Quantity, Spot, Unit};
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::misread::{LEFT_OVER, Misread, example};
use crate::logline::lexis::word::{Kind, Word, text};
use crate::logline::tokens::item::{Item, at_items};

/// The longest drive or charge in one entry, in hours.
const LONGEST_HOURS: f64 = 72.0;
/// The longest drive in one entry, in kilometres.
const FURTHEST_KM: f64 = 3000.0;
/// The most energy of one charge, in watt-hours.
const MOST_WH: f64 = 100_000.0;
/// The longest name of a place, in characters.
const LONGEST_NAME: usize = 80;
/// Small words beside a drive or a charge.
const MARKS: &str = "after of for about to from at on in power with by we only";

/// A drive, a charge, a camp, or a drive with the camp at its end.
pub(in crate::logline) fn said(bag: &Bag, scene: &Scene) -> Result<Meant, Misread> {
    let source = bag.verbs.iter().find(|verb| verb.is_verb("shore on-shore generator"));
    let place = bag.places.first();
    if bag.places.len() > 1 || !bag.names.is_empty() {
        let strange = bag.places.get(1).or(bag.names.first()).copied();
        let strange: Vec<&Item> = strange.into_iter().collect();
        return Err(at_items(&strange, LEFT_OVER));
    }
    let events = match (bag.verb(), place) {
        (Some("camp"), _) if bag.amounts.is_empty() => vec![camp(bag, scene)?],
        // `arrived at Sorrel Head after 95 km`.
        (Some("camp"), Some(_)) if bag.has_mark("after") && measures(bag) => {
            [driven(bag, scene)?, vec![camp(bag, scene)?]].concat()
        }
        (Some("camp"), _) => {
            return Err(at_items(
                &[bag.amounts[0].item],
                "of what? An activity or a stock goes with an amount",
            ));
        }
        (Some("drove" | "drove-to"), Some(place)) => {
            let camp = place_named(place.words, bag.verbs[0].words[0].text, scene)?;
            if bag.amounts.is_empty() {
                return Err(drove_to(bag, place, &camp));
            }
            [driven(bag, scene)?, vec![camp]].concat()
        }
        (Some("drove-to"), None) => {
            let message = "where to? Write `camp` and the place, and `drove 2 h`";
            return Err(at_items(&bag.verbs, message));
        }
        (Some("charged"), None) if source.is_none() => return Err(charged(bag)),
        (Some("drove"), None) => driven(bag, scene)?,
        (_, None) => {
            let generator = source.is_some_and(|verb| verb.is_verb("generator"));
            vec![measured(if generator { "generator" } else { "shore" }, &bag.amounts, bag, scene)?]
        }
        (_, Some(place)) => {
            return Err(at_items(&[place], LEFT_OVER));
        }
    };
    Ok((events.into_iter().map(SaidThing::from).collect(), MARKS))
}

/// A place with nothing done: is it where the van stands? With a way there that is told, a drive.
pub(in crate::logline) fn placed(bag: &Bag, scene: &Scene) -> Result<Meant, Misread> {
    let place = bag.places[0];
    let name = scene.known.place(&joined(place.words)).unwrap_or_default().to_string();
    let message = "where the van stands? Write `camp` and the place";
    let misread = at_items(&[place], message);
    let gone = bag.has_mark("left from off of out");
    let told = bag.strays.is_empty() && bag.places.len() == 1 && !gone;
    let all = || bag.amounts.iter().map(|a| text(a.item.words)).collect::<Vec<_>>().join(" ");
    let way = match &bag.amounts[..] {
        [] => Some(String::new()),
        [one]
            if is_long_or_far(one.said)
                && (bag.has_mark("to") || place.start() < one.item.start()) =>
        {
            Some(format!("drove {}, ", all()))
        }
        [one, other] if are_two_measures(one.said, other.said) => {
            Some(format!("drove {}, ", all()))
        }
        // `Sorrel Head for 3 nights`.
        [one] if one.said.days().is_some() => Some(String::new()),
        _ => None,
    };
    Err(misread.write_all(way.filter(|_| told).map(|way| format!("{way}camp {name}"))))
}

/// `drove 2 h`, `drove 120 km`; `drove 120 km in 2 h` are two measures of one drive, each an entry
/// of its own: what goes by the hour counts the one, what goes by the distance the other.
fn driven(bag: &Bag, scene: &Scene) -> Result<Vec<Event>, Misread> {
    // `a drive: 35 min` is no drive of one.
    let mut amounts = bag.amounts.clone();
    if amounts.len() > 1 {
        amounts.retain(|amount| !amount.item.is_article());
    }
    // The distance first, in whatever order they were said.
    if let [one, other] = &amounts[..]
        && are_two_measures(one.said, other.said)
    {
        amounts.sort_by_key(|amount| is_in(amount.said, &Unit::Hour));
        let each = |amount: &Amt| measured("drove", std::slice::from_ref(amount), bag, scene);
        return amounts.iter().map(each).collect();
    }
    Ok(vec![measured("drove", &amounts, bag, scene)?])
}

/// Whether all of its amounts say how long or how far.
fn measures(bag: &Bag) -> bool {
    bag.amounts.iter().all(|amount| is_long_or_far(amount.said))
}

/// Whether this is an amount of what `unit` measures.
fn is_in(said: &Said, unit: &Unit) -> bool {
    said.quantity().is_some_and(|q| q.unit.converts_to(unit))
}

/// Whether this says how long or how far.
pub(in crate::logline) fn is_long_or_far(said: &Said) -> bool {
    is_in(said, &Unit::Hour) || is_in(said, &Unit::Kilometre)
}

/// Whether one of these says how long, and the other how far.
pub(super) fn are_two_measures(one: &Said, other: &Said) -> bool {
    is_long_or_far(one)
        && is_long_or_far(other)
        && is_in(one, &Unit::Hour) != is_in(other, &Unit::Hour)
}

/// `drove 2 h`, `drove 120 km`, `shore 6 h`, `generator 800 Wh`.
fn measured(verb: &str, amounts: &[Amt], bag: &Bag, scene: &Scene) -> Result<Event, Misread> {
    let (asks, like, told, other) = match verb {
        "drove" => (
            "how far or how long?",
            ["2 h", "120 km"],
            "a drive is told in h, min, km or mi",
            (Unit::Kilometre, FURTHEST_KM),
        ),
        _ => (
            "how long, or how much?",
            ["2 h", "800 Wh"],
            "a charge is told in h, Wh or kWh",
            (Unit::WattHour, MOST_WH),
        ),
    };
    let Some(first) = amounts.first() else {
        let message = format!("{asks} Write `{verb} {}` or `{verb} {}`", like[0], like[1]);
        let misread = at_items(&bag.verbs, message);
        // `plugged in at noon`: until now.
        let minutes = (scene.clock.now - scene.at).num_minutes();
        if verb == "shore" && (1..=16 * 60).contains(&minutes) {
            let (h, min) = (minutes / 60, minutes % 60);
            let long = format!("{h} h {min} min");
            let long = long.replace(" 0 min", "").replace(" 0 h", "");
            return Err(misread.write_piece(format!("shore {}", example(&long))));
        }
        return Err(misread.write_all(like.map(|span| format!("{verb} {}", example(span)))));
    };
    let words = first.item.words;
    let message = "a number without its unit: write `2 h`, `30 min` or `120 km`";
    let amount = match first.said {
        Said::Quantity(quantity) => quantity.clone(),
        // `plugged in around five` may be an hour.
        Said::Bare(_) if bag.has_mark("about at") => {
            return Err(Misread::over(words, message));
        }
        Said::Bare(number) => {
            return Err(Misread::over(words, message).write(format!("{number} h")));
        }
        _ => return Err(Misread::over(words, message).write(example("2 h"))),
    };
    if let Some(second) = amounts.get(1) {
        let message = "one or the other: hours (with minutes), or a distance, in one entry";
        let misread = at_items(&[first.item, second.item], message);
        return Err(match second.said.quantity() {
            Some(_) if verb == "drove" => {
                let more = text(second.item.words);
                misread.write_piece(format!("drove {amount}, drove {more}"))
            }
            _ => misread,
        });
    }
    within(&amount, other, told, words, scene)?;
    Ok(match verb {
        "drove" => Event::Drive(amount),
        "shore" => Event::Charge { source: ChargeSource::Shore, amount },
        _ => Event::Charge { source: ChargeSource::Generator, amount },
    })
}

/// Refuses an amount that is nothing, too much, or in another unit.
fn within(
    amount: &Quantity,
    other: (Unit, f64),
    told: &str,
    words: &[Word],
    scene: &Scene,
) -> Result<(), Misread> {
    let mut limits = [(Unit::Hour, LONGEST_HOURS), other].into_iter();
    let found = limits.find_map(|(unit, most)| {
        let factor = amount.unit.factor_to(&unit, scene.parts.volts())?;
        Some((amount.amount.value() * factor, unit, most))
    });
    match found {
        None => {
            let message = format!("{told}, not in {}", amount.unit.word());
            Err(Misread::over(words, message))
        }
        Some((value, ..)) if value <= 0.0 => {
            Err(Misread::over(words, "nothing happened: an amount is more than 0"))
        }
        Some((value, unit, most)) if value > most => {
            let most = Quantity::new(Amount::from_f64(most).unwrap_or_default(), unit);
            Err(Misread::over(words, format!("too much for one entry: at most {most}")))
        }
        Some(_) => Ok(()),
    }
}

/// `charged 800 Wh`, which leaves open from where.
fn charged(bag: &Bag) -> Misread {
    let amount = bag.amounts.first().and_then(|a| a.said.quantity());
    let amount = amount.map_or(example("2 h"), |said| said.to_string());
    let message = "from where? Write `charged 800 Wh from shore` or `from generator`";
    match bag.strays.first() {
        Some(strange) if !strange.is_of("at in by") => {
            let word = &strange.words[0];
            let misread = Misread::at(word, message);
            misread.near(&word.low, ["shore", "generator"].into_iter())
        }
        _ => at_items(&bag.verbs, message).write_piece(format!("shore {amount}")),
    }
}

/// `camp Alder flats`, `camp at 55.1,-3.2`, `camp "Pitch 9, east"`.
fn camp(bag: &Bag, scene: &Scene) -> Result<Event, Misread> {
    let Some(place) = bag.places.first() else {
        let message = "where? Write a name, or a latitude and a longitude like `55.1,-3.2`";
        return Err(at_items(&bag.verbs, message));
    };
    let words = match place.words {
        [at, rest @ ..] if at.is("at") && !rest.is_empty() => rest,
        words => words,
    };
    match words.iter().all(Word::is_numeric) {
        true => place_at(words).map(Event::Camp),
        false => place_named(words, bag.verbs[0].words[0].text, scene),
    }
}

/// The place that these words name. A name that is nearly that of a known place is asked back,
/// unless quotes say that it is one of its own; words like `arrived at` go with known places.
fn place_named(words: &[Word], verb: &str, scene: &Scene) -> Result<Event, Misread> {
    let name = camp_name(words)?;
    let known = scene.known;
    if let Some(place) = known.place(&name) {
        return Ok(Event::Camp(Spot::Named(place.to_string())));
    }
    if words.iter().any(|w| w.kind == Kind::Quoted) {
        return Ok(Event::Camp(Spot::Named(name)));
    }
    let near = known.places_near(&name);
    // `camped with friends` names no place.
    let verb = verb.to_lowercase();
    let beside = verb != "camp" && words[0].is_any(TAILS);
    if near.is_empty() && verb.starts_with("camp") && !beside {
        return Ok(Event::Camp(Spot::Named(name)));
    }
    let new = format!("\"{name}\"");
    let message = match near.first() {
        Some(place) => format!("{place}, or a new place? Write `camp {place}`, or `camp {new}`"),
        None => format!("no place that is known: write `camp {new}` for a new one"),
    };
    // `back at work`, `we're in luck` name no place.
    let named = !near.is_empty() || name.starts_with(char::is_uppercase);
    let misread = near.into_iter().fold(Misread::over(words, message), Misread::write);
    Err(if named { misread.write(new) } else { misread })
}

/// `drove to Alder flats`: how long that took is not told.
fn drove_to(bag: &Bag, place: &Item, camp: &Event) -> Misread {
    let Event::Camp(Spot::Named(name)) = camp else {
        return at_items(&[place], "no place that is known");
    };
    let message =
        format!("how long did it take? Write `drove 1 h, camp {name}`, or the camp alone");
    at_items(&[bag.verbs[0], place], message)
        .write_piece(format!("camp {name}"))
        .write_piece(format!("drove {}, camp {name}", example("1 h")))
}

fn joined(words: &[Word]) -> String {
    words.iter().flat_map(|w| w.text.split_whitespace()).collect::<Vec<_>>().join(" ")
}

fn camp_name(words: &[Word]) -> Result<String, Misread> {
    let quoted = words.iter().any(|w| w.kind == Kind::Quoted);
    if quoted && words.len() > 1 {
        return Err(Misread::over(words, "quotes go around the whole name"));
    }
    let text = joined(words);
    if text.contains('"') || text.is_empty() {
        return Err(Misread::over(words, "not a name: leave the quote mark out"));
    }
    if text.chars().count() > LONGEST_NAME {
        let message = format!("a name has at most {LONGEST_NAME} characters");
        return Err(Misread::over(words, message));
    }
    Ok(text)
}

fn place_at(words: &[Word]) -> Result<Spot, Misread> {
    let [north, east] = words else {
        let message = "a place has a latitude and a longitude, like `55.1,-3.2`";
        return Err(Misread::over(words, message));
    };
    let degrees = |word: &Word, most: f64, what: &str| {
        let digits = word.text.trim_start_matches('-');
        let plain = digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        let value = word.text.parse::<f64>().ok().filter(|_| plain && word.text.len() <= 20);
        let Some(value) = value else {
            return Err(Misread::at(word, "not degrees: write them like 55.1 or -3.2"));
        };
        if value.abs() > most {
            let message = format!("a {what} lies between -{most} and {most} degrees");
            return Err(Misread::at(word, message));
        }
        Ok(value)
    };
    let (latitude, longitude) =
        (degrees(north, 90.0, "latitude")?, degrees(east, 180.0, "longitude")?);
    if !words.iter().any(|w| w.text.contains('.')) {
        let message = "one number with a comma, or two? Write degrees with their decimals";
        let whole = format!("{north}.0, {east}.0", north = north.text, east = east.text);
        return Err(Misread::over(words, message).write(whole));
    }
    Ok(Spot::At { latitude, longitude })
}
