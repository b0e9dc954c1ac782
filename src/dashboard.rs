//! Where the dashboard meets the world: the data folder, the words, the forecast, the clock.

use crate::cli::failure::Failure;
use crate::domain::entry::{Entry, Event};
use crate::domain::rig::Rig;
use crate::domain::time::Moment;
use crate::forecast::answer::{Evening, Options};
use crate::logline::Vocabulary;
use crate::logline::{self, Understood};
use crate::store::data_folder::{DataFolder, describe};
use crate::store::folder;
use crate::tui::backstage::{self, Backstage, Completion, Draft, Loaded, Misread};
use std::path::PathBuf;
use std::sync::{Mutex, MutexGuard};

/// The real world behind the dashboard.
pub struct Stage {
    folder: Mutex<DataFolder>,
    state_dir: PathBuf,
    at: Option<Moment>,
    clock: fn() -> Moment,
    /// Rig and words as last read: what is typed on every key must not wait for the disk.
    known: Mutex<Option<(Rig, Vocabulary)>>,
}

impl Stage {
    /// A stage on `folder`. `at` replaces the clock when it is given.
    pub fn new(
        folder: DataFolder,
        state_dir: PathBuf,
        at: Option<Moment>,
        clock: fn() -> Moment,
    ) -> Stage {
        Stage { folder: Mutex::new(folder), state_dir, at, clock, known: Mutex::new(None) }
    }

    fn folder(&self) -> MutexGuard<'_, DataFolder> {
        self.folder.lock().unwrap_or_else(|poisoned| poisoned.into_inner())
    }

    fn known(&self) -> MutexGuard<'_, Option<(Rig, Vocabulary)>> {
        self.known.lock().unwrap_or_else(|poisoned| poisoned.into_inner())
    }

    /// Does something with the words of `rig`: those at hand if they are its own.
    fn with_words<T>(&self, rig: &Rig, now: Moment, act: impl FnOnce(&Vocabulary) -> T) -> T {
        match &*self.known() {
            Some((known, words)) if known == rig => act(words),
            _ => act(&Vocabulary::new(rig, rig.zone(now))),
        }
    }
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

impl Backstage for Stage {
    fn now(&self) -> Moment {
        let clock = (self.clock)();
        match &*self.known() {
            Some((rig, _)) => rig.now(self.at, clock),
            None => self.at.unwrap_or(clock),
        }
    }

    fn load(&self) -> Result<Loaded, String> {
        let mut folder = self.folder();
        let contents = folder.load().map_err(sentence)?;
        let clock = (self.clock)();
        let now = contents.rig.now(self.at, clock);
        let words = Vocabulary::at(&contents.rig, &contents.journal.entries, now);
        *self.known() = Some((contents.rig.clone(), words));
        let dir = folder.dir().display().to_string();
        let device = folder.journal.device().unwrap_or_default().to_string();
        let newer = "a newer version of the program wrote here".to_string();
        Ok(Loaded {
            rig: contents.rig,
            entries: contents.journal.entries,
            findings: contents.journal.findings.iter().map(describe).collect(),
            device,
            read_only: contents.journal.read_only.then_some(newer),
            places: vec![
                ("data folder".to_string(), dir),
                ("what this machine remembers".to_string(), self.state_dir.display().to_string()),
            ],
        })
    }

    fn stamp(&self) -> u64 {
        self.folder().stamp()
    }

    fn append(&self, drafts: &[Draft]) -> Result<Vec<Entry>, String> {
        let recorded = self.now();
        let drafts: Vec<folder::Draft> = drafts
            .iter()
            .map(|draft| folder::Draft {
                at: draft.at,
                recorded,
                note: draft.note.clone(),
                body: draft.body.clone(),
            })
            .collect();
        self.folder().journal.append(&drafts).map_err(sentence)
    }

    fn understand(
        &self,
        rig: &Rig,
        now: Moment,
        line: &str,
    ) -> Result<backstage::Understood, Misread> {
        self.with_words(rig, now, |words| match logline::parse(line, words, now) {
            Ok(understood) => Ok(backstage::Understood {
                echo: logline::echo(&understood, words, now),
                drafts: understood
                    .into_iter()
                    .map(|thing| Draft {
                        at: thing.at,
                        note: thing.note,
                        body: crate::domain::entry::Body::Happened(thing.event),
                    })
                    .collect(),
            }),
            Err(misread) => Err(Misread {
                start: byte_of(line, misread.start),
                end: byte_of(line, misread.end),
                message: misread.to_string(),
            }),
        })
    }

    fn complete(&self, rig: &Rig, now: Moment, line: &str) -> Vec<Completion> {
        let cursor = line.chars().count();
        let start = line.rfind([' ', ',']).map_or(0, |last| last + 1);
        let found = self.with_words(rig, now, |words| logline::complete(line, cursor, words));
        found.into_iter().map(|word| Completion { start, word }).collect()
    }

    fn words(&self, rig: &Rig, now: Moment, at: Moment, event: &Event) -> String {
        let thing = Understood { at, event: event.clone(), note: None };
        self.with_words(rig, now, |words| logline::echo(&[thing], words, now))
    }

    fn evening(&self, rig: &Rig, entries: &[Entry], options: Options) -> Result<Evening, String> {
        Ok(crate::forecast::evening(rig, entries, options))
    }
}

/// Byte position of the character at `index`, or the end.
fn byte_of(text: &str, index: usize) -> usize {
    text.char_indices().nth(index).map_or(text.len(), |(byte, _)| byte)
}
