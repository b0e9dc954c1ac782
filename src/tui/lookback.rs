//! The look back: what was found, and what of it is in sight.

use super::Pending;
use crate::forecast::Hindsight;

/// What was found, and what of it is in sight.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LookBack {
    /// The question and its answer.
    pub asked: Pending<Hindsight>,
    /// The selected evening, counted back from the latest.
    pub row: usize,
    /// What of it is in sight where there is no room for all.
    pub page: Page,
}

/// A part of the look back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Page {
    /// All evenings, a row each.
    #[default]
    Evenings,
    /// The selected evening: each stock's next reading.
    Evening,
    /// Each stock's record.
    Stocks,
}

impl Page {
    /// The one after it.
    pub fn next(self) -> Page {
        match self {
            Page::Evenings => Page::Evening,
            Page::Evening => Page::Stocks,
            Page::Stocks => Page::Evenings,
        }
    }
}

impl LookBack {
    /// Number of evenings.
    pub fn evenings(&self) -> usize {
        self.asked.answer.as_ref().map_or(0, |looked| looked.evenings.len())
    }
}
