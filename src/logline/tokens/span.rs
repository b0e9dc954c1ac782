//! A day or a time as questions take it: `yesterday`, `tuesday`, `3 weeks`, `1 june`.

use super::speech;
use super::words;
use crate::domain::Moment;
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::times::moment::{Clock, Looks};
use crate::logline::times::time;
use chrono::{Datelike, Duration, NaiveDate, NaiveTime};

/// When what `text` names begins and ends, as the log line knows days and times: a day without an
/// hour is all of it, a time is itself. `3 days` is `3 days ago`. A weekday or a date without a year
/// is the last one. `None` for what names no time.
pub fn span(text: &str, known: &Vocabulary, now: Moment) -> Option<(Moment, Moment)> {
    let whole = text.trim();
    let of = |text: &str| looking(Looks::Back, text, known, now);
    of(whole).or_else(|| of(&format!("{whole} ago")))
}

/// The same for what lies ahead: `tomorrow`, `friday` (the next one that is not today), `3 days`,
/// `friday 15:00`.
pub fn ahead(text: &str, known: &Vocabulary, now: Moment) -> Option<(Moment, Moment)> {
    let whole = text.trim();
    let of = |text: &str| looking(Looks::Ahead, text, known, now);
    of(whole).or_else(|| of(&format!("in {whole}")))
}

fn looking(looks: Looks, text: &str, known: &Vocabulary, now: Moment) -> Option<(Moment, Moment)> {
    let civil = known.zone.here(now).naive_local();
    if !(1..=9000).contains(&civil.year()) {
        return None;
    }
    let clock = Clock { now, about: None, civil, zone: known.zone };
    let mut pieces = words::pieces(text, known).ok()?;
    let words = speech::plain(pieces.pop()?.words, known);
    let when = time::phrase(&words, &clock).filter(|_| pieces.is_empty())?;
    let at = when.resolve(&clock, looks).ok()?;
    if when.exact.is_some() || when.hour.is_some() {
        return Some((at, at));
    }
    let day = known.zone.date(at);
    let begins = |day: NaiveDate| known.zone.moment(day.and_time(NaiveTime::MIN));
    Some((begins(day), begins(day + Duration::days(1)) - Duration::seconds(1)))
}
