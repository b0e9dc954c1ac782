//! Words that options take, as the log line knows them: days, times, places, habits.

use super::Failure;
use crate::domain::{Moment, Place, Rig, Spot, hours_between};
use crate::logline::{self, Vocabulary};
use crate::plan::case::{FURTHEST_H, last_morning};
use crate::plan::{Request, road};
use crate::text::{commas, when};
use chrono::{Duration, NaiveTime};

/// When what an option names begins and ends: a day is all of it.
///
/// # Errors
/// What is expected, where it names no time.
pub(super) fn span(
    option: &str,
    text: &str,
    known: &Vocabulary,
    now: Moment,
) -> Result<(Moment, Moment), Failure> {
    logline::span(text, known, now).ok_or_else(|| {
        let expected = "a day or a time: yesterday, tuesday, \"3 days ago\", \"17 october\", \
                        2026-06-01, \"yesterday 18:00\", or an RFC 3339 time";
        Failure::found(&format!("{option}: "), text, expected)
    })
}

/// The moment that an option such as `--from` means: RFC 3339, or as the log line knows days and times ahead, noon of a
/// day without an hour.
///
/// # Errors
/// What is expected, when the text is none of these or the moment has passed.
pub fn from(option: &str, text: &str, rig: &Rig, now: Moment) -> Result<Moment, Failure> {
    let moment = moment(text, rig, now).ok_or_else(|| {
        let expected = "today, tomorrow, a weekday, a date such as 2026-06-20, or an RFC 3339 time";
        Failure::found(&format!("{option}: "), text, expected)
    })?;
    if moment < now - Duration::hours(12) {
        return Err(Failure::new(2, format!("{option}: {text:?} has passed already")));
    }
    Ok(moment.max(now))
}

/// Refuses a stretch that ends further ahead than anything can be foretold.
pub(super) fn within_sight(request: &Request, rig: &Rig, now: Moment) -> Result<(), Failure> {
    let until = last_morning(rig.zone(now), request.from.unwrap_or(now), request.nights);
    let furthest = now + Duration::hours(FURTHEST_H as i64);
    if until <= furthest {
        return Ok(());
    }
    let zone = rig.zone(now);
    let day = |at: Moment| when::day(zone.here(at));
    let (found, last) = (day(until), day(furthest));
    Err(Failure::new(
        2,
        format!("--from, --nights: found a last morning on {found}, expected {last} at the latest"),
    ))
}

fn moment(text: &str, rig: &Rig, now: Moment) -> Option<Moment> {
    let zone = rig.zone(now);
    if let Ok(moment) = Moment::parse_from_rfc3339(text) {
        return Some(zone.here(moment));
    }
    if text.trim().eq_ignore_ascii_case("now") {
        return Some(now);
    }
    let (begins, ends) = logline::ahead(text, &Vocabulary::new(rig, zone), now)?;
    let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
    Some(if begins == ends { begins } else { zone.moment(zone.date(begins).and_time(noon)) })
}

/// The camps that `--camp` means: from when on, and where; the van stands at `here` (degrees north
/// and east) before.
///
/// # Errors
/// What is expected, when a day or a place is not known, or a camp cannot be reached from the one
/// before it in the time between.
pub fn camps(
    texts: &[String],
    rig: &Rig,
    now: Moment,
    here: (f64, f64),
) -> Result<Vec<(Moment, Spot)>, Failure> {
    let camp = |text: &String| {
        let split = text.split_once('=');
        let (day, spot) = split.ok_or_else(|| Failure::found("--camp: ", text, "DAY=PLACE"))?;
        let at = from("--camp", day.trim(), rig, now)?;
        Ok((at, place("--camp", spot.trim(), rig)?))
    };
    let camps = texts.iter().map(camp).collect::<Result<Vec<_>, Failure>>()?;
    let mut chain: Vec<(&(Moment, Spot), &String)> = camps.iter().zip(texts).collect();
    chain.sort_by_key(|((at, _), _)| *at);
    let (mut left, mut point) = (now, here);
    for (n, ((at, place), text)) in chain.into_iter().enumerate() {
        let place = place_of(place, rig);
        let way = road::way(point, &place);
        let between = hours_between(left, *at);
        // Where the van stands today is said, not driven to.
        let is_said = n == 0 && *at <= now;
        if !is_said && way.hours > between.max(0.0) + 1e-9 {
            let found = format!(
                "--camp: {text:?} cannot be reached: {:.1} h on the road from the camp before, \
                 {between:.1} h until then",
                way.hours
            );
            return Err(Failure::new(2, found).hint("Name a later day, or a camp on the way."));
        }
        (left, point) = (*at, (place.latitude, place.longitude));
    }
    Ok(camps)
}

/// Where a camp is, as a place to drive to.
fn place_of(place: &Spot, rig: &Rig) -> Place {
    let known = |name: &String| rig.places.iter().find(|p| p.name == *name).cloned();
    let home =
        || Place { latitude: rig.home.latitude, longitude: rig.home.longitude, ..Place::default() };
    match place {
        Spot::Named(name) => known(name).unwrap_or_else(home),
        Spot::At { latitude, longitude } => {
            Place { latitude: *latitude, longitude: *longitude, ..Place::default() }
        }
    }
}

/// The habits that `--habit` means: index of the activity among the rig's, and amount a day.
///
/// # Errors
/// What is expected, when an activity is not known or the amount is not one.
pub fn habits(texts: &[String], rig: &Rig) -> Result<Vec<(usize, f64)>, Failure> {
    texts.iter().map(|text| habit(text, rig)).collect()
}

/// Most that something is done a day: what a rig file may call usual.
const MOST_A_DAY: f64 = 1000.0;

fn habit(text: &str, rig: &Rig) -> Result<(usize, f64), Failure> {
    let activities = &rig.parts.activities;
    let wrong = || {
        let known = commas(activities.iter().map(|a| &a.plural));
        Failure::found("--habit: ", text, &format!("WHAT=N, N from 0 to {MOST_A_DAY}"))
            .hint(format!("There are: {known}."))
    };
    let (what, amount) = text.split_once('=').ok_or_else(wrong)?;
    let what = what.trim();
    let amount: f64 = amount.trim().parse().map_err(|_| wrong())?;
    let says = |name: &String| name.eq_ignore_ascii_case(what);
    let named =
        activities.iter().position(|a| says(&a.name) || says(&a.plural) || a.also.iter().any(says));
    match named {
        Some(index) if (0.0..=MOST_A_DAY).contains(&amount) => Ok((index, amount)),
        _ => Err(wrong()),
    }
}

/// The place that `--place` means: a known name, or latitude and longitude.
///
/// # Errors
/// What is expected, when it is neither.
pub fn place(option: &str, text: &str, rig: &Rig) -> Result<Spot, Failure> {
    let wrong = |expected: &str| Failure::found(&format!("{option}: "), text, expected);
    if let Some(degrees) = Spot::degrees(text) {
        return Spot::at(degrees).ok_or_else(|| wrong("degrees: -90 to 90, -180 to 180"));
    }
    let places = rig.places.iter().map(|p| p.name.as_str());
    let home = Some(rig.home.place.as_str()).filter(|home| !places.clone().any(|p| p == *home));
    let known = places.chain(home);
    let named = known.clone().find(|name| name.eq_ignore_ascii_case(text));
    let expected = || format!("LAT,LON or a known place: {}", commas(known));
    named.map(|name| Spot::Named(name.to_string())).ok_or_else(|| wrong(&expected()))
}
