//! What a line does to the journal: it tells of things, or puts right what was told.

use super::echo::echo;
use super::lexis::misread::Understood;
use super::lexis::vocabulary::Vocabulary;
use crate::domain::{Body, Draft, EntryId, Moment};

/// What a line does to the journal.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// Things happened, or are planned.
    Said(Vec<Understood>),
    /// Entries that stand otherwise from now on.
    Mended(Vec<Mended>),
}

/// An entry that was wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Mended {
    /// Which one.
    pub of: EntryId,
    /// What it says.
    pub was: Understood,
    /// What holds instead; nothing where it is taken back.
    pub becomes: Option<Understood>,
    /// The correction that is taken back, so that what it corrected holds again.
    pub(super) undoes: Option<EntryId>,
    /// What else was said of it.
    pub note: Option<String>,
    /// Whether it is one of several that are all meant.
    pub(super) whole: bool,
}

impl Heard {
    /// The records that it writes at `now`.
    pub fn drafts(&self, now: Moment) -> Vec<Draft> {
        let mended = |mended: &Mended| {
            let of = mended.of.clone();
            match mended.becomes.clone().filter(|_| mended.undoes.is_none()) {
                Some(Understood { at, event, note }) => Draft {
                    at,
                    note: note.or(mended.note.clone()),
                    body: Body::Correct { of, event },
                },
                None => {
                    let of = mended.undoes.clone().unwrap_or(of);
                    Draft { at: now, note: mended.note.clone(), body: Body::Retract { of } }
                }
            }
        };
        match self {
            Heard::Said(said) => said.iter().cloned().map(Draft::from).collect(),
            Heard::Mended(all) => all.iter().map(mended).collect(),
        }
    }

    /// What it was understood as, in words: of what is put right, what stood there before as well.
    pub fn echo(&self, vocabulary: &Vocabulary, now: Moment) -> String {
        let all = match self {
            Heard::Said(said) => return echo(said, vocabulary, now),
            Heard::Mended(all) => all,
        };
        let was: Vec<Understood> = all.iter().map(|mended| mended.was.clone()).collect();
        let new: Vec<Understood> = all.iter().filter_map(|m| m.becomes.clone()).collect();
        let (was, new) = (echo(&was, vocabulary, now), echo(&new, vocabulary, now));
        match new.is_empty() {
            true => format!("taken back: {was}"),
            false if all.iter().any(|mended| mended.undoes.is_some()) => {
                format!("taken back: {was}; again: {new}")
            }
            false => format!("correction: {new} (was {was})"),
        }
    }
}
