//! Who this device is in a data folder, and what it remembers about its own file.
//!
//! Two devices must never write one file. So the name is random and is kept, with the last
//! sequence number and the file's length, in a state folder that is not synced with the data.
//! When the file disagrees with that memory (a restored backup, the image of a disk in another
//! machine), the device goes on under a new name.
//!
//! The names that it gave up are remembered as well, each with how its file was left, until the
//! user says that what became of them is settled.
//!
//! The memory is a log of its own: before an entry is written, a line promises its number and is
//! confirmed by the disk; afterwards a line notes the new length, unconfirmed. The last whole line
//! counts. A crash between the two leaves a file that is longer than noted, but holds no number
//! that was not promised.

use super::disk::{self, Confirm, Disk};
use super::journal::LARGEST_FILE;
use super::line::{self, LineRead};
use super::record::is_device_name;
use serde::Deserialize;
use std::hash::{BuildHasher, Hasher, RandomState};
use std::io;
use std::path::Path;

/// How many bytes at the end of the own file are remembered as a checksum.
const TAIL: u64 = 64;

/// No device writes so many entries; a number above it is no promise of ours, and counting on from
/// it would pass the largest number that there is.
const MOST_PROMISED: u64 = 1 << 53;

/// Above this length the memory is started afresh with the last line of each name.
const LONGEST_MEMORY: u64 = 64 * 1024;

/// What a device remembers about itself in one data folder.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Device {
    /// Its name, `[a-z0-9-]{1,64}`.
    #[serde(rename = "device")]
    pub name: String,
    /// The highest sequence number that may be in its file.
    pub promised: u64,
    /// Length of its file when it last wrote there; 0 before the first time.
    pub length: u64,
    /// CRC-32 of the last bytes of that length.
    pub tail: u32,
}

/// Reads the memory at `path`, as [`remembered`]; `None` where this device has not written there.
pub(super) fn recall(disk: &dyn Disk, path: &Path) -> io::Result<Option<Vec<Device>>> {
    let memory = disk::if_there(disk.read(path, 0, 16 * LONGEST_MEMORY))?;
    Ok(memory.filter(|bytes| !bytes.is_empty()).map(|bytes| remembered(&bytes)))
}

/// The device as a memory knows it, then the names that it wrote under before, each as it was left:
/// the last whole line of each name counts. Empty where no line is whole.
pub fn remembered(memory: &[u8]) -> Vec<Device> {
    let mut all: Vec<Device> = Vec::new();
    for device in memory.split(|b| *b == b'\n').rev().filter_map(parse) {
        if all.iter().all(|known| known.name != device.name) {
            all.push(device);
        }
    }
    all
}

/// A memory that says no more than this: one line for each name.
pub fn written(all: &[Device]) -> String {
    all.iter().rev().map(Device::line).collect()
}

fn parse(line: &[u8]) -> Option<Device> {
    line::unseal(line).ok()?;
    let device: Device = ron::de::from_bytes(line).ok()?;
    (device.promised <= MOST_PROMISED && is_device_name(&device.name)).then_some(device)
}

impl Device {
    /// A device that has not written yet, under a random name that `taken` does not refuse.
    pub fn new(taken: impl Fn(&str) -> bool) -> Device {
        loop {
            let name = random_name(random());
            if !taken(&name) {
                return Device { name, promised: 0, length: 0, tail: 0 };
            }
        }
    }

    /// Adds what is known now to the memory at `path`.
    pub fn remember(&self, disk: &dyn Disk, path: &Path, confirm: Confirm) -> io::Result<()> {
        let line = self.line();
        match disk::if_there(disk.mark(path))? {
            None => drop(disk.create(path)?),
            Some(mark) if mark.length > LONGEST_MEMORY => {
                let known = disk.read(path, 0, 16 * LONGEST_MEMORY)?;
                let all = remembered(&[&known, &b"\n"[..], line.as_bytes()].concat());
                return disk::replace(disk, path, written(&all).as_bytes());
            }
            Some(_) => {}
        }
        disk::append(disk, path, line.as_bytes(), 0, confirm).map_err(|(_, error)| error)?;
        // Until the first entry is acknowledged, the memory's own name may not be down yet.
        match (self.length, confirm) {
            (0, Confirm::Data) => disk::sync_chain(disk, path.parent().unwrap_or(path)),
            _ => Ok(()),
        }
    }

