//! What was understood, written out so that nothing is left to guess: typed again, on any later
//! day, the echo gives the same entries, but that what happened "now" happens at the new now.

use super::vocabulary::{Vocabulary, is_counted};
use super::words::{Kind, pieces};
use super::{Understood, thing};
use crate::domain::entry::{After, ChargeSource, Event, Spot};
use crate::domain::outlook::DayWeather;
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::stock::Gauge;
use crate::domain::time::Moment;
use crate::domain::unit::Unit;

/// The line that says the same as `understood` at `now`, with every date and hour in full.
///
/// A note's text runs to the end of its line, so notes come last; more than one note does not
/// fit on a line (and [`super::parse`] gives at most one).
pub fn echo(understood: &[Understood], vocabulary: &Vocabulary, now: Moment) -> String {
    let (notes, things): (Vec<_>, Vec<_>) =
        understood.iter().partition(|said| matches!(said.event, Event::Note(_)));
    let all: Vec<&Understood> = things.into_iter().chain(notes).collect();
    let Some(first) = all.first() else { return String::new() };
    let one_time = all.iter().all(|said| said.at == first.at);
    let mut words = Vec::with_capacity(all.len() + 1);
    if one_time && first.at != now {
        words.push(stamp(first.at, vocabulary, now));
    }
    for said in all {
        let thing = remarked(said, vocabulary);
        words.push(match (one_time, said.at == now) {
            (true, _) => thing,
            (false, true) => timed(said, "now", thing),
            (false, false) => timed(said, &stamp(said.at, vocabulary, now), thing),
        });
    }
    words.join(", ")
}

/// A thing with its own time: in front of what runs to the end of its piece, else behind.
fn timed(said: &Understood, time: &str, thing: String) -> String {
    match said.event {
        Event::Note(_) | Event::Outlook(_) => format!("{time} {thing}"),
        _ => match &said.note {
            Some(note) => format!("{} {time} ({note})", bare(&thing, note)),
            None => format!("{thing} {time}"),
        },
    }
}

fn bare<'t>(thing: &'t str, note: &str) -> &'t str {
    thing.strip_suffix(&format!(" ({note})")).unwrap_or(thing)
}

fn remarked(said: &Understood, vocabulary: &Vocabulary) -> String {
    let thing = thing(&said.event, said, vocabulary);
    match (&said.note, &said.event) {
        (Some(note), event) if !matches!(event, Event::Note(_)) => format!("{thing} ({note})"),
        _ => thing,
    }
}

/// A moment in full: civil where that is exact, else RFC 3339 (seconds, repeated hours); a plan
/// says that it is one.
fn stamp(at: Moment, vocabulary: &Vocabulary, now: Moment) -> String {
    let planned = if at > now { "planned " } else { "" };
    let zone = vocabulary.zone;
    let civil = zone.here(at).format("%Y-%m-%d %H:%M").to_string();
    let exact = chrono::NaiveDateTime::parse_from_str(&civil, "%Y-%m-%d %H:%M")
        .is_ok_and(|minute| zone.moment(minute) == at);
    let at = if exact { civil } else { zone.here(at).to_rfc3339() };
    format!("{planned}{at}")
}

fn thing(event: &Event, said: &Understood, vocabulary: &Vocabulary) -> String {
    match event {
        Event::Use { activity, count } => used(activity, count, said, vocabulary),
        Event::Level { stock, reading, step } => match step {
            Some(step) => format!("{stock} {} {}", level(reading), step_words(*step)),
            // With no gauge, a fraction would be taken for a guess that coarse.
            None if gauged(stock, said, vocabulary) => format!("{stock} {}", level(reading)),
            None => format!("{stock} {reading}"),
        },
        Event::Fill { stock, amount, after } => {
            let mut words = format!("filled {stock}");
            amount.iter().for_each(|amount| words += &format!(" {amount}"));
            match after {
                Some(After::Full) => words += " to full",
                Some(After::Level(to)) => words += &format!(" to {}", level(to)),
                None => {}
            }
            words
        }
        Event::Empty { stock, amount, after } => {
            let mut words = format!("emptied {stock}");
            amount.iter().for_each(|amount| words += &format!(" {amount}"));
            after.iter().for_each(|to| words += &format!(" to {}", level(to)));
            words
        }
        Event::Drive(amount) => format!("drove {amount}"),
        Event::Charge { source: ChargeSource::Shore, amount } => format!("shore {amount}"),
        Event::Charge { source: ChargeSource::Generator, amount } => format!("generator {amount}"),
        Event::Camp(Spot::Named(name)) => format!("camp {}", place_name(name, vocabulary)),
        Event::Camp(Spot::At { latitude, longitude }) => format!("camp at {latitude},{longitude}"),
        Event::Crew(people) => format!("aboard {people}"),
        Event::DayClosed => "day closed".to_string(),
        Event::Note(text) => format!("note {text}"),
        Event::Outlook(row) => outlook(row),
    }
}

