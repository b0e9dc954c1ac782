//! Rows of other machines, in any shape that a map describes, as readings.

use super::fault::{ExchangeFault, MOST_FAULTS, within_size};
use super::identity::{self, Imported};
use super::row::{nameless, number_form};
use super::thin::{Point, thin};
use crate::domain::mapping::{Mapped, Mapping, RowForm, TimeForm};
use crate::domain::quantity::AmountFault;
use crate::domain::{Amount, Body, Entry, Event, Moment, Quantity, Unit, Zone};
use crate::logline::{Vocabulary, in_stock_unit};
use chrono::{DateTime, NaiveDateTime};
use serde_json::Value;
use std::borrow::Cow;

/// What a machine's file came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Readings {
    /// Rows that were read.
    pub rows: usize,
    /// Readings in them; a cell that is empty or missing is none.
    pub readings: usize,
    /// Those that tell something, in order of time, with the line that each stood on.
    pub kept: Vec<(u64, Entry)>,
    /// The first rows as they were understood.
    pub first: Vec<RowRead>,
}

/// A row as it was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct RowRead {
    /// The line that it begins on, from 1.
    pub line: u64,
    /// When.
    pub at: Moment,
    /// Stocks, and what was read of each.
    pub read: Vec<(String, Quantity)>,
}

impl Readings {
    /// The readings that tell something, as entries with ids that follow from what they say.
    pub fn imported(&self) -> Imported {
        let mut identities = identity::Identities::default();
        let entries = self.kept.iter().map(|(_, entry)| identities.identified(entry.clone()));
        Imported { entries: entries.collect(), warnings: Vec::new() }
    }
}

/// Rows shown of a dry run.
const SHOWN: usize = 10;

/// Reads a machine's file by a map.
///
/// # Errors
/// Every fault found, up to a hundred; then no row counts.
pub fn read_mapped(
    text: &str,
    mapping: &Mapping,
    known: &Vocabulary,
    zone: Zone,
) -> Result<Readings, Vec<ExchangeFault>> {
    let text = within_size(text).map_err(|fault| vec![fault])?;
    let mut work = Work {
        mapping,
        known,
        zone,
        out: Readings::default(),
        points: vec![Vec::new(); mapping.readings.len()],
        faults: Vec::new(),
    };
    match mapping.form {
        RowForm::Csv { separator } => work.csv(text, separator),
        RowForm::JsonLines => work.json_lines(text),
    }
    if work.faults.is_empty() { Ok(work.thinned()) } else { Err(work.faults) }
}

/// What stands at a pointer of a JSON value (RFC 6901): a number or text as it is written, `None`
/// where nothing or null stands there.
///
/// # Errors
/// What stands there instead.
pub fn pointed<'v>(value: &'v Value, pointer: &str) -> Result<Option<Cow<'v, str>>, String> {
    match value.pointer(pointer) {
        None | Some(Value::Null) => Ok(None),
        Some(Value::String(text)) => Ok(Some(Cow::Borrowed(text))),
        Some(Value::Number(number)) => Ok(Some(Cow::Owned(number.to_string()))),
        Some(other) => Err(other.to_string()),
    }
}

fn fault(line: u64, field: &str, found: &str, expected: impl Into<String>) -> ExchangeFault {
    ExchangeFault::new((line, 0), field, found, expected)
}

struct Work<'a> {
    mapping: &'a Mapping,
    known: &'a Vocabulary,
    zone: Zone,
    out: Readings,
    /// Per reading of the map: when, how full, and where it stands.
    points: Vec<Vec<Point<(u64, Quantity)>>>,
    faults: Vec<ExchangeFault>,
}

