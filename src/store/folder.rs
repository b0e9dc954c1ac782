//! The data folder's journal: load it, append to it.
//!
//! An entry is acknowledged when its bytes and its file's name are confirmed by the disk, in the
//! file that the name stands for at that moment. Each append opens the file afresh, because file
//! syncers replace files and an old handle would write to one that nobody sees.

use super::device::{self, Device, Memory};
use super::disk::{self, Confirm, Disk};
use super::error::{Doing, Safety, StoreError, StoreErrorKind};
use super::journal::{self, Finding, FindingKind, Journal, LARGEST_FILE, Source};
use super::line;
use super::record::is_device_name;
use crate::domain::entry::{Body, Entry, EntryId};
use crate::domain::time::Moment;
use std::collections::HashSet;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

/// The name that entries of exchange files carry as their device.
pub const IMPORT: &str = "import";

/// How long an append waits for another program's append to end.
const PATIENCE: Duration = Duration::from_secs(2);

/// How often an append follows a file that is replaced under it.
const ATTEMPTS: usize = 5;

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

    /// Findings of appends since the last call: a device that goes on under a new name.
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
        let known = match device::recall(&*self.disk, &self.memory_path()) {
            Ok(Memory::Known(device)) => Some(device),
            _ => None,
        };
        if let Some(device) = &known {
            let file = self.device_file(&device.name);
            if let Ok(Some(why)) = device.disagreement(&*self.disk, &file) {
                findings.push(renamed(&device.name, &why));
            }
        }
        self.device = known.map(|device| device.name);
        let sources = self.sources(&mut findings)?;
        let mut journal = journal::read(&sources);
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
        let entries = match self.unsure.take() {
            Some((same, entries)) if same == drafts && entries[0].id.device == device.name => {
                entries
            }
            _ => number(drafts, &device),
        };
        let outcome = self.commit(device, &entries);
        if outcome.as_ref().is_err_and(|error| error.safety == Safety::Unsure) {
            self.unsure = Some((drafts.to_vec(), entries.clone()));
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
        self.commit(device, &new).map(|()| new)
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
    fn sources(&self, findings: &mut Vec<Finding>) -> Result<Vec<Source>, StoreError> {
        let folder = self.journal_dir();
        let mut names = match self.disk.list(&folder) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => Vec::new(),
            other => other.map_err(|e| StoreError::from_io(Doing::Reading, &folder, &e))?,
        };
        names.sort_by(|a, b| a.name.cmp(&b.name));
        let own = self.device.as_ref().map(|device| format!("{device}.ron"));
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
                    let own = own.as_deref() == Some(name.as_str());
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

    /// Refuses a folder of a newer version, makes the folders, takes the lock.
    fn begin(&mut self) -> Result<Box<dyn Send>, StoreError> {
        let read_only = match self.read_only {
            Some(read_only) => read_only,
            None => self.load()?.read_only,
        };
        if read_only {
            let detail = "it can be read but not written; update this program";
            return Err(StoreError::new(StoreErrorKind::NewerVersion, &self.dir, detail));
        }
        for folder in [&self.journal_dir(), &self.state_dir] {
            disk::ensure_folder(&*self.disk, folder)
                .map_err(|e| StoreError::from_io(Doing::Creating, folder, &e))?;
        }
        let path = self.memory_path().with_extension("lock");
        let lock = self.disk.lock(&path, PATIENCE);
        lock.map_err(|e| StoreError::from_io(Doing::Creating, &path, &e))
    }

    /// Who this device is, under the lock: itself if its file is as it left it, else a new one.
    fn claim(&mut self) -> Result<Device, StoreError> {
        let memory = self.memory_path();
        let reading = |path: &Path, e: &io::Error| StoreError::from_io(Doing::Reading, path, e);
        let device = match device::recall(&*self.disk, &memory).map_err(|e| reading(&memory, &e))? {
            Memory::None => self.fresh()?,
            Memory::Broken => {
                let why = "what this device remembered about it is not readable";
                self.notices.push(renamed("", why));
                self.fresh()?
            }
            Memory::Known(device) => {
                let file = self.device_file(&device.name);
                let disagreement = device.disagreement(&*self.disk, &file);
                match disagreement.map_err(|e| reading(&file, &e))? {
                    None => device,
                    Some(why) => {
                        self.notices.push(renamed(&device.name, &why));
                        self.fresh()?
                    }
                }
            }
        };
        self.device = Some(device.name.clone());
        Ok(device)
    }

    fn fresh(&self) -> Result<Device, StoreError> {
        let folder = self.journal_dir();
        let names = self.disk.list(&folder);
        let names = names.map_err(|e| StoreError::from_io(Doing::Reading, &folder, &e))?;
        let names: Vec<String> =
            names.iter().map(|listed| listed.name.to_string_lossy().into_owned()).collect();
        let device = Device::new(|name| names.iter().any(|taken| taken.starts_with(name)));
        debug_assert!(is_device_name(&device.name));
        Ok(device)
    }

    /// Promises the entries' numbers, writes them, and has the disk confirm them.
    fn commit(&self, mut device: Device, entries: &[Entry]) -> Result<(), StoreError> {
        let path = self.device_file(&device.name);
        let lines = lines(entries, &path)?;
        let own = entries.iter().filter(|entry| entry.id.device == device.name);
        device.promised =
            own.map(|entry| entry.id.sequence).fold(device.promised, std::cmp::Ord::max);
        let memory = self.memory_path();
        device
            .remember(&*self.disk, &memory, Confirm::Data)
            .map_err(|e| StoreError::from_io(Doing::Writing, &memory, &e))?;
        let length = self.write_confirmed(&path, &lines, device.length)?;
        device.wrote(length, &lines);
        // The entries are saved. Without this note the next append looks through what was added
        // since the last one, and finds nothing that was not promised.
        let _ = device.remember(&*self.disk, &memory, Confirm::Later);
        Ok(())
    }

    /// Appends `lines` until they are confirmed in the file that `path` names, which was
    /// `settled` long after the last append, and returns that file's length.
    fn write_confirmed(&self, path: &Path, lines: &[u8], settled: u64) -> Result<u64, StoreError> {
        let disk = &*self.disk;
        let mut written = false;
        let fail = |written: bool, doing: Doing, e: &io::Error| {
            let error = StoreError::from_io(doing, path, e);
            if written { error.unsure() } else { error }
        };
        for _ in 0..ATTEMPTS {
            self.ensure_own_file(path, lines.len() as u64)?;
            let mark = disk::append(disk, path, lines, settled, Confirm::Data)
                .map_err(|(doing, e)| fail(written || doing != Doing::Reading, doing, &e))?;
            written = true;
            // The name may be new, or a syncer's: it has to be down as well.
            // Before the first acknowledgement, so may the folders', from this try or an earlier.
            let journal = self.journal_dir();
            let named = match settled {
                0 => disk::sync_chain(disk, &journal),
                _ => disk.sync_folder(&journal),
            };
            named.map_err(|e| fail(true, Doing::Syncing, &e))?;
            match disk.mark(path) {
                Ok(now) if now.identity == mark.identity && now.length >= mark.length => {
                    return Ok(mark.length);
                }
                Err(e) if e.kind() != io::ErrorKind::NotFound => {
                    return Err(fail(true, Doing::Reading, &e));
                }
                _ => {}
            }
        }
        let detail = "another program keeps replacing it";
        Err(StoreError::new(StoreErrorKind::Busy, path, detail).unsure())
    }

    /// Makes the file if it is not there; refuses a link, a pipe and a file that is too large.
    fn ensure_own_file(&self, path: &Path, adding: u64) -> Result<(), StoreError> {
        match self.disk.mark(path) {
            Err(e) if e.kind() == io::ErrorKind::NotFound => {
                let made = self.disk.create(path).map(drop);
                made.map_err(|e| StoreError::from_io(Doing::Creating, path, &e))
            }
            Err(e) => Err(StoreError::from_io(Doing::Reading, path, &e)),
            Ok(mark) if !mark.regular => {
                Err(StoreError::new(StoreErrorKind::CannotWrite, path, "not a regular file"))
            }
            Ok(mark) if mark.length + adding > LARGEST_FILE => {
                let detail = format!("it would pass {LARGEST_FILE} bytes");
                Err(StoreError::new(StoreErrorKind::TooLarge, path, detail))
            }
            Ok(_) => Ok(()),
        }
    }
}

fn number(drafts: &[Draft], device: &Device) -> Vec<Entry> {
    let entry = |(draft, sequence): (&Draft, u64)| Entry {
        id: EntryId { device: device.name.clone(), sequence, salt: device::random() as u32 },
        at: draft.at,
        recorded: draft.recorded,
        note: draft.note.clone(),
        body: draft.body.clone(),
    };
    drafts.iter().zip(device.promised + 1..).map(entry).collect()
}

fn lines(entries: &[Entry], path: &Path) -> Result<Vec<u8>, StoreError> {
    let mut lines = Vec::with_capacity(entries.len() * 160);
    for entry in entries {
        let line = line::write(entry);
        let line = line.map_err(|why| StoreError::new(StoreErrorKind::BadData, path, why))?;
        lines.extend_from_slice(line.as_bytes());
        lines.push(b'\n');
    }
    Ok(lines)
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