fn used(activity: &str, count: &Quantity, said: &Understood, vocabulary: &Vocabulary) -> String {
    let parts = vocabulary.parts_on(vocabulary.zone.date(said.at));
    let plural = parts.activity(activity).map_or(activity, |(_, known)| &known.plural);
    match (&count.unit, count.amount.milli()) {
        (unit, 1000) if is_counted(unit) => activity.to_string(),
        (Unit::Time, _) => format!("{} {plural}", count.amount),
        _ => format!("{activity} {count}"),
    }
}

/// A level as it is written: as a fraction where percent would need more than one decimal.
fn level(reading: &Quantity) -> String {
    let milli = reading.amount.milli();
    if reading.unit != Unit::Percent || milli % 100 == 0 {
        return reading.to_string();
    }
    let share = |over: i64, parts: i64| Amount::from_f64(over as f64 / parts as f64 * 100.0);
    let fractions = (3..=12).flat_map(|parts| (1..parts).map(move |over| (over, parts)));
    let mut same = fractions.filter(|(over, parts)| share(*over, *parts) == Ok(reading.amount));
    same.next().map_or_else(|| reading.to_string(), |(over, parts)| format!("{over}/{parts}"))
}

fn gauged(stock: &str, said: &Understood, vocabulary: &Vocabulary) -> bool {
    let parts = vocabulary.parts_on(vocabulary.zone.date(said.at));
    parts.stock(stock).is_some_and(|(_, stock)| stock.gauge != Gauge::None)
}

fn step_words(step: f64) -> String {
    let named = [(2.0, "halves"), (3.0, "thirds"), (4.0, "quarters"), (8.0, "eighths")];
    match named.iter().find(|(parts, _)| step == 1.0 / parts) {
        Some((_, parts)) => format!("in {parts}"),
        None => {
            let percent = Amount::from_f64(step * 100.0).unwrap_or_default();
            format!("in steps of {percent}%")
        }
    }
}

/// The name bare where it reads back as itself, else in quotes.
fn place_name(name: &str, vocabulary: &Vocabulary) -> String {
    let plain = name.chars().all(|c| c.is_alphabetic() || c == ' ' || c == '-' || c == '\'');
    let one_piece = pieces(&format!("camp {name}"), vocabulary)
        .is_ok_and(|p| p.len() == 1 && p[0].iter().all(|w| w.kind == Kind::Plain));
    let reserved =
        ["at", "on", "from", "until", "now", "planned", "today", "and", "next", "last", "this"];
    let own = |word: &str| {
        let low = word.to_lowercase();
        reserved.contains(&low.as_str())
            || super::time::is_time_word(&low)
            || thing::OPENERS.contains(&low.as_str())
    };
    match plain && one_piece && !name.split(' ').any(own) {
        true => name.to_string(),
        false => format!("\"{name}\""),
    }
}

fn outlook(row: &DayWeather) -> String {
    let number = |value: f64| Amount::from_f64(value).unwrap_or_default();
    let mut words =
        format!("outlook {} {} to {} C", row.date, number(row.low_c), number(row.high_c));
    row.place.iter().for_each(|place| words += &format!(" at \"{place}\""));
    row.cloud.iter().for_each(|cloud| words += &format!(" cloud {}%", number(cloud * 100.0)));
    row.sun_kwh_m2.iter().for_each(|sun| words += &format!(" sun {} kWh", number(*sun)));
    words
}
