//! `waystock export FORMAT`: the journal for other programs.

use super::args::ExportFormat;
use super::context::Context;
use super::failure::Failure;
use super::output::Output;
use crate::domain::entry::Entry;
use crate::domain::journal::standing;
use crate::exchange;

/// Prints what stands (CSV) or every record (JSON Lines), as known now.
pub fn run(format: ExportFormat, context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    let contents = context.load()?;
    let now = context.now(&contents.rig);
    let text = match format {
        ExportFormat::Csv => exchange::write_csv(&standing(&contents.journal.entries, now)),
        ExportFormat::Outlook => {
            exchange::write_outlook_csv(&standing(&contents.journal.entries, now))
        }
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
