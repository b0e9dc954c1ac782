//! Tables for other programs: fixed columns, CRLF, and no cell that a spreadsheet would run.

use super::row::{coordinates, is_formula};
use super::table::Sort;
use crate::domain::entry::{After, ChargeSource, Event, Spot};
use crate::domain::journal::Standing;
use crate::domain::outlook::DayWeather;
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::time::Moment;
use crate::domain::unit::Unit;
use chrono::SecondsFormat;

/// The cells of one entry, in the contract's order.
pub(super) type Cells = [String; 9];

/// The journal as a table: what stands, in the order given. Outlooks are another table.
pub fn write_csv(standing: &[Standing]) -> String {
    let rows = standing.iter().filter(|s| !matches!(s.event, Event::Outlook(_)));
    let rows = rows.map(|s| cells(s.at, written(s), s.note.as_deref(), &s.event));
    table(Sort::Journal, rows.map(guarded_journal))
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
        Sort::Outlook,
        rows.map(|mut cells| {
            cells[6] = guarded(std::mem::take(&mut cells[6]));
            cells
        }),
    )
}

fn table<const N: usize>(sort: Sort, rows: impl Iterator<Item = [String; N]>) -> String {
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

fn time(at: Moment) -> String {
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
    let (kind, what) = kind_and_what(event);
    (cells[1], cells[2]) = (kind.to_string(), what);
    if let Some(said) = amount(event) {
        (cells[3], cells[4]) = (said.amount.to_string(), said.unit.word().to_string());
    }
    if let Event::Level { step: Some(step), .. } = event {
        cells[5] = step.to_string();
    }
    cells[6] = after(event);
    cells
}

fn kind_and_what(event: &Event) -> (&'static str, String) {
    match event {
        Event::Use { activity, .. } => ("use", activity.clone()),
        Event::Level { stock, .. } => ("level", stock.clone()),
        Event::Fill { stock, .. } => ("fill", stock.clone()),
        Event::Empty { stock, .. } => ("empty", stock.clone()),
        Event::Drive(driven) => match driven.unit.factor_to(&Unit::Hour, None) {
            Some(_) => ("drive", "hours".to_string()),
            None => ("drive", "distance".to_string()),
        },
        Event::Charge { source, .. } => ("charge", source_word(*source).to_string()),
        Event::Camp(spot) => ("camp", spot_words(spot)),
        Event::Crew(_) => ("crew", "aboard".to_string()),
        Event::DayClosed => ("day", "closed".to_string()),
        Event::Note(_) => ("note", String::new()),
        Event::Outlook(weather) => ("outlook", outlook_cells(weather).join(" ")),
    }
}

fn amount(event: &Event) -> Option<Quantity> {
    match event {
        Event::Use { count: said, .. }
        | Event::Level { reading: said, .. }
        | Event::Drive(said)
        | Event::Charge { amount: said, .. } => Some(said.clone()),
        Event::Fill { amount, .. } | Event::Empty { amount, .. } => amount.clone(),
        Event::Crew(people) => Some(Quantity::new(*people, Unit::Person)),
        _ => None,
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

/// The word for a source of charge.
pub(super) fn source_word(source: ChargeSource) -> &'static str {
    match source {
        ChargeSource::Shore => "shore",
        ChargeSource::Generator => "generator",
    }
}

fn spot_words(spot: &Spot) -> String {
    match spot {
        Spot::Named(name) => name.clone(),
        Spot::At { latitude, longitude } => format!("{latitude},{longitude}"),
    }
}

/// The cells of one outlook row; numbers to the thousandth.
fn outlook_cells(weather: &DayWeather) -> [String; 7] {
    let number = |value: f64| Amount::from_f64(value).unwrap_or_default().to_string();
    [
        time(weather.issued),
        weather.date.to_string(),
        number(weather.low_c),
        number(weather.high_c),
        weather.sun_kwh_m2.map(number).unwrap_or_default(),
        weather.cloud.map(number).unwrap_or_default(),
        weather.place.clone().unwrap_or_default(),
    ]
}
