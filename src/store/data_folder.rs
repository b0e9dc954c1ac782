//! A whole data folder: the rig file, the places, the journal, each with what is wrong with it.

use super::disk::Disk;
use super::error::{Doing, StoreError, StoreErrorKind};
use super::folder::Folder;
use super::journal::{Finding, FindingKind, Journal};
use super::reader::{FaultKind, RigFault};
use super::{maps_file, places_file, rig_file, settings_file};
use crate::domain::ahead::{Ahead, bring_back};
use crate::domain::mapping::Mapping;
use crate::domain::{IMPORT, Moment, Place, Rig};
use crate::text::looks::Looks;
use chrono::Duration;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// More than any rig or exchange file needs; keeps a wrong file from filling the memory.
const LARGEST_TEXT: u64 = 64 << 20;

/// A data folder at hand.
pub struct DataFolder {
    /// Its journal.
    pub journal: Folder,
    dir: PathBuf,
    disk: Arc<dyn Disk>,
}

/// What a data folder holds.
#[derive(Debug, Clone)]
pub struct Contents {
    /// The rig, with the places that the user knows.
    pub rig: Rig,
    /// Entries of all devices, and what was noticed on the way.
    pub journal: Journal,
    /// What is wrong with the places, which `rig` is then without.
    pub places_faults: Vec<RigFault>,
}

impl Contents {
    /// Has what a clock ahead of this one wrote count now, and notes whose it was. Not for a
    /// moment that was asked for: then what was recorded later does not exist.
    pub fn heed_clock(&mut self, clock: Moment) {
        for ahead in bring_back(&mut self.journal.entries, clock) {
            if ahead.by >= CLOCKS_DIFFER {
                self.journal.findings.push(told_ahead(&ahead));
            }
        }
    }
}

/// Clocks of devices that set them by the network differ by less (common practice, no source).
const CLOCKS_DIFFER: Duration = Duration::minutes(2);

fn told_ahead(ahead: &Ahead) -> Finding {
    let (file, what) = match ahead.device.as_str() {
        IMPORT => ("journal".to_string(), "row of exchange files"),
        device => (format!("journal/{device}.ron"), "entry"),
    };
    let many = match (ahead.entries, what) {
        (1, what) => format!("1 {what} has a time"),
        (n, "entry") => format!("{n} entries have times"),
        (n, _) => format!("{n} rows of exchange files have times"),
    };
    let minutes = ahead.by.num_minutes();
    let message = format!(
        "{many} ahead of this clock, by up to {} h {} min. What is ahead counts as written now. \
         Set the clocks right",
        minutes / 60,
        minutes % 60
    );
    Finding::whole(FindingKind::Ahead, &file, message)
}

/// Why a data folder cannot be used.
#[derive(Debug)]
pub enum FolderFault {
    /// There is no rig file in it.
    NoRig(PathBuf),
    /// The rig or places file says what it must not.
    Rig(Vec<RigFault>),
    /// A file cannot be read.
    Store(StoreError),
}

impl From<StoreError> for FolderFault {
    fn from(error: StoreError) -> FolderFault {
        FolderFault::Store(error)
    }
}

fn is_newer(faults: &[RigFault]) -> bool {
    faults.iter().any(|fault| fault.kind == FaultKind::Newer)
}

impl FolderFault {
    /// What is wrong in a file that was read.
    ///
    /// # Errors
    /// What has nothing to do with what it says.
    pub fn in_file<T>(read: Result<T, FolderFault>) -> Result<Vec<RigFault>, FolderFault> {
        match read {
            Ok(_) => Ok(Vec::new()),
            Err(FolderFault::Rig(faults)) => Ok(faults),
            Err(other) => Err(other),
        }
    }

    /// The exit code that the contract gives to it.
    pub fn exit_code(&self) -> u8 {
        match self {
            FolderFault::NoRig(_) => 66,
            FolderFault::Rig(faults) if is_newer(faults) => 76,
            FolderFault::Rig(_) => 65,
            FolderFault::Store(error) => error.exit_code(),
        }
    }
}

impl DataFolder {
    /// The folder at `dir`; see [`Folder::open`]. Touches no file.
    pub fn at(dir: &Path, state_dir: &Path, disk: Arc<dyn Disk>) -> DataFolder {
        let journal = Folder::open(dir, state_dir, Arc::clone(&disk));
        DataFolder { journal, dir: dir.to_path_buf(), disk }
    }

    /// Its path.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// Reads everything. Damaged journal lines are findings, not errors.
    pub fn load(&mut self) -> Result<Contents, FolderFault> {
        self.load_since(|_| None)
    }

