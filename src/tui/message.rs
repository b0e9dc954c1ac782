//! What can happen to the state.

use super::asking::News;
use super::values::Turn;
use super::{Context, JournalView, Key, SavePurpose};
use crate::domain::Moment;
use std::sync::Arc;

/// Something happened.
#[derive(Debug, Clone, PartialEq)]
pub enum Message {
    /// The clock, once a minute.
    Tick(Moment),
    /// The folder changed under us.
    FolderChanged,
    /// The folder was read, or could not be.
    Loaded(Result<Arc<JournalView>, String>),
    /// The rig file was written, or why it was not.
    RigWritten(Result<(), String>),
    /// News of a question.
    Answered {
        /// The number it was asked under.
        generation: u64,
        /// What came of it.
        news: News,
    },
    /// The store has saved, or not: the number of entries.
    Appended {
        /// What for.
        purpose: SavePurpose,
        /// How many were saved, or what went wrong.
        outcome: Result<usize, String>,
    },
    /// A key was pressed.
    Key(Key),
    /// Text was pasted.
    Paste(String),
    /// An action was chosen, by whatever means.
    Act(Action),
}

/// Rows of a list that a page is.
pub(super) const PAGE: isize = 10;

/// What a person can do. Keys, palette and mouse all end here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Action {
    /// Leave the program.
    Quit,
    /// One level back.
    Back,
    /// Selection or scroll by so many rows, down above 0; see `PAGE`.
    Step(isize),
    /// Select this row (mouse).
    Select(usize),
    /// Open a screen.
    Open(Context),
    /// Open the log line.
    Log,
    /// Take back this device's last entry.
    Undo,
    /// Put back what was taken back last.
    Redo,
    /// The chosen value up or down.
    Turn(Turn),
    /// A digit for the chosen value.
    Digit,
    /// Type the chosen value in words.
    TypeIn,
    /// The chosen value as it was at first.
    AsAtFirst,
    /// Ask to save the schedule.
    SaveSchedule,
    /// Set other plans beside the schedule.
    Compare,
    /// Take back what a schedule wrote.
    DropSchedule,
    /// Yes, do what was asked about.
    Confirm,
    /// The open plan was done as planned.
    PlanDone,
    /// Something else was done than planned.
    PlanOtherwise,
    /// The open plan was not done.
    PlanNotDone,
    /// The chosen thing of it is done, or is not after all.
    Tick,
    /// The chosen thing is left out.
    SkipThis,
    /// All that is left of the stop is left out.
    SkipStop,
    /// Another time for what is left.
    MoveStop,
    /// Another place for it.
    Elsewhere,
    /// Yes, to what is asked.
    Yes,
    /// No, to what is asked.
    No,
    /// Leave out what is asked.
    Skip,
    /// What was typed, or what is usual.
    Usual,
    /// Full to the brim.
    Full,
    /// Save, and say that nothing else happened today.
    CloseDay,
    /// The other page of a screen that has two.
    OtherPage,
    /// The palette of actions.
    Palette,
    /// Mouse on or off.
    Mouse,
    /// Read the folder again.
    Reload,
    /// Take back the selected entry.
    Retract,
    /// Correct the selected entry.
    Correct,
    /// Change the selected value.
    Edit,
    /// Add a part.
    Add,
    /// Save the rig as changed.
    SaveRig,
    /// Save the rig with what was changed from a day on.
    DateRig,
    /// Take the last change of the rig back.
    UnEdit,
    /// Search the journal.
    Search,
    /// Put a remark on the selected entry.
    Remark,
    /// Of two possible twins, keep the selected one.
    KeepThis,
    /// Save the line, or run the palette.
    Submit,
    /// Complete the line.
    Complete,
    /// The line said before; the question before.
    Earlier,
    /// The line said after.
    Later,
    /// Clear the line.
    Clear,
}
