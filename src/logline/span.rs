//! A day or a time as questions take it: `yesterday`, `tuesday`, `3 weeks`, `1 june`.

use super::moment::{Clock, Looks};
use super::speech;
use super::time;
use super::vocabulary::Vocabulary;
use super::words;
use crate::domain::time::Moment;
use chrono::{Datelike, Duration, NaiveDate, NaiveTime};

/// When what `text` names begins and ends, as the log line knows days and times: a day without an
/// hour is all of it, a time is itself. `3 days` is `3 days ago`. A weekday or a date without a year
/// is the last one. `None` for what names no time.
pub fn span(text: &str, known: &Vocabulary, now: Moment) -> Option<(Moment, Moment)> {
    let civil = known.zone.here(now).naive_local();
    if !(1..=9000).contains(&civil.year()) {
        return None;
    }
    let clock = Clock { now, about: None, civil, zone: known.zone };
    let whole = text.trim();
    let meant = |text: &str| {
        let mut pieces = words::pieces(text, known).ok()?;
        let words = speech::plain(pieces.pop()?.words, known);
        time::phrase(&words, &clock).filter(|_| pieces.is_empty())
    };
    let when = meant(whole).or_else(|| meant(&format!("{whole} ago")))?;
    let at = when.resolve(&clock, Looks::Back).ok()?;
    if when.exact.is_some() || when.hour.is_some() {
        return Some((at, at));
    }
    let day = known.zone.date(at);
    let begins = |day: NaiveDate| known.zone.moment(day.and_time(NaiveTime::MIN));
    Some((begins(day), begins(day + Duration::days(1)) - Duration::seconds(1)))
}
