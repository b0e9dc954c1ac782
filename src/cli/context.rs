//! What every command needs: the folder, the moment that counts as now, the options.

use super::args::Common;
use super::failure::Failure;
use crate::domain::rig::Rig;
use crate::domain::time::Moment;
use crate::forecast::answer::{Evening, Options};
use crate::forecast::evening;
use crate::logline::vocabulary::Vocabulary;
use crate::store::data_folder::{Contents, DataFolder};
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
}

impl Context {
    /// The moment that counts as now: `--at`, else a demo's own evening, else the clock.
    pub fn now(&self, rig: &Rig) -> Moment {
        now(self.common.at, rig, self.clock)
    }

    /// Reads the folder.
    pub fn load(&mut self) -> Result<Contents, Failure> {
        Ok(self.folder.load()?)
    }

    /// Answers the evening of a loaded folder.
    pub fn evening(&self, contents: &Contents) -> Evening {
        evening(&contents.rig, &contents.journal.entries, self.options(&contents.rig))
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

/// The moment that counts as now; see [`Context::now`].
pub fn now(at: Option<Moment>, rig: &Rig, clock: Moment) -> Moment {
    let moment = at.or(rig.evening).unwrap_or(clock);
    // Written in the van's own offset, so that weekdays and clock times are the crew's.
    rig.zone(moment).here(moment)
}

/// The words that a rig knows, for people aboard at `now`.
pub fn vocabulary(contents: &Contents, now: Moment) -> Vocabulary {
    let standing = crate::domain::journal::standing(&contents.journal.entries, now);
    let timeline = crate::domain::timeline::Timeline::of(&contents.rig, &standing);
    let aboard = crate::domain::quantity::Amount::from_f64(timeline.aboard(now));
    Vocabulary::new(&contents.rig, contents.rig.zone(now)).with_aboard(aboard.unwrap_or_default())
}
