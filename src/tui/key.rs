//! Where keys are pressed, and keys that every terminal can tell apart: printable ones, arrows, Enter, Esc, Tab and a few
//! editing keys. No function keys and, but for clearing a line, no chords, so that touch keyboards and old links do.

use std::fmt;

/// Where a key is pressed: a screen above the horizon, which is always below all others, or what is
/// asked on top.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Context {
    /// The first screen.
    Horizon,
    /// The questions about a new van, with the line left.
    Setup,
    /// One stock: the selected one.
    Stock,
    /// Where it goes.
    Spent,
    /// The rig.
    Rig,
    /// The evening's round.
    Round,
    /// The stop that is planned next.
    Follow,
    /// The journal.
    Journal,
    /// The stretch planner.
    Stretch,
    /// The stops of a trip.
    Stops,
    /// How good earlier forecasts were.
    LookBack,
    /// Something is about to be written, and a person is asked.
    Confirm,
    /// The list of keys: text to scroll.
    Help,
    /// The cautions: text to scroll.
    Cautions,
    /// The log line or the palette is open.
    Line,
    /// Anywhere but in the line.
    Everywhere,
}

/// A key press.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Key {
    /// A printable character.
    Char(char),
    /// Arrow.
    Up,
    /// Arrow.
    Down,
    /// Arrow.
    Left,
    /// Arrow.
    Right,
    /// Enter.
    Enter,
    /// Escape.
    Esc,
    /// Tab.
    Tab,
    /// Erase to the left.
    Backspace,
    /// Erase to the right.
    Delete,
    /// Start of the line.
    Home,
    /// End of the line.
    End,
    /// A screen up.
    PageUp,
    /// A screen down.
    PageDown,
    /// A word to the left: Ctrl-Left, Alt-B.
    WordLeft,
    /// A word to the right: Ctrl-Right, Alt-F.
    WordRight,
    /// Erase the word to the left: Ctrl-W, Alt-Backspace.
    EraseWord,
    /// Ctrl-U: the one chord, which every line editor knows.
    ClearLine,
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Key::Char(' ') => f.pad("Space"),
            Key::ClearLine => f.pad("Ctrl-U"),
            Key::EraseWord => f.pad("Ctrl-W"),
            Key::WordLeft => f.pad("Ctrl-Left"),
            Key::WordRight => f.pad("Ctrl-Right"),
            Key::Char(c) => f.pad(&c.to_string()),
            other => f.pad(&format!("{other:?}")),
        }
    }
}
