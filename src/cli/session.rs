//! What every command needs: the folder, the moment that counts as now, the options.

use super::args::Common;
use super::progress_line::waiting;
use super::{Failure, Output};
use crate::belief::practice::MEMORY_DAYS;
use crate::belief::{self, Beliefs};
use crate::domain::{Moment, Rig, Standing, journal};
use crate::forecast::{Evening, Options, evening};
use crate::logline::Vocabulary;
use crate::store::data_folder::{Contents, DataFolder, FolderFault, describe};
use crate::store::disk::Disk;
use chrono::Duration;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What is remembered begins on a full hour, rows of weather speak of days around, and plans of
/// hours.
const TO_SPARE_DAYS: i64 = 10;

/// Where a command works, and when.
pub struct Session {
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

impl Session {
    /// What a command works on in the data folder `dir`, with nobody to ask. `state_dir` holds what
    /// this machine remembers.
    pub fn of(dir: &Path, state_dir: &Path, disk: Arc<dyn Disk>, clock: Moment) -> Session {
        Session {
            folder: DataFolder::at(dir, state_dir, Arc::clone(&disk)),
            state_dir: state_dir.to_path_buf(),
            disk,
            clock,
            common: Common::default(),
            interactive: false,
            zone: None,
        }
    }

    /// The moment that counts as now: `--at`, else a demo's own evening, else the clock.
    pub fn now(&self, rig: &Rig) -> Moment {
        rig.now(self.common.at, self.clock)
    }

    /// Reads the folder.
    ///
    /// # Errors
    /// Also when the places are at fault: an answer may rest on them.
    pub fn load(&mut self) -> Result<Contents, Failure> {
        with_places(self.load_without_places()?)
    }

    /// Reads of the folder what an answer about now, or about one of the last `evenings`, rests
    /// on: of a journal of many years a small part.
    ///
    /// # Errors
    /// Also when the places are at fault: an answer may rest on them.
    pub(super) fn load_for_answer(&mut self, evenings: usize) -> Result<Contents, Failure> {
        let (at, clock) = (self.common.at, self.clock);
        let memory = Duration::days(evenings as i64 + MEMORY_DAYS + TO_SPARE_DAYS);
        let since = |rig: &Rig| rig.now(at, clock).checked_sub_signed(memory);
        let contents = self.folder.load_since(since)?;
        with_places(self.heeding_clock(contents))
    }

    /// Reads the folder for what needs no places, whatever is wrong with them.
    pub fn load_without_places(&mut self) -> Result<Contents, FolderFault> {
        let contents = self.folder.load()?;
        Ok(self.heeding_clock(contents))
    }

    fn heeding_clock(&self, mut contents: Contents) -> Contents {
        if self.common.at.is_none() && contents.rig.evening.is_none() {
            contents.heed_clock(self.clock);
        }
        contents
    }

    /// Answers the evening of a loaded folder.
    ///
    /// # Errors
    /// When a level comes out as no number: unknown, and not to be taken for far away.
    pub fn evening(&self, contents: &Contents) -> Result<Evening, Failure> {
        let options = self.options(&contents.rig);
        let told =
            |seconds| format!("running {} lives, {seconds} s; Ctrl-C gives up", options.lives);
        // On one of the threads that share the work, so that none is woken for every part of it.
        let answer =
            || rayon::scope(|_| evening(&contents.rig, &contents.journal.entries, options));
        let evening = waiting(told, answer);
        known(evening.forecast.unknown()).map(|()| evening)
    }

    /// What the journal says stands now, and what it teaches.
    ///
    /// # Errors
    /// When a level comes out as no number: unknown, and not to be taken for far away.
    pub(super) fn learned(&self, contents: &Contents) -> Result<(Vec<Standing>, Beliefs), Failure> {
        let now = self.now(&contents.rig);
        let standing = journal::standing(&contents.journal.entries, now);
        let learn = || belief::learn(&contents.rig, &standing, now, self.common.seed);
        let beliefs = rayon::scope(|_| learn());
        known(beliefs.unknown()).map(|()| (standing, beliefs))
    }

    /// Notes that entries were saved, and says what was noticed on the way: a device that goes on
    /// under a new name.
    pub(super) fn after_saving(&mut self, out: &mut Output) {
        out.saved();
        for notice in self.folder.journal.take_notices() {
            out.say(&describe(&notice));
        }
    }

    /// Says what was done: in one line, or as JSON where that is asked for.
    pub(super) fn result(&self, value: &Value, line: &str, out: &mut Output) {
        if self.common.json { out.json(value) } else { out.line(line) }
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

fn with_places(contents: Contents) -> Result<Contents, Failure> {
    match contents.places_faults.is_empty() {
        true => Ok(contents),
        false => Err(FolderFault::Rig(contents.places_faults).into()),
    }
}

/// Refuses to answer where the level of a stock is unknown.
///
/// # Errors
/// Names that stock.
pub fn known(unknown: Option<&str>) -> Result<(), Failure> {
    let Some(stock) = unknown else { return Ok(()) };
    let message = format!("the level of {stock} is no number, so nothing can be said of it");
    Err(Failure::new(65, message)
        .hint("Look in rig.ron and in the journal for a number that is out of all proportion."))
}

/// The place among `names` of the stock that `name` means, as a log line would understand it.
///
/// # Errors
/// What is expected, where it means none of them.
pub(super) fn find_stock(known: &Vocabulary, names: &[&str], name: &str) -> Result<usize, Failure> {
    let meant = known.stock_named(name.trim()).unwrap_or_default();
    names.iter().position(|own| *own == meant).ok_or_else(|| {
        let near = Vocabulary::nearest(name, names.iter().copied()).into_iter().next();
        let hint = near.map(|near| format!("Did you mean {near}?"));
        Failure { hint, ..Failure::found("", name, &format!("a stock: {}", names.join(", "))) }
    })
}

/// The words that the rig of a folder knows.
pub fn vocabulary(contents: &Contents, now: Moment) -> Vocabulary {
    Vocabulary::at(&contents.rig, &contents.journal.entries, now)
}
