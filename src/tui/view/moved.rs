//! Two evenings beside each other: which dates something moved, and from where.

use super::Text;
use crate::domain::{Moment, Zone, after_hours, hours_between};
use crate::forecast::Evening;
use crate::text::answer::{READ_ALL, may_be_met, none_is_near};
use crate::text::when::SHORTLY;
use crate::text::{Form, date_time, half_hour_before, still_ahead};
use ratatui::style::Style;

/// A date that moved by less is not told, in hours.
const LEAST_H: f64 = 1.0;

/// Adds the next stop as it is and as it was, and each stock whose date moved.
pub fn put(text: &mut Text, before: &Evening, after: &Evening, zone: &Zone, strong: Style) {
    let (then, now) = (before.forecast.at, after.forecast.at);
    let (was, is) = (before.forecast.next.by, after.forecast.next.by);
    let by = |at| match at {
        None => NONE_AHEAD.to_string(),
        Some(at) if at <= now && none_is_near(&after.forecast) => READ_ALL.to_string(),
        Some(at) if at <= now => "Go to a stop now".to_string(),
        Some(at) => format!("Be at a stop by {}", date_time(at, Form::Short)),
    };
    let rounded = |at: Option<Moment>| at.map(|at| half_hour_before(zone.here(at)));
    let (old, dates) = (until(rounded(was), then), by(rounded(is)));
    let from = match moved(was, is) {
        true => format!(" (was {old})"),
        false if rounded(was) == rounded(is) => ", as before".to_string(),
        false => ", about as before".to_string(),
    };
    text.put("", &format!("{dates}{from}"), strong);
    let mut lines: Vec<(f64, String)> = Vec::new();
    for stock in &after.forecast.stocks {
        let Some(old) = before.forecast.stocks.iter().find(|s| s.name == stock.name) else {
            lines.push((f64::INFINITY, format!("{}: new", stock.name)));
            continue;
        };
        let at = |evening: &Evening, hours: Option<f64>| {
            hours.and_then(|h| after_hours(evening.forecast.at, h))
        };
        let (was, is) = (at(before, old.hours.p10), at(after, stock.hours.p10));
        if moved(was, is) {
            let by = was.zip(is).map_or(f64::MAX, |(was, is)| hours_between(was, is).abs());
            let (is, was) = (until(rounded(is), now), until(rounded(was), then));
            let is = match is.as_str() {
                FAR => format!("safe {FAR}"),
                SHORTLY => may_be_met(stock),
                date => format!("safe until {date}"),
            };
            let words = format!("{}: {is} (was {was})", stock.name);
            lines.push((by, words));
        }
    }
    for old in &before.forecast.stocks {
        if !after.forecast.stocks.iter().any(|stock| stock.name == old.name) {
            lines.push((f64::INFINITY, format!("{}: gone", old.name)));
        }
    }
    lines.sort_by(|a, b| b.0.total_cmp(&a.0));
    text.say(lines.is_empty().then_some("No date moved by an hour or more"));
    text.under(lines.iter().map(|(_, line)| line));
}

fn moved(was: Option<Moment>, is: Option<Moment>) -> bool {
    match (was, is) {
        (Some(was), Some(is)) => hours_between(was, is).abs() >= LEAST_H,
        (was, is) => was.is_some() != is.is_some(),
    }
}

/// A date that lies too far ahead, and what follows from that.
const FAR: &str = "as far ahead as it looks";
const NONE_AHEAD: &str = "No stop is needed as far ahead as it looks";

fn until(at: Option<Moment>, now: Moment) -> String {
    at.map_or(FAR.to_string(), |at| still_ahead(at, now, Form::Short))
}