    /// The same without the entries of before a moment that nothing later rests on; `since` says
    /// which, once the rig is known.
    pub fn load_since(
        &mut self,
        since: impl FnOnce(&Rig) -> Option<Moment>,
    ) -> Result<Contents, FolderFault> {
        let (rig, places_faults) = self.load_rig()?;
        let journal = match self.journal.load_since(since(&rig)) {
            Ok(journal) => journal,
            Err(error) if error.kind == StoreErrorKind::Missing => Journal::default(),
            Err(error) => return Err(error.into()),
        };
        Ok(Contents { rig, journal, places_faults })
    }

    /// A number that changes when any file of the folder does, as far as names and lengths tell.
    pub fn stamp(&self) -> u64 {
        let length = |name| self.disk.mark(&self.dir.join(name)).map_or(u64::MAX, |m| m.length);
        self.journal.stamp()
            ^ length("rig.ron").rotate_left(16)
            ^ length("places.ron").rotate_left(32)
    }

    /// Adds places to `places.ron`, keeping what a person wrote in it, in one piece or not at
    /// all. Names that are there already are left out; returns how many were added.
    ///
    /// # Errors
    /// When the file is at fault or cannot be written; it is then as it was.
    pub fn add_places(&self, places: &[Place]) -> Result<usize, FolderFault> {
        let path = self.dir.join("places.ron");
        let (text, added) = self.with_places(places)?;
        if added > 0 {
            super::disk::replace(&*self.disk, &path, text.as_bytes())
                .map_err(Doing::Writing.failed(&path))?;
        }
        Ok(added)
    }

    /// How many places [`DataFolder::add_places`] would add.
    ///
    /// # Errors
    /// When the file is at fault.
    pub fn new_places(&self, places: &[Place]) -> Result<usize, FolderFault> {
        self.with_places(places).map(|(_, added)| added)
    }

    /// The text of `places.ron` with places added, and how many of them were not in it.
    fn with_places(&self, places: &[Place]) -> Result<(String, usize), FolderFault> {
        let path = self.dir.join("places.ron");
        let text = self.text_of(&path)?;
        let mut text = text.unwrap_or_else(|| super::templates::PLACES.to_string());
        let mut known = places_file::parse(&text, &path).map_err(FolderFault::Rig)?;
        let before = known.len();
        for place in places {
            if known.iter().any(|k| k.name.eq_ignore_ascii_case(&place.name)) {
                continue;
            }
            let value = places_file::written(place);
            text = super::rig_edit::append(&text, "places", &value)
                .map_err(|fault| StoreError::new(StoreErrorKind::BadData, &path, fault))?;
            known.push(place.clone());
        }
        places_file::parse(&text, &path).map_err(FolderFault::Rig)?;
        Ok((text, known.len() - before))
    }

    /// The maps of `maps.ron`, by which rows of other machines become readings; none where there is
    /// no such file.
    ///
    /// # Errors
    /// When the file is at fault or cannot be read.
    pub fn maps(&self, rig: &Rig) -> Result<Vec<Mapping>, FolderFault> {
        let maps = self.read("maps.ron", |text, path| maps_file::parse(text, path, rig));
        maps.map(Option::unwrap_or_default)
    }

    /// What `settings.ron` chooses of the looks; the usual where there is no such file.
    ///
    /// # Errors
    /// When the file is at fault or cannot be read.
    pub fn settings(&self) -> Result<Looks, FolderFault> {
        self.read("settings.ron", settings_file::parse).map(Option::unwrap_or_default)
    }

    /// Where `places.ron` names no service; nothing where there is no such file.
    pub fn places_without_services(&self) -> Vec<RigFault> {
        let path = self.dir.join("places.ron");
        let text = read_text(&*self.disk, &path).unwrap_or_default();
        if text.is_empty() { Vec::new() } else { places_file::without_services(&text, &path) }
    }

    /// Where the list of places stands: `places.ron:3:10`; the file alone where it is not there.
    pub fn places_at(&self) -> String {
        let path = self.dir.join("places.ron");
        let text = read_text(&*self.disk, &path).unwrap_or_default();
        match places_file::list_at(&text, &path) {
            Some((line, column)) => format!("places.ron:{line}:{column}"),
            None => "places.ron".to_string(),
        }
    }

