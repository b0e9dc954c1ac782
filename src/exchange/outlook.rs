//! One row of an outlook file.

use super::fault::ExchangeFault;
use super::row::{moment, nameless, number_form, text};
use super::table::TableRow;
use crate::domain::{Amount, Body, DayWeather, Entry, Event};
use chrono::NaiveDate;

/// The row as an entry at the time of its issue.
pub(super) fn entry(row: &TableRow) -> Result<Entry, ExchangeFault> {
    let issued = moment(row, "issued")?;
    let date = row.cell("date");
    // The parser takes shorter years and days as well; one form is enough.
    let date = NaiveDate::parse_from_str(date, "%Y-%m-%d").ok().filter(|_| date.len() == 10);
    let date = date.ok_or_else(|| row.fault("date", "a date, like 2026-06-14"))?;
    let optional = |column: &str, least: f64, most: f64| match row.cell(column) {
        "" => Ok(None),
        _ => within(row, column, least, most).map(Some),
    };
    let (low_c, high_c) = (optional("low_c", -90.0, 60.0)?, optional("high_c", -90.0, 60.0)?);
    if low_c.zip(high_c).is_some_and(|(low, high)| low > high) {
        return Err(row.fault("high_c", "at least the low"));
    }
    let place = text(row.cell("place"));
    let weather = DayWeather {
        issued,
        date,
        low_c,
        high_c,
        sun_kwh_m2: optional("sun_kwh_m2", 0.0, 15.0)?,
        cloud: optional("cloud", 0.0, 1.0)?,
        place: Some(place).filter(|place| !place.is_empty()),
    };
    if !weather.says_anything() {
        return Err(row.fault("low_c", "a temperature here or under high_c, or sun or cloud"));
    }
    let body = Body::Happened(Event::Outlook(weather));
    Ok(Entry { id: nameless(), at: issued, recorded: issued, note: None, body })
}

fn within(row: &TableRow, column: &str, least: f64, most: f64) -> Result<f64, ExchangeFault> {
    let value = Amount::parse(row.cell(column))
        .map_err(|fault| row.fault(column, number_form(fault)))?
        .value();
    match (least..=most).contains(&value) {
        true => Ok(value),
        false => Err(row.fault(column, format!("{least} to {most}"))),
    }
}
