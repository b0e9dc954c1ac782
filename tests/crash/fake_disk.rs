//! A disk in memory with a page cache: what is not synced can be lost with the power, in any
//! subset and torn; any one call can be made to fail; any kind of sync can be swallowed.

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;
use waystock::store::disk::{AppendFile, Disk, Identity, Listed, Mark};

/// Cuts of a write that a drive makes: within a sector, at a sector, at a page.
const TEARS: [usize; 3] = [1, 512, 4096];

#[derive(Clone, Copy, Debug, PartialEq)]
enum Node {
    File(usize),
    Folder,
}

#[derive(Clone, Debug)]
enum NameChange {
    Set(OsString, Node),
    Unset(OsString),
    Rename(OsString, OsString, Node),
}

#[derive(Clone, Default, Debug)]
struct FolderState {
    down: BTreeMap<OsString, Node>,
    seen: BTreeMap<OsString, Node>,
    pending: Vec<NameChange>,
}

#[derive(Clone, Default, Debug)]
struct FileState {
    down: Vec<u8>,
    seen: Vec<u8>,
    pending: Vec<(usize, Vec<u8>)>,
}

/// A call that goes wrong.
#[derive(Clone, Copy, Debug)]
pub struct Fault {
    /// Which call, from 0.
    pub call: usize,
    pub kind: io::ErrorKind,
    /// Whether all later calls fail as well.
    pub sticky: bool,
}

/// A program that puts another file in the place of one.
#[derive(Clone, Debug)]
pub struct Replacement {
    /// Before which call, from 0.
    pub call: usize,
    pub path: PathBuf,
    pub bytes: Vec<u8>,
    /// Under which name it keeps what was there, if at all.
    pub keeps: Option<PathBuf>,
}

#[derive(Default)]
struct Inner {
    files: Vec<FileState>,
    folders: BTreeMap<PathBuf, FolderState>,
    calls: Vec<(&'static str, PathBuf)>,
    fault: Option<Fault>,
    replacement: Option<Replacement>,
    /// Syncs of this path, or of files in this folder's path when it ends in `/*`, do nothing.
    swallow: Option<&'static str>,
}

#[derive(Clone, Default)]
pub struct FakeDisk(Arc<Mutex<Inner>>);

struct Handle {
    disk: FakeDisk,
    file: usize,
    path: PathBuf,
}

fn io_error(kind: io::ErrorKind) -> io::Error {
    io::Error::new(kind, "injected")
}

impl FakeDisk {
    pub fn new() -> FakeDisk {
        let disk = FakeDisk::default();
        disk.inner().folders.insert("/".into(), FolderState::default());
        disk
    }

    fn inner(&self) -> MutexGuard<'_, Inner> {
        self.0.lock().unwrap()
    }

    pub fn set_fault(&self, fault: Option<Fault>) {
        let mut inner = self.inner();
        inner.fault = fault;
        inner.calls.clear();
    }

    pub fn set_replacement(&self, replacement: Replacement) {
        let mut inner = self.inner();
        inner.replacement = Some(replacement);
        inner.calls.clear();
    }

    pub fn swallow(&self, what: &'static str) {
        self.inner().swallow = Some(what);
    }

    /// The calls since the fault or replacement was set.
    pub fn calls(&self) -> Vec<(&'static str, PathBuf)> {
        self.inner().calls.clone()
    }

    /// What programs see in a file.
    pub fn bytes(&self, path: &str) -> Vec<u8> {
        self.bytes_if_there(path).unwrap()
    }

    pub fn set_bytes(&self, path: &str, bytes: &[u8]) {
        let mut inner = self.inner();
        let file = inner.file(Path::new(path)).unwrap();
        inner.files[file] =
            FileState { down: bytes.to_vec(), seen: bytes.to_vec(), pending: Vec::new() };
    }

    /// The same; `None` where there is no such file.
    pub fn bytes_if_there(&self, path: &str) -> Option<Vec<u8>> {
        let inner = self.inner();
        inner.file(Path::new(path)).map(|file| inner.files[file].seen.clone())
    }

    /// Puts a file that is down already.
    pub fn put(&self, path: &str, bytes: &[u8]) {
        self.inner().put(Path::new(path), bytes);
    }

