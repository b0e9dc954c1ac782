//! The data folder's journal: load it, append to it.
//!
//! An entry is acknowledged when its bytes and its file's name are confirmed by the disk, in the
//! file that the name stands for at that moment. Each append opens the file afresh, because file
//! syncers replace files and an old handle would write to one that nobody sees.

mod kept;
mod writing;

use super::device::{self, Device, Memory};
use super::disk::Disk;
use super::error::{Doing, Safety, StoreError, StoreErrorKind};
use super::journal::{self, Finding, FindingKind, Journal, LARGEST_FILE, Source};
use crate::domain::entry::{Body, Entry, EntryId};
use crate::domain::time::Moment;
use std::collections::HashSet;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use writing::Count;

pub use crate::domain::entry::IMPORT;

/// An entry before it has an id.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// When it happened, or is planned to.
    pub at: Moment,
    /// When it is written down.
    pub recorded: Moment,
    /// A remark that comes with it.
    pub note: Option<String>,
    /// What it says.
    pub body: Body,
}

/// A data folder, with what this process knows about it.
pub struct Folder {
    dir: PathBuf,
    state_dir: PathBuf,
    disk: Arc<dyn Disk>,
    device: Option<String>,
    /// Whether a newer version wrote here; `None` before the first look.
    read_only: Option<bool>,
    /// Drafts whose append failed halfway, with the entries they became: the same drafts again
    /// are the same entries, so that they cannot end up in the journal twice.
    unsure: Option<(Vec<Draft>, Vec<Entry>)>,
    notices: Vec<Finding>,
}

impl Folder {
    /// The data folder at `dir`. What this device remembers lies in `state_dir`, which must not
    /// be synced between machines. Touches no file; neither folder needs to exist.
    pub fn open(dir: &Path, state_dir: &Path, disk: Arc<dyn Disk>) -> Folder {
        Folder {
            dir: dir.to_path_buf(),
            state_dir: state_dir.to_path_buf(),
            disk,
            device: None,
            read_only: None,
            unsure: None,
            notices: Vec::new(),
        }
    }

    /// The folder's path.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// This device's name here, once it has written and been seen by `load` or `append`.
    pub fn device(&self) -> Option<&str> {
        self.device.as_deref()
    }

    /// Findings of appends since the last call: a device that goes on under a new name, an entry
    /// that may have been saved twice.
    pub fn take_notices(&mut self) -> Vec<Finding> {
        std::mem::take(&mut self.notices)
    }

    /// Whether others than the owner can read the journal folder.
    pub fn is_exposed(&self) -> bool {
        self.disk.mark(&self.journal_dir()).is_ok_and(|mark| mark.exposed)
    }

    /// Reads the union of all devices' files, and changes nothing. A file that cannot be read is
    /// a finding; only a journal folder that cannot be listed is an error.
    pub fn load(&mut self) -> Result<Journal, StoreError> {
        let mut findings = Vec::new();
        let own = self.own_names();
        self.device = own.first().map(|device| device.name.clone());
        let changed = self.changed(&own, &mut findings);
        let sources = self.sources(&own, &mut findings)?;
        let mut journal = journal::read(&sources);
        if changed {
            findings.push(kept::finding(self.lost(&journal).map(|lost| lost.len())));
        }
        findings.append(&mut journal.findings);
        journal.findings = findings;
        self.read_only = Some(journal.read_only);
        Ok(journal)
    }