    fn line(&self) -> String {
        let Device { name, promised, length, tail } = self;
        let body = format!("(v:1,device:{name:?},promised:{promised},length:{length},tail:{tail}");
        line::seal(body) + "\n"
    }

    /// This device with its file noted as it is now, whatever became of what was in it.
    pub(super) fn as_found(&self, disk: &dyn Disk, path: &Path) -> io::Result<Device> {
        let mut found = Device { length: 0, tail: 0, ..self.clone() };
        if let Some(mark) = disk::if_there(disk.mark(path))?.filter(|mark| mark.regular) {
            let from = mark.length.saturating_sub(TAIL);
            found.wrote(mark.length, &disk.read(path, from, TAIL)?);
        }
        Ok(found)
    }

    /// Notes that the own file is now `length` long and ends in `lines`.
    pub fn wrote(&mut self, length: u64, lines: &[u8]) {
        self.length = length;
        let from = lines.len().saturating_sub(TAIL as usize);
        self.tail = crc32fast::hash(&lines[from..]);
    }

    /// Why the file at `path` is not as this device left it, if it is not.
    pub(super) fn disagreement(&self, disk: &dyn Disk, path: &Path) -> io::Result<Option<String>> {
        let mark = disk::if_there(disk.mark(path))?;
        if mark.is_some_and(|mark| !mark.regular) {
            return Ok(Some("it is no longer a file".into()));
        }
        let found = mark.map_or(0, |mark| mark.length);
        if found < self.length {
            let lost = format!("it was {} bytes long and is now {found}", self.length);
            return Ok(Some(lost));
        }
        let from = self.length.saturating_sub(TAIL);
        if found == 0 {
            return Ok(None);
        }
        let bytes = disk.read(path, from, LARGEST_FILE)?;
        let (known, added) = bytes.split_at(((self.length - from) as usize).min(bytes.len()));
        if self.length > 0 && crc32fast::hash(known) != self.tail {
            return Ok(Some("its last record is not the one that was written".into()));
        }
        let foreign = |line: &[u8]| match line::read(line) {
            LineRead::Entry(entry, _) => {
                entry.id.device == self.name && entry.id.sequence > self.promised
            }
            _ => false,
        };
        let foreign = added.split(|b| *b == b'\n').any(foreign);
        Ok(foreign.then(|| format!("it holds records after {} from elsewhere", self.promised)))
    }
}

/// 64 random bits from the system.
pub fn random() -> u64 {
    RandomState::new().build_hasher().finish()
}

/// Three syllables and four digits, `kalumo-3f9a`: short to say and to type, and one in ten
/// thousand million.
fn random_name(mut bits: u64) -> String {
    const STARTS: &[u8; 16] = b"bdfgklmnprstvwzj";
    const VOWELS: &[u8; 4] = b"aeiu";
    let mut name = String::new();
    for _ in 0..3 {
        name.push(char::from(STARTS[(bits % 16) as usize]));
        name.push(char::from(VOWELS[(bits / 16 % 4) as usize]));
        bits /= 64;
    }
    format!("{name}-{:04x}", bits & 0xffff)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::record::is_device_name;

    #[test]
    fn names_are_safe_file_names_and_differ() {
        let names: std::collections::HashSet<String> =
            (0..200).map(|_| Device::new(|_| false).name).collect();
        assert_eq!(names.len(), 200);
        assert!(names.iter().all(|name| is_device_name(name)));
    }

    #[test]
    fn a_taken_name_is_not_used_again() {
        let asked = std::cell::Cell::new(0);
        Device::new(|_| asked.replace(asked.get() + 1) < 3);
        assert_eq!(asked.get(), 4);
    }
}