impl Work<'_> {
    fn csv(&mut self, text: &str, separator: u8) {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(separator)
            .from_reader(text.as_bytes());
        let mut places: Option<Vec<usize>> = None;
        let mut record = csv::StringRecord::new();
        loop {
            match reader.read_record(&mut record) {
                Ok(true) => {}
                Ok(false) => break,
                Err(error) => {
                    let line = error.position().map_or(1, csv::Position::line);
                    self.faults.push(fault(line, "", &error.to_string(), "cells under a header"));
                    return;
                }
            }
            let line = record.position().map_or(1, csv::Position::line);
            let Some(places) = &places else {
                match self.header(line, &record) {
                    Some(found) => places = Some(found),
                    None => return,
                }
                continue;
            };
            let cell = |place: usize| Ok(record.get(places[place]).map(Cow::Borrowed));
            self.row(line, cell);
            if self.faults.len() >= MOST_FAULTS {
                return;
            }
        }
        if places.is_none() {
            self.faults.push(fault(1, "", "", "a header row"));
        }
    }

    /// Where the cells of the map stand: when first, then the readings.
    fn header(&mut self, line: u64, header: &csv::StringRecord) -> Option<Vec<usize>> {
        let wanted = self.cells();
        let mut places = Vec::new();
        for name in &wanted {
            match header.iter().position(|own| own.trim() == name.as_str()) {
                Some(place) => places.push(place),
                None => {
                    let names: Vec<&str> = header.iter().map(str::trim).collect();
                    let found = names.join(", ");
                    self.faults.push(fault(line, "", &found, format!("a column `{name}`")));
                }
            }
        }
        (places.len() == wanted.len()).then_some(places)
    }

    fn cells(&self) -> Vec<String> {
        let readings = self.mapping.readings.iter().map(|reading| reading.from.clone());
        std::iter::once(self.mapping.at.clone()).chain(readings).collect()
    }

    fn json_lines(&mut self, text: &str) {
        let cells = self.cells();
        for (index, text) in text.lines().enumerate().filter(|(_, text)| !text.trim().is_empty()) {
            let line = index as u64 + 1;
            match serde_json::from_str::<Value>(text) {
                Ok(value) => self.row(line, |place| pointed(&value, &cells[place])),
                Err(error) => {
                    let found = format!("{text} ({error})");
                    self.faults.push(fault(line, "", &found, "a JSON value on a line of its own"));
                }
            }
            if self.faults.len() >= MOST_FAULTS {
                return;
            }
        }
    }

    /// One row, whose cells `cell` gives: when is the first, then the readings.
    fn row<'c>(&mut self, line: u64, cell: impl Fn(usize) -> Result<Option<Cow<'c, str>>, String>) {
        self.out.rows += 1;
        let text = cell(0).map_or_else(Cow::Owned, Option::unwrap_or_default);
        let Some(at) = moment(text.trim(), &self.mapping.time, self.zone) else {
            let expected = time_form(&self.mapping.time);
            return self.faults.push(fault(line, &self.mapping.at, &text, expected));
        };
        let mut read = Vec::new();
        for (place, reading) in self.mapping.readings.iter().enumerate() {
            let text = match cell(place + 1) {
                Ok(text) => text.unwrap_or_default(),
                Err(found) => {
                    self.faults.push(fault(line, &reading.from, &found, "a number"));
                    continue;
                }
            };
            if text.trim().is_empty() {
                continue;
            }
            match self.level(text.trim(), reading, at) {
                Ok((share, said)) => {
                    self.out.readings += 1;
                    if self.out.first.len() < SHOWN {
                        read.push((reading.stock.clone(), said.clone()));
                    }
                    self.points[place].push(Point { at, share, of: (line, said) });
                }
                Err(expected) => {
                    self.faults.push(fault(line, &reading.from, &text, expected));
                }
            }
        }
        if self.out.first.len() < SHOWN {
            self.out.first.push(RowRead { line, at, read });
        }
    }

    /// How full a cell says a stock is, as a share and as it is written down.
    fn level(&self, text: &str, reading: &Mapped, at: Moment) -> Result<(f64, Quantity), String> {
        let date = self.zone.date(at);
        let Some((stock, parts)) = self.known.stock_on(&reading.stock, date) else {
            return Err(format!("nothing: {} was not aboard on {date}", reading.stock));
        };
        let number = number(text, self.mapping.form).ok_or(number_form(AmountFault::NotANumber))?;
        let amount = Amount::from_f64(number * reading.factor + reading.offset)
            .map_err(|fault| number_form(fault).to_string())?;
        let said = Quantity::new(amount, reading.unit.clone());
        let most = match reading.unit {
            Unit::Percent => "a number that comes to 0 to 100 %".to_string(),
            _ => format!("a number that comes to 0 to {} {}", stock.capacity, stock.unit.word()),
        };
        let share = in_stock_unit(&said, stock, parts).map(|own| own / stock.capacity);
        match share.filter(|share| (0.0..=1.000_001).contains(share)) {
            Some(share) => Ok((share, said)),
            None => Err(format!("{most}, not to {said}")),
        }
    }

    fn thinned(mut self) -> Readings {
        for (reading, points) in self.mapping.readings.iter().zip(self.points) {
            self.out.kept.extend(thin(points).into_iter().map(|Point { at, of, .. }| {
                let (line, said) = of;
                let (stock, step) = (reading.stock.clone(), Some(reading.step));
                let event = Event::Level { stock, reading: said, step };
                let body = Body::Happened(event);
                (line, Entry { id: nameless(), at, recorded: at, note: None, body })
            }));
        }
        self.out.kept.sort_by_key(|(line, entry)| (entry.at, *line));
        self.out
    }
}

/// A number as machines write it. Where cells are not separated by commas, a comma may stand for
/// the decimal point.
fn number(text: &str, form: RowForm) -> Option<f64> {
    let comma = matches!(form, RowForm::Csv { separator } if separator != b',');
    let text = match comma && text.matches(',').count() == 1 && !text.contains('.') {
        true => Cow::Owned(text.replace(',', ".")),
        false => Cow::Borrowed(text),
    };
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
    text.parse::<f64>().ok().filter(|number| plain && number.is_finite())
}

fn moment(text: &str, form: &TimeForm, zone: Zone) -> Option<Moment> {
    let since_1970 = |per_second: f64| {
        let seconds = text.parse::<f64>().ok().filter(|s| s.is_finite())? / per_second;
        DateTime::from_timestamp(seconds.floor() as i64, 0).map(|at| at.fixed_offset())
    };
    let at = match form {
        TimeForm::Rfc3339 => Moment::parse_from_rfc3339(text).ok()?,
        TimeForm::Unix => since_1970(1.0)?,
        TimeForm::UnixMillis => since_1970(1000.0)?,
        TimeForm::Pattern(pattern) => match Moment::parse_from_str(text, pattern) {
            Ok(at) => at,
            Err(_) => zone.moment(NaiveDateTime::parse_from_str(text, pattern).ok()?),
        },
    };
    Some(zone.here(at))
}

fn time_form(form: &TimeForm) -> String {
    match form {
        TimeForm::Rfc3339 => "a time such as 2026-06-14T09:30:00+02:00 (RFC 3339)".to_string(),
        TimeForm::Unix => "seconds since 1970, such as 1781429400".to_string(),
        TimeForm::UnixMillis => "milliseconds since 1970, such as 1781429400000".to_string(),
        TimeForm::Pattern(pattern) => format!("a time by the pattern {pattern}"),
    }
}
