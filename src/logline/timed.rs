//! A thing of a line beside its times.

use super::moment::When;
use super::word::Word;
use super::words::Joint;

/// The words of a thing, in the order in which the grammar reads them.
pub(super) struct Body<'a> {
    pub words: Vec<Word<'a>>,
}

impl Body<'_> {
    /// The characters that it spans; the words may be in another order.
    pub fn span(&self) -> (usize, usize) {
        let start = self.words.iter().map(|w| w.start).min().unwrap_or_default();
        let end = self.words.iter().map(|w| w.end).max().unwrap_or_default();
        (start, end)
    }
}

/// When something ends that has an end.
#[derive(Debug, Clone)]
pub(super) enum Until {
    /// `until sunday`.
    At(When),
    /// `for 3 days`.
    Days { days: i64, words: When },
}

/// A thing without its times, and its times.
pub(super) struct Timed<'a> {
    pub body: Body<'a>,
    pub before: When,
    pub after: When,
    /// When it ends, for guests and days away.
    pub until: Option<Until>,
    pub remark: Option<Word<'a>>,
    pub joint: Joint,
}

impl Timed<'_> {
    /// Whether it is nothing but a time.
    pub(super) fn is_time(&self) -> bool {
        self.body.words.is_empty()
    }
}
