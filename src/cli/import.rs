//! `waystock import FILE`: an exchange file, places, or another machine's rows into the folder;
//! twice adds nothing.

use super::args::ImportOptions;
use super::{CommandResult, Context, Failure, Output, object, vocabulary};
use crate::domain::mapping::Mapping;
use crate::domain::{Entry, Rig};
use crate::exchange::{self, ExchangeFault, Imported, Readings, RowRead};
use crate::logline::Vocabulary;
use crate::store::data_folder::{Contents, read_text};
use crate::store::error::{Doing, StoreError};
use crate::text::{Form, when};
use serde_json::Value;
use std::io::Read;
use std::path::Path;

/// Most bytes that are read from standard input.
const LARGEST: u64 = 64 << 20;

/// Reads the file; saves all of its new rows, or none.
pub fn run(options: &ImportOptions, context: &mut Context, out: &mut Output) -> CommandResult {
    let contents = context.load()?;
    let known = vocabulary(&contents, context.now(&contents.rig));
    let map = options.map.as_deref().map(|name| map(name, &contents.rig, context)).transpose()?;
    let text = match options.file == Path::new("-") {
        true => standard_input()?,
        false => read_text(&*context.disk, &options.file)?,
    };
    if let Some(map) = map {
        let readings = read_mapped(&text, &map, (&contents.rig, &known), options, context)?;
        return save(&readings.imported(), Some(&readings), &contents, (options, context, out));
    }
    if exchange::gpx::is_gpx(&text) {
        return places(&text, options, context, out);
    }
    let imported =
        exchange::read(&text, &known).map_err(|faults| refused(&options.file, &faults))?;
    for warning in &imported.warnings {
        out.say(&format!("{}: {warning}", options.file.display()));
    }
    save(&imported, None, &contents, (options, context, out))
}

fn refused(file: &Path, faults: &[ExchangeFault]) -> Failure {
    let shown = file.display();
    Failure {
        code: 65,
        messages: faults.iter().map(|fault| format!("{shown}: {fault}")).collect(),
        excerpt: Vec::new(),
        hint: Some("Nothing of this file was imported.".to_string()),
    }
}

/// The map of that name.
fn map(name: &str, rig: &Rig, context: &Context) -> Result<Mapping, Failure> {
    let maps = context.folder.maps(rig)?;
    let names: Vec<String> = maps.iter().map(|map| map.name.clone()).collect();
    maps.into_iter().find(|map| map.name == name).ok_or_else(|| {
        let file = context.folder.dir().join("maps.ron");
        let there = if names.is_empty() { "none".to_string() } else { names.join(", ") };
        Failure::new(
            66,
            format!("{}: no map is called {name:?}; there are: {there}", file.display()),
        )
        .hint("`waystock help import` shows how a map is written.")
    })
}

fn read_mapped(
    text: &str,
    map: &Mapping,
    (rig, known): (&Rig, &Vocabulary),
    options: &ImportOptions,
    context: &Context,
) -> Result<Readings, Failure> {
    let zone = rig.zone(context.now(rig));
    exchange::read_mapped(text, map, known, zone).map_err(|faults| refused(&options.file, &faults))
}

/// Saves what is new, and says how much that was.
fn save(
    imported: &Imported,
    machine: Option<&Readings>,
    contents: &Contents,
    (options, context, out): (&ImportOptions, &mut Context, &mut Output),
) -> CommandResult {
    let new = exchange::new_entries(imported, &contents.journal.entries);
    if let Some(readings) = machine.filter(|_| options.dry_run && !context.common.json) {
        show(readings, &contents.rig, context, out);
    }
    if !new.is_empty() && !options.dry_run {
        context.folder.journal.append_imported(&new)?;
        context.after_saving(out);
    }
    tell(imported, machine, &new, (options, context, out));
    Ok(0)
}

/// The first rows of a machine as they were understood.
fn show(readings: &Readings, rig: &Rig, context: &Context, out: &mut Output) {
    let zone = rig.zone(context.now(rig));
    out.line("The first rows, as they are understood:");
    for RowRead { line, at, read } in &readings.first {
        let at = when::date_time(zone.here(*at), Form::Short);
        let read: Vec<String> =
            read.iter().map(|(stock, said)| format!("{stock} {said}")).collect();
        let read = if read.is_empty() { "nothing".to_string() } else { read.join(", ") };
        out.line(&format!("  line {line}: {at}  {read}"));
    }
}

fn tell(
    imported: &Imported,
    machine: Option<&Readings>,
    new: &[Entry],
    (options, context, out): (&ImportOptions, &Context, &mut Output),
) {
    let (told, added) = (imported.entries.len(), new.len());
    let rows = machine.map_or(told, |readings| readings.rows);
    if context.common.json {
        let mut value = counts(rows, added, told - added, options);
        if let Some(readings) = machine {
            value["readings"] = readings.readings.into();
            value["telling"] = told.into();
        }
        return out.json(&value);
    }
    let verb = if options.dry_run { "would import" } else { "imported" };
    let there = told - added;
    out.line(&match machine {
        Some(readings) => format!(
            "{verb} {added} readings of the {} in {rows} rows: {told} of them tell something, {there} \
             were there already",
            readings.readings
        ),
        None => format!("{verb} {added} of {rows} rows; {there} were there already"),
    });
}

fn counts(rows: usize, added: usize, there: usize, options: &ImportOptions) -> Value {
    object!(options; schema = "waystock.import/1", rows = rows, added = added,
        already_there = there, dry_run)
}

/// Waypoints of a GPX file into `places.ron`; all that are new, or none.
fn places(
    text: &str,
    options: &ImportOptions,
    context: &Context,
    out: &mut Output,
) -> CommandResult {
    let file = &options.file;
    let waypoints = exchange::gpx::read(text).map_err(|fault| {
        Failure::new(65, format!("{}:{}: {}", file.display(), fault.line, fault.what))
            .hint("Nothing of this file was imported.")
    })?;
    let added = match options.dry_run {
        true => context.folder.new_places(&waypoints)?,
        false => context.folder.add_places(&waypoints)?,
    };
    let (rows, known) = (waypoints.len(), waypoints.len() - added);
    if context.common.json {
        out.json(&counts(rows, added, known, options));
        return Ok(0);
    }
    let verb = if options.dry_run { "would import" } else { "imported" };
    out.line(&format!("{verb} {added} of {rows} places; {known} were there already"));
    if added > 0 && !options.dry_run {
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