    /// The disk after the power went. `choose(n)` picks one of n outcomes for each change that
    /// was not confirmed.
    pub fn after_power_loss(&self, choose: &mut dyn FnMut(usize) -> usize) -> FakeDisk {
        let inner = self.inner();
        let mut after = Inner::default();
        for file in &inner.files {
            let mut down = file.down.clone();
            for (offset, bytes) in &file.pending {
                let tears: Vec<usize> = TEARS.into_iter().filter(|t| *t < bytes.len()).collect();
                let length = match choose(2 + tears.len()) {
                    0 => continue,
                    1 => bytes.len(),
                    tear => tears[tear - 2],
                };
                down.resize(down.len().max(offset + length), 0);
                down[*offset..offset + length].copy_from_slice(&bytes[..length]);
            }
            after.files.push(FileState { seen: down.clone(), down, pending: Vec::new() });
        }
        let mut waiting = vec![PathBuf::from("/")];
        while let Some(path) = waiting.pop() {
            let folder = &inner.folders[&path];
            let mut down = folder.down.clone();
            for change in &folder.pending {
                if choose(2) == 1 {
                    apply(&mut down, change);
                }
            }
            let inside = down.iter().filter(|(_, node)| **node == Node::Folder);
            waiting.extend(inside.map(|(name, _)| path.join(name)));
            let state = FolderState { seen: down.clone(), down, pending: Vec::new() };
            after.folders.insert(path, state);
        }
        FakeDisk(Arc::new(Mutex::new(after)))
    }
}

fn apply(names: &mut BTreeMap<OsString, Node>, change: &NameChange) {
    match change {
        NameChange::Set(name, node) => drop(names.insert(name.clone(), *node)),
        NameChange::Unset(name) => drop(names.remove(name)),
        NameChange::Rename(from, to, node) => {
            names.remove(from);
            names.insert(to.clone(), *node);
        }
    }
}

impl Inner {
    /// Counts a call; gives the error that it has to fail with.
    fn call(&mut self, what: &'static str, path: &Path) -> io::Result<()> {
        let number = self.calls.len();
        self.calls.push((what, path.to_path_buf()));
        if self.replacement.as_ref().is_some_and(|r| r.call == number)
            && let Some(replacement) = self.replacement.take()
        {
            if let (Some(keeps), Some(file)) = (&replacement.keeps, self.file(&replacement.path)) {
                let bytes = self.files[file].seen.clone();
                self.put(keeps, &bytes);
            }
            self.put(&replacement.path, &replacement.bytes);
        }
        match self.fault {
            Some(f) if number == f.call || (f.sticky && number > f.call) => Err(io_error(f.kind)),
            _ => Ok(()),
        }
    }

    fn put(&mut self, path: &Path, bytes: &[u8]) {
        let node = Node::File(self.files.len());
        let (down, seen) = (bytes.to_vec(), bytes.to_vec());
        self.files.push(FileState { down, seen, pending: Vec::new() });
        let folder = self.folders.get_mut(path.parent().unwrap()).unwrap();
        let name = path.file_name().unwrap();
        folder.down.insert(name.into(), node);
        folder.seen.insert(name.into(), node);
    }

    fn node(&self, path: &Path) -> Option<Node> {
        let name = path.file_name()?;
        self.folders.get(path.parent()?)?.seen.get(name).copied()
    }

    fn file(&self, path: &Path) -> Option<usize> {
        match self.node(path) {
            Some(Node::File(file)) => Some(file),
            _ => None,
        }
    }

    fn change(&mut self, folder: &Path, change: NameChange) -> io::Result<()> {
        let missing = || io_error(io::ErrorKind::NotFound);
        let folder = self.folders.get_mut(folder).ok_or_else(missing)?;
        apply(&mut folder.seen, &change);
        folder.pending.push(change);
        Ok(())
    }

    fn swallows(&self, path: &Path) -> bool {
        self.swallow.is_some_and(|what| match what.strip_suffix("/*") {
            Some(folder) => path.parent() == Some(Path::new(folder)),
            None => path == Path::new(what),
        })
    }

    fn mark(&self, file: usize) -> Mark {
        Mark {
            identity: Identity(1, file as u64),
            length: self.files[file].seen.len() as u64,
            regular: true,
            exposed: false,
        }
    }

    fn found(&self, path: &Path) -> io::Result<usize> {
        self.file(path).ok_or_else(|| io_error(io::ErrorKind::NotFound))
    }
}

impl Disk for FakeDisk {
    fn list(&self, folder: &Path) -> io::Result<Vec<Listed>> {
        let mut inner = self.inner();
        inner.call("list", folder)?;
        let state = inner.folders.get(folder).ok_or_else(|| io_error(io::ErrorKind::NotFound))?;
        let listed = |(name, node): (&OsString, &Node)| Listed {
            name: name.clone(),
            regular: *node != Node::Folder,
        };
        Ok(state.seen.iter().map(listed).collect())
    }

