//! A row of the outlook: `outlook tomorrow 3 to 11 C, cloud 60%, sun 2.4 kWh`.

use super::scene::Scene;
use crate::domain::time::NIGHT_ENDS;
use crate::domain::{Amount, DayWeather, Event, Unit, UnitSystem};
use crate::logline::lexis::amounts::{self, Said};
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::misread::{LEFT_OVER, Misread};
use crate::logline::lexis::reader::Reader;
use crate::logline::lexis::word::{Kind, Word, text};
use crate::logline::times::moment::When;
use crate::logline::times::time::longest_phrase;
use chrono::{Duration, NaiveDate, Timelike as _};

/// Hotter than any day, in Celsius.
const HOTTEST_C: f64 = 47.0;

/// An end of a day's temperatures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum End {
    Low,
    High,
}

impl End {
    /// The end that a word names.
    pub(in crate::logline) fn named(word: &Word) -> Option<End> {
        let is = |row| is_of(row, &word.low);
        is("lowest").then_some(End::Low).or_else(|| is("highest").then_some(End::High))
    }
}

const FORM: &str = "write `outlook tomorrow 3 to 11 C, cloud 60%`";

/// Whether `piece` goes on with the outlook that `before` is.
pub(in crate::logline) fn goes_on(before: &[Word], piece: &[Word]) -> bool {
    let detail = piece[0].is("cloud") || piece[0].is("sun");
    detail
        && piece.get(1).is_some_and(|w| w.kind == Kind::Plain)
        && before.iter().any(|w| w.is("outlook"))
}

/// What follows `outlook`: a day, its temperatures, then cloud, sun and place in any order. One end of
/// the temperatures will do, or the sky alone.
pub(in crate::logline) fn outlook(words: &[Word], scene: &Scene) -> Result<Event, Misread> {
    let reader = &mut Reader { words, at: 1 };
    let date = date(reader, scene)?;
    let from = reader.at;
    let said = temperatures(words, reader)?;
    let [low_c, high_c] = in_celsius(reader, scene, said);
    let words = reader.since(from);
    let told = || low_c.into_iter().chain(high_c);
    if told().any(|degrees| !(-80.0..=60.0).contains(&degrees)) {
        return Err(Misread::over(words, "temperatures lie between -80 and 60 C"));
    }
    if low_c.zip(high_c).is_some_and(|(low, high)| low > high) {
        return Err(Misread::over(words, "the low comes first, then the high"));
    }
    let mut row = DayWeather {
        issued: scene.at,
        date,
        low_c,
        high_c,
        sun_kwh_m2: None,
        cloud: None,
        place: None,
    };
    while details(&mut row, reader, scene)? {}
    match reader.peek() {
        Some(word) if row.says_anything() => Err(Misread::at(word, LEFT_OVER)),
        _ if !row.says_anything() => {
            Err(reader.missing(format!("a low and a high temperature: {FORM}")))
        }
        _ => Ok(Event::Outlook(row)),
    }
}

/// The low and the high, as far as they are told: `3 to 11`, `low 3`, `high 11`.
fn temperatures(words: &[Word], reader: &mut Reader) -> Result<[Option<Amount>; 2], Misread> {
    let mut ends = [None, None];
    while let Some(end) = reader.peek().and_then(End::named) {
        reader.at += 1;
        ends[end as usize] = Some(temperature(reader)?);
    }
    if ends.iter().any(Option::is_some) || !reader.peek().is_some_and(Word::is_numeric) {
        return Ok(ends);
    }
    let first = reader.at;
    let low = temperature(reader)?;
    reader.take(&["to"]);
    match reader.peek().is_some_and(Word::is_numeric) {
        true => Ok([Some(low), Some(temperature(reader)?)]),
        false => Err(which_end(words, first)),
    }
}

/// `outlook tomorrow -2`: the low or the high?
fn which_end(words: &[Word], at: usize) -> Misread {
    let (before, rest) = (text(&words[..at]), text(&words[at..]));
    let ways = match words[at].low.starts_with('-') {
        true => ["low", "high"],
        false => ["high", "low"],
    };
    let ways = ways.map(|end| format!("{before} {end} {rest}"));
    let message = format!("the low of the day, or the high? Write `{}` or `{}`", ways[0], ways[1]);
    let mut misread = Misread::over(&words[at..], message);
    misread.mend.told = true;
    let [first, other] = ways;
    misread.write_piece(first).write_piece(other)
}

