//! Which row is which entry: by its cells in canonical form, and the how-manieth it is of them.

use super::fault::Warning;
use super::write::cells;
use crate::domain::hash::fnv_1a;
use crate::domain::{Body, Entry, EntryId, Event, IMPORT, Moment};
use std::collections::{HashMap, HashSet};

/// All cells of an entry in canonical form. Times are compared as instants, so that a program
/// that rewrote offsets does not double a journal; names are the rig's, whatever alias was
/// written.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct RowKey(String);

impl RowKey {
    fn of(at: Moment, recorded: Moment, note: Option<&str>, event: &Event) -> RowKey {
        let (mut at, mut recorded) = (at.to_utc().fixed_offset(), recorded.to_utc().fixed_offset());
        let mut event = event.clone();
        if let Event::Outlook(weather) = &mut event {
            // An outlook file does not say when it was written down.
            weather.issued = weather.issued.to_utc().fixed_offset();
            (at, recorded) = (weather.issued, weather.issued);
        }
        // The unit separator cannot be confused with what people write in a cell.
        RowKey(cells(at, recorded, note, &event).join("\u{1f}"))
    }

    /// Of the key and the occurrence.
    fn hash(&self, occurrence: usize) -> u64 {
        fnv_1a(format!("{}\u{1e}{occurrence}", self.0).as_bytes())
    }
}

/// Gives ids to the entries of one file, in its order.
#[derive(Debug, Default)]
pub(super) struct Identities {
    occurrences: HashMap<RowKey, usize>,
    at_this_moment: HashMap<Moment, u64>,
}

impl Identities {
    /// The entry with its id: the sequence begins with its rank among the rows of the same
    /// moment, because entries of one moment keep the order in which they were written.
    pub(super) fn identified(&mut self, mut entry: Entry) -> Entry {
        let Some(key) = key(&entry) else { return entry };
        let occurrence = self.occurrences.entry(key.clone()).or_default();
        *occurrence += 1;
        let hash = key.hash(*occurrence);
        let rank = self.at_this_moment.entry(entry.at).or_default();
        *rank += 1;
        entry.id = EntryId {
            device: IMPORT.to_string(),
            // Below 2^53, so that JSON readers keep it whole.
            sequence: (*rank).min(0x1f_ffff) << 32 | hash & 0xffff_ffff,
            salt: (hash >> 32) as u32,
        };
        entry
    }
}

/// The key of a record that says something by itself.
fn key(entry: &Entry) -> Option<RowKey> {
    let Body::Happened(event) = &entry.body else { return None };
    Some(RowKey::of(entry.at, entry.recorded, entry.note.as_deref(), event))
}

/// What a file says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Imported {
    /// One entry per row, in the file's order. Their ids follow from their cells and their place
    /// alone, so that two devices which import the same file write the same records.
    pub entries: Vec<Entry>,
    /// What was odd.
    pub warnings: Vec<Warning>,
}

/// The entries that `existing` does not hold yet: a row is there already when all its cells are
/// those of an entry there (as first written, as corrected, even if taken back since), and that
/// often. So a file imported twice adds nothing, and two equal showers stay two.
pub fn new_entries(imported: &Imported, existing: &[Entry]) -> Vec<Entry> {
    let mut held = held(existing);
    let taken: HashSet<&EntryId> = existing.iter().map(|e| &e.id).collect();
    let mut fresh = Vec::new();
    for entry in &imported.entries {
        let Some(key) = key(entry) else { continue };
        let left = held.get_mut(&key).filter(|left| **left > 0);
        match left {
            Some(left) => *left -= 1,
            None if taken.contains(&entry.id) => {}
            None => fresh.push(entry.clone()),
        }
    }
    fresh
}

/// How many entries hold each key: as first written, and as each correction has them.
fn held(existing: &[Entry]) -> HashMap<RowKey, usize> {
    let mut known: HashMap<&EntryId, HashSet<RowKey>> = HashMap::new();
    let first: HashMap<&EntryId, &Entry> = existing.iter().map(|e| (&e.id, e)).collect();
    for entry in existing {
        match &entry.body {
            Body::Happened(_) => known.entry(&entry.id).or_default().extend(key(entry)),
            Body::Correct { of, event } => {
                let Some(first) = first.get(of) else { continue };
                let note = entry.note.as_deref().or(first.note.as_deref());
                // A plan is exported as it was written until it is answered, then as a fact.
                let fact = if entry.recorded >= entry.at { entry.at } else { first.recorded };
                for recorded in [first.recorded, first.recorded.max(fact), entry.recorded] {
                    let corrected = RowKey::of(entry.at, recorded, note, event);
                    known.entry(of).or_default().insert(corrected);
                }
            }
            Body::Retract { .. } | Body::Restore { .. } => {}
        }
    }
    let mut held = HashMap::new();
    known.into_values().flatten().for_each(|key| *held.entry(key).or_default() += 1);
    held
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counted by hand: the text, a separator and the occurrence.
    #[test]
    fn the_hash_of_a_row_is_of_its_cells_and_how_manieth_it_is() {
        assert_eq!(RowKey("foobar".into()).hash(2), fnv_1a(b"foobar\x1e2"));
    }
}
