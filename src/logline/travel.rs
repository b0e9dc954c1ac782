//! Driving, charging from outside, and camps.

use super::amounts::Said;
use super::misread::{Misread, example};
use super::reader::{Reader, Scene};
use super::word::{Kind, Word};
use crate::domain::entry::{ChargeSource, Event, Spot};
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::unit::Unit;

/// The longest drive or charge in one entry, in hours.
const LONGEST_HOURS: f64 = 72.0;
/// The longest drive in one entry, in kilometres.
const FURTHEST_KM: f64 = 3000.0;
/// The most energy of one charge, in watt-hours.
const MOST_WH: f64 = 100_000.0;
/// The longest name of a place, in characters.
const LONGEST_NAME: usize = 80;

/// How long, how far, or how much.
fn span(reader: &mut Reader, scene: &Scene) -> Result<Option<Quantity>, Misread> {
    let from = reader.at;
    reader.take(&["about"]);
    let first = match reader.amount(scene.known)? {
        Some(Said::Quantity(quantity)) => quantity,
        Some(Said::Bare(number)) => {
            let message = "a number without its unit: write `2 h`, `30 min` or `120 km`";
            return Err(Misread::over(reader.since(from), message).write(format!("{number} h")));
        }
        Some(_) => {
            let message = "a number without its unit: write `2 h`, `30 min` or `120 km`";
            return Err(Misread::over(reader.since(from), message).write(example("2 h")));
        }
        None => return Ok(None),
    };
    if reader.peek().is_some_and(Word::is_numeric) && reader.amount(scene.known)?.is_some() {
        let message = "one or the other: hours (with minutes), or a distance, in one entry";
        return Err(Misread::over(reader.since(from), message));
    }
    Ok(Some(first))
}

/// `drove 2 h`, `drove 120 km`, `shore 6 h`, `generator 800 Wh`.
pub(super) fn measured(verb: &str, reader: &mut Reader, scene: &Scene) -> Result<Event, Misread> {
    reader.take(&["power"]);
    reader.take(&["of"]);
    let from = reader.at;
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
    let Some(amount) = span(reader, scene)? else {
        let message = format!("{asks} Write `{verb} {}` or `{verb} {}`", like[0], like[1]);
        let misread = reader.missing(message);
        let left = reader.peek().is_some();
        let like = like.iter().filter(|_| !left);
        return Err(
            like.fold(misread, |m, span| m.write_piece(format!("{verb} {}", example(span))))
        );
    };
    let words = reader.since(from);
    let mut limits = [(Unit::Hour, LONGEST_HOURS), other].into_iter();
    let found = limits.find_map(|(unit, most)| {
        let factor = amount.unit.factor_to(&unit, scene.parts.volts())?;
        Some((amount.amount.value() * factor, unit, most))
    });
    match found {
        None => {
            let message = format!("{told}, not in {}", amount.unit.word());
            return Err(Misread::over(words, message));
        }
        Some((value, ..)) if value <= 0.0 => {
            return Err(Misread::over(words, "nothing happened: an amount is more than 0"));
        }
        Some((value, unit, most)) if value > most => {
            let most = Quantity::new(Amount::from_f64(most).unwrap_or_default(), unit);
            return Err(Misread::over(words, format!("too much for one entry: at most {most}")));
        }
        Some(_) => {}
    }
    Ok(match verb {
        "drove" => Event::Drive(amount),
        "shore" => Event::Charge { source: ChargeSource::Shore, amount },
        _ => Event::Charge { source: ChargeSource::Generator, amount },
    })
}

/// `charged 800 Wh`, which leaves open from where.
pub(super) fn charged(reader: &mut Reader, scene: &Scene) -> Result<Event, Misread> {
    let amount = span(reader, scene)?.map_or(example("2 h"), |said| said.to_string());
    let message = "from where? Write `charged 800 Wh from shore` or `from generator`";
    reader.take(&["from", "at"]);
    let misread = reader.missing(message);
    Err(match reader.peek() {
        Some(other) => misread.near(&other.low, ["shore", "generator"].into_iter()),
        None => misread.write_piece(format!("charged {amount} from shore")),
    })
}

/// `camp Alder flats`, `camp at 55.1,-3.2`, `camp "Pitch 9, east"`.
pub(super) fn camp(reader: &mut Reader, scene: &Scene) -> Result<Event, Misread> {
    if reader.peek().is_none_or(|w| w.is("at") && reader.rest().len() == 1) {
        let message = "where? Write a name, or a latitude and a longitude like `55.1,-3.2`";
        return Err(reader.missing(message));
    }
    let coordinates = &reader.rest()[usize::from(reader.peek().is_some_and(|w| w.is("at")))..];
    if coordinates.iter().all(Word::is_numeric) {
        reader.at = reader.words.len();
        return place_at(coordinates).map(Event::Camp);
    }
    reader.take(&["at"]);
    let words = reader.rest();
    reader.at = reader.words.len();
    place_named(words, reader.words.first(), scene)
}

/// The place that these words name. A name that is nearly that of a known place is asked back,
/// unless quotes say that it is one of its own; words like `arrived at` go with known places.
fn place_named(words: &[Word], verb: Option<&Word>, scene: &Scene) -> Result<Event, Misread> {
    let name = camp_name(words)?;
    let known = scene.known;
    if let Some(place) = known.place(&name) {
        return Ok(Event::Camp(Spot::Named(place.to_string())));
    }
    if words.iter().any(|w| w.kind == Kind::Quoted) {
        return Ok(Event::Camp(Spot::Named(name)));
    }
    let near = known.places_near(&name);
    let plainly = verb.is_none_or(|w| w.text.to_lowercase().starts_with("camp"));
    if near.is_empty() && plainly {
        return Ok(Event::Camp(Spot::Named(name)));
    }
    let new = format!("\"{name}\"");
    let message = match near.first() {
        Some(place) => format!("{place}, or a new place? Write `camp {place}`, or `camp {new}`"),
        None => format!("no place that is known: write `camp {new}` for a new one"),
    };
    // `back at work` names no place.
    let named = !near.is_empty() || name.starts_with(char::is_uppercase);
    let misread = near.into_iter().fold(Misread::over(words, message), Misread::write);
    Err(if named { misread.write(new) } else { misread })
}

/// `drove to Alder flats`: how long that took is not told.
pub(super) fn drove_to(reader: &mut Reader, scene: &Scene) -> Result<Event, Misread> {
    let words = reader.rest();
    reader.at = reader.words.len();
    if words.is_empty() {
        return Err(reader.missing("where to? Write `camp` and the place, and `drove 2 h`"));
    }
    let Event::Camp(Spot::Named(place)) = place_named(words, reader.words.first(), scene)? else {
        return Err(Misread::over(words, "no place that is known"));
    };
    let message =
        format!("how long did it take? Write `drove 1 h, camp {place}`, or the camp alone");
    let misread = Misread::over(reader.words, message);
    Err(misread
        .write_piece(format!("camp {place}"))
        .write_piece(format!("drove {}, camp {place}", example("1 h"))))
}

fn camp_name(words: &[Word]) -> Result<String, Misread> {
    let quoted = words.iter().any(|w| w.kind == Kind::Quoted);
    if quoted && words.len() > 1 {
        return Err(Misread::over(words, "quotes go around the whole name"));
    }
    let text = words.iter().flat_map(|w| w.text.split_whitespace()).collect::<Vec<_>>().join(" ");
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
    Ok(Spot::At {
        latitude: degrees(north, 90.0, "latitude")?,
        longitude: degrees(east, 180.0, "longitude")?,
    })
}
