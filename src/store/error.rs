//! What can go wrong with files, where, and whether anything that was saved is in doubt.

use crate::text::safe;
use std::fmt;
use std::io;
use std::path::{Path, PathBuf};

/// What went wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StoreErrorKind {
    /// A file or an entry says something that it must not.
    BadData,
    /// Larger than what is accepted.
    TooLarge,
    /// There is no such file or folder.
    Missing,
    /// A file or folder cannot be made.
    CannotCreate,
    /// Reading failed.
    CannotRead,
    /// Writing failed.
    CannotWrite,
    /// There is no room left.
    DiskFull,
    /// The disk did not confirm that what was written is down.
    SyncFailed,
    /// Another program holds the journal, or keeps replacing it.
    Busy,
    /// A newer version of the program wrote here.
    NewerVersion,
    /// The user may not do this here.
    NoPermission,
}

/// What can be said about the entries that were being written. Entries acknowledged earlier are
/// never touched by a failure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Safety {
    /// Nothing of them was written.
    NothingWritten,
    /// They may be in the file or not: read the journal before trying again.
    Unsure,
}

/// What was being done, which decides the kind of an error that the system does not name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doing {
    /// Making a file or folder.
    Creating,
    /// Listing or reading.
    Reading,
    /// Writing.
    Writing,
    /// Waiting for the disk to confirm.
    Syncing,
}

impl Doing {
    /// The error of what was being done at `path`, from the system's.
    pub(super) fn failed(self, path: &Path) -> impl Fn(io::Error) -> StoreError {
        move |error| StoreError::from_io(self, path, &error)
    }
}

/// An error with the place it happened at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoreError {
    /// What went wrong.
    pub kind: StoreErrorKind,
    /// The file or folder.
    pub path: PathBuf,
    /// Line, from 1, where one is to blame.
    pub line: Option<u64>,
    /// Column in bytes, from 1, where one is to blame.
    pub column: Option<u64>,
    /// What became of the entries that were being written.
    pub safety: Safety,
    /// What was found and expected, or the system's own words. Lower case, no full stop.
    pub detail: String,
}

impl StoreError {
    /// An error of `kind` at `path`, before anything was written.
    pub fn new(kind: StoreErrorKind, path: &Path, detail: impl Into<String>) -> StoreError {
        StoreError {
            kind,
            path: path.to_path_buf(),
            line: None,
            column: None,
            safety: Safety::NothingWritten,
            detail: detail.into(),
        }
    }

    /// The same error, at a line and column counted from 1.
    pub fn at(mut self, line: u64, column: u64) -> StoreError {
        (self.line, self.column) = (Some(line), Some(column));
        self
    }

    /// The same error, when some of what was being written may be in the file.
    pub fn unsure(mut self) -> StoreError {
        self.safety = Safety::Unsure;
        self
    }

    /// From the system's error. A failed sync leaves it open whether the data is down.
    pub fn from_io(doing: Doing, path: &Path, error: &io::Error) -> StoreError {
        use io::ErrorKind as Io;
        let kind = match (error.kind(), doing) {
            (Io::PermissionDenied | Io::ReadOnlyFilesystem, _) => StoreErrorKind::NoPermission,
            (Io::StorageFull | Io::QuotaExceeded | Io::FileTooLarge, _) => StoreErrorKind::DiskFull,
            (Io::WouldBlock | Io::TimedOut, _) => StoreErrorKind::Busy,
            (Io::NotFound, Doing::Reading) => StoreErrorKind::Missing,
            (_, Doing::Creating) => StoreErrorKind::CannotCreate,
            (_, Doing::Reading) => StoreErrorKind::CannotRead,
            (_, Doing::Writing) => StoreErrorKind::CannotWrite,
            (_, Doing::Syncing) => StoreErrorKind::SyncFailed,
        };
        StoreError::new(kind, path, error.to_string())
    }

    /// The exit code that the contract gives to this error.
    pub fn exit_code(&self) -> u8 {
        self.kind.code_and_words().0
    }
}

impl StoreErrorKind {
    /// The exit code, and the words before what the system said.
    fn code_and_words(self) -> (u8, &'static str) {
        match self {
            StoreErrorKind::BadData | StoreErrorKind::TooLarge => (65, ""),
            StoreErrorKind::Missing => (66, "no such file or folder: "),
            StoreErrorKind::CannotCreate => (73, "cannot create: "),
            StoreErrorKind::CannotRead => (74, "cannot read: "),
            StoreErrorKind::CannotWrite => (74, "cannot write: "),
            StoreErrorKind::DiskFull => (74, "the disk is full: "),
            StoreErrorKind::SyncFailed => (74, "the disk did not confirm: "),
            StoreErrorKind::Busy => (75, "busy: "),
            StoreErrorKind::NewerVersion => (76, "written by a newer version: "),
            StoreErrorKind::NoPermission => (77, "no permission: "),
        }
    }
}

impl fmt::Display for StoreError {
    /// `PATH:LINE:COLUMN: what happened`, with controls in names made visible.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [path, detail] = [&*self.path.to_string_lossy(), &self.detail].map(safe);
        let place = self.line.zip(self.column);
        let place = place.map_or(String::new(), |(line, column)| format!(":{line}:{column}"));
        write!(f, "{path}{place}: {}{detail}", self.kind.code_and_words().1)
    }
}

impl std::error::Error for StoreError {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn system_errors_get_the_exit_code_of_the_contract() {
        use io::ErrorKind as Io;
        let rows = [
            (Io::PermissionDenied, Doing::Creating, 77),
            (Io::ReadOnlyFilesystem, Doing::Writing, 77),
            (Io::StorageFull, Doing::Syncing, 74),
            (Io::NotFound, Doing::Reading, 66),
            (Io::NotFound, Doing::Creating, 73),
            (Io::NotADirectory, Doing::Creating, 73),
            (Io::Other, Doing::Syncing, 74),
            (Io::WouldBlock, Doing::Creating, 75),
        ];
        for (io, doing, code) in rows {
            let error = StoreError::from_io(doing, Path::new("x.ron"), &io::Error::from(io));
            assert_eq!(error.exit_code(), code, "{io:?} while {doing:?}");
        }
        let newer = StoreError::new(StoreErrorKind::NewerVersion, Path::new("x.ron"), "");
        assert_eq!(newer.exit_code(), 76);
    }

    #[test]
    fn a_hostile_path_cannot_write_to_the_terminal() {
        let path = Path::new("a\u{1b}]0;owned\u{7}.ron");
        let shown = StoreError::new(StoreErrorKind::BadData, path, "b\r\nc").at(3, 9).to_string();
        assert!(!shown.chars().any(char::is_control), "{shown}");
        assert!(shown.contains(":3:9: "));
    }
}
