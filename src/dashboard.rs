//! Where the dashboard meets the world: the data folder and the clock. Words and forecasts are
//! those that [`Host`] gives by itself.

use crate::cli::{Failure, Session};
use crate::domain::{Draft, Entry, Moment, Rig};
use crate::setup::Machine;
use crate::store::data_folder::{FolderFault, describe};
use crate::tui::Host;
use crate::tui::host::Loaded;
use std::sync::{Mutex, MutexGuard};

/// The real world behind the dashboard.
pub struct Stage {
    session: Mutex<Session>,
    /// What replaces the clock.
    at: Option<Moment>,
    clock: fn() -> Moment,
    /// The rig as last read, for its zone and evening: the clock must not wait for the disk.
    known: Mutex<Option<Rig>>,
    /// What was noticed while saving: told until the dashboard is left.
    noticed: Mutex<Vec<String>>,
}

/// The exit code for a folder of a newer version.
const NEWER: u8 = 76;

impl Stage {
    /// A stage on what commands work on, with the clock as it goes on.
    pub fn new(session: Session, clock: fn() -> Moment) -> Stage {
        let (at, session) = (session.common.at, Mutex::new(session));
        Stage { session, at, clock, known: Mutex::default(), noticed: Mutex::default() }
    }
}

/// What is behind `mutex`, also after a thread failed while it held it.
fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(|poisoned| poisoned.into_inner())
}

/// A failure as one sentence for the status line.
fn sentence(failure: impl Into<Failure>) -> String {
    let failure = failure.into();
    let mut text = failure.messages.join("; ");
    if let Some(hint) = failure.hint {
        text.push_str(". ");
        text.push_str(&hint);
    }
    text
}

impl Host for Stage {
    fn now(&self) -> Moment {
        let clock = (self.clock)();
        match &*held(&self.known) {
            Some(rig) => rig.now(self.at, clock),
            None => self.at.unwrap_or(clock),
        }
    }

    fn load(&self) -> Result<Loaded, String> {
        let mut session = held(&self.session);
        session.clock = (self.clock)();
        let contents = session.load_without_places().map_err(sentence)?;
        let folder = &session.folder;
        let places = contents.places_faults.iter().map(ToString::to_string);
        let findings =
            places.chain(contents.journal.findings.iter().filter(|f| f.is_news()).map(describe));
        let settings = FolderFault::in_file(folder.settings()).map_err(sentence)?;
        let findings = settings.iter().map(ToString::to_string).chain(findings);
        let findings = held(&self.noticed).iter().cloned().chain(findings).collect();
        *held(&self.known) = Some(contents.rig.clone());
        let dir = folder.dir().display().to_string();
        let device = folder.journal.device().unwrap_or_default().to_string();
        let newer = "a newer version of the program wrote here".to_string();
        Ok(Loaded {
            rig: contents.rig,
            rig_text: folder.rig_text().map_err(sentence)?,
            entries: contents.journal.entries,
            findings,
            device,
            read_only: contents.journal.read_only.then_some(newer),
            places: vec![
                ("data folder".to_string(), dir),
                (
                    "what this machine remembers".to_string(),
                    session.state_dir.display().to_string(),
                ),
            ],
        })
    }

    fn missing(&self) -> Option<Machine> {
        let today = self.now().date_naive();
        let session = held(&self.session);
        matches!(session.folder.load_rig(), Err(FolderFault::NoRig(_)))
            .then(|| Machine { zone: session.zone.clone(), today })
    }

    fn write_rig(&self, before: Option<&str>, after: &str) -> Result<(), String> {
        let folder = &held(&self.session).folder;
        let Some(before) = before else {
            return folder.create_rig(after).map(|_| ()).map_err(sentence);
        };
        match folder.change_rig(before, after) {
            Ok(true) => Ok(()),
            Ok(false) => Err("rig.ron was changed elsewhere; nothing was written".to_string()),
            Err(error) => Err(sentence(error)),
        }
    }

    fn stamp(&self) -> u64 {
        held(&self.session).folder.stamp()
    }

    fn append(&self, drafts: &[Draft]) -> Result<Vec<Entry>, String> {
        let recorded = self.now();
        let folder = &mut held(&self.session).folder;
        // A newer version may have written the rig since it was read, and then rules the folder.
        match folder.load_rig() {
            Err(newer) if newer.exit_code() == NEWER => return Err(sentence(newer)),
            _ => {}
        }
        let written = folder.journal.append(drafts, recorded).map_err(sentence);
        held(&self.noticed).extend(folder.journal.take_notices().iter().map(describe));
        written
    }
}
