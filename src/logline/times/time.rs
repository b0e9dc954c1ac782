//! Time words of a log line, and what they say; `moment` has the rules for what that means.

use super::moment::{Clock, Day, Hour, Look, Toward, When, time};
use crate::domain::Moment;
use crate::logline::lexis::word::{Kind, Mark, Word};
use chrono::{Datelike, Duration, NaiveDate, NaiveTime, Timelike, Weekday};

/// The most words that one time phrase takes.
const LONGEST_PHRASE: usize = 8;

/// Reads all of `words` as one time phrase; `None` when they are not exactly that.
pub(in crate::logline) fn phrase(words: &[Word], clock: &Clock) -> Option<When> {
    let (first, last) = (words.first()?, words.last()?);
    // A name in quotes is a name, even that of a place called `Sun`.
    if words.len() > LONGEST_PHRASE || words.iter().any(|w| w.kind != Kind::Plain) {
        return None;
    }
    let mut when = match first.is("planned") {
        true => When { toward: Toward::Planned, ..phrase(&words[1..], clock)?.ahead() },
        false => exact(words, clock).or_else(|| partial(words))?,
    };
    (when.start, when.end) = (first.start, last.end);
    when.words = words.iter().map(Word::said).collect::<Vec<_>>().join(" ");
    Some(when)
}

/// The longest time phrase that begins `words`, and how many words it takes.
pub(in crate::logline) fn longest_phrase(words: &[Word], clock: &Clock) -> Option<(When, usize)> {
    let longest = words.len().min(LONGEST_PHRASE);
    (1..=longest).rev().find_map(|n| Some((phrase(&words[..n], clock)?, n)))
}

fn exact(words: &[Word], clock: &Clock) -> Option<When> {
    let moment = match words {
        [now] if now.is("now") => clock.now,
        [stamp] => rfc3339(stamp.text).map(|at| clock.zone.here(at))?,
        [number, unit, ago] if ago.is("ago") => shifted(number, unit, -1, clock)?,
        [into, number, unit] if into.is("in") => shifted(number, unit, 1, clock)?,
        _ => return None,
    };
    Some(When { exact: Some(moment), ..When::default() })
}

/// An RFC 3339 date-time with its offset.
fn rfc3339(text: &str) -> Option<Moment> {
    // The shape is looked at first because every number of a line comes by here.
    (text.len() >= 20 && text.as_bytes()[4] == b'-')
        .then(|| Moment::parse_from_rfc3339(text).ok())?
}

/// `2 h ago`, `in 3 days`: hours and minutes as they pass, days and weeks by the calendar.
fn shifted(number: &Word, unit: &Word, sign: i64, clock: &Clock) -> Option<Moment> {
    let count: i64 = match number.low.as_str() {
        "a" | "an" | "one" => 1,
        digits if digits.len() <= 5 && digits.bytes().all(|b| b.is_ascii_digit()) => {
            digits.parse().ok()?
        }
        _ => return None,
    };
    let minute = clock.now
        - Duration::seconds(i64::from(clock.civil.second()))
        - Duration::nanoseconds(i64::from(clock.civil.nanosecond() % 1_000_000_000));
    let days = |days: i64| {
        let civil = clock.zone.here(minute).naive_local();
        civil.checked_add_signed(Duration::days(days * sign)).map(|at| clock.zone.moment(at))
    };
    match unit.low.as_str() {
        "min" | "minute" | "minutes" => minute.checked_add_signed(Duration::minutes(count * sign)),
        "h" | "hour" | "hours" => minute.checked_add_signed(Duration::hours(count * sign)),
        "d" | "day" | "days" | "night" | "nights" => days(count),
        "week" | "weeks" => days(count * 7),
        _ => None,
    }
}

/// Day, hour, or both in either order.
fn partial(words: &[Word]) -> Option<When> {
    let mut when = When::default();
    let mut rest = words;
    while !rest.is_empty() {
        let taken = take_day(rest, &mut when).or_else(|| take_hour(rest, &mut when))?;
        rest = &rest[taken..];
    }
    Some(when)
}

