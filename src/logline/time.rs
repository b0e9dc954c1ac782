//! Time words of a log line: what they say, and the moment that they mean.
//!
//! The rules, which the echo makes visible before anything is saved:
//!
//! - a bare hour (`21:00`) is the last time that clocks showed it, if that is at most twelve
//!   hours ago; an hour still ahead needs a day (`today 21:00` is a plan); after `at`, a number
//!   from 0 to 23 is such an hour (`at 7`);
//! - `planned` before a time makes it look ahead and refuses one that is past;
//! - a bare weekday is the latest one that is not ahead (`last` keeps off today); `on`, `next`,
//!   `from` and `until` look ahead, `next` keeps off today;
//! - a date without a year is the nearest one, before or after; `on` and its kin look ahead;
//! - a past day without an hour means 21:00, a coming day 12:00, today now;
//! - `morning` is 08:00, `afternoon` 14:00, `evening` 20:00, `night` 22:00, and now, if the part
//!   of today so named has begun but its hour has not come.

use super::words::{Kind, Word};
use crate::domain::time::{Moment, Zone};
use chrono::{Datelike, Duration, NaiveDate, NaiveDateTime, NaiveTime, Timelike, Weekday};

/// The most words that one time phrase takes.
pub(super) const LONGEST_PHRASE: usize = 7;
/// Plans reach this many days ahead.
const FURTHEST_AHEAD_DAYS: i64 = 400;
/// Entries reach this many days back.
const FURTHEST_BACK_DAYS: i64 = 3653;

/// Now, as seen from the van.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clock {
    pub now: Moment,
    pub civil: NaiveDateTime,
    pub zone: Zone,
}

/// Which way an unfinished date looks.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Look {
    Usual,
    Last,
    Ahead,
    Next,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Day {
    FromToday(i64),
    Date(NaiveDate),
    Weekday(Weekday, Look),
    OfMonth(u32, u32, Look),
}

/// An hour: as clocks show it, or a part of the day with the hour that stands for it.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Hour {
    At(NaiveTime),
    Part { begins: u32, stands_for: u32 },
}

/// What a time phrase says; what it leaves open comes from the line or from the rules.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct When {
    exact: Option<Moment>,
    day: Option<Day>,
    hour: Option<Hour>,
    ahead: bool,
    /// `planned` stood with it, so that it must not be past.
    planned: bool,
    /// Characters of the line.
    pub start: usize,
    pub end: usize,
    pub words: String,
}

impl When {
    /// This phrase, with what it leaves open taken from `line`.
    pub fn or(&self, line: &When) -> When {
        if self.exact.is_some() || self.is_empty() && line.exact.is_some() {
            return if self.exact.is_some() { self.clone() } else { line.clone() };
        }
        let mut both = if self.is_empty() { line.clone() } else { self.clone() };
        both.day = self.day.or(line.day);
        both.hour = self.hour.or(line.hour);
        both.ahead = self.ahead || line.ahead;
        both.planned = self.planned || line.planned;
        both
    }

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        self.exact.is_none() && self.day.is_none() && self.hour.is_none()
    }

    /// Whether both say the same kind of thing, so that one has to give way.
    pub fn clashes(&self, other: &When) -> bool {
        let exact =
            self.exact.is_some() && !other.is_empty() || other.exact.is_some() && !self.is_empty();
        exact
            || self.day.is_some() && other.day.is_some()
            || self.hour.is_some() && other.hour.is_some()
    }

    /// Whether it needs nothing from the line.
    pub fn is_complete(&self) -> bool {
        self.exact.is_some() || self.day.is_some() && self.hour.is_some()
    }

    /// The date that it speaks of, for an outlook's row.
    pub fn date(&self, clock: &Clock) -> Option<NaiveDate> {
        if let Some(exact) = self.exact {
            return Some(clock.zone.date(exact));
        }
        let today = clock.civil.date();
        Some(match self.day? {
            Day::FromToday(days) => today + Duration::days(days),
            Day::Date(date) => date,
            // Weather is spoken of ahead: the next such day, today included.
            Day::Weekday(day, Look::Usual) => weekday_from(today, day),
            Day::Weekday(day, look) => candidates_of_weekday(today, day, look)[0],
            Day::OfMonth(month, day, look) => month_day(today, month, day, look)?,
        })
    }

    /// The moment that it means; `Err` says what is wrong with it.
    pub fn resolve(&self, clock: &Clock) -> Result<Moment, String> {
        let at = match (self.exact, self.day, self.hour) {
            (Some(exact), _, _) => exact,
            (None, None, None) => clock.now,
            (None, None, Some(hour)) => self.bare_hour(hour, clock)?,
            (None, Some(day), hour) => on_day(day, hour, clock)
                .ok_or_else(|| format!("there is no such date as {}", self.words))?,
        };
        if self.planned && at <= clock.now {
            return Err("not ahead: leave `planned` out for what happened".to_string());
        }
        if at - clock.now > Duration::days(FURTHEST_AHEAD_DAYS) {
            return Err(format!("more than {FURTHEST_AHEAD_DAYS} days ahead"));
        }
        if clock.now - at > Duration::days(FURTHEST_BACK_DAYS) {
            return Err("more than ten years back".to_string());
        }
        Ok(at)
    }

    fn bare_hour(&self, hour: Hour, clock: &Clock) -> Result<Moment, String> {
        let today = clock.civil.date();
        let at = at_hour(today, hour, clock);
        if self.ahead {
            return Ok(if at > clock.now { at } else { at_hour(next(today), hour, clock) });
        }
        if at <= clock.now {
            return Ok(at);
        }
        let before = at_hour(today - Duration::days(1), hour, clock);
        if clock.now - before <= Duration::hours(12) {
            return Ok(before);
        }
        let hour = clock.zone.here(at).format("%H:%M");
        Err(format!("still ahead: write `today {hour}` for a plan, or `yesterday {hour}`"))
    }
}

