//! Two evenings beside each other: which dates something moved, and from where.

use super::Text;
use crate::domain::{Moment, Zone, after_hours, hours_between};
use crate::forecast::Evening;
use crate::text::when::SHORTLY;
use crate::text::{Form, half_hour_before, still_ahead};
use ratatui::style::Style;

/// A date that moved by less is not told, in hours.
const LEAST_H: f64 = 1.0;

/// Adds the next stop as it is and as it was, and each stock whose date moved.
pub fn put(text: &mut Text, before: &Evening, after: &Evening, zone: &Zone, strong: Style) {
    let (then, now) = (before.forecast.at, after.forecast.at);
    let (was, is) = (before.forecast.next.by, after.forecast.next.by);
    let (old, new) = (said(was, zone, then), said(is, zone, now));
    let dates = match &new {
        soon if soon == SHORTLY => format!("Be at a stop {soon}"),
        date => format!("Be at a stop by {date}"),
    };
    match moved(was, is) {
        true => text.put("", &format!("{dates} (was {old})"), strong),
        false if old == new => text.put("", &format!("{dates}, as before"), strong),
        false => text.put("", &format!("{dates}, about as before"), strong),
    }
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
            let words = format!(
                "{}: safe until {} (was {})",
                stock.name,
                said(is, zone, now),
                said(was, zone, then)
            );
            lines.push((by, words));
        }
    }
    for old in &before.forecast.stocks {
        if !after.forecast.stocks.iter().any(|stock| stock.name == old.name) {
            lines.push((f64::INFINITY, format!("{}: gone", old.name)));
        }
    }
    lines.sort_by(|a, b| b.0.total_cmp(&a.0));
    if lines.is_empty() {
        text.put("", "No stock's date moved by an hour or more", Style::new());
    }
    lines.iter().for_each(|(_, line)| text.put(" ", line, Style::new()));
}

fn moved(was: Option<Moment>, is: Option<Moment>) -> bool {
    match (was, is) {
        (Some(was), Some(is)) => hours_between(was, is).abs() >= LEAST_H,
        (was, is) => was.is_some() != is.is_some(),
    }
}

fn said(at: Option<Moment>, zone: &Zone, now: Moment) -> String {
    match at {
        Some(at) => still_ahead(half_hour_before(zone.here(at)), now, Form::Short),
        None => "beyond the horizon".to_string(),
    }
}
