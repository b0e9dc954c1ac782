//! The steps of an append, each under the lock: who we are, what we promise, write, confirm.

use super::held::{Count, Folder, renamed};
use crate::domain::{Draft, Entry, EntryId, Moment};
use crate::store::device::{self, Device};
use crate::store::disk::{self, Confirm, Mark};
use crate::store::error::{Doing, StoreError, StoreErrorKind};
use crate::store::journal::{self, Finding, FindingKind, Journal, LARGEST_FILE, SourceFile};
use crate::store::line;
use crate::store::record::is_device_name;
use std::io;
use std::path::Path;
use std::time::Duration;

/// How long an append waits for another program's append to end.
const PATIENCE: Duration = Duration::from_secs(2);

/// How often an append follows a file that is replaced under it.
const ATTEMPTS: usize = 5;

impl Folder {
    /// Refuses a folder of a newer version, makes the folders, takes the lock.
    pub(super) fn begin(&mut self) -> Result<Box<dyn Send>, StoreError> {
        // A file of a newer version may have arrived since the last look.
        let read_only = match self.read_only.filter(|_| self.stamp == self.stamp()) {
            Some(read_only) => read_only,
            None => self.load()?.read_only,
        };
        if read_only {
            let detail = "it can be read but not written; update this program";
            return Err(StoreError::new(StoreErrorKind::NewerVersion, &self.dir, detail));
        }
        for folder in [&self.journal_dir(), &self.state_dir] {
            disk::ensure_folder(&*self.disk, folder).map_err(Doing::Creating.failed(folder))?;
        }
        let path = self.memory_path().with_extension("lock");
        let lock = self.disk.lock(&path, PATIENCE);
        lock.map_err(Doing::Creating.failed(&path))
    }

