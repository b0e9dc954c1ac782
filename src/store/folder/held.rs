//! What a data folder is to this process: where it lies, which disk it is on, who writes there.

use crate::domain::hash::fnv_1a;
use crate::domain::{Draft, Entry};
use crate::store::device::{self, Device};
use crate::store::disk::Disk;
use crate::store::journal::{Finding, FindingKind};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A data folder, with what this process knows about it.
pub struct Folder {
    pub(super) dir: PathBuf,
    pub(super) state_dir: PathBuf,
    pub(super) disk: Arc<dyn Disk>,
    pub(super) device: Option<String>,
    /// Whether a newer version wrote here; `None` before the first look.
    pub(super) read_only: Option<bool>,
    /// The folder's stamp at that look.
    pub(super) stamp: u64,
    /// Drafts whose append failed halfway, with the entries they became: the same drafts again
    /// are the same entries, so that they cannot end up in the journal twice.
    pub(super) unsure: Option<(Vec<Draft>, Vec<Entry>)>,
    pub(super) notices: Vec<Finding>,
}

/// How entries that are written in one go count, should only a part of them get through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Count {
    /// All or none, so that each says how many follow it.
    Together,
    /// Each for itself.
    Alone,
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
            stamp: 0,
            unsure: None,
            notices: Vec::new(),
        }
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

    /// This device under the name that it writes as, then under those that it wrote as before.
    pub(super) fn own_names(&self) -> Vec<Device> {
        let known = device::recall(&*self.disk, &self.memory_path());
        known.ok().flatten().unwrap_or_default()
    }

    pub(super) fn journal_dir(&self) -> PathBuf {
        self.dir.join("journal")
    }

    pub(super) fn device_file(&self, device: &str) -> PathBuf {
        self.journal_dir().join(format!("{device}.ron"))
    }

    /// Where this device keeps its memory of this folder: one file per folder, found by path, so
    /// that a copy of a folder elsewhere is written under another name.
    pub(super) fn memory_path(&self) -> PathBuf {
        let dir = self.disk.resolve(&self.dir);
        let dir = dir.or_else(|_| std::path::absolute(&self.dir)).unwrap_or(self.dir.clone());
        self.state_dir.join(format!("{:016x}.ron", fnv_1a(dir.as_os_str().as_encoded_bytes())))
    }
}

/// Says that a device goes on under a new name, and why.
pub(super) fn renamed(device: &str, why: &str) -> Finding {
    let message = format!("{why}; new entries of this device go to a new file");
    let file = match device {
        "" => "journal".to_string(),
        name => format!("journal/{name}.ron"),
    };
    Finding::whole(FindingKind::Device, &file, message)
}
