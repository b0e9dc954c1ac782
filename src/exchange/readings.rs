//! Readings that cannot both be right: one stock, one moment, two levels.

use super::fault::Warning;
use super::table::TableRow;
use crate::domain::{Body, Entry, Event, Quantity};
use crate::logline::{Vocabulary, in_stock_unit};
use chrono::{DateTime, Utc};
use std::collections::HashMap;

/// Levels nearer than this share of the capacity are the same, written in two units.
const SAME: f64 = 1e-4;

/// The last reading of each stock at each moment, in the file's order.
#[derive(Default)]
pub(super) struct LastReadings(HashMap<(DateTime<Utc>, String), LastReading>);

struct LastReading {
    line: u64,
    said: Quantity,
    /// As a share of capacity.
    share: f64,
}

impl LastReadings {
    /// Looks at a row that was understood; a warning where one before it says something else.
    pub fn look(&mut self, row: &TableRow, entry: &Entry, known: &Vocabulary) -> Option<Warning> {
        let Body::Happened(Event::Level { stock: name, reading, .. }) = &entry.body else {
            return None;
        };
        let (stock, parts) = known.stock_on(name, entry.at.date_naive())?;
        let share = in_stock_unit(reading, stock, parts)? / stock.capacity;
        // Where the amount stands: in a row with line breaks, not always on its first line.
        let place = row.fault("amount", "");
        let seen = LastReading { line: place.line, said: reading.clone(), share };
        let before = self.0.insert((entry.at.to_utc(), name.clone()), seen)?;
        let electric = parts.is_store(name);
        // As `belief` has it: the battery's draws follow a reading that they cannot explain.
        let counts = match electric {
            true => "; this later one counts, unless they are so near that both do",
            false => " and both count: the level is taken to lie between them, and to be less sure",
        };
        let differs = (before.share - share).abs() > SAME;
        let message = format!(
            "column {} (amount): {name} is {reading} here and {} in line {}, at the very same \
             moment. Both are kept{counts}. If one is wrong, take it back",
            place.column, before.said, before.line
        );
        differs.then_some(Warning { line: place.line, message })
    }
}
