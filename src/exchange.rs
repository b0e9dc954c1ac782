//! Exchange files: entries and outlooks from other programs and for them. Text in, values out.
//!
//! The forms are the contract's: RFC 4180 tables with a header row, and JSON Lines. A file is
//! taken as a whole or not at all; each fault names line, column and what would be right. What
//! a row means is in `row`, what makes it the same as another in `identity`.
//!
//! Pure: files are opened by `store` or `cli`, and the rig's names come in a [`Vocabulary`].

mod fault;
pub mod gpx;
mod identity;
mod json;
mod machine;
mod outlook;
mod readings;
mod row;
mod table;
mod thin;
mod write;

pub use fault::ExchangeFault;
pub use identity::{Imported, new_entries};
pub use json::write_jsonl;
pub use machine::{Readings, RowRead, pointed, read_mapped};
pub use write::{write_csv, write_outlook_csv};

use crate::logline::Vocabulary;
use fault::MOST_FAULTS;

/// Reads a journal or an outlook; the header tells which.
///
/// # Errors
///
/// Every fault found, up to a hundred; then no row counts.
pub fn read(text: &str, vocabulary: &Vocabulary) -> Result<Imported, Vec<ExchangeFault>> {
    let table = table::read(text).map_err(|fault| vec![fault])?;
    let (mut imported, mut faults) = (Imported::default(), Vec::new());
    imported.warnings = table.warnings.clone();
    let mut identities = identity::Identities::default();
    let mut readings = readings::LastReadings::default();
    for row in table.rows() {
        let read = match table.sort {
            table::TableKind::Journal => row::entry(&row, vocabulary, &mut imported.warnings),
            table::TableKind::Outlook => outlook::entry(&row),
        };
        match read {
            Ok(entry) => {
                imported.warnings.extend(readings.look(&row, &entry, vocabulary));
                imported.entries.push(identities.identified(entry));
            }
            Err(fault) => faults.push(fault),
        }
        if faults.len() >= MOST_FAULTS {
            break;
        }
    }
    if faults.is_empty() { Ok(imported) } else { Err(faults) }
}
