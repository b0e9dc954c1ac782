//! What was understood, written out in words so that nothing is left to guess: typed again that
//! day, the echo gives the same entries, but that what happened "now" happens at the new now.

use super::grammar::{driven, weather};
use super::lexis::amounts::step_words;
use super::lexis::lexicon::OPENERS;
use super::lexis::listed::{is_of, lows};
use super::lexis::misread::Understood;
use super::lexis::recent::Recent;
use super::lexis::units::{in_stock_unit, is_counted};
use super::lexis::vocabulary::Vocabulary;
use super::lexis::word::Kind;
use super::times::moment::named_moment;
use super::tokens::words::pieces;
use crate::domain::entry::{After, ChargeSource, Event, Spot};
use crate::domain::flow::Per;
use crate::domain::outlook::DayWeather;
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::stock::{Direction, Gauge};
use crate::domain::time::Moment;
use crate::domain::unit::{Unit, UnitSystem};
use chrono::Duration;

/// The same line within so many minutes may be one that was sent twice.
const AGAIN_MIN: i64 = 5;

/// The line that says the same as `understood` at `now`, with every day and hour in words.
///
/// A note's text runs to the end of its line, so notes come last; more than one note does not
/// fit on a line (and [`super::parse`] gives at most one).
pub fn echo(understood: &[Understood], vocabulary: &Vocabulary, now: Moment) -> String {
    let (notes, things): (Vec<_>, Vec<_>) =
        understood.iter().partition(|said| matches!(said.event, Event::Note(_)));
    let all: Vec<&Understood> = things.into_iter().chain(notes).collect();
    let Some(first) = all.first() else { return String::new() };
    let one_time = all.iter().all(|said| said.at == first.at);
    if one_time && first.at != now && (all.len() > 1 || time_first(first)) {
        let things = (0..all.len()).filter_map(|index| in_words(&all, index, vocabulary));
        let things: Vec<String> = things.collect();
        return format!("{}: {}", stamp(first.at, vocabulary, now), things.join(", "));
    }
    // What begins the line with its time would hold for the rest of it.
    let says_now = time_first(first) && first.at != now;
    // A thing done on another day leaves open whether the one before it was done then as well.
    let today = vocabulary.zone.date(now);
    let before_another_day = |index: usize| {
        let next = all.get(index + 1).filter(|next| is_done(next) && next.at < now);
        is_done(all[index]) && next.is_some_and(|next| vocabulary.zone.date(next.at) != today)
    };
    // What is filled and emptied in one line is so at one stop, if nothing else is said.
    let beside_another_time = |index: usize| {
        let beside = [index.wrapping_sub(1), index + 1].into_iter().filter_map(|at| all.get(at));
        let service =
            |said: &Understood| matches!(said.event, Event::Fill { .. } | Event::Empty { .. });
        service(all[index]) && beside.copied().any(|said| service(said) && said.at < now)
    };
    // The way to a camp is driven when they come there.
    let on_the_way = |index: usize| {
        let beside = [index.wrapping_sub(1), index + 1].into_iter().filter_map(|at| all.get(at));
        let camp = |said: &&Understood| matches!(said.event, Event::Camp(_)) && said.at != now;
        matches!(all[index].event, Event::Drive(_)) && beside.copied().any(|said| camp(&said))
    };
    let words = all.iter().enumerate().filter_map(|(index, said)| {
        let thing = in_words(&all, index, vocabulary)?;
        Some(match said.at == now {
            true if says_now
                || before_another_day(index)
                || beside_another_time(index)
                || on_the_way(index) =>
            {
                timed(said, "now", thing)
            }
            true => thing,
            false => timed(said, &stamp(said.at, vocabulary, now), thing),
        })
    });
    words.collect::<Vec<_>>().join(", ")
}

/// One thing of all; `None` where the thing before has told it as well.
fn in_words(all: &[&Understood], index: usize, vocabulary: &Vocabulary) -> Option<String> {
    let said = all[index];
    if index > 0 && hours_of(all[index - 1], said).is_some() {
        return None;
    }
    let again = all[..index].iter().any(|before| says_more(before, said, vocabulary));
    let mut thing = thing(&said.event, said, vocabulary);
    if let Some(hours) = all.get(index + 1).and_then(|next| hours_of(said, next)) {
        thing += &format!(" in {hours}");
    }
    Some(format!("{}{}", if again { "1 " } else { "" }, remarked(thing, said)))
}

