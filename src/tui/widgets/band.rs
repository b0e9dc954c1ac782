//! One stock on the time axis: from P10 over P50 to P90, or words where there is nothing to draw.

use super::axis::Axis;
use crate::forecast::StockForecast;
use crate::text::{Urgency, width};
use crate::tui::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// Share of lives out by a night from which on its sign says so.
pub(in crate::tui) const DEEP: f64 = 0.1;

/// A band on one row; the axis has as many columns as the row is wide.
#[derive(Debug, Clone, Copy)]
pub struct Band<'a> {
    /// The stock.
    pub stock: &'a StockForecast,
    /// The axis.
    pub axis: &'a Axis,
    /// Looks.
    pub look: Theme,
}

impl Widget for Band<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let area = area.intersection(*buf.area());
        if area.is_empty() {
            return;
        }
        let mut row = Row { buf, area };
        self.midnights(&mut row);
        let urgency = Urgency::of(self.stock);
        if urgency == Urgency::Out {
            row.words(0, "out now", self.look.urgency(urgency));
            return;
        }
        self.dips(&mut row);
        match self.stock.hours.p10.and_then(|h| self.axis.column(h)) {
            Some(from) => self.band(&mut row, from),
            None => self.later(&mut row),
        }
    }
}

impl Band<'_> {
    fn midnights(&self, row: &mut Row) {
        for (hour, _) in self.axis.midnights() {
            if let Some(column) = self.axis.column(hour) {
                row.put(column, self.look.glyphs().midnight, self.look.faint());
            }
        }
    }

    fn dips(&self, row: &mut Row) {
        let glyphs = self.look.glyphs();
        for (column, deep) in self.dips_in_sight() {
            let glyph = if deep { glyphs.deep_dip } else { glyphs.dip };
            row.put(column, glyph, self.look.urgency(Urgency::Soon));
        }
    }

    /// Columns of the nights near the limit that nothing else is drawn over, and whether one
    /// life in ten or more is out by then.
    pub(in crate::tui) fn dips_in_sight(&self) -> Vec<(u16, bool)> {
        if Urgency::of(self.stock) == Urgency::Out {
            return Vec::new();
        }
        let free_until = match self.stock.hours.p10.and_then(|h| self.axis.column(h)) {
            Some(from) => from,
            None => self.axis.columns.saturating_sub(width(&self.later_words()) as u16),
        };
        let dips = self.stock.dips.iter();
        dips.filter_map(|dip| Some((self.axis.column(dip.hour)?, dip.out >= DEEP)))
            .filter(|(column, _)| *column < free_until)
            .collect()
    }

    fn band(&self, row: &mut Row, from: u16) {
        let glyphs = self.look.glyphs();
        let style = match Urgency::of(self.stock) {
            Urgency::Fine => self.look.band(),
            pressing => self.look.urgency(pressing),
        };
        let last = self.axis.columns.saturating_sub(1);
        let to = self.stock.hours.p90.and_then(|h| self.axis.column(h));
        let end = to.unwrap_or(last);
        for column in from..=end {
            row.put(column, glyphs.band, style);
        }
        row.put(from, glyphs.band_from, style);
        if to.is_some() {
            row.put(end, glyphs.band_to, style);
        }
        if let Some(middle) = self.stock.hours.p50.and_then(|h| self.axis.column(h)) {
            row.put(middle, glyphs.band_mid, style);
        }
        // Last, so that nothing hides that it goes on.
        if to.is_none() {
            row.put(end, glyphs.beyond, style);
        }
    }

    /// Nothing to draw within the axis: say from when on there would be.
    fn later(&self, row: &mut Row) {
        let words = self.later_words();
        let column = row.area.width.saturating_sub(width(&words) as u16);
        row.words(column, &words, self.look.faint());
    }
}

impl Band<'_> {
    fn later_words(&self) -> String {
        format!("after {}", self.axis.last_day())
    }
}

struct Row<'a> {
    buf: &'a mut Buffer,
    area: Rect,
}

impl Row<'_> {
    fn put(&mut self, column: u16, glyph: &str, style: Style) {
        if column < self.area.width {
            self.buf.set_string(self.area.x + column, self.area.y, glyph, style);
        }
    }

    fn words(&mut self, column: u16, words: &str, style: Style) {
        let room = usize::from(self.area.width.saturating_sub(column));
        if room > 0 {
            self.buf.set_stringn(self.area.x + column, self.area.y, words, room, style);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forecast::answer::{Dip, Quantiles};
    use crate::tui::fixture;

    fn drawn(hours: [Option<f64>; 3], dips: &[f64]) -> String {
        let evening = fixture::evening();
        let mut stock = evening.forecast.stocks[0].clone();
        let [p10, p50, p90] = hours;
        stock.hours = Quantiles { p10, p50, p90, ..Quantiles::default() };
        stock.dips = dips.iter().map(|h| Dip { hour: *h, out: 0.0, room: 0.1 }).collect();
        let axis = Axis {
            at: evening.forecast.at,
            zone: fixture::zone(),
            from: 0.0,
            to: 96.0,
            columns: 24,
        };
        let look = Theme { ascii: true, colour: false, ..Theme::default() };
        let area = Rect::new(0, 0, 24, 1);
        let mut buf = Buffer::empty(area);
        Band { stock: &stock, axis: &axis, look }.render(area, &mut buf);
        buf.content.iter().map(|c| c.symbol()).collect()
    }

    #[test]
    fn a_band_runs_from_p10_over_p50_to_p90() {
        assert_eq!(drawn([Some(24.0), Some(40.0), Some(60.0)], &[]), ".     [===+====]  .     ");
        assert_eq!(drawn([Some(24.0), Some(40.0), None], &[]), ".     [===+============>");
        assert_eq!(drawn([Some(24.0), None, None], &[]), ".     [================>");
        assert_eq!(drawn([Some(90.0), Some(95.9), None], &[]), ".     .     .     .   [>");
        assert_eq!(drawn([Some(95.0), Some(95.9), None], &[]), ".     .     .     .    >");
        assert_eq!(drawn([None, None, None], &[9.0, 33.0]), ". v   . v   .  after Mon");
        assert_eq!(drawn([Some(0.0), Some(0.0), Some(0.0)], &[]), "out now     .     .     ");
    }
}