fn next(date: NaiveDate) -> NaiveDate {
    date.succ_opt().unwrap_or(date)
}

fn time(hour: u32, minute: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, minute, 0).unwrap_or(NaiveTime::MIN)
}

fn at_hour(date: NaiveDate, hour: Hour, clock: &Clock) -> Moment {
    match hour {
        Hour::At(time) => clock.zone.moment(date.and_time(time)),
        Hour::Part { begins, stands_for } => {
            let at = clock.zone.moment(date.and_time(time(stands_for, 0)));
            let begun = date == clock.civil.date() && clock.civil.hour() >= begins;
            if begun { at.min(clock.now) } else { at }
        }
    }
}

fn on_day(day: Day, hour: Option<Hour>, clock: &Clock) -> Option<Moment> {
    let today = clock.civil.date();
    let at = |date: NaiveDate| match hour {
        Some(hour) => at_hour(date, hour, clock),
        None if date == today => clock.now,
        None if date < today => clock.zone.moment(date.and_time(time(21, 0))),
        None => clock.zone.moment(date.and_time(time(12, 0))),
    };
    match day {
        Day::FromToday(days) => Some(at(today + Duration::days(days))),
        Day::Date(date) => Some(at(date)),
        Day::OfMonth(month, day, look) => month_day(today, month, day, look).map(at),
        Day::Weekday(day, look) => {
            let [first, second] = candidates_of_weekday(today, day, look).map(at);
            let fits = match look {
                Look::Usual => first <= clock.now,
                Look::Ahead => first > clock.now,
                Look::Last | Look::Next => true,
            };
            Some(if fits { first } else { second })
        }
    }
}

/// The first such weekday at or after `from`.
fn weekday_from(from: NaiveDate, day: Weekday) -> NaiveDate {
    let ahead = (7 + day.num_days_from_monday() - from.weekday().num_days_from_monday()) % 7;
    from + Duration::days(i64::from(ahead))
}

/// The date meant, and the one a week further off in case the first is on the wrong side of now.
fn candidates_of_weekday(today: NaiveDate, day: Weekday, look: Look) -> [NaiveDate; 2] {
    let week = Duration::days(7);
    let ahead = weekday_from(today, day);
    let back = if ahead == today { today } else { ahead - week };
    match look {
        Look::Usual => [back, back - week],
        Look::Last if back == today => [back - week, back - week],
        Look::Last => [back, back - week],
        Look::Ahead => [ahead, ahead + week],
        Look::Next if ahead == today => [ahead + week, ahead + week],
        Look::Next => [ahead, ahead + week],
    }
}

/// A month and day in the year that `look` asks for.
fn month_day(today: NaiveDate, month: u32, day: u32, look: Look) -> Option<NaiveDate> {
    let years = (today.year() - 4..=today.year() + 4)
        .filter_map(|year| NaiveDate::from_ymd_opt(year, month, day));
    match look {
        Look::Usual => years.min_by_key(|date| (*date - today).num_days().abs()),
        Look::Last => years.filter(|date| *date < today).max(),
        Look::Ahead => years.filter(|date| *date >= today).min(),
        Look::Next => years.filter(|date| *date > today).min(),
    }
}

/// Reads all of `words` as one time phrase; `None` when they are not exactly that.
pub(super) fn phrase(words: &[Word], clock: &Clock) -> Option<When> {
    let (first, last) = (words.first()?, words.last()?);
    // A name in quotes is a name, even that of a place called `Sun`.
    if words.len() > LONGEST_PHRASE || words.iter().any(|w| w.kind != Kind::Plain) {
        return None;
    }
    let mut when = match first.is("planned") {
        true => When { planned: true, ..phrase_ahead(&words[1..], clock)? },
        false => exact(words, clock).or_else(|| partial(words))?,
    };
    (when.start, when.end) = (first.start, last.end);
    when.words = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
    Some(when)
}

