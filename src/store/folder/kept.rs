//! What this device saved, once more, beside its memory: so that entries which an older copy of
//! its file has swept away can be told from the folder, and written again.
//!
//! Only the newest are kept, as an older copy lacks the newest. Nothing rests on this copy: it is
//! not confirmed by the disk, and what fails here fails quietly.

use super::held::{Count, Folder};
use crate::domain::{Entry, EntryId};
use crate::store::disk::{self, Confirm};
use crate::store::error::{Doing, StoreError};
use crate::store::journal::{self, Finding, FindingKind, Journal, SourceFile};
use std::collections::HashSet;
use std::path::PathBuf;

/// Above this length the older half is dropped.
const LONGEST: u64 = 8 * 1024 * 1024;

impl Folder {
    /// Adds lines that were saved to what is kept.
    pub(super) fn keep(&self, lines: &[u8]) {
        let (disk, path) = (&*self.disk, self.kept_path());
        match disk.mark(&path) {
            Err(_) => drop(disk.create(&path)),
            Ok(mark) if mark.length > LONGEST => {
                let newer = disk.read(&path, mark.length - LONGEST / 2, LONGEST);
                let _ = newer.and_then(|bytes| disk::replace(disk, &path, &bytes));
            }
            Ok(_) => {}
        }
        let _ = disk::append(disk, &path, lines, 0, Confirm::Later);
    }

    /// Entries that this device saved and that `journal`, just read, does not have; `None` where
    /// nothing was kept, so that nothing can be said.
    pub(super) fn lost(&self, journal: &Journal) -> Option<Vec<Entry>> {
        let bytes = self.disk.read(&self.kept_path(), 0, 2 * LONGEST).ok()?;
        let kept = journal::read(&[SourceFile { file: String::new(), bytes, own: true }]);
        let here: HashSet<&EntryId> = journal.entries.iter().map(|entry| &entry.id).collect();
        let lost = kept.entries.into_iter().filter(|entry| !here.contains(&entry.id)).collect();
        Some(lost)
    }

    /// Writes again what this device saved and the folder has no longer, as far as it is kept, and
    /// returns it once the disk has confirmed it. What became of the files is then settled.
    pub fn restore(&mut self) -> Result<Vec<Entry>, StoreError> {
        let journal = self.load()?;
        let _lock = self.begin()?;
        let lost = self.lost(&journal).unwrap_or_default();
        if !lost.is_empty() {
            let device = self.claim()?;
            self.commit(device, &lost, Count::Alone)?;
        }
        self.note_as_found()?;
        Ok(lost)
    }

    /// Takes the files of this device as they are now: what became of them is told no longer, and
    /// what is missing cannot be written again.
    pub fn settle(&mut self) -> Result<(), StoreError> {
        let _lock = self.begin()?;
        self.note_as_found()?;
        let _ = self.disk.remove(&self.kept_path());
        Ok(())
    }

    fn note_as_found(&mut self) -> Result<(), StoreError> {
        let memory = self.memory_path();
        let failed = Doing::Writing.failed(&memory);
        // A file that somebody else may have written to is not gone on with.
        let current = self.claim()?;
        for device in self.own_names().iter().filter(|device| device.name != current.name) {
            let file = self.device_file(&device.name);
            let found = device.as_found(&*self.disk, &file);
            let found = found.map_err(Doing::Reading.failed(&file))?;
            found.remember(&*self.disk, &memory, Confirm::Data).map_err(&failed)?;
        }
        // The last line says who this device is.
        current.remember(&*self.disk, &memory, Confirm::Data).map_err(failed)
    }

    fn kept_path(&self) -> PathBuf {
        self.memory_path().with_extension("kept")
    }
}

/// What is said of entries that are lost; `None` where it is not known whether any are.
pub(super) fn finding(lost: Option<usize>) -> Finding {
    let ends = "`waystock check --settle` says that this is meant, and ends this note";
    let message = match lost {
        None => format!("whether an entry is missing is not known here; {ends}"),
        Some(0) => format!("every entry that this machine remembers is in the folder; {ends}"),
        Some(1) => format!(
            "an entry that this device saved is no longer in the folder: \
             `waystock check --restore` writes it again; {ends}"
        ),
        Some(n) => format!(
            "{n} entries that this device saved are no longer in the folder: \
             `waystock check --restore` writes them again; {ends}"
        ),
    };
    Finding::whole(FindingKind::Lost, "journal", message)
}
