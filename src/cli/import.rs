//! `waystock import FILE`: an exchange file, places, or another machine's rows into the folder;
//! twice adds nothing.

use super::args::ImportOptions;
use super::{CommandResult, Failure, Output, Session, object, vocabulary};
use crate::domain::mapping::Mapping;
use crate::domain::{Rig, Zone};
use crate::exchange::{self, ExchangeFault, Readings, RowRead};
use crate::store::data_folder::read_text;
use crate::store::error::{Doing, StoreError};
use crate::text::{Form, when};
use serde_json::Value;
use std::io::Read;
use std::path::Path;

/// Most bytes that are read from standard input.
const LARGEST: u64 = 64 << 20;

/// Reads the file; saves all of its new rows, or none, and says how many there were.
pub fn run(options: &ImportOptions, session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load()?;
    let (rig, now) = (&contents.rig, session.now(&contents.rig));
    let (known, zone) = (vocabulary(&contents, now), rig.zone(now));
    let map = options.map.as_deref().map(|name| map(name, rig, session)).transpose()?;
    let text = match options.file == Path::new("-") {
        true => standard_input()?,
        false => read_text(&*session.disk, &options.file)?,
    };
    if map.is_none() && exchange::gpx::is_gpx(&text) {
        return places(&text, options, session, out);
    }
    let refused = |faults: Vec<ExchangeFault>| refused(&options.file, &faults);
    let machine = map.map(|map| exchange::read_mapped(&text, &map, &known, zone));
    let machine = machine.transpose().map_err(refused)?;
    let imported = match &machine {
        Some(readings) => readings.imported(),
        None => exchange::read(&text, &known).map_err(refused)?,
    };
    for warning in &imported.warnings {
        out.say(&format!("{}: {warning}", options.file.display()));
    }
    let new = exchange::new_entries(&imported, &contents.journal.entries);
    if let Some(readings) = machine.as_ref().filter(|_| options.dry_run && !session.common.json) {
        show(readings, zone, out);
    }
    if !new.is_empty() && !options.dry_run {
        session.folder.journal.append_imported(&new)?;
        session.after_saving(out);
    }
    let (value, line) = told(imported.entries.len(), new.len(), machine.as_ref(), options);
    session.result(&value, &line, out);
    Ok(0)
}

fn refused(file: &Path, faults: &[ExchangeFault]) -> Failure {
    let shown = file.display();
    let messages = faults.iter().map(|fault| format!("{shown}: {fault}"));
    let hint = match faults.iter().any(|fault| fault.field == "what") {
        true => {
            "Nothing of this file was imported. What the van has no more is written in rig.ron as it \
             was, and under `changes` the day from which it is `removed`; or leave those rows out."
        }
        false => "Nothing of this file was imported.",
    };
    Failure::all(65, messages.collect()).hint(hint)
}

/// The map of that name.
fn map(name: &str, rig: &Rig, session: &Session) -> Result<Mapping, Failure> {
    let maps = session.folder.maps(rig)?;
    let names: Vec<String> = maps.iter().map(|map| map.name.clone()).collect();
    maps.into_iter().find(|map| map.name == name).ok_or_else(|| {
        let file = session.folder.dir().join("maps.ron");
        let there = if names.is_empty() { "none".to_string() } else { names.join(", ") };
        Failure::new(
            66,
            format!("{}: no map is called {name:?}; there are: {there}", file.display()),
        )
        .hint("`waystock help import` shows how a map is written.")
    })
}

/// The first rows of a machine as they were understood.
fn show(readings: &Readings, zone: Zone, out: &mut Output) {
    out.line("The first rows, as they are understood:");
    for RowRead { line, at, read } in &readings.first {
        let at = when::date_time(zone.here(*at), Form::Short);
        let read: Vec<String> =
            read.iter().map(|(stock, said)| format!("{stock} {said}")).collect();
        let read = if read.is_empty() { "nothing".to_string() } else { read.join(", ") };
        out.line(&format!("  line {line}: {at}  {read}"));
    }
}

/// So many entries told of, of which so many are new, as JSON and as a line.
fn told(
    told: usize,
    added: usize,
    machine: Option<&Readings>,
    options: &ImportOptions,
) -> (Value, String) {
    let (rows, there) = (machine.map_or(told, |readings| readings.rows), told - added);
    let mut value = counts(rows, added, there, options);
    let verb = verb(options);
    let Some(Readings { readings, .. }) = machine else {
        return (value, format!("{verb} {added} of {rows} rows; {there} were there already"));
    };
    value["readings"] = (*readings).into();
    value["telling"] = told.into();
    let line = format!(
        "{verb} {added} readings of the {readings} in {rows} rows: {told} of them tell something, \
         {there} were there already"
    );
    (value, line)
}

fn verb(options: &ImportOptions) -> &'static str {
    if options.dry_run { "would import" } else { "imported" }
}

fn counts(rows: usize, added: usize, there: usize, options: &ImportOptions) -> Value {
    object!(options; schema = "waystock.import/1", rows = rows, added = added,
        already_there = there, dry_run)
}

/// Waypoints of a GPX file into `places.ron`; all that are new, or none.
fn places(
    text: &str,
    options: &ImportOptions,
    session: &Session,
    out: &mut Output,
) -> CommandResult {
    let file = &options.file;
    let waypoints = exchange::gpx::read(text).map_err(|fault| {
        Failure::new(65, format!("{}:{}: {}", file.display(), fault.line, fault.what))
            .hint("Nothing of this file was imported.")
    })?;
    let added = match options.dry_run {
        true => session.folder.new_places(&waypoints)?,
        false => session.folder.add_places(&waypoints)?,
    };
    let (rows, known, verb) = (waypoints.len(), waypoints.len() - added, verb(options));
    let line = format!("{verb} {added} of {rows} places; {known} were there already");
    session.result(&counts(rows, added, known, options), &line, out);
    if added > 0 && !options.dry_run && !session.common.json {
        out.line("Write into places.ron what each of them offers.");
    }
    Ok(0)
}

fn standard_input() -> Result<String, Failure> {
    let mut bytes = Vec::new();
    std::io::stdin().take(LARGEST + 1).read_to_end(&mut bytes).map_err(|error| {
        Failure::from(StoreError::from_io(Doing::Reading, Path::new("-"), &error))
    })?;
    if bytes.len() as u64 > LARGEST {
        return Err(Failure::new(65, format!("standard input: more than {LARGEST} bytes")));
    }
    String::from_utf8(bytes)
        .map_err(|_| Failure::new(65, "standard input: found bytes that are not UTF-8 text"))
}
