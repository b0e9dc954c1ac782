//! What every command needs: the folder, the moment that counts as now, the options.

use super::args::Common;
use super::failure::Failure;
use super::output::Output;
use crate::domain::rig::Rig;
use crate::domain::time::Moment;
use crate::forecast::answer::{Evening, Options};
use crate::forecast::evening;
use crate::logline::Vocabulary;
use crate::store::data_folder::{Contents, DataFolder, describe};
use crate::store::disk::Disk;
use std::path::PathBuf;
use std::sync::Arc;

/// Where a command works, and when.
pub struct Context {
    /// The data folder.
    pub folder: DataFolder,
    /// What this machine remembers, outside the data folder.
    pub state_dir: PathBuf,
    /// The disk itself, for files outside the data folder.
    pub disk: Arc<dyn Disk>,
    /// The clock when the program started.
    pub clock: Moment,
    /// Options on every command.
    pub common: Common,
    /// Whether a person sits at the keyboard.
    pub interactive: bool,
    /// The time zone of this machine, by its name in the IANA database.
    pub zone: Option<String>,
}

impl Context {
    /// The moment that counts as now: `--at`, else a demo's own evening, else the clock.
    pub fn now(&self, rig: &Rig) -> Moment {
        rig.now(self.common.at, self.clock)
    }

    /// Reads the folder.
    pub fn load(&mut self) -> Result<Contents, Failure> {
        Ok(self.folder.load()?)
    }

    /// Answers the evening of a loaded folder.
    pub fn evening(&self, contents: &Contents) -> Evening {
        evening(&contents.rig, &contents.journal.entries, self.options(&contents.rig))
    }

    /// Notes that entries were saved, and says what was noticed on the way: a device that goes on
    /// under a new name.
    pub fn after_saving(&mut self, out: &mut Output) {
        out.saved();
        for notice in self.folder.journal.take_notices() {
            out.say(&describe(&notice));
        }
    }

    /// The options of a forecast.
    pub fn options(&self, rig: &Rig) -> Options {
        Options {
            seed: self.common.seed,
            lives: self.common.lives as usize,
            ..Options::at(self.now(rig))
        }
    }
}

/// The words that the rig of a folder knows.
pub fn vocabulary(contents: &Contents, now: Moment) -> Vocabulary {
    Vocabulary::at(&contents.rig, &contents.journal.entries, now)
}
