//! One line of plain words, and the entries that it means: `2 showers, dishes, fresh 60%`.
//!
//! A small closed grammar of our own, and a table of everyday words that are brought to it. What a
//! person plainly means is understood; what is unclear is asked back, with lines that would be
//! saved; nothing is understood as something else. Things are separated by commas, `and`, or
//! nothing; all of the line is understood, or none of it. A time holds for the thing that it
//! stands at; at the start of the line, or before a colon, for what follows. The rules for times
//! are in `times`, those for things in `grammar`:
//!
//! ```text
//! 2 showers            shower 4 min        dishes twice        worked 3 hours
//! fresh 60%            grey 33 L           fresh 3/4           liquids half    fresh 50% in quarters
//! filled fresh         added 20 L diesel   filled fresh to 80% swapped the gas bottle
//! emptied grey         emptied grey 30 L   emptied half the grey   emptied liquids to 10%
//! drove 1 h 30 min     drove 120 km        plugged in 6 h      charged 800 Wh from generator
//! camp Alder flats     arrived at Alder flats   camp at 55.1,-3.2   camp "Pitch 9, east"
//! aboard 4             2 guests until sunday    away until friday   2 guests tonight
//! day closed           note free text to the end of the line
//! outlook tomorrow 3 to 11 C, cloud 60%, sun 2.4 kWh
//! emptied grey (slow drain)        a remark in parentheses goes with the thing before it
//! ```
//!
//! The folders are layers, each of which names only those before it: `lexis`, `times`, `tokens`,
//! `grammar`, `everyday`. The way of a line: `words` cuts it at commas, `speech` brings each word to
//! the grammar's, `item` says what each run of words is, `thing` cuts a piece into things with their
//! times, `listing` gives back what a list leaves out. `bag`, `clause` and `meaning` read a thing
//! whatever the order of its items; `doubt` compares readings with the journal, and `instead` finds a
//! way out of a line that is asked back: what everyday speech plainly tells.
//!
//! Pure: the clock, the zone and the rig are arguments. [`parse`] never panics and takes
//! microseconds, since the log line calls it at every keystroke.

pub mod answers;
mod complete;
mod echo;
mod everyday;
mod grammar;
mod halves;
mod heard;
mod help;
mod lexis;
mod mending;
mod said;
mod sought;
mod times;
mod tokens;

pub use complete::complete;
pub use echo::{consequences, echo};
pub use heard::Heard;
pub use help::help;
pub use lexis::misread::{Misread, Offer, Understood};
pub(crate) use lexis::units::{in_activity_unit, in_stock_unit};
pub use lexis::vocabulary::Vocabulary;
pub use mending::heard;
pub use said::parse;
pub use sought::sought;
pub use tokens::span::{ahead, span};
