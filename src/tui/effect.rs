//! What an update asks of the outside. Effects are data; [`super::terminal`] carries them out
//! and their outcome comes back as a message.

use super::Context;
use super::asking::Job;
use crate::domain::Draft;

/// Why something is appended, and what the status line says once it is saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SavePurpose {
    /// Said when the store has confirmed: `saved: 2 showers`.
    pub done: String,
    /// What is spent by this, and may be cleared once it is saved.
    pub spends: Spends,
}

impl SavePurpose {
    /// Of a key that is pressed, which undo takes back.
    pub(super) fn key(done: &str) -> SavePurpose {
        SavePurpose { done: format!("{done} (u takes it back)"), spends: Spends::Nothing }
    }

    /// Of a line that is submitted.
    pub(super) fn line(done: String) -> SavePurpose {
        SavePurpose { done, spends: Spends::Line }
    }
}

/// What has done its duty once it is saved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spends {
    /// Nothing that a person typed.
    Nothing,
    /// The text of the line.
    Line,
    /// The answers of the evening's round.
    Round,
}

/// Something for the outside to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Effect {
    /// Read the folder.
    Load,
    /// Write the rig file, unless it says something else than `before` by now.
    WriteRig {
        /// What it said when it was read; `None` where there was none.
        before: Option<String>,
        /// What it is to say.
        after: String,
    },
    /// Append, and say when it is on disk.
    Append {
        /// What for.
        purpose: SavePurpose,
        /// What.
        drafts: Vec<Draft>,
    },
    /// Answer a question.
    Ask(Box<Job>),
    /// Nobody waits for this any more.
    Cancel(Context),
    /// Turn mouse reports on or off.
    Mouse(bool),
    /// Leave.
    Quit,
}