fn take_day(words: &[Word], when: &mut When) -> Option<usize> {
    if when.day.is_some() {
        return None;
    }
    if let Some((day, part, taken)) = part_of_today(words) {
        when.hour = Some(match when.hour {
            Some(hour) => within_part(hour, part)?,
            None => part,
        });
        when.day = Some(day);
        return Some(taken);
    }
    let (look, skip) = match words[0].low.as_str() {
        "on" => (Look::Usual, 1),
        "from" => (Look::Ahead, 1),
        "next" => (Look::Next, 1),
        "last" => (Look::Last, 1),
        _ => (Look::Usual, 0),
    };
    let (day, taken) = named_day(&words[skip..], look)?;
    when.day = Some(day);
    if look == Look::Ahead {
        when.toward = when.toward.max(Toward::Ahead);
    }
    Some(skip + taken)
}

fn named_day(words: &[Word], look: Look) -> Option<(Day, usize)> {
    let first = words.first()?;
    let named = [("yesterday", -1), ("today", 0), ("tomorrow", 1)];
    if let Some((_, days)) = named.iter().find(|(name, _)| first.is(name)) {
        return Some((Day::FromToday(*days), 1));
    }
    if let Some(day) = weekday(&first.low) {
        return Some(match words.get(1..).and_then(|rest| named_day(rest, look)) {
            Some((Day::OfMonth(month, of, _), taken)) => (Day::Named(day, month, of), 1 + taken),
            Some((Day::Date(date), taken)) if date.weekday() == day => (Day::Date(date), 1 + taken),
            Some((Day::OfThisMonth(of, _), taken)) => (Day::WeekdayOfMonth(day, of), 1 + taken),
            _ => (Day::Weekday(day, look), 1),
        });
    }
    if let Some(day) = ordinal(words) {
        return Some((Day::OfThisMonth(day, look), 2));
    }
    if let Some(date) = iso_date(first.text) {
        return Some((Day::Date(date), 1));
    }
    let second = words.get(1)?;
    let (month_number, day) = match (month(&first.low), month(&second.low)) {
        // `one may stay` is no day of May.
        (Some(month), _) => (month, day_number(second.text)?),
        (_, Some(month)) => (month, day_number(first.text)?),
        _ => return None,
    };
    // 29 February is a date in some year; others are checked in a leap year, which allows it.
    NaiveDate::from_ymd_opt(2024, month_number, day)?;
    let year = words.get(2).map(|w| w.text).filter(|y| is_digits(y, 4));
    match year.and_then(|year| year.parse().ok()) {
        Some(year) => Some((Day::Date(NaiveDate::from_ymd_opt(year, month_number, day)?), 3)),
        None => Some((Day::OfMonth(month_number, day, look), 2)),
    }
}

fn take_hour(words: &[Word], when: &mut When) -> Option<usize> {
    // `half past nine on friday evening`.
    if let (Some(Hour::At(_) | Hour::Dial(_)), Some(_), Some(part)) =
        (when.hour, when.day, day_part(&words[0].low))
    {
        when.hour = Some(within_part(when.hour?, part)?);
        return Some(1);
    }
    let part = match when.hour {
        None => None,
        Some(part @ Hour::Part { .. }) => Some(part),
        Some(_) => return None,
    };
    let of_part = |said: Hour| part.map_or(Some(said), |part| within_part(said, part));
    if let Some((said, taken)) = dial(words) {
        when.hour = Some(of_part(said)?);
        return Some(taken);
    }
    if part.is_some() && !words[0].is("at") {
        return None;
    }
    let (skip, ahead) = match words[0].low.as_str() {
        "at" => (1, false),
        "from" => (1, true),
        _ => (0, false),
    };
    let word = words.get(skip)?;
    // `evening` alone is too little to be a time; after a day it is one.
    let named = day_part(&word.low).filter(|_| when.day.is_some() && part.is_none());
    let half_day = words.get(skip + 1).and_then(|w| half_of_day(&w.low));
    if let Some(half) = half_day {
        let on_the_clock = hour(&word.low).or_else(|| whole_hour(&word.low))?;
        when.hour = Some(of_part(in_half(on_the_clock, half)?)?);
        return Some(skip + 2);
    }
    let headed = word.mark == Mark::Colon && when.day.is_some();
    let bare = || whole_hour(&word.low).filter(|_| words[0].is("at") || headed);
    let said = named.or_else(|| hour(&word.low)).or_else(bare)?;
    when.hour = Some(of_part(said)?);
    if ahead {
        when.toward = when.toward.max(Toward::Ahead);
    }
    Some(skip + 1)
}

