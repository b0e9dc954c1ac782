//! Tables for other programs: fixed columns, CRLF, and no cell that a spreadsheet would run.

use super::row::{coordinates, is_formula};
use super::table::TableKind;
use crate::domain::{After, Amount, DayWeather, Event, Moment, Quantity, Spot, Standing, Unit};
use chrono::SecondsFormat;

/// The cells of one entry, in the contract's order.
pub(super) type Cells = [String; 9];

/// The journal as a table: what stands, in the order given. Outlooks are another table.
pub fn write_csv(standing: &[Standing]) -> String {
    let rows = standing.iter().filter(|s| !matches!(s.event, Event::Outlook(_)));
    let rows = rows.map(|s| cells(s.at, written(s), s.note.as_deref(), &s.event));
    table(TableKind::Journal, rows.map(guarded_journal))
}

/// When what stands was written down. A plan that was answered is no plan any more, and would be
/// one in another folder if it said when it was planned.
fn written(entry: &Standing) -> Moment {
    let answered = entry.corrected_by.is_some() && entry.is_fact();
    if answered { entry.recorded.max(entry.at) } else { entry.recorded }
}

/// The outlook rows of the journal as their own table.
pub fn write_outlook_csv(standing: &[Standing]) -> String {
    let rows = standing.iter().filter_map(|s| match &s.event {
        Event::Outlook(weather) => Some(outlook_cells(weather)),
        _ => None,
    });
    table(
        TableKind::Outlook,
        rows.map(|mut cells| {
            cells[6] = guarded(std::mem::take(&mut cells[6]));
            cells
        }),
    )
}

fn table<const N: usize>(sort: TableKind, rows: impl Iterator<Item = [String; N]>) -> String {
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    let memory = "memory takes every record, and all of them have the header's length";
    writer.write_record(sort.columns()).expect(memory);
    for row in rows {
        writer.write_record(&row).expect(memory);
    }
    let bytes = writer.into_inner().expect(memory);
    String::from_utf8(bytes).expect("cells are strings")
}

/// Marks what a person wrote, and nothing that is a number.
fn guarded_journal(mut cells: Cells) -> Cells {
    let is_place = coordinates(&cells[2]).is_some();
    for at in [2, 4, 7] {
        if at != 2 || !is_place {
            cells[at] = guarded(std::mem::take(&mut cells[at]));
        }
    }
    cells
}

fn guarded(text: String) -> String {
    if is_formula(&text) { format!("'{text}") } else { text }
}

pub(super) fn time(at: Moment) -> String {
    at.to_rfc3339_opts(SecondsFormat::AutoSi, false)
}

/// An entry's cells, without marks against formulas.
pub(super) fn cells(at: Moment, recorded: Moment, note: Option<&str>, event: &Event) -> Cells {
    let mut cells = Cells::default();
    (cells[0], cells[8]) = (time(at), time(recorded));
    cells[7] = match event {
        Event::Note(text) => text.clone(),
        _ => note.unwrap_or_default().to_string(),
    };
    (cells[1], cells[2]) = (event.kind().to_string(), what(event));
    if let Some(said) = amount(event) {
        (cells[3], cells[4]) = (said.amount.to_string(), said.unit.word().to_string());
    }
    if let Event::Level { step: Some(step), .. } = event {
        cells[5] = step.to_string();
    }
    cells[6] = after(event);
    cells
}

/// What an event is about, in one cell.
fn what(event: &Event) -> String {
    match event {
        Event::Use { activity: what, .. } | Event::Spent { stock: what, .. } => what.clone(),
        Event::Drive(driven) => match driven.unit.factor_to(&Unit::Hour, None) {
            Some(_) => "hours".to_string(),
            None => "distance".to_string(),
        },
        Event::Charge { source, .. } => source.word().to_string(),
        Event::Camp(Spot::Named(name)) => name.clone(),
        Event::Camp(Spot::At { latitude, longitude }) => format!("{latitude},{longitude}"),
        Event::Crew(_) => "aboard".to_string(),
        Event::DayClosed => "closed".to_string(),
        Event::Outlook(weather) => outlook_cells(weather).join(" "),
        event => event.stock().unwrap_or_default().to_string(),
    }
}

fn amount(event: &Event) -> Option<Quantity> {
    match event {
        Event::Crew(people) => Some(Quantity::new(*people, Unit::Person)),
        event => event.amount().cloned(),
    }
}

/// A level with the unit's first word, whatever the number: rows are known again by their cells.
fn level_cell(level: &Quantity) -> String {
    match level.unit {
        Unit::Percent => level.to_string(),
        _ => format!("{} {}", level.amount, level.unit.word()),
    }
}

/// The level that a fill or an emptying ended at, with its own unit, which need not be the row's.
fn after(event: &Event) -> String {
    match event {
        Event::Fill { after: Some(After::Full), .. } => "full".to_string(),
        Event::Fill { after: Some(After::Level(level)), .. }
        | Event::Empty { after: Some(level), .. } => level_cell(level),
        _ => String::new(),
    }
}

/// The cells of one outlook row; numbers to the thousandth.
fn outlook_cells(weather: &DayWeather) -> [String; 7] {
    let number = |value: f64| Amount::from_f64(value).unwrap_or_default().to_string();
    [
        time(weather.issued),
        weather.date.to_string(),
        weather.low_c.map(number).unwrap_or_default(),
        weather.high_c.map(number).unwrap_or_default(),
        weather.sun_kwh_m2.map(number).unwrap_or_default(),
        weather.cloud.map(number).unwrap_or_default(),
        weather.place.clone().unwrap_or_default(),
    ]
}
