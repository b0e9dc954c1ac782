//! Appending entries, all that are given in one go.

use super::held::{Count, Folder};
use super::writing::number;
use crate::domain::{Draft, Entry, EntryId, IMPORT, Moment};
use crate::store::error::{Safety, StoreError, StoreErrorKind};
use std::collections::HashSet;

impl Folder {
    /// Writes `drafts`, all in one go, as written down at `recorded`, and returns them as entries once the disk has confirmed
    /// them. After an error that leaves it unsure whether they are saved, the same drafts (to
    /// the field) can be given again without ending up twice.
    pub fn append(&mut self, drafts: &[Draft], recorded: Moment) -> Result<Vec<Entry>, StoreError> {
        if drafts.is_empty() {
            return Ok(Vec::new());
        }
        let _lock = self.begin()?;
        let device = self.claim()?;
        let mut repeats = Vec::new();
        let entries = match self.unsure.take() {
            Some((same, entries))
                if same == drafts
                    && entries[0].recorded == recorded
                    && entries[0].id.device == device.name =>
            {
                entries
            }
            _ => {
                repeats = self.tries_before(drafts, &device);
                number(drafts, recorded, &device)
            }
        };
        let outcome = self.commit(device, &entries, Count::Together);
        if outcome.as_ref().is_err_and(|error| error.safety == Safety::Unsure) {
            self.unsure = Some((drafts.to_vec(), entries.clone()));
        }
        if outcome.is_ok() {
            self.notices.extend(repeats);
        }
        outcome.map(|()| entries)
    }

    /// Writes entries that come with ids of their own (device [`IMPORT`]) to this device's file,
    /// except those whose id is already there, and returns the ones written.
    pub fn append_imported(&mut self, entries: &[Entry]) -> Result<Vec<Entry>, StoreError> {
        if let Some(other) = entries.iter().find(|entry| entry.id.device != IMPORT) {
            let detail = format!("{} is not the id of an imported entry", other.id);
            return Err(StoreError::new(StoreErrorKind::BadData, &self.dir, detail));
        }
        let _lock = self.begin()?;
        let mut known: HashSet<EntryId> = self.load()?.entries.into_iter().map(|e| e.id).collect();
        let new: Vec<Entry> =
            entries.iter().filter(|entry| known.insert(entry.id.clone())).cloned().collect();
        if new.is_empty() {
            return Ok(new);
        }
        let device = self.claim()?;
        self.commit(device, &new, Count::Together).map(|()| new)
    }
}
