//! One row to draw signs on, by column.

use crate::tui::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// The row.
pub(super) struct SignRow<'a> {
    pub buf: &'a mut Buffer,
    pub area: Rect,
    pub look: Theme,
}

impl SignRow<'_> {
    /// A sign; nothing where the row is over.
    pub(super) fn put(&mut self, column: u16, glyph: &str, style: Style) {
        if column < self.area.width {
            self.buf.set_string(self.area.x + column, self.area.y, glyph, style);
        }
    }

    /// Words, as far as they fit.
    pub(super) fn words(&mut self, column: u16, words: &str, style: Style) {
        let room = usize::from(self.area.width.saturating_sub(column));
        if room > 0 {
            self.buf.set_stringn(self.area.x + column, self.area.y, words, room, style);
        }
    }

    /// A band from its P10 over its P50 to its P90, each in its column or beyond the row. Without
    /// the first there is none.
    pub(super) fn band(&mut self, columns: [Option<u16>; 3], style: Style) {
        let [Some(from), middle, to] = columns else { return };
        let glyphs = self.look.glyphs();
        let end = to.unwrap_or(self.area.width.saturating_sub(1));
        (from..=end).for_each(|column| self.put(column, glyphs.band, style));
        self.put(from, glyphs.band_from, style);
        to.into_iter().for_each(|column| self.put(column, glyphs.band_to, style));
        middle.into_iter().for_each(|column| self.put(column, glyphs.band_mid, style));
        // Last, so that nothing hides that it goes on.
        if to.is_none() {
            self.put(end, glyphs.beyond, style);
        }
    }
}
