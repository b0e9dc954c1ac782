//! A region written line by line from the top, which cannot be overrun.

use super::Seen;
use crate::text::{cut, safe, width, wrap};
use crate::tui::{State, Theme};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// The region and the row that is written next.
pub struct Paper<'a> {
    /// The screen.
    pub buf: &'a mut Buffer,
    /// The region.
    pub area: Rect,
    /// Looks.
    pub look: Theme,
    /// What is shown.
    pub state: &'a State,
    /// What stands where.
    pub seen: &'a mut Seen,
    next: u16,
}

impl<'a> Paper<'a> {
    /// An empty region; what of `area` lies off the screen is left out.
    pub fn new(state: &'a State, buf: &'a mut Buffer, seen: &'a mut Seen, area: Rect) -> Paper<'a> {
        let area = area.intersection(*buf.area());
        Paper { buf, area, look: state.look, state, seen, next: 0 }
    }

    /// A row that can be chosen: its marker, and the style of what it is called.
    pub fn choice(&mut self, row: Rect, place: usize, chosen: usize) -> (&'static str, Style) {
        self.seen.rows.push((row, place));
        match place == chosen {
            true => (self.look.glyphs().marker, self.look.selected()),
            false => (" ", Style::new()),
        }
    }

    /// A part of it, to be written on from its own top.
    pub fn on(&mut self, area: Rect) -> Paper<'_> {
        Paper::new(self.state, self.buf, self.seen, area)
    }

    /// Columns.
    pub fn columns(&self) -> usize {
        usize::from(self.area.width)
    }

    /// Rows that are left.
    pub fn left(&self) -> u16 {
        self.area.height.saturating_sub(self.next)
    }

    /// The area of the next row, if there is one; it counts as written.
    pub fn take(&mut self) -> Option<Rect> {
        let rect = Rect { y: self.area.y + self.next, height: 1, ..self.area };
        (self.left() > 0).then(|| {
            self.next += 1;
            rect
        })
    }

    /// The area of the next `rows` rows, or of those that are left.
    pub(in crate::tui) fn take_block(&mut self, rows: u16) -> Rect {
        let height = rows.min(self.left());
        let rect = Rect { y: self.area.y + self.next, height, ..self.area };
        self.next += height;
        rect
    }

    /// Writes a line of styled pieces; what does not fit is cut.
    pub fn line(&mut self, pieces: &[(&str, Style)]) {
        if let Some(row) = self.take() {
            self.pieces(row, pieces);
        }
    }

    /// Writes styled pieces into `row`.
    pub fn pieces(&mut self, row: Rect, pieces: &[(&str, Style)]) {
        let row = row.intersection(*self.buf.area());
        if row.is_empty() {
            return;
        }
        let mut left = usize::from(row.width);
        let mut x = row.x;
        for (text, style) in pieces {
            let text = cut(&self.look.plain(&safe(text)), left);
            if text.is_empty() {
                continue;
            }
            (x, _) = self.buf.set_stringn(x, row.y, &text, left, *style);
            left = left.saturating_sub(width(&text));
        }
    }

    /// Writes text broken into lines, at most `most` of them.
    pub fn wrapped(&mut self, text: &str, style: Style, most: usize) {
        let text = self.look.plain(&safe(text));
        let lines = wrap(&text, self.columns());
        let shown = most.min(lines.len()).min(usize::from(self.left()));
        for (i, line) in lines.iter().take(shown).enumerate() {
            let more = i + 1 == shown && lines.len() > shown;
            let line = if more { cut(&format!("{line} ~"), self.columns()) } else { line.clone() };
            self.line(&[(&line, style)]);
        }
    }

    /// A rule across.
    pub fn rule(&mut self) {
        let rule = self.look.glyphs().rule.repeat(self.columns());
        if let Some(row) = self.take() {
            let (columns, style) = (self.columns(), self.look.faint());
            self.buf.set_stringn(row.x, row.y, rule, columns, style);
        }
    }
}
