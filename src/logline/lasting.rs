//! How long something went on, told by when it began and ended: asked back in hours.

use super::misread::Misread;
use super::moment::{Clock, Looks, after_days, named_moment};
use super::time::phrase;
use super::vocabulary::Vocabulary;
use super::word::{Word, text};
use crate::domain::unit::Unit;
use chrono::{Duration, Timelike};

/// `drove from 10 to 12:30`, `plugged in since noon`: so long, which is asked back in hours.
pub(super) fn lasting(words: &[Word], known: &Vocabulary, clock: &Clock) -> Option<Misread> {
    let hours = |w: &Word| {
        let name = known.find([w.low.as_str()].into_iter())?.0.activity.as_ref()?;
        let unit = &known.activity_on(name, clock.civil.date())?.0.counted_in;
        unit.factor_to(&Unit::Hour, None)
    };
    let lasts = |w: &Word| ["drove", "shore", "generator"].iter().any(|verb| w.is(verb));
    let asked = |long: String| {
        let message = format!("so long? Write `{long}`");
        Some(Misread::over(words, message).write(long))
    };
    if let [verb, clock] = words
        && let (true, Some((h, min))) = (lasts(verb), clock.low.split_once(':'))
    {
        return asked(format!("{} {h} h {min} min", verb.low));
    }
    if let [thing, range] = words
        && let Some((from, to)) = range.low.split_once('-')
    {
        let word = |low: &str| Word { low: low.to_string(), ..range.clone() };
        let words = [thing.clone(), word("from"), word(from), word("to"), word(to)];
        return lasting(&words, known, clock);
    }
    let from = words.iter().position(|w| w.is("from") || w.is("since"))?;
    let thing = &words[..from];
    thing.iter().find(|w| lasts(w) || hours(w).is_some())?;
    let at = |said: &[Word]| {
        // A whole hour is one of the clock of 24 hours, as the other end of it shows.
        let whole = |w: &Word| w.low.parse::<u32>().ok().filter(|hour| *hour < 24);
        let mut said = said.to_vec();
        if let [hour] = &mut said[..]
            && let Some(whole) = whole(hour)
        {
            hour.low = format!("{whole}:00");
        }
        let said = &said[..];
        let head = Word { low: "at".into(), ..words[from].clone() };
        let with = [&[head], said].concat();
        let when = phrase(&with, clock).or_else(|| phrase(said, clock))?;
        when.resolve(clock, Looks::Back).ok()
    };
    let rest = &words[from + 1..];
    let to = rest.iter().position(|w| w.is("to") || w.is("until"));
    let mut begins = at(&rest[..to.unwrap_or(rest.len())])?;
    let ends = to.map_or(Some(clock.now), |to| at(&rest[to + 1..]))?;
    let evening = ends + Duration::hours(12);
    let morning = clock.zone.here(begins).hour() < 12 && evening > begins && evening <= clock.now;
    let ends = if ends <= begins && morning { evening } else { ends };
    if ends <= begins {
        // Over night.
        begins = after_days(begins, -1, clock)?;
    }
    let minutes = (ends - begins).num_minutes();
    if !(1..=24 * 60).contains(&minutes) || ends > clock.now {
        return None;
    }
    let time = named_moment(begins, clock.zone, clock.now);
    let long = format!("{} {} h {} min {time}", text(thing), minutes / 60, minutes % 60);
    asked(long.replace(" 0 min", "").replace(" 0 h", ""))
}
