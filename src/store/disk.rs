//! The boundary to the file system: every call that the store makes on files, as a trait, so that
//! tests can lose power, fill the disk or fail any one call.
//!
//! The calls are as fine as the promises that matter: writing, confirming what was written and
//! confirming a name in a folder are three things. [`super::real_disk::RealDisk`] is the real one.

use super::error::Doing;
use std::ffi::OsString;
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// What tells one file from another that has the same name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Identity(pub u64, pub u64);

/// A file at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// Which file it is.
    pub identity: Identity,
    /// Its length in bytes.
    pub length: u64,
    /// Whether it is a regular file: no link, pipe, folder or device.
    pub regular: bool,
    /// Whether others than its owner may read it.
    pub exposed: bool,
}

/// One name in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// The name, without the folder.
    pub name: OsString,
    /// Whether it is a regular file: no link, pipe, folder or device.
    pub regular: bool,
}

/// A file opened for appending.
pub trait AppendFile: Send {
    /// Which file this handle writes to, whatever its name means by now.
    fn mark(&self) -> io::Result<Mark>;
    /// Adds `bytes` at the end, in one write if the system takes it in one.
    fn write(&mut self, bytes: &[u8]) -> io::Result<()>;
    /// Returns once the data is down. After an error nothing is known, and a second call on the
    /// same handle may falsely succeed: the system can have dropped what it could not write.
    fn sync(&mut self) -> io::Result<()>;
}

/// The calls on files.
pub trait Disk: Send + Sync {
    /// The names in a folder, in any order.
    fn list(&self, folder: &Path) -> io::Result<Vec<Listed>>;
    /// Which file `path` names now; links are not followed.
    fn mark(&self, path: &Path) -> io::Result<Mark>;
    /// At most `limit` bytes of a file from `offset` on.
    fn read(&self, path: &Path, offset: u64, limit: u64) -> io::Result<Vec<u8>>;
    /// Opens an existing file for appending.
    fn open(&self, path: &Path) -> io::Result<Box<dyn AppendFile>>;
    /// Makes a file that only its owner can read (0600); an error if the name is taken.
    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>>;
    /// Makes a folder that only its owner can enter (0700); its parent must exist.
    fn create_folder(&self, path: &Path) -> io::Result<()>;
    /// Returns once the names in a folder are down.
    fn sync_folder(&self, path: &Path) -> io::Result<()>;
    /// Gives a file another name in one step, in place of what had that name.
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()>;
    /// Gives the file at `to` the permissions of that at `from`; nothing where there are none.
    fn copy_mode(&self, from: &Path, to: &Path) -> io::Result<()>;
    /// Removes a file.
    fn remove(&self, path: &Path) -> io::Result<()>;
    /// Waits up to `patience` for the lock that the file at `path` stands for, making the file if
    /// needed; then `WouldBlock`. Dropping the guard lets go, and so does the end of the process.
    fn lock(&self, path: &Path, patience: Duration) -> io::Result<Box<dyn Send>>;
    /// The one absolute path of an existing folder, links resolved.
    fn resolve(&self, path: &Path) -> io::Result<PathBuf>;
}

/// What was done; `None` where there is no such file or folder.
pub(super) fn if_there<T>(done: io::Result<T>) -> io::Result<Option<T>> {
    match done {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        other => other.map(Some),
    }
}

/// Makes `folder` and what lies above it. The names are not confirmed: see [`sync_chain`].
pub(super) fn ensure_folder(disk: &dyn Disk, folder: &Path) -> io::Result<()> {
    if if_there(disk.list(folder))?.is_some() {
        return Ok(());
    }
    let parent = match folder.parent() {
        Some(parent) if parent != Path::new("") => parent,
        _ => Path::new("."),
    };
    if folder != parent {
        ensure_folder(disk, parent)?;
    }
    match disk.create_folder(folder) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Ok(()),
        other => other,
    }
}

/// Confirms the name of `folder` and of every folder above it, whoever made them and whenever.
/// Folders above it that this user cannot read are somebody else's, and older.
pub(super) fn sync_chain(disk: &dyn Disk, folder: &Path) -> io::Result<()> {
    disk.sync_folder(folder)?;
    for above in folder.ancestors().skip(1) {
        let above = if above == Path::new("") { Path::new(".") } else { above };
        match disk.sync_folder(above) {
            Err(error) if error.kind() == io::ErrorKind::PermissionDenied => {}
            other => other?,
        }
    }
    Ok(())
}

/// Puts `bytes` at `path` so that after any crash the old or the new content is there, never a
/// mix: a new file beside it, confirmed, renamed, and the name confirmed. What was there keeps its
/// permissions.
pub fn replace(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let beside = path.with_file_name(format!(".{name}.new"));
    // A left-over of a crash holds nothing that anyone was told is saved.
    if_there(disk.remove(&beside))?;
    let mut file = disk.create(&beside)?;
    if let Err(error) = file.write(bytes).and_then(|()| file.sync()) {
        // On a full disk, a part of it would be in the way.
        let _ = disk.remove(&beside);
        return Err(error);
    }
    if_there(disk.copy_mode(path, &beside))?;
    disk.rename(&beside, path)?;
    disk.sync_folder(path.parent().unwrap_or(Path::new(".")))
}

/// How [`append`] ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confirm {
    /// Wait until the data is down.
    Data,
    /// Leave it to the system: losing it with the power costs nothing that was promised.
    Later,
}

/// Appends `lines` to the existing file at `path`, opened afresh, and says which file it went to
/// and how long that is now. An error says what was being done: nothing was written yet while
/// [`Doing::Reading`].
///
/// Unless the file is `settled` long, which is known to be down and whole, a newline goes first, so
/// that a fragment cannot swallow the first line. What the last byte looks like is no help: after
/// a sync that failed, the system may show a newline that never reached the disk.
pub fn append(
    disk: &dyn Disk,
    path: &Path,
    lines: &[u8],
    settled: u64,
    confirm: Confirm,
) -> Result<Mark, (Doing, io::Error)> {
    let reading = |error| (Doing::Reading, error);
    let mut file = disk.open(path).map_err(reading)?;
    let before = file.mark().map_err(reading)?;
    let written = match before.length == settled {
        true => file.write(lines),
        false => file.write(&[b"\n", lines].concat()),
    };
    written.map_err(|error| (Doing::Writing, error))?;
    if confirm == Confirm::Data {
        file.sync().map_err(|error| (Doing::Syncing, error))?;
    }
    file.mark().map_err(|error| (Doing::Writing, error))
}
