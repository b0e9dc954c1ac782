//! `waystock import FILE`: an exchange file into the folder; twice adds nothing.

use super::context::{Context, vocabulary};
use super::failure::Failure;
use super::json;
use super::output::Output;
use crate::exchange;
use crate::store::data_folder::read_text;
use crate::store::error::{Doing, StoreError};
use serde_json::json;
use std::io::Read;
use std::path::Path;

/// Most bytes that are read from standard input.
const LARGEST: u64 = 64 << 20;

/// Reads the file; saves all of its new rows, or none.
pub fn run(file: &Path, context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    let contents = context.load()?;
    let now = context.now(&contents.rig);
    let text = match file == Path::new("-") {
        true => standard_input()?,
        false => read_text(&*context.disk, file)?,
    };
    if exchange::gpx::is_gpx(&text) {
        return places(&text, file, context, out);
    }
    let known = vocabulary(&contents, now);
    let shown = file.display();
    let imported = exchange::read(&text, &known).map_err(|faults| Failure {
        code: 65,
        messages: faults.iter().map(|fault| format!("{shown}: {fault}")).collect(),
        excerpt: Vec::new(),
        hint: Some("Nothing of this file was imported.".to_string()),
    })?;
    for warning in &imported.warnings {
        out.say(&format!("{shown}: {warning}"));
    }
    let new = exchange::new_entries(&imported, &contents.journal.entries);
    let saved = match new.is_empty() {
        true => Vec::new(),
        false => context.folder.journal.append_imported(&new)?,
    };
    if !saved.is_empty() {
        context.after_saving(out);
    }
    let (rows, known_already) = (imported.entries.len(), imported.entries.len() - saved.len());
    if context.common.json {
        let value = json!({ "schema": "waystock.import/1", "rows": rows, "added": saved.len(),
                            "already_there": known_already });
        out.raw(json::text(&value).as_bytes());
    } else {
        out.line(&format!(
            "imported {} of {rows} rows; {known_already} were there already",
            saved.len()
        ));
    }
    Ok(0)
}

/// Waypoints of a GPX file into `places.ron`; all that are new, or none.
fn places(text: &str, file: &Path, context: &Context, out: &mut Output) -> Result<u8, Failure> {
    let waypoints = exchange::gpx::read(text).map_err(|fault| {
        Failure::new(65, format!("{}:{}: {}", file.display(), fault.line, fault.what))
            .hint("Nothing of this file was imported.")
    })?;
    let added = context.folder.add_places(&waypoints)?;
    let (rows, known) = (waypoints.len(), waypoints.len() - added);
    if context.common.json {
        let value = json!({ "schema": "waystock.import/1", "rows": rows, "added": added,
                            "already_there": known });
        out.raw(json::text(&value).as_bytes());
    } else {
        out.line(&format!("imported {added} of {rows} places; {known} were there already"));
        if added > 0 {
            out.line("Write into places.ron what each of them offers.");
        }
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
