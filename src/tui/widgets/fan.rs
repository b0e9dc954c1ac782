//! A stock's past readings and future levels on one picture: time to the right, level upwards.

use super::axis::Axis;
use crate::domain::{Moment, UnitSystem, Zone, hours_between};
use crate::forecast::StockForecast;
use crate::forecast::answer::{FanPoint, PastReading};
use crate::text::quantity::amount;
use crate::text::{right, width};
use crate::tui::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// Columns for the labels of the level axis.
const LABELS: u16 = 9;

/// The picture.
#[derive(Debug, Clone, Copy)]
pub(in crate::tui) struct Fan<'a> {
    /// The stock, with its fan.
    pub stock: &'a StockForecast,
    /// Past readings, oldest first.
    pub past: &'a [PastReading],
    /// Hour zero.
    pub at: Moment,
    /// Decides when days begin.
    pub zone: Zone,
    /// Units of the labels.
    pub units: UnitSystem,
    /// Looks.
    pub look: Theme,
}

impl Widget for Fan<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let area = area.intersection(*buf.area());
        if area.height < 3 || area.width < LABELS + 8 {
            return;
        }
        let plot = Plot {
            area: Rect {
                x: area.x + LABELS,
                width: area.width - LABELS,
                height: area.height - 1,
                ..area
            },
            axis: self.axis(area.width - LABELS),
            capacity: if self.stock.capacity > 0.0 { self.stock.capacity } else { 1.0 },
        };
        self.level_labels(area, &plot, buf);
        self.limit(&plot, buf);
        self.now(&plot, buf);
        self.future(&plot, buf);
        self.readings(&plot, buf);
        self.day_labels(area, &plot, buf);
    }
}

/// Where hours and levels fall on the screen.
struct Plot {
    area: Rect,
    axis: Axis,
    capacity: f64,
}

impl Plot {
    /// Row of a level, clamped to the picture; the top row is full.
    fn row(&self, level: f64) -> u16 {
        let share = if level.is_finite() { (level / self.capacity).clamp(0.0, 1.0) } else { 0.0 };
        let rows = f64::from(self.area.height - 1);
        self.area.y + ((1.0 - share) * rows).round() as u16
    }

    fn put(&self, buf: &mut Buffer, (column, row): (u16, u16), ink: (&str, Style)) {
        if column < self.area.width {
            buf.set_string(self.area.x + column, row, ink.0, ink.1);
        }
    }

    /// A vertical stroke from one level to another.
    fn stroke(&self, buf: &mut Buffer, column: u16, levels: (f64, f64), ink: (&str, Style)) {
        let (top, bottom) = (self.row(levels.1), self.row(levels.0));
        for row in top.min(bottom)..=bottom.max(top) {
            self.put(buf, (column, row), ink);
        }
    }
}

impl Fan<'_> {
    /// Past and future share the width as three to five, where the past has that much to show; the
    /// future shows the band's end where a month's forecast reaches it, and a week at least.
    fn axis(&self, columns: u16) -> Axis {
        let end = self.stock.hours.p90.or(self.stock.hours.p50).unwrap_or(240.0);
        let last = self.stock.fan.last().map_or(168.0, |p| p.hour.max(24.0));
        let to = (end * 1.15).clamp(96.0, 744.0).min(last);
        // Before anybody read it there is nothing to see.
        let first = self.past.first().map_or(0.0, |first| hours_between(self.at, first.at));
        let from = (first * 1.1).clamp(-to * 0.6, -to * 0.05);
        Axis { at: self.at, zone: self.zone, from, to, columns }
    }

    fn level_labels(&self, area: Rect, plot: &Plot, buf: &mut Buffer) {
        let text = |level| amount(level, self.stock.capacity, &self.stock.unit, self.units);
        let mut put = |level: f64, row: u16| {
            let words = text(level);
            let words = if width(&words) < usize::from(LABELS) {
                words
            } else {
                words.split(' ').next().unwrap_or("").to_string()
            };
            let words = right(&words, usize::from(LABELS) - 1);
            buf.set_stringn(area.x, row, words, usize::from(LABELS) - 1, self.look.faint());
        };
        put(0.0, plot.row(0.0));
        put(self.stock.capacity, plot.row(self.stock.capacity));
        put(self.stock.limit, plot.row(self.stock.limit));
    }

    fn limit(&self, plot: &Plot, buf: &mut Buffer) {
        let row = plot.row(self.stock.limit);
        for column in 0..plot.area.width {
            plot.put(buf, (column, row), (self.look.glyphs().limit, self.look.faint()));
        }
    }

    fn now(&self, plot: &Plot, buf: &mut Buffer) {
        let Some(column) = plot.axis.column(0.0) else { return };
        let ink = (self.look.glyphs().now, self.look.faint());
        plot.stroke(buf, column, (0.0, plot.capacity), ink);
    }

    fn future(&self, plot: &Plot, buf: &mut Buffer) {
        let glyphs = self.look.glyphs();
        // The stroke of now stays in sight.
        let first = plot.axis.column(0.0).map_or(0, |now| now + 1);
        for column in first..plot.area.width {
            let (from, to) = plot.axis.hours(column);
            let hour = 0.5 * (from + to);
            let Some(point) = at_hour(&self.stock.fan, hour) else { continue };
            plot.stroke(buf, column, (point.p10, point.p90), (glyphs.fan, self.look.band()));
            plot.put(buf, (column, plot.row(point.p50)), (glyphs.fan_mid, self.look.strong()));
        }
    }

    fn readings(&self, plot: &Plot, buf: &mut Buffer) {
        let glyphs = self.look.glyphs();
        for reading in self.past {
            let hour = hours_between(self.at, reading.at).min(-0.01);
            let Some(column) = plot.axis.column(hour) else { continue };
            if reading.service {
                plot.put(buf, (column, plot.row(reading.high)), (glyphs.service, self.look.good()));
            } else {
                let ink = (glyphs.reading, Style::new());
                plot.stroke(buf, column, (reading.low, reading.high), ink);
            }
        }
    }

    fn day_labels(&self, area: Rect, plot: &Plot, buf: &mut Buffer) {
        let row = area.bottom() - 1;
        for (column, label) in plot.axis.labels() {
            let room = usize::from(plot.area.width.saturating_sub(column));
            buf.set_stringn(plot.area.x + column, row, label, room, self.look.faint());
        }
    }
}

/// The fan at `hour`, between its points; before the first one as it begins, `None` after the
/// last or in the past.
fn at_hour(fan: &[FanPoint], hour: f64) -> Option<FanPoint> {
    let after = fan.iter().position(|p| p.hour >= hour)?;
    let later = fan[after];
    let Some(earlier) = after.checked_sub(1).map(|i| fan[i]) else {
        return (hour >= 0.0).then_some(later);
    };
    let part = (hour - earlier.hour) / (later.hour - earlier.hour).max(1e-9);
    let between = |a: f64, b: f64| a + (b - a) * part;
    Some(FanPoint {
        hour,
        p10: between(earlier.p10, later.p10),
        p50: between(earlier.p50, later.p50),
        p90: between(earlier.p90, later.p90),
    })
}
