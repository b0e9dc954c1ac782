//! A list of names and values, one of them chosen: what most screens of this front are made of.

use super::Paper;
use crate::text::{left, width};
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Names and values, with so many columns for the names.
pub struct List<'a> {
    /// Name and value of each row.
    pub items: &'a [(String, String)],
    /// Index of the row that keys act on; past the end where none is.
    pub chosen: usize,
    /// Columns for the names.
    pub names: usize,
}

impl List<'_> {
    /// All of them in a column; where they do not fit, the chosen one stays in sight and the last
    /// row says which are.
    pub fn draw(&self, area: Rect, paper: &mut Paper) {
        let (fit, all) = (usize::from(area.height), self.items.len());
        let fit = if all > fit && fit > 1 { fit - 1 } else { fit };
        let first = (self.chosen.min(all) + 1).saturating_sub(fit).min(all.saturating_sub(fit));
        for (n, place) in (first..all.min(first + fit)).enumerate() {
            let row = Rect { y: area.y + n as u16, height: 1, ..area };
            self.row(place, row, paper);
        }
        if all > fit && fit > 0 {
            let row = Rect { y: area.y + fit as u16, height: 1, ..area };
            let text = format!(" {} to {} of {all}", first + 1, all.min(first + fit));
            paper.pieces(row, &[(&text, paper.look.faint())]);
        }
    }

    /// One of them.
    pub fn row(&self, place: usize, row: Rect, paper: &mut Paper) {
        let Some((name, value)) = self.items.get(place) else { return };
        if row.is_empty() {
            return;
        }
        let look = paper.look;
        let (marker, style) = paper.choice(row, place, self.chosen);
        // A short value leaves its room to a longer name.
        let room = usize::from(row.width).saturating_sub(3 + width(value)).max(self.names);
        let names = if width(name) > self.names { room.min(width(name)) } else { self.names };
        let value = left(value, width(value).min(usize::from(row.width).saturating_sub(names + 2)));
        let pieces = [
            (marker, look.strong()),
            (&left(name, names), Style::new()),
            (" ", Style::new()),
            (&value, style),
        ];
        paper.pieces(row, &pieces);
    }
}
