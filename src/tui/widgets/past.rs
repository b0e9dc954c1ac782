//! One past evening on an axis of days after it: the band that was foretold, and what came.

use super::row::SignRow;
use crate::forecast::PastEvening;
use crate::tui::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// Days that the axis may span.
const SPANS: [u32; 8] = [2, 3, 5, 7, 10, 14, 21, 31];

/// Days that show the whole band and what came on most of these evenings.
pub(in crate::tui) fn span_days(evenings: &[PastEvening]) -> u32 {
    let ends = |e: &PastEvening| {
        let came = if e.came.to.is_finite() { e.came.to } else { e.came.from };
        let said = e.said.p90.or(e.said.p50).or(e.said.p10).unwrap_or(0.0);
        said.max(if came.is_finite() { came.min(2.0 * said + 24.0) } else { 0.0 }) / 24.0
    };
    let mut ends: Vec<f64> = evenings.iter().map(ends).collect();
    ends.sort_by(f64::total_cmp);
    let most = ends.get(ends.len() * 9 / 10).or(ends.last()).copied().unwrap_or(0.0);
    SPANS.into_iter().find(|days| f64::from(*days) > most).unwrap_or(31)
}

/// The row of one evening.
#[derive(Debug, Clone, Copy)]
pub(in crate::tui) struct PastBand<'a> {
    /// The evening.
    pub evening: &'a PastEvening,
    /// Days that the row spans, at least 1.
    pub days: u32,
    /// Looks.
    pub look: Theme,
}

impl PastBand<'_> {
    fn column(&self, hours: f64, columns: u16) -> Option<u16> {
        let whole = f64::from(self.days) * 24.0;
        let inside = hours.is_finite() && (0.0..whole).contains(&hours) && columns > 0;
        inside.then(|| ((hours / whole * f64::from(columns)) as u16).min(columns - 1))
    }

    /// Sign, hour and style of what came.
    fn came(&self) -> Option<(&'static str, f64, Style)> {
        let (glyphs, span) = (self.look.glyphs(), self.evening.came);
        match span.to.is_finite() {
            true => Some((glyphs.met, 0.5 * (span.from + span.to), self.look.strong())),
            false if span.from > 0.0 => Some((glyphs.service, span.from, self.look.strong())),
            false => None,
        }
    }
}

impl Widget for PastBand<'_> {
    fn render(self, area: Rect, buf: &mut Buffer) {
        let area = area.intersection(*buf.area());
        if area.is_empty() {
            return;
        }
        let (glyphs, columns) = (self.look.glyphs(), area.width);
        let mut row = SignRow { buf, area, look: self.look };
        for day in 1..self.days {
            if let Some(column) = self.column(f64::from(day) * 24.0, columns) {
                row.put(column, glyphs.midnight, self.look.faint());
            }
        }
        let said = &self.evening.said;
        let at = [said.p10, said.p50, said.p90].map(|hours| self.column(hours?, columns));
        row.band(at, self.look.band());
        if at[0].is_none() && said.p10.is_some_and(|hours| hours > 0.0) {
            row.put(columns - 1, glyphs.beyond, self.look.band());
        }
        if let Some((sign, hours, style)) = self.came()
            && let Some(column) = self.column(hours, columns)
        {
            row.put(column, sign, style);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forecast::answer::Quantiles;
    use crate::forecast::hindsight::Span;

    fn drawn(said: [Option<f64>; 3], from: f64, to: f64) -> String {
        let [p10, p50, p90] = said;
        let evening = PastEvening {
            at: crate::tui::fixture::now(),
            said: Quantiles { p10, p50, p90, ..Quantiles::default() },
            came: Span { from, to },
            verdict: None,
            readings: vec![],
        };
        let look = Theme { ascii: true, colour: false, ..Theme::default() };
        let area = Rect::new(0, 0, 20, 1);
        let mut buf = Buffer::empty(area);
        PastBand { evening: &evening, days: 5, look }.render(area, &mut buf);
        (0..20).map(|x| buf[(x, 0)].symbol()).collect()
    }

    #[test]
    fn what_was_said_and_what_came_stand_on_one_row() {
        let days = |d: f64| Some(d * 24.0);
        let never = f64::INFINITY;
        let rows = [
            ([days(1.0), days(2.0), days(3.0)], 1.7 * 24.0, 1.9 * 24.0, "    [==X+===]   .   "),
            ([days(1.0), days(2.0), None], 12.0, never, "  # [===+==========>"),
            ([days(6.0), None, None], 4.6 * 24.0, never, "    .   .   .   . #>"),
            ([None, None, None], 0.0, never, "    .   .   .   .   "),
        ];
        for (said, from, to, row) in rows {
            assert_eq!(drawn(said, from, to), row);
        }
    }
}
