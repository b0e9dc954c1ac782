//! What wakes the loop of the terminal.

use crate::tui::Message;
use std::io;

/// How input came.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pace {
    /// By itself.
    Typed,
    /// With others at the same moment: pasted where the terminal does not say so.
    Burst,
}

/// Everything that can wake the loop.
#[derive(Debug)]
pub(super) enum Wake {
    /// A key, a paste, the mouse, another size; and whether it came among others at once, as no
    /// hand types.
    Input(ratatui::crossterm::event::Event, Pace),
    /// A worker has an answer.
    Done(Message),
    /// A signal that ends or stops the program, or lets it go on.
    Signal(i32),
    /// Nothing more can be read from the terminal.
    InputEnded(io::Error),
}