/// How long the drive took whose distance comes first: two entries, and one drive.
fn hours_of<'u>(far: &Understood, long: &'u Understood) -> Option<&'u Quantity> {
    let (Event::Drive(one), Event::Drive(other)) = (&far.event, &long.event) else { return None };
    let bare = far.at == long.at && far.note == long.note;
    let is = |said: &Quantity, unit: Unit| said.unit.converts_to(&unit);
    (bare && is(one, Unit::Kilometre) && is(other, Unit::Hour)).then_some(other)
}

/// Whether the second tells once more of what the first tells, which could be the same again: of
/// several, or of what is not done by each.
fn says_more(one: &Understood, other: &Understood, known: &Vocabulary) -> bool {
    match (&one.event, &other.event) {
        (Event::Use { activity, count }, Event::Use { activity: again, count: once }) => {
            let counted = is_counted(&once.unit) && once.amount.milli() == 1000;
            let parts = known.parts_at(one.at);
            let each = parts.activity(activity).is_some_and(|(_, a)| a.per == Per::Person);
            let twice = !each && (one.note.is_some() || other.note.is_some());
            activity == again && counted && (count.amount.milli() > 1000 || twice)
        }
        _ => false,
    }
}

/// Whether it is a thing done, whose time may be left to be guessed.
fn is_done(said: &Understood) -> bool {
    use Event::{Charge, Drive, Empty, Fill, Use};
    matches!(said.event, Use { .. } | Fill { .. } | Empty { .. } | Drive(_) | Charge { .. })
}

/// Whether its own text runs to the end, so that a time goes in front.
fn time_first(said: &Understood) -> bool {
    matches!(said.event, Event::Note(_) | Event::Outlook(_))
}

/// What an emptying with an amount leaves behind, one sentence for each: `grey: 10 L out, about
/// 53 L left`. Nothing where the level is not known. Then what the drives leave out, which charge
/// moves nothing, which camp lies nobody knows where, whether all of `line` became a note that
/// it did not say it was, and whether the same was written a moment ago.
pub fn consequences(
    (line, now): (&str, Moment),
    understood: &[Understood],
    vocabulary: &Vocabulary,
) -> Vec<String> {
    let told = understood.iter().filter_map(|said| {
        let Event::Empty { stock: name, amount: Some(amount), after: None } = &said.event else {
            return None;
        };
        let parts = vocabulary.parts_at(said.at);
        let (_, stock) = parts.stock(name)?;
        let level = vocabulary.level_of(name)?;
        let out = in_stock_unit(amount, stock, parts)?;
        if stock.is_about_all(out, level.mean, level.sd) {
            return Some(format!("{name}: {amount} out, which is about all: nothing left"));
        }
        let shown = stock.unit.shown_in(vocabulary.show);
        let factor = stock.unit.factor_to(&shown, None);
        let (factor, shown) = factor.map_or((1.0, stock.unit.clone()), |by| (by, shown));
        let left = Amount::from_f64(((level.mean - out) * factor).round()).ok()?;
        let left = Quantity::new(left, shown);
        let emptied = match stock.runs {
            Direction::Down => format!("lost all {name}"),
            Direction::Up => format!("emptied {name}"),
        };
        // What else is told changes what was thought to be there.
        match understood.len() {
            1 => Some(format!("{name}: {amount} out, about {left} left (if none is: `{emptied}`)")),
            _ => Some(format!("{name}: {amount} out (if none is left: `{emptied}`)")),
        }
    });
    let note = |said: &Understood| matches!(said.event, Event::Note(_));
    let plainly = line.trim_start().to_lowercase().starts_with("note");
    let beside = understood.iter().find(|said| !plainly && note(said));
    let noted = beside.filter(|_| !line.to_lowercase().contains("note ")).map(|said| {
        match (&said.event, understood.iter().all(note)) {
            (Event::Note(text), false) => format!("only noted, not counted: {text}"),
            _ if is_of_wind(line) => "a note: no forecast here counts the wind".to_string(),
            _ => "a note; nothing is counted".to_string(),
        }
    });
    let unknown = understood.iter().filter_map(|said| match &said.event {
        Event::Camp(Spot::Named(name)) if vocabulary.place(name).is_none() => Some(format!(
            "where {name} lies is not known: ways count from the camp before, until places.ron says it"
        )),
        _ => None,
    });
    let driven = driven::left_out(understood, vocabulary);
    let driven = driven.into_iter().chain(driven::in_vain(understood, vocabulary));
    let again = already(understood, vocabulary, now);
    told.chain(driven).chain(unknown).chain(noted).chain(again).collect()
}

