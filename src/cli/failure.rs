//! Why a command did not work, in words, with its exit code.

use crate::store::data_folder::FolderFault;
use crate::store::error::{Safety, StoreError, StoreErrorKind};

/// What is told on standard error, and the exit code.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// The contract's exit code.
    pub code: u8,
    /// What is wrong, one line each, lower case, no full stop.
    pub messages: Vec<String>,
    /// The words that are meant, with marks under them; shown as they are.
    pub excerpt: Vec<String>,
    /// What can be done now, as a sentence.
    pub hint: Option<String>,
}

/// The exit code of a command, or why it did not work.
pub type CommandResult = Result<u8, Failure>;

impl Failure {
    /// One message.
    pub fn new(code: u8, message: impl Into<String>) -> Failure {
        Failure::all(code, vec![message.into()])
    }

    /// A failure of which there is more than one thing to say.
    pub(super) fn all(code: u8, messages: Vec<String>) -> Failure {
        Failure { code, messages, excerpt: Vec::new(), hint: None }
    }

    /// Words that are not understood, and what would be; `of` names their option.
    pub(super) fn found(of: &str, text: &str, expected: &str) -> Failure {
        Failure::new(2, format!("{of}found {text:?}, expected {expected}"))
    }

    /// The same with a hint.
    pub fn hint(mut self, hint: impl Into<String>) -> Failure {
        self.hint = Some(hint.into());
        self
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Failure {
        let failure = Failure::new(error.exit_code(), error.to_string());
        match (error.safety, error.kind) {
            (Safety::Unsure, _) => failure.hint(
                "It is not certain whether this was saved: look at `waystock journal` before \
                 logging it again. If it is logged twice after all, that is said.",
            ),
            (_, StoreErrorKind::Busy) => failure.hint("Nothing was written. Try again."),
            _ => failure,
        }
    }
}

impl From<FolderFault> for Failure {
    fn from(fault: FolderFault) -> Failure {
        let code = fault.exit_code();
        match fault {
            FolderFault::NoRig(path) => {
                Failure::new(code, format!("{}: there is no rig yet", path.display())).hint(
                    "Start with `waystock init` (a few questions), `waystock init \
                     --from-template NAME`, or look around first with `waystock demo`.",
                )
            }
            FolderFault::Rig(faults) => {
                Failure::all(code, faults.iter().map(ToString::to_string).collect())
            }
            FolderFault::Store(error) => error.into(),
        }
    }
}
