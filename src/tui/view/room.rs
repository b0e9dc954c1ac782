//! What every screen needs to know of the frame: how much room there is across, and what was drawn
//! where.

use ratatui::layout::{Constraint, Layout, Rect};

/// What was drawn where: rows that a mouse can choose, and how far a text goes.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct Seen {
    /// Area on the screen, and the row that it selects.
    pub rows: Vec<(Rect, usize)>,
    /// The last line that a text longer than its room can begin at; 0 where all of it is in sight.
    pub last: usize,
    /// Lines of such a text that are in sight at once.
    pub page: usize,
}

/// How much room there is across.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Room {
    /// Below 60 columns: a phone.
    Narrow,
    /// 60 to 99 columns.
    Middle,
    /// 100 columns or more.
    Wide,
}

impl Room {
    pub(super) fn of(columns: u16) -> Room {
        match columns {
            0..60 => Room::Narrow,
            60..100 => Room::Middle,
            _ => Room::Wide,
        }
    }
}

/// Two areas side by side, the first so many columns wide, with a gap between them.
pub(super) fn beside(block: Rect, columns: u16, gap: u16) -> [Rect; 2] {
    let columns = [Constraint::Length(columns), Constraint::Fill(1)];
    Layout::horizontal(columns).spacing(gap).areas(block)
}

/// Two areas one below the other, the first so many rows high, with a gap between them.
pub(super) fn stacked(block: Rect, rows: u16, gap: u16) -> [Rect; 2] {
    Layout::vertical([Constraint::Length(rows), Constraint::Fill(1)]).spacing(gap).areas(block)
}