/// As [`phrase`], for words after `until` or `from`: it looks ahead.
pub(super) fn phrase_ahead(words: &[Word], clock: &Clock) -> Option<When> {
    let mut when = phrase(words, clock)?;
    when.ahead = true;
    match &mut when.day {
        Some(Day::Weekday(_, look) | Day::OfMonth(_, _, look)) if *look == Look::Usual => {
            *look = Look::Ahead;
        }
        _ => {}
    }
    Some(when)
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
        "d" | "day" | "days" => days(count),
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
    if let Some((days, hour, taken)) = part_of_today(words).filter(|_| when.hour.is_none()) {
        when.day = Some(Day::FromToday(days));
        when.hour = Some(hour);
        return Some(taken);
    }
    let (look, skip) = match words[0].low.as_str() {
        "on" | "from" => (Look::Ahead, 1),
        "next" => (Look::Next, 1),
        "last" => (Look::Last, 1),
        _ => (Look::Usual, 0),
    };
    let (day, taken) = named_day(&words[skip..], look)?;
    when.day = Some(day);
    when.ahead |= look == Look::Ahead;
    Some(skip + taken)
}

fn named_day(words: &[Word], look: Look) -> Option<(Day, usize)> {
    let first = words.first()?;
    let named = [("yesterday", -1), ("today", 0), ("tomorrow", 1)];
    if let Some((_, days)) = named.iter().find(|(name, _)| first.is(name)) {
        return Some((Day::FromToday(*days), 1));
    }
    if let Some(day) = weekday(&first.low) {
        return Some((Day::Weekday(day, look), 1));
    }
    if let Some(date) = iso_date(first.text) {
        return Some((Day::Date(date), 1));
    }
    let second = words.get(1)?;
    let (month_number, day) = match (month(&first.low), month(&second.low)) {
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
    if when.hour.is_some() {
        return None;
    }
    let (skip, ahead) = match words[0].low.as_str() {
        "at" => (1, false),
        "from" => (1, true),
        _ => (0, false),
    };
    let word = words.get(skip)?;
    // `evening` alone is too little to be a time; after a day it is one.
    let part = day_part(&word.low).filter(|_| when.day.is_some());
    let bare = || whole_hour(&word.low).filter(|_| words[0].is("at"));
    when.hour = Some(part.or_else(|| hour(&word.low)).or_else(bare)?);
    when.ahead |= ahead;
    Some(skip + 1)
}

/// `this morning`, `tonight`, `last night`: days from today, the hour, and the words taken.
fn part_of_today(words: &[Word]) -> Option<(i64, Hour, usize)> {
    if words[0].is("tonight") {
        return Some((0, day_part("night")?, 1));
    }
    let second = words.get(1)?;
    match words[0].low.as_str() {
        "this" => Some((0, day_part(&second.low)?, 2)),
        "last" if second.is("night") => Some((-1, day_part("night")?, 2)),
        _ => None,
    }
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

/// `21:00`, `9:05`, `noon`.
fn hour(word: &str) -> Option<Hour> {
    if word == "noon" {
        return Some(Hour::At(time(12, 0)));
    }
    let (hours, minutes) = word.split_once(':')?;
    if !(is_digits(hours, 1) || is_digits(hours, 2)) || !is_digits(minutes, 2) {
        return None;
    }
    NaiveTime::from_hms_opt(hours.parse().ok()?, minutes.parse().ok()?, 0).map(Hour::At)
}

/// `7` or `19`, which is an hour only after `at`.
fn whole_hour(word: &str) -> Option<Hour> {
    let hours = day_number(word)?;
    NaiveTime::from_hms_opt(hours, 0, 0).map(Hour::At)
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

const WEEKDAYS: [(&str, Weekday); 7] = [
    ("monday", Weekday::Mon),
    ("tuesday", Weekday::Tue),
    ("wednesday", Weekday::Wed),
    ("thursday", Weekday::Thu),
    ("friday", Weekday::Fri),
    ("saturday", Weekday::Sat),
    ("sunday", Weekday::Sun),
];

fn weekday(word: &str) -> Option<Weekday> {
    WEEKDAYS.iter().find(|(name, _)| *name == word || &name[..3] == word).map(|(_, day)| *day)
}

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

fn month(word: &str) -> Option<u32> {
    let at = MONTHS.iter().position(|name| *name == word || &name[..3] == word)?;
    Some(at as u32 + 1)
}

/// Whether a lower-case word can be part of a time.
pub(super) fn is_time_word(word: &str) -> bool {
    let others = ["yesterday", "tomorrow", "tonight", "noon", "ago", "night"];
    weekday(word).is_some()
        || month(word).is_some()
        || day_part(word).is_some()
        || others.contains(&word)
}

/// Whether a lower-case word names a month.
pub(super) fn is_month(word: &str) -> bool {
    month(word).is_some()
}
