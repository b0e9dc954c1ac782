//! One stock on the time axis: from P10 over P50 to P90, or words where there is nothing to draw.

use super::axis::Axis;
use super::row::SignRow;
use crate::forecast::StockForecast;
use crate::text::answer::{met, stands_in};
use crate::text::{Urgency, width};
use crate::tui::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
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
        let mut row = SignRow { buf, area, look: self.look };
        for column in self.axis.midnights().iter().filter_map(|(hour, _)| self.axis.column(*hour)) {
            row.put(column, self.look.glyphs().midnight, self.look.faint());
        }
        let urgency = Urgency::of(self.stock);
        if self.stock.hours.is_reached() {
            let other = stands_in(self.stock).map_or(String::new(), |other| format!(", {other}"));
            let now = format!("{} now{other}", met(self.stock));
            return row.words(0, &now, self.look.urgency(urgency));
        }
        self.dips(&mut row);
        let style = match urgency {
            Urgency::Fine => self.look.band(),
            pressing => self.look.urgency(pressing),
        };
        let hours = &self.stock.hours;
        let columns = [hours.p10, hours.p50, hours.p90].map(|h| self.axis.column(h?));
        match columns {
            [None, ..] => self.later(&mut row),
            columns => row.band(columns, style),
        }
    }
}

impl Band<'_> {
    fn dips(&self, row: &mut SignRow) {
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

    /// Nothing to draw within the axis: say from when on there would be.
    fn later(&self, row: &mut SignRow) {
        let words = self.later_words();
        let column = row.area.width.saturating_sub(width(&words) as u16);
        row.words(column, &words, self.look.faint());
    }

    fn later_words(&self) -> String {
        format!("after {}", self.axis.last_day())
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
        assert_eq!(drawn([Some(0.0), Some(0.0), Some(0.0)], &[]), "at its reserve now.     ");
    }
}