    /// Writes `drafts`, all in one go, and returns them as entries once the disk has confirmed
    /// them. After an error that leaves it unsure whether they are saved, the same drafts (to
    /// the field) can be given again without ending up twice.
    pub fn append(&mut self, drafts: &[Draft]) -> Result<Vec<Entry>, StoreError> {
        if drafts.is_empty() {
            return Ok(Vec::new());
        }
        let _lock = self.begin()?;
        let device = self.claim()?;
        let mut repeats = Vec::new();
        let entries = match self.unsure.take() {
            Some((same, entries)) if same == drafts && entries[0].id.device == device.name => {
                entries
            }
            _ => {
                repeats = self.tries_before(drafts, &device);
                writing::number(drafts, &device)
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

    /// A number that changes when a journal file is added, removed, replaced or grows, for a cheap
    /// look whether to load again. Not stable between versions.
    pub fn stamp(&self) -> u64 {
        let folder = self.journal_dir();
        let mut names = self.disk.list(&folder).unwrap_or_default();
        names.sort_by(|a, b| a.name.cmp(&b.name));
        let mut bytes = Vec::new();
        for listed in names {
            bytes.extend_from_slice(listed.name.as_encoded_bytes());
            let mark = self.disk.mark(&folder.join(&listed.name));
            bytes.extend_from_slice(format!("/{mark:?}").as_bytes());
        }
        fnv(&bytes)
    }

    /// This device under the name that it writes as, then under those that it wrote as before.
    fn own_names(&self) -> Vec<Device> {
        match device::recall(&*self.disk, &self.memory_path()) {
            Ok(Memory::Known(current, former)) => [vec![current], former].concat(),
            _ => Vec::new(),
        }
    }

    /// Whether a file of this device is not as it left it. Each that is not is told.
    fn changed(&self, own: &[Device], findings: &mut Vec<Finding>) -> bool {
        let before = findings.len();
        for (place, device) in own.iter().enumerate() {
            let file = self.device_file(&device.name);
            match device.disagreement(&*self.disk, &file) {
                Ok(Some(why)) if place == 0 => findings.push(renamed(&device.name, &why)),
                Ok(Some(why)) => {
                    let file = format!("journal/{}.ron", device.name);
                    findings.push(Finding::whole(FindingKind::Device, &file, why));
                }
                _ => {}
            }
        }
        findings.len() > before
    }

    fn journal_dir(&self) -> PathBuf {
        self.dir.join("journal")
    }

    fn device_file(&self, device: &str) -> PathBuf {
        self.journal_dir().join(format!("{device}.ron"))
    }

    /// Where this device keeps its memory of this folder: one file per folder, found by path, so
    /// that a copy of a folder elsewhere is written under another name.
    fn memory_path(&self) -> PathBuf {
        let dir = self.disk.resolve(&self.dir);
        let dir = dir.or_else(|_| std::path::absolute(&self.dir)).unwrap_or(self.dir.clone());
        self.state_dir.join(format!("{:016x}.ron", fnv(dir.as_os_str().as_encoded_bytes())))
    }

    /// The journal's files by name.
    fn sources(
        &self,
        own: &[Device],
        findings: &mut Vec<Finding>,
    ) -> Result<Vec<Source>, StoreError> {
        let folder = self.journal_dir();
        let mut names = match self.disk.list(&folder) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
            other => other.map_err(|e| StoreError::from_io(Doing::Reading, &folder, &e))?,
        };
        names.sort_by(|a, b| a.name.cmp(&b.name));
        // Nobody else writes these, so that a torn end of one is no late arrival.
        let own: Vec<String> = own.iter().map(|device| format!("{}.ron", device.name)).collect();
        let mut sources = Vec::new();
        for listed in names {
            let name = listed.name.to_string_lossy().into_owned();
            if !journal::is_journal_name(&name) {
                continue;
            }
            let file = format!("journal/{name}");
            let skip = |why: String| Finding::whole(FindingKind::Skipped, &file, why);
            if !listed.regular {
                findings.push(skip("not a regular file; it is not read".into()));
                continue;
            }
            match self.contents(&folder.join(&listed.name)) {
                Ok(bytes) => {
                    let own = own.contains(&name);
                    sources.push(Source { file, bytes, own });
                }
                // Renamed or removed by a syncer since the folder was listed.
                Err(error) if error.kind() == io::ErrorKind::NotFound => {}
                Err(error) => findings.push(skip(error.to_string())),
            }
        }
        Ok(sources)
    }

    fn contents(&self, path: &Path) -> io::Result<Vec<u8>> {
        let length = self.disk.mark(path)?.length;
        if length > LARGEST_FILE {
            let why = format!("{length} bytes, at most {LARGEST_FILE}");
            return Err(io::Error::new(io::ErrorKind::FileTooLarge, why));
        }
        self.disk.read(path, 0, LARGEST_FILE)
    }
}

fn renamed(device: &str, why: &str) -> Finding {
    let message = format!("{why}; new entries of this device go to a new file");
    let file = match device {
        "" => "journal".to_string(),
        name => format!("journal/{name}.ron"),
    };
    Finding::whole(FindingKind::Device, &file, message)
}

/// The 64-bit FNV-1a hash (Fowler, Noll, Vo), which never changes between versions.
fn fnv(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}