    /// Reads the rig and the places. What is wrong with the places is given beside a rig without
    /// them, since most of what people do needs none; but for places of a newer version.
    pub fn load_rig(&self) -> Result<(Rig, Vec<RigFault>), FolderFault> {
        let no_rig = || FolderFault::NoRig(self.dir.join("rig.ron"));
        let mut rig = self.read("rig.ron", rig_file::parse)?.ok_or_else(no_rig)?;
        match self.read("places.ron", places_file::parse) {
            Ok(places) => {
                let mut places = places.unwrap_or_default();
                let names = places.iter_mut().flat_map(|place| &mut place.stocks);
                names.for_each(|name| places_file::as_the_rig_says(name, &rig.parts.stocks));
                rig.places = places;
            }
            Err(FolderFault::Rig(faults)) if !is_newer(&faults) => return Ok((rig, faults)),
            Err(fault) => return Err(fault),
        }
        Ok((rig, Vec::new()))
    }

    /// What a file of the folder holds; `None` where there is no such file.
    fn read<T>(
        &self,
        name: &str,
        parse: impl FnOnce(&str, &Path) -> Result<T, Vec<RigFault>>,
    ) -> Result<Option<T>, FolderFault> {
        let path = self.dir.join(name);
        let text = self.text_of(&path)?;
        text.map(|text| parse(&text, &path).map_err(FolderFault::Rig)).transpose()
    }

    /// The text of a file; `None` where there is no such file.
    fn text_of(&self, path: &Path) -> Result<Option<String>, StoreError> {
        match read_text(&*self.disk, path) {
            Err(error) if error.kind == StoreErrorKind::Missing => Ok(None),
            other => other.map(Some),
        }
    }

    /// The text of the rig file.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn rig_text(&self) -> Result<String, StoreError> {
        read_text(&*self.disk, &self.dir.join("rig.ron"))
    }

    /// Writes `after` in place of the rig file if it still says `before`, in one piece. Whether it
    /// did: what somebody else wrote meanwhile is left as it is.
    ///
    /// # Errors
    /// When the file cannot be read or written.
    pub fn change_rig(&self, before: &str, after: &str) -> Result<bool, StoreError> {
        if self.rig_text()? != before {
            return Ok(false);
        }
        let path = self.dir.join("rig.ron");
        super::disk::replace(&*self.disk, &path, after.as_bytes())
            .map_err(Doing::Writing.failed(&path))?;
        Ok(true)
    }

    /// Writes the first rig file of a new folder.
    ///
    /// # Errors
    /// [`StoreErrorKind::CannotCreate`] when there is one already: nothing is overwritten.
    pub fn create_rig(&self, text: &str) -> Result<PathBuf, StoreError> {
        let path = self.dir.join("rig.ron");
        let failed = Doing::Creating.failed(&path);
        super::disk::ensure_folder(&*self.disk, &self.dir).map_err(&failed)?;
        if super::disk::if_there(self.disk.mark(&path)).map_err(&failed)?.is_some() {
            let detail = "there is a rig file already, and it is left as it is";
            return Err(StoreError::new(StoreErrorKind::CannotCreate, &path, detail));
        }
        // Whole or not at all: half a rig file would block every command.
        super::disk::replace(&*self.disk, &path, text.as_bytes()).map_err(&failed)?;
        super::disk::sync_chain(&*self.disk, &self.dir).map_err(&failed)?;
        Ok(path.clone())
    }
}

/// The text of a file.
pub fn read_text(disk: &dyn Disk, path: &Path) -> Result<String, StoreError> {
    let failed = Doing::Reading.failed(path);
    let mark = disk.mark(path).map_err(&failed)?;
    if mark.length > LARGEST_TEXT {
        let detail = format!("{} bytes, expected at most {LARGEST_TEXT}", mark.length);
        return Err(StoreError::new(StoreErrorKind::TooLarge, path, detail));
    }
    let bytes = disk.read(path, 0, LARGEST_TEXT).map_err(&failed)?;
    String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let before = &error.as_bytes()[..at];
        let line = before.iter().filter(|b| **b == b'\n').count() as u64 + 1;
        let start = before.iter().rposition(|b| *b == b'\n').map_or(0, |p| p + 1);
        StoreError::new(StoreErrorKind::BadData, path, "found bytes that are not UTF-8 text")
            .at(line, (at - start) as u64 + 1)
    })
}

/// A finding as one line: `journal/phone.ron:12:3: ...`.
pub fn describe(finding: &Finding) -> String {
    match (finding.line, finding.column) {
        (0, _) => format!("{}: {}", finding.file, finding.message),
        (line, 0) => format!("{}:{line}: {}", finding.file, finding.message),
        (line, column) => format!("{}:{line}:{column}: {}", finding.file, finding.message),
    }
}
