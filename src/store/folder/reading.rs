//! Reading a folder: the union of all devices' files, and whether this device's are as it left them.

use super::held::{Folder, renamed};
use super::kept;
use crate::domain::Moment;
use crate::domain::hash::fnv_1a;
use crate::store::device::Device;
use crate::store::disk::if_there;
use crate::store::error::{Doing, StoreError};
use crate::store::journal::{self, Finding, FindingKind, Journal, LARGEST_FILE, SourceFile};
use std::io;
use std::path::Path;

impl Folder {
    /// Reads the union of all devices' files, and changes nothing. A file that cannot be read is
    /// a finding; only a journal folder that cannot be listed is an error.
    pub fn load(&mut self) -> Result<Journal, StoreError> {
        self.load_since(None)
    }

    /// The same without the entries of before `since` that nothing later rests on, for answers
    /// about now from journals of many years.
    pub(in crate::store) fn load_since(
        &mut self,
        since: Option<Moment>,
    ) -> Result<Journal, StoreError> {
        let mut findings = Vec::new();
        self.stamp = self.stamp();
        let own = self.own_names();
        self.device = own.first().map(|device| device.name.clone());
        let changed = self.changed(&own, &mut findings);
        let sources = self.sources(&own, &mut findings)?;
        // What is missing can only be told from all that is there.
        let mut journal = journal::read_since(&sources, since.filter(|_| !changed));
        if changed {
            findings.push(kept::finding(self.lost(&journal).map(|lost| lost.len())));
        }
        findings.append(&mut journal.findings);
        journal.findings = findings;
        self.read_only = Some(journal.read_only);
        Ok(journal)
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
        fnv_1a(&bytes)
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

    /// The journal's files by name.
    fn sources(
        &self,
        own: &[Device],
        findings: &mut Vec<Finding>,
    ) -> Result<Vec<SourceFile>, StoreError> {
        let folder = self.journal_dir();
        let names = if_there(self.disk.list(&folder)).map_err(Doing::Reading.failed(&folder))?;
        let mut names = names.unwrap_or_default();
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
            match if_there(self.contents(&folder.join(&listed.name))) {
                Ok(Some(bytes)) => {
                    let own = own.contains(&name);
                    sources.push(SourceFile { file, bytes, own });
                }
                // Renamed or removed by a syncer since the folder was listed.
                Ok(None) => {}
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