    fn mark(&self, path: &Path) -> io::Result<Mark> {
        let mut inner = self.inner();
        inner.call("mark", path)?;
        let file = inner.found(path)?;
        Ok(inner.mark(file))
    }

    fn read(&self, path: &Path, offset: u64, limit: u64) -> io::Result<Vec<u8>> {
        let mut inner = self.inner();
        inner.call("read", path)?;
        let file = inner.found(path)?;
        let bytes = &inner.files[file].seen;
        let from = (offset as usize).min(bytes.len());
        let to = from.saturating_add(limit as usize).min(bytes.len());
        Ok(bytes[from..to].to_vec())
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let mut inner = self.inner();
        inner.call("open", path)?;
        let file = inner.found(path)?;
        Ok(Box::new(Handle { disk: self.clone(), file, path: path.into() }))
    }

    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let mut inner = self.inner();
        inner.call("create", path)?;
        if inner.node(path).is_some() {
            return Err(io_error(io::ErrorKind::AlreadyExists));
        }
        let file = inner.files.len();
        inner.files.push(FileState::default());
        let name = path.file_name().unwrap().into();
        inner.change(path.parent().unwrap(), NameChange::Set(name, Node::File(file)))?;
        Ok(Box::new(Handle { disk: self.clone(), file, path: path.into() }))
    }

    fn create_folder(&self, path: &Path) -> io::Result<()> {
        let mut inner = self.inner();
        inner.call("create_folder", path)?;
        if inner.node(path).is_some() {
            return Err(io_error(io::ErrorKind::AlreadyExists));
        }
        let name = path.file_name().unwrap().into();
        inner.change(path.parent().unwrap(), NameChange::Set(name, Node::Folder))?;
        inner.folders.insert(path.into(), FolderState::default());
        Ok(())
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        let mut inner = self.inner();
        inner.call("sync_folder", path)?;
        if inner.swallows(path) {
            return Ok(());
        }
        let missing = || io_error(io::ErrorKind::NotFound);
        let folder = inner.folders.get_mut(path).ok_or_else(missing)?;
        folder.down = folder.seen.clone();
        folder.pending.clear();
        Ok(())
    }

    fn copy_mode(&self, _: &Path, _: &Path) -> io::Result<()> {
        Ok(())
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut inner = self.inner();
        inner.call("rename", from)?;
        let node = Node::File(inner.found(from)?);
        let (old, new) = (from.file_name().unwrap().into(), to.file_name().unwrap().into());
        inner.change(from.parent().unwrap(), NameChange::Rename(old, new, node))
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        let mut inner = self.inner();
        inner.call("remove", path)?;
        inner.found(path)?;
        let name = path.file_name().unwrap().into();
        inner.change(path.parent().unwrap(), NameChange::Unset(name))
    }

    fn lock(&self, path: &Path, _: Duration) -> io::Result<Box<dyn Send>> {
        self.inner().call("lock", path)?;
        Ok(Box::new(()))
    }

    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        Ok(path.into())
    }
}

impl AppendFile for Handle {
    fn mark(&self) -> io::Result<Mark> {
        let mut inner = self.disk.inner();
        inner.call("mark", &self.path)?;
        Ok(inner.mark(self.file))
    }

    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut inner = self.disk.inner();
        let outcome = inner.call("write", &self.path);
        // A write that fails may have put down its first half.
        let length = if outcome.is_ok() { bytes.len() } else { bytes.len() / 2 };
        let file = &mut inner.files[self.file];
        let offset = file.seen.len();
        file.seen.extend_from_slice(&bytes[..length]);
        file.pending.push((offset, bytes[..length].to_vec()));
        outcome
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut inner = self.disk.inner();
        let outcome = inner.call("sync", &self.path);
        if inner.swallows(&self.path) {
            return outcome;
        }
        let file = &mut inner.files[self.file];
        // After a failed sync the system counts the pages as clean: they are gone from what is
        // pending, and a later sync that succeeds does not bring them down.
        let pending = std::mem::take(&mut file.pending);
        for (offset, bytes) in pending.iter().filter(|_| outcome.is_ok()) {
            file.down.resize(file.down.len().max(offset + bytes.len()), 0);
            file.down[*offset..offset + bytes.len()].copy_from_slice(bytes);
        }
        outcome
    }
}
