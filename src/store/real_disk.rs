//! The real file system.

#![allow(clippy::disallowed_methods, reason = "this is where the program opens files")]

use super::disk::{AppendFile, Disk, Identity, Listed, Mark, if_there};
use std::fs::{DirBuilder, File, Metadata, OpenOptions, TryLockError};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The file system of the machine.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

/// Often enough that nobody notices the wait, seldom enough to cost nothing.
const LOCK_POLL: Duration = Duration::from_millis(4);

impl AppendFile for File {
    fn mark(&self) -> io::Result<Mark> {
        Ok(mark(&self.metadata()?))
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.sync_data()
    }
}

impl Disk for RealDisk {
    fn list(&self, folder: &Path) -> io::Result<Vec<Listed>> {
        let mut names = Vec::new();
        for item in std::fs::read_dir(folder)? {
            let item = item?;
            names.push(Listed { name: item.file_name(), regular: item.file_type()?.is_file() });
        }
        Ok(names)
    }

    fn mark(&self, path: &Path) -> io::Result<Mark> {
        Ok(mark(&std::fs::symlink_metadata(path)?))
    }

    fn read(&self, path: &Path, offset: u64, limit: u64) -> io::Result<Vec<u8>> {
        only_regular(path)?;
        let mut file = File::open(path)?;
        let length = file.metadata()?.len().saturating_sub(offset).min(limit);
        let mut bytes = Vec::with_capacity(usize::try_from(length).unwrap_or(0));
        if offset > 0 {
            file.seek(SeekFrom::Start(offset))?;
        }
        file.take(limit).read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        only_regular(path)?;
        Ok(Box::new(OpenOptions::new().append(true).open(path)?))
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let mut options = OpenOptions::new();
        options.append(true).create_new(true);
        private_file(&mut options);
        Ok(Box::new(options.open(path)?))
    }

    fn create_folder(&self, path: &Path) -> io::Result<()> {
        let mut builder = DirBuilder::new();
        private_folder(&mut builder);
        builder.create(path)
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        sync_folder(path)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::rename(from, to)
    }

    fn copy_mode(&self, from: &Path, to: &Path) -> io::Result<()> {
        std::fs::set_permissions(to, std::fs::metadata(from)?.permissions())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        std::fs::remove_file(path)
    }

    fn lock(&self, path: &Path, patience: Duration) -> io::Result<Box<dyn Send>> {
        let mut options = OpenOptions::new();
        options.append(true).create(true);
        private_file(&mut options);
        if_there(only_regular(path))?;
        let file = options.open(path)?;
        let start = Instant::now();
        loop {
            match file.try_lock() {
                Ok(()) => return Ok(Box::new(file)),
                Err(TryLockError::Error(error)) => return Err(error),
                Err(TryLockError::WouldBlock) if start.elapsed() >= patience => {
                    return Err(io::ErrorKind::WouldBlock.into());
                }
                Err(TryLockError::WouldBlock) => std::thread::sleep(LOCK_POLL),
            }
        }
    }

    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        std::fs::canonicalize(path)
    }
}

/// From now on a write past the largest size that the system allows a file (`ulimit -f`) is an
/// error like a full disk, and no longer a signal that ends the program without a word.
#[cfg(unix)]
pub fn survive_size_limits() {
    use std::sync::{Arc, atomic::AtomicBool};
    let passed = Arc::new(AtomicBool::new(false));
    // Where it cannot be caught, things are as they were without it.
    let _ = signal_hook::flag::register(signal_hook::consts::SIGXFSZ, passed);
}

/// There is no such signal here.
#[cfg(not(unix))]
pub fn survive_size_limits() {}

/// Opening a pipe waits until somebody writes to it, which may be never. Links are followed.
fn only_regular(path: &Path) -> io::Result<()> {
    let found = std::fs::metadata(path)?;
    if found.is_file() {
        return Ok(());
    }
    let what = if found.is_dir() { "a folder" } else { "a pipe or device" };
    let why = format!("found {what}, expected a file");
    Err(io::Error::new(io::ErrorKind::InvalidInput, why))
}

#[cfg(unix)]
fn mark(found: &Metadata) -> Mark {
    use std::os::unix::fs::MetadataExt;
    Mark {
        identity: Identity(found.dev(), found.ino()),
        length: found.len(),
        regular: found.is_file(),
        exposed: found.mode() & 0o077 != 0,
    }
}

/// Without a stable file number, the time of creation tells a replaced file from the one before.
#[cfg(not(unix))]
fn mark(found: &Metadata) -> Mark {
    let created = found.created().ok().and_then(|t| t.duration_since(std::time::UNIX_EPOCH).ok());
    let created = created.unwrap_or_default();
    Mark {
        identity: Identity(created.as_secs(), u64::from(created.subsec_nanos())),
        length: found.len(),
        regular: found.is_file(),
        exposed: false,
    }
}

#[cfg(unix)]
fn private_file(options: &mut OpenOptions) {
    use std::os::unix::fs::OpenOptionsExt;
    options.mode(0o600);
}

#[cfg(not(unix))]
fn private_file(_: &mut OpenOptions) {}

#[cfg(unix)]
fn private_folder(builder: &mut DirBuilder) {
    use std::os::unix::fs::DirBuilderExt;
    builder.mode(0o700);
}

#[cfg(not(unix))]
fn private_folder(_: &mut DirBuilder) {}

/// Some file systems (in user space, over a network) cannot confirm names at all and say so; there
/// is nothing more to be had from them, and refusing to work there would help nobody.
#[cfg(unix)]
fn sync_folder(path: &Path) -> io::Result<()> {
    use io::ErrorKind::{InvalidInput, ReadOnlyFilesystem, Unsupported};
    match File::open(path)?.sync_all() {
        Err(e) if matches!(e.kind(), InvalidInput | ReadOnlyFilesystem | Unsupported) => Ok(()),
        other => other,
    }
}

/// Folders cannot be opened for syncing there; the file system keeps names in its own log.
#[cfg(not(unix))]
fn sync_folder(_: &Path) -> io::Result<()> {
    Ok(())
}