    /// Who this device is, under the lock: itself if its file is as it left it, else a new one.
    pub(super) fn claim(&mut self) -> Result<Device, StoreError> {
        let memory = self.memory_path();
        let known = device::recall(&*self.disk, &memory).map_err(Doing::Reading.failed(&memory))?;
        let device = match known.as_deref() {
            None => self.fresh()?,
            Some([]) => {
                let why = "what this device remembered about it is not readable";
                self.notices.push(renamed("", why));
                self.fresh()?
            }
            Some([device, ..]) => {
                let file = self.device_file(&device.name);
                let disagreement = device.disagreement(&*self.disk, &file);
                match disagreement.map_err(Doing::Reading.failed(&file))? {
                    None => device.clone(),
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
        let names = self.disk.list(&folder).map_err(Doing::Reading.failed(&folder))?;
        let names: Vec<String> =
            names.iter().map(|listed| listed.name.to_string_lossy().into_owned()).collect();
        let device = Device::new(|name| names.iter().any(|taken| taken.starts_with(name)));
        debug_assert!(is_device_name(&device.name));
        Ok(device)
    }

    /// Entries that say the same as `drafts` and of which this device never noted that they were
    /// saved: a try before this one, in another process, may have got through after all. They are
    /// told of and not dropped, since somebody may well do the same thing twice. And what such a try
    /// left unfinished, which is told this once.
    pub(super) fn tries_before(&self, drafts: &[Draft], device: &Device) -> Vec<Finding> {
        let path = self.device_file(&device.name);
        // What cannot be read is no reason not to write.
        let unsure = self.disk.read(&path, device.length, LARGEST_FILE).unwrap_or_default();
        let file = format!("journal/{}.ron", device.name);
        let source = SourceFile { file: file.clone(), bytes: unsure, own: true };
        let Journal { entries, findings, .. } = journal::read(&[source]);
        let same = |entry: &Entry, draft: &Draft| {
            entry.note == draft.note && entry.body == draft.body && entry.id.device == device.name
        };
        let again = entries.iter().filter(|entry| drafts.iter().any(|draft| same(entry, draft)));
        let again = again.map(|entry| {
            let when = entry.recorded.format("%-d %B %H:%M");
            let message = format!(
                "{} says the same: it was written on {when}, this device has no note that it was \
                 saved, and yet it is there. If this is it once more, take one of them back \
                 with `waystock undo`",
                entry.id
            );
            Finding::whole(FindingKind::Repeated, &file, message)
        });
        // The lines are counted from the last place that was noted, so that they say nothing.
        let torn = findings.iter().filter(|finding| finding.kind == FindingKind::Torn);
        let torn = torn.map(|f| Finding::whole(FindingKind::Torn, &file, f.message.clone()));
        torn.chain(again).collect()
    }

    /// Promises the entries' numbers, writes them, and has the disk confirm them.
    pub(super) fn commit(
        &self,
        mut device: Device,
        entries: &[Entry],
        count: Count,
    ) -> Result<(), StoreError> {
        let path = self.device_file(&device.name);
        let lines = lines(entries, count, &path)?;
        let own = entries.iter().filter(|entry| entry.id.device == device.name);
        device.promised =
            own.map(|entry| entry.id.sequence).fold(device.promised, std::cmp::Ord::max);
        let memory = self.memory_path();
        let noted = device.remember(&*self.disk, &memory, Confirm::Data);
        noted.map_err(Doing::Writing.failed(&memory))?;
        let length = self.write_confirmed(&path, &lines, device.length)?;
        device.wrote(length, &lines);
        self.keep(&lines);
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
            let now =
                disk::if_there(disk.mark(path)).map_err(|e| fail(true, Doing::Reading, &e))?;
            let same = |now: Mark| now.identity == mark.identity && now.length >= mark.length;
            if now.is_some_and(same) {
                return Ok(mark.length);
            }
        }
        let detail = "another program keeps replacing it";
        Err(StoreError::new(StoreErrorKind::Busy, path, detail).unsure())
    }

    /// Makes the file if it is not there; refuses a link, a pipe and a file that is too large.
    fn ensure_own_file(&self, path: &Path, adding: u64) -> Result<(), StoreError> {
        match disk::if_there(self.disk.mark(path)).map_err(Doing::Reading.failed(path))? {
            None => self.disk.create(path).map(drop).map_err(Doing::Creating.failed(path)),
            Some(mark) if !mark.regular => {
                Err(StoreError::new(StoreErrorKind::CannotWrite, path, "not a regular file"))
            }
            Some(mark) if mark.length + adding > LARGEST_FILE => {
                let detail = format!("it would pass {LARGEST_FILE} bytes");
                Err(StoreError::new(StoreErrorKind::TooLarge, path, detail))
            }
            Some(_) => Ok(()),
        }
    }
}

/// Entries for the drafts. What is written in one go carries one random part, by which one undo
/// knows all of it again.
pub(super) fn number(drafts: &[Draft], recorded: Moment, device: &Device) -> Vec<Entry> {
    let salt = device::random() as u32;
    let entry = |(draft, sequence): (&Draft, u64)| Entry {
        id: EntryId { device: device.name.clone(), sequence, salt },
        at: draft.at,
        recorded,
        note: draft.note.clone(),
        body: draft.body.clone(),
    };
    drafts.iter().zip(device.promised + 1..).map(entry).collect()
}

fn lines(entries: &[Entry], count: Count, path: &Path) -> Result<Vec<u8>, StoreError> {
    let mut lines = Vec::with_capacity(entries.len() * 160);
    for (place, entry) in entries.iter().enumerate() {
        let follow = (entries.len() - 1 - place) as u32;
        let more = (count == Count::Together && entries.len() > 1).then_some(follow);
        let line = line::write(entry, more);
        let line = line.map_err(|why| StoreError::new(StoreErrorKind::BadData, path, why))?;
        lines.extend_from_slice(line.as_bytes());
        lines.push(b'\n');
    }
    Ok(lines)
}