/// Whether a line tells of the wind.
fn is_of_wind(line: &str) -> bool {
    lows(line).iter().any(|w| is_of("winds blows", w))
}

/// That all of it was written a moment ago: somebody pressed a key twice, or two did the same.
fn already(understood: &[Understood], known: &Vocabulary, now: Moment) -> Option<String> {
    let last = known.last_line(now);
    let same = |said: &Understood| {
        let near = |recent: &&&Recent| now - recent.recorded < Duration::minutes(AGAIN_MIN);
        last.iter().filter(near).any(|recent| {
            let untimed = said.at == now && recent.said.at == recent.recorded;
            recent.said.event == said.event && (untimed || recent.said.at == said.at)
        })
    };
    let all = last.len() == understood.len() && understood.iter().all(same);
    let at = known.zone.here(last.first()?.recorded).format("%H:%M");
    (all && understood.iter().any(is_done))
        .then(|| format!("already noted at {at}, and now once more: undo takes it back"))
}

/// A thing with its own time: in front of what runs to the end of its piece, else behind.
fn timed(said: &Understood, time: &str, thing: String) -> String {
    if time_first(said) {
        return format!("{time}: {thing}").replacen("now: ", "now ", 1);
    }
    match &said.note {
        Some(note) => format!("{} {time} ({note})", bare(&thing, note)),
        None => format!("{thing} {time}"),
    }
}

fn bare<'t>(thing: &'t str, note: &str) -> &'t str {
    thing.strip_suffix(&format!(" ({note})")).unwrap_or(thing)
}

fn remarked(thing: String, said: &Understood) -> String {
    match (&said.note, &said.event) {
        (Some(note), event) if !matches!(event, Event::Note(_)) => format!("{thing} ({note})"),
        _ => thing,
    }
}

/// A moment in words; a plan says that it is one.
fn stamp(at: Moment, vocabulary: &Vocabulary, now: Moment) -> String {
    let planned = if at > now { "planned " } else { "" };
    format!("{planned}{}", named_moment(at, vocabulary.zone, now))
}

/// "2.5 h", and "2 h 40 min" for hours that tenths do not tell.
fn lasting(amount: &Quantity) -> String {
    let hours = amount.amount.value();
    let minutes = (60.0 * hours).round();
    let told = Amount::from_f64(minutes / 60.0).is_ok_and(|same| same == amount.amount);
    let odd = amount.unit == Unit::Hour && hours > 1.0 && (1000.0 * hours).round() % 100.0 != 0.0;
    match odd && told {
        true => format!("{} h {} min", (minutes / 60.0).floor(), minutes % 60.0),
        false => amount.to_string(),
    }
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
            let amount = amount.as_ref().map(|amount| in_own_unit(amount, stock, said, vocabulary));
            amount.iter().for_each(|amount| words += &format!(" {amount}"));
            match after {
                Some(After::Full) => words += " to full",
                Some(After::Level(to)) => words += &format!(" to {}", level(to)),
                None => {}
            }
            words
        }
        Event::Empty { stock, amount, after } => {
            let lost = vocabulary.parts_at(said.at).stock(stock);
            let lost = lost.is_some_and(|(_, stock)| stock.runs == Direction::Down);
            let mut words = match lost {
                true if amount.is_none() && after.is_none() => format!("lost all {stock}"),
                true => format!("lost {stock}"),
                false => format!("emptied {stock}"),
            };
            let amount = amount.as_ref().map(|amount| in_own_unit(amount, stock, said, vocabulary));
            amount.iter().for_each(|amount| words += &format!(" {amount}"));
            after.iter().for_each(|to| words += &format!(" to {}", level(to)));
            words
        }
        Event::Spent { stock, amount } => {
            format!("used {stock} {} in all", in_own_unit(amount, stock, said, vocabulary))
        }
        Event::Drive(amount) => format!("drove {}", lasting(amount)),
        Event::Charge { source: ChargeSource::Shore, amount } => {
            format!("shore {}", lasting(amount))
        }
        Event::Charge { source: ChargeSource::Generator, amount } => {
            format!("generator {}", lasting(amount))
        }
        Event::Camp(Spot::Named(name)) => format!("camp {}", place_name(name, vocabulary)),
        // With its decimals, or the comma could be one of a number.
        Event::Camp(Spot::At { latitude, longitude }) => {
            let degrees = |value: &f64| match value.fract() == 0.0 {
                true => format!("{value:.1}"),
                false => value.to_string(),
            };
            format!("camp at {},{}", degrees(latitude), degrees(longitude))
        }
        Event::Crew(people) => format!("aboard {people}"),
        Event::DayClosed => "day closed".to_string(),
        Event::Note(text) => format!("note {text}"),
        Event::Outlook(row) => outlook(row, vocabulary),
    }
}

