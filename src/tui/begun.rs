//! What was shown before a letter was pressed that may begin a word.

use super::Context;
use super::follow::Follow;
use super::round::Round;
use super::values::Values;

/// A letter, and what was shown before it.
#[derive(Debug, Clone)]
pub(super) struct Begun {
    /// The letter.
    pub letter: char,
    /// Whether it answers a question.
    pub asks: bool,
    /// The screens above the horizon.
    pub screens: Vec<Context>,
    /// The selected stock.
    pub stock: Option<String>,
    /// The selected rows of the journal, the van and the stop.
    pub rows: [usize; 3],
    /// The first line of a text.
    pub scroll: usize,
    /// The values of the stretch and of the trip.
    pub values: [Values; 2],
    /// The evening's round.
    pub round: Round,
    /// The stop that is followed.
    pub follow: Follow,
    /// Whether the mouse was on.
    pub mouse: bool,
}