fn date(reader: &mut Reader, scene: &Scene) -> Result<NaiveDate, Misread> {
    let rest = reader.rest();
    let found = longest_phrase(rest, scene.clock);
    // The lowest temperature of a night is that of the day that it ends on.
    let night = |when: &When| {
        when.is_tonight() && scene.clock.civil.hour() >= NIGHT_ENDS && !when.words.contains("eve")
    };
    let found = found.and_then(|(when, taken)| {
        Some((when.date(scene.clock)? + Duration::days(i64::from(night(&when))), taken))
    });
    let Some((date, taken)) = found else {
        return Err(reader.missing(format!("for which day? {}", capital(FORM))));
    };
    let ahead = (date - scene.clock.civil.date()).num_days();
    if !(-3653..=400).contains(&ahead) {
        let message = "an outlook speaks of a day within ten years back and 400 days ahead";
        return Err(Misread::over(&rest[..taken], message));
    }
    reader.at += taken;
    Ok(date)
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |c| c.to_uppercase().chain(chars).collect())
}

fn temperature(reader: &mut Reader) -> Result<Amount, Misread> {
    match reader.peek().filter(|w| w.is_numeric()) {
        Some(word) => {
            reader.at += 1;
            amounts::number(word)
        }
        None => Err(reader.missing(format!("a low and a high temperature: {FORM}"))),
    }
}

/// In degrees Celsius, converted ones to the tenth as forecasts are no finer; `F` said, or usual in the rig's units, is converted.
fn in_celsius(reader: &mut Reader, scene: &Scene, said: [Option<Amount>; 2]) -> [Option<f64>; 2] {
    let fahrenheit = match reader.take(&["c", "°c"]) {
        true => false,
        false => {
            let hot = said.iter().flatten().any(|amount| amount.value() > HOTTEST_C);
            reader.take(&["f", "°f"]) || hot || scene.known.show == UnitSystem::Us
        }
    };
    said.map(|amount| match fahrenheit {
        true => Some(celsius(amount?.value())),
        false => Some(amount?.value()),
    })
}

/// Degrees Fahrenheit in degrees Celsius, to the tenth.
pub(in crate::logline) fn celsius(fahrenheit: f64) -> f64 {
    ((fahrenheit - 32.0) / 0.18).round() / 10.0
}

fn details(row: &mut DayWeather, reader: &mut Reader, scene: &Scene) -> Result<bool, Misread> {
    let from = reader.at;
    if reader.take(&["cloud"]) {
        let said = reader.amount(scene.known)?.and_then(|said| said.quantity());
        let Some(cloud) = said.filter(|q| q.unit == Unit::Percent) else {
            return Err(reader.missing("how much cloud? Write `cloud 60%`"));
        };
        if !(0.0..=100.0).contains(&cloud.amount.value()) {
            return Err(Misread::over(reader.since(from), "cloud lies between 0% and 100%"));
        }
        row.cloud = Some(cloud.amount.value() / 100.0);
        return Ok(true);
    }
    if reader.take(&["sun"]) {
        let said = reader.amount(scene.known)?;
        let Some(Said::Quantity(sun)) =
            said.filter(|said| matches!(said, Said::Quantity(q) if q.unit == Unit::KilowattHour))
        else {
            return Err(reader.missing("how much sun? Write the day's sum, like `sun 2.4 kWh`"));
        };
        // The sun outside the air gives 12 kWh/m2 on the longest day at best.
        if !(0.0..=15.0).contains(&sun.amount.value()) {
            let message = "a day's sun on the flat lies between 0 and 15 kWh per square metre";
            return Err(Misread::over(reader.since(from), message));
        }
        row.sun_kwh_m2 = Some(sun.amount.value());
        return Ok(true);
    }
    if reader.take(&["at"]) {
        let Some(word) = reader.peek() else {
            return Err(reader.missing("at which place? Write its name"));
        };
        let detail = |w: &Word| w.is("cloud") || w.is("sun");
        let name = match word.kind {
            Kind::Quoted => &reader.rest()[..1],
            _ => reader.rest().split(detail).next().unwrap_or_default(),
        };
        reader.at += name.len();
        let text = name.iter().flat_map(|w| w.text.split_whitespace()).collect::<Vec<_>>();
        let text = text.join(" ");
        if text.is_empty() || text.contains('"') || text.chars().count() > 80 {
            return Err(Misread::at(word, "not the name of a place: at most 80 characters"));
        }
        row.place = Some(scene.known.place(&text).map_or(text.clone(), str::to_string));
        return Ok(true);
    }
    Ok(false)
}
