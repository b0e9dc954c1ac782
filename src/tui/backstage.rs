//! What the dashboard asks of the world outside: the data folder, the words, the forecast, the
//! clock. The program's edge implements it; tests do so with a folder in memory.

use crate::domain::entry::{Body, Entry, Event};
use crate::domain::rig::Rig;
use crate::domain::time::Moment;
use crate::forecast::answer::{Evening, Options};

/// The data folder as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// The rig.
    pub rig: Rig,
    /// Entries of every device, in any order.
    pub entries: Vec<Entry>,
    /// What was skipped or looks wrong, one sentence each with file, line and column.
    pub findings: Vec<String>,
    /// This device's name, as its entries carry it.
    pub device: String,
    /// Why nothing can be saved here, if so.
    pub read_only: Option<String>,
    /// Where files lie, as `(what, where)`, for the help screen.
    pub places: Vec<(String, String)>,
}

/// An entry that is not written yet.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// When it happened, or is planned.
    pub at: Moment,
    /// A remark.
    pub note: Option<String>,
    /// What it says.
    pub body: Body,
}

/// A log line that was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Understood {
    /// What would be saved.
    pub drafts: Vec<Draft>,
    /// The same in plain words, with units and day, to check before saving.
    pub echo: String,
}

/// A log line that was not understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misread {
    /// Byte where the word begins that was not understood.
    pub start: usize,
    /// Byte after its end.
    pub end: usize,
    /// What is wrong, and if possible what was probably meant.
    pub message: String,
}

/// A way to complete a log line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Completion {
    /// Byte from which the rest of the line is replaced.
    pub start: usize,
    /// What stands there then.
    pub word: String,
}

/// The world outside. Methods may take long or block: `load`, `append` and `evening` are called
/// on threads of their own, `understand`, `complete` and `words` on every key.
pub trait Backstage: Send + Sync + 'static {
    /// What counts as now.
    fn now(&self) -> Moment;

    /// Reads the folder.
    ///
    /// # Errors
    /// What is wrong and what to do about it, when there is nothing to show at all.
    fn load(&self) -> Result<Loaded, String>;

    /// A number that changes when the folder does (lengths and times of its files), cheap to
    /// get: asked once a minute.
    fn stamp(&self) -> u64 {
        0
    }

    /// Appends the drafts in order and returns only when they are on disk.
    ///
    /// # Errors
    /// Why nothing (or not everything) was saved.
    fn append(&self, drafts: &[Draft]) -> Result<Vec<Entry>, String>;

    /// Reads a log line.
    ///
    /// # Errors
    /// Which word is not understood.
    fn understand(&self, rig: &Rig, now: Moment, line: &str) -> Result<Understood, Misread>;

    /// Ways to go on from the end of `line`, best first.
    fn complete(&self, rig: &Rig, now: Moment, line: &str) -> Vec<Completion>;

    /// An event in the words that [`Backstage::understand`] reads back as the same event at the
    /// same time.
    fn words(&self, rig: &Rig, now: Moment, at: Moment, event: &Event) -> String;

    /// What lies ahead.
    ///
    /// # Errors
    /// Why there is no forecast, in a sentence.
    fn evening(&self, rig: &Rig, entries: &[Entry], options: Options) -> Result<Evening, String>;
}
