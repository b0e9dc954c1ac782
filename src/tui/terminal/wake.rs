//! What wakes the loop of the terminal.

use crate::tui::message::Message;
use std::io;

/// Everything that can wake the loop.
#[derive(Debug)]
pub(super) enum Wake {
    /// A key, a paste, the mouse, another size.
    Input(ratatui::crossterm::event::Event),
    /// A worker has an answer.
    Done(Message),
    /// A signal that ends or stops the program, or lets it go on.
    Signal(i32),
    /// Nothing more can be read from the terminal.
    InputEnded(io::Error),
}