/// A share that went in or out, as an amount: a share in words would be asked back.
fn in_own_unit(
    amount: &Quantity,
    stock: &str,
    said: &Understood,
    vocabulary: &Vocabulary,
) -> Quantity {
    let parts = vocabulary.parts_at(said.at);
    let own = parts.stock(stock).filter(|_| amount.unit == Unit::Percent).and_then(|(_, known)| {
        let value = in_stock_unit(amount, known, parts)?;
        Some(Quantity::new(Amount::from_f64(value).ok()?, known.unit.clone()))
    });
    own.unwrap_or_else(|| amount.clone())
}

fn used(activity: &str, count: &Quantity, said: &Understood, vocabulary: &Vocabulary) -> String {
    let parts = vocabulary.parts_at(said.at);
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
    let parts = vocabulary.parts_at(said.at);
    parts.stock(stock).is_some_and(|(_, stock)| stock.gauge != Gauge::None)
}

/// The name bare where it reads back as itself, else in quotes.
fn place_name(name: &str, vocabulary: &Vocabulary) -> String {
    let plain = name.chars().all(|c| c.is_alphabetic() || c == ' ' || c == '-' || c == '\'');
    let one_piece = pieces(&format!("camp {name}"), vocabulary)
        .is_ok_and(|p| p.len() == 1 && p[0].words.iter().all(|w| w.kind == Kind::Plain));
    let reserved =
        ["at", "on", "from", "until", "now", "planned", "today", "and", "next", "last", "this"];
    let own = |word: &str| {
        let low = word.to_lowercase();
        reserved.contains(&low.as_str())
            || super::times::time::is_time_word(&low)
            || OPENERS.split(' ').any(|opener| opener == low)
    };
    match plain && one_piece && !name.split(' ').any(own) {
        true => name.to_string(),
        false => format!("\"{name}\""),
    }
}

/// Degrees Fahrenheit that read back as `celsius`, in as few digits as do.
fn in_fahrenheit(celsius: f64) -> Option<f64> {
    let exact = celsius * 1.8 + 32.0;
    let rounded = [exact.round(), (exact * 10.0).round() / 10.0];
    rounded.into_iter().find(|degrees| (weather::celsius(*degrees) - celsius).abs() < 1e-9)
}

fn outlook(row: &DayWeather, vocabulary: &Vocabulary) -> String {
    let number = |value: f64| Amount::from_f64(value).unwrap_or_default();
    let told = || row.low_c.into_iter().chain(row.high_c);
    // Only what reads back as it was is shown in Fahrenheit.
    let hot = vocabulary.show == UnitSystem::Us && told().all(|end| in_fahrenheit(end).is_some());
    let scale = if hot { "F" } else { "C" };
    let degrees = |end: f64| number(in_fahrenheit(end).filter(|_| hot).unwrap_or(end));
    let mut words = format!("outlook {}", row.date);
    words += &match (row.low_c, row.high_c) {
        (Some(low), Some(high)) => format!(" {} to {} {scale}", degrees(low), degrees(high)),
        (Some(low), None) => format!(" low {} {scale}", degrees(low)),
        (None, Some(high)) => format!(" high {} {scale}", degrees(high)),
        (None, None) => String::new(),
    };
    row.place.iter().for_each(|place| words += &format!(" at \"{place}\""));
    row.cloud.iter().for_each(|cloud| words += &format!(" cloud {}%", number(cloud * 100.0)));
    row.sun_kwh_m2.iter().for_each(|sun| words += &format!(" sun {} kWh", number(*sun)));
    words
}
