//! `waystock export FORMAT`: the journal for other programs, the stops ahead for calendars and
//! paper.

use super::args::{ExportFormat, StopsOptions};
use super::context::Context;
use super::failure::Failure;
use super::output::Output;
use crate::domain::entry::Entry;
use crate::domain::journal::standing;
use crate::exchange;
use crate::plan::calendar;
use crate::plan::stops::saved;
use crate::store::data_folder::Contents;
use crate::text::papers as words;

/// Prints what stands (CSV) or every record (JSON Lines), as known now.
pub fn run(
    format: ExportFormat,
    days: u32,
    context: &mut Context,
    out: &mut Output,
) -> Result<u8, Failure> {
    let contents = context.load()?;
    let now = context.now(&contents.rig);
    let text = match format {
        ExportFormat::Csv => exchange::write_csv(&standing(&contents.journal.entries, now)),
        ExportFormat::Outlook => {
            exchange::write_outlook_csv(&standing(&contents.journal.entries, now))
        }
        ExportFormat::Ics | ExportFormat::Sheet => papers(format, days, context, &contents)?,
        ExportFormat::Jsonl => {
            let known = contents.journal.entries.iter().filter(|e| e.recorded <= now);
            let mut known: Vec<Entry> = known.cloned().collect();
            known.sort_by(|a, b| (a.recorded, &a.id).cmp(&(b.recorded, &b.id)));
            exchange::write_jsonl(&known)
        }
    };
    out.raw(text.as_bytes());
    Ok(0)
}

/// The calendar or the sheet: with planned stops where a schedule works.
fn papers(
    format: ExportFormat,
    days: u32,
    context: &Context,
    contents: &Contents,
) -> Result<String, Failure> {
    let rig = &contents.rig;
    let evening = context.evening(contents)?;
    let options = StopsOptions {
        days,
        crew: None,
        confidence: 90,
        save: false,
        camp: Vec::new(),
        stay: false,
    };
    let trip = super::stops::answer(rig, &contents.journal.entries, context, &options)?;
    let trip = Some(trip).filter(|trip| trip.works);
    let saved = saved::stops_ahead(rig, &evening.plans);
    Ok(match format {
        ExportFormat::Ics => {
            let events = words::events(rig, &evening.forecast, &saved, trip.as_ref());
            calendar::write(&rig.van, evening.forecast.at, &events)
        }
        _ => {
            let sheet = words::sheet(rig, &evening, &saved, trip.as_ref());
            sheet.lines().map(|line| format!("{}\n", crate::text::safe::safe(line))).collect()
        }
    })
}