/// `half past seven`, `half seven`, `quarter to nine`, and how many words that takes.
fn dial(words: &[Word]) -> Option<(Hour, usize)> {
    let at = usize::from(words[0].is("at"));
    // `at a quarter to four`.
    let at = at + usize::from(at > 0 && words.get(at).is_some_and(|w| w.is("a")));
    let rest = &words[at..];
    let part = rest.first()?;
    // `six thirty`.
    if let [hour, minutes, ..] = rest
        && [hour, minutes].iter().all(|w| w.text.starts_with(char::is_alphabetic))
        && let (Some(hour @ 1..=12), Some(minutes @ (10 | 15 | 20 | 30 | 40 | 45 | 50))) =
            (day_number(&hour.low), day_number(&minutes.low))
    {
        return Some((Hour::Dial(time(hour % 12, minutes)), at + 2));
    }
    let past = rest.get(1).is_some_and(|side| side.is("past"));
    // `ten past nine`.
    let told = day_number(&part.low).filter(|minutes| past && *minutes < 30);
    let part_of = [("half", 30), ("quarter", 15)].iter().find(|(name, _)| part.is(name));
    let minutes = told.or(part_of.map(|(_, minutes)| *minutes))?;
    let to = minutes == 15 && rest.get(1).is_some_and(|side| side.is("to"));
    // `half 2` is half of something, unless an hour is told.
    let letters = |w: &Word| at > 0 || w.text.starts_with(char::is_alphabetic);
    let bare = minutes == 30 && !past && rest.get(1).is_some_and(letters);
    let hour = rest.get(1 + usize::from(past || to)).filter(|_| past || to || bare)?;
    let hour = day_number(&hour.low).filter(|hour| (1..=12).contains(hour))? % 12;
    let (hour, minutes) = if to { ((hour + 11) % 12, 45) } else { (hour, minutes) };
    Some((Hour::Dial(time(hour, minutes)), at + 2 + usize::from(past || to)))
}

/// The halves of a day on a clock of twelve hours.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Half {
    Am,
    Pm,
}

fn half_of_day(word: &str) -> Option<Half> {
    match word {
        "am" | "a.m" => Some(Half::Am),
        "pm" | "p.m" => Some(Half::Pm),
        _ => None,
    }
}

/// `7:30 pm` on a clock of 24 hours; `None` for an hour that no such clock shows.
fn in_half(hour: Hour, half: Half) -> Option<Hour> {
    let (Hour::At(at) | Hour::Dial(at)) = hour else { return None };
    let hours = match (at.hour(), half) {
        (0, half) if matches!(hour, Hour::Dial(_)) => [0, 12][usize::from(half == Half::Pm)],
        (12, Half::Am) => 0,
        (12, Half::Pm) => 12,
        (hours @ 1..=11, Half::Am) => hours,
        (hours @ 1..=11, Half::Pm) => hours + 12,
        _ => return None,
    };
    Some(Hour::At(time(hours, at.minute())))
}

/// `at 9 this evening` is 21:00, `at 9 this morning` 09:00.
fn within_part(hour: Hour, part: Hour) -> Option<Hour> {
    let (Hour::At(at) | Hour::Dial(at), Hour::Part { begins, .. }) = (hour, part) else {
        return None;
    };
    match (at.hour(), begins) {
        (hours, 5) if hours < 12 => Some(Hour::At(at)),
        (1..=11, 12..) => in_half(hour, Half::Pm),
        (hours, 12..) if hours >= begins.min(18) => Some(Hour::At(at)),
        _ => None,
    }
}

/// `this morning`, `tonight`, `last night`: the day, the hour, and the words taken.
fn part_of_today(words: &[Word]) -> Option<(Day, Hour, usize)> {
    if words[0].is("tonight") {
        return Some((Day::This, day_part("night")?, 1));
    }
    let second = words.get(1)?;
    match words[0].low.as_str() {
        "this" => Some((Day::This, day_part(&second.low)?, 2)),
        "last" if second.is("night") => Some((Day::FromToday(-1), day_part("night")?, 2)),
        _ => None,
    }
}

/// `17th`, which the lexer cuts in two.
fn ordinal(words: &[Word]) -> Option<u32> {
    let ending = words.get(1)?;
    let glued = words[0].end == ending.start;
    let ends = ending.is_any("st nd rd th");
    (glued && ends).then(|| day_number(&words[0].low))?.filter(|day| (1..=31).contains(day))
}

fn day_part(word: &str) -> Option<Hour> {
    Some(match word {
        "morning" => Hour::Part { begins: 5, stands_for: 8 },
        "afternoon" => Hour::Part { begins: 12, stands_for: 14 },
        "evening" => Hour::Part { begins: 17, stands_for: 20 },
        "night" => Hour::Part { begins: 21, stands_for: 22 },
        _ => return None,
    })
}

