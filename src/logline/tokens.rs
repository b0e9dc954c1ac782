//! Brings what people write to the words of the grammar: cuts it at commas, mends slips, says what each
//! run of words is.

pub(super) mod hours;
pub(super) mod item;
pub(super) mod lexer;
pub(super) mod moved;
mod numbers;
pub(super) mod span;
pub(super) mod speech;
pub(super) mod spelled;
pub(super) mod words;