/// `21:00`, `09:05`, `noon`; `9:05` leaves the half of the day open.
fn hour(word: &str) -> Option<Hour> {
    if word == "noon" {
        return Some(Hour::At(time(12, 0)));
    }
    let (hours, minutes) = word.split_once(':')?;
    if !(is_digits(hours, 1) || is_digits(hours, 2)) || !is_digits(minutes, 2) {
        return None;
    }
    let at = NaiveTime::from_hms_opt(hours.parse().ok()?, minutes.parse().ok()?, 0)?;
    // Two digits before minutes are of a clock of 24 hours, as an echo has them.
    let on_dial = is_digits(hours, 1) && at.hour() > 0;
    Some(if on_dial { Hour::Dial(at) } else { Hour::At(at) })
}

/// `0740`, `1620`, `530` as clocks show them.
pub(in crate::logline) fn clocked(word: &str) -> Option<String> {
    let digits = word.bytes().all(|b| b.is_ascii_digit()) && (3..=4).contains(&word.len());
    let (hours, minutes) = word.split_at_checked(word.len().checked_sub(2)?).filter(|_| digits)?;
    let clock = format!("{hours}:{minutes}");
    hour(&clock).map(|_| clock)
}

/// `22.30` as clocks show it.
pub(in crate::logline) fn dotted(word: &str) -> Option<String> {
    let (hours, minutes) = word.split_once('.').filter(|(_, minutes)| minutes.len() == 2)?;
    clocked(&format!("{hours:0>2}{minutes}"))
        .map(|_| format!("{hours}:{minutes}"))
        .filter(|_| minutes.bytes().all(|b| b.is_ascii_digit()))
}

/// `7` or `19`, which is an hour only after `at`.
fn whole_hour(word: &str) -> Option<Hour> {
    let hours = day_number(word)?;
    let at = NaiveTime::from_hms_opt(hours, 0, 0)?;
    // Two digits that begin with nothing are of a clock of 24 hours.
    let on_dial = (1..=11).contains(&hours) && !word.starts_with('0');
    Some(if on_dial { Hour::Dial(at) } else { Hour::At(at) })
}

/// Whether a word of a time shows that its writer's clock has 24 hours: `18:00`, `07:30`.
pub(in crate::logline) fn is_of_24_hours(word: &str) -> bool {
    let hours = word.split(':').next().unwrap_or_default();
    let late = hours.parse::<u32>().is_ok_and(|hours| (13..24).contains(&hours));
    is_digits(hours, 2) && (late || hours.starts_with('0') && word.contains(':'))
}

fn is_digits(text: &str, count: usize) -> bool {
    text.len() == count && text.bytes().all(|b| b.is_ascii_digit())
}

fn day_number(text: &str) -> Option<u32> {
    (is_digits(text, 1) || is_digits(text, 2)).then(|| text.parse().ok())?
}

fn iso_date(text: &str) -> Option<NaiveDate> {
    let shape = text.len() == 10 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    shape.then(|| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok())?
}

const WEEKDAYS: &str = "monday tuesday wednesday thursday friday saturday sunday";
const MONTHS: &str = "january february march april may june july august september october november \
    december";

/// The place in `names` of the first that a word begins, with three letters at least.
fn begun(names: &str, word: &str) -> Option<u8> {
    let at = names.split(' ').position(|name| word.len() >= 3 && name.starts_with(word))?;
    u8::try_from(at).ok()
}

fn weekday(word: &str) -> Option<Weekday> {
    let word = if word == "weds" { "wed" } else { word };
    // `saturdays done`.
    let word = word.strip_suffix('s').filter(|day| day.ends_with("day")).unwrap_or(word);
    Weekday::try_from(begun(WEEKDAYS, word)?).ok()
}

fn month(word: &str) -> Option<u32> {
    Some(u32::from(begun(MONTHS, word)?) + 1)
}

/// Whether a lower-case word can be part of a time.
pub(in crate::logline) fn is_time_word(word: &str) -> bool {
    let others = ["yesterday", "today", "tomorrow", "tonight", "noon", "ago", "night", "am", "pm"];
    weekday(word).is_some()
        || month(word).is_some()
        || day_part(word).is_some()
        || others.contains(&word)
}

/// Whether a lower-case word names a month.
pub(in crate::logline) fn is_month(word: &str) -> bool {
    month(word).is_some()
}
