//! A time axis with civil days: which column an hour falls into, and where the days' names go.

use crate::domain::{Moment, Zone, after_hours, hours_between};
use crate::forecast::Forecast;
use chrono::{Days, NaiveTime};

/// Days that an axis may span.
const SPANS: [f64; 8] = [2.0, 4.0, 6.0, 8.0, 11.0, 15.0, 21.0, 31.0];

/// Hours `from..to` relative to `at`, over `columns` columns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// Hour zero.
    pub at: Moment,
    /// Decides when days begin.
    pub zone: Zone,
    /// Hours at the left edge.
    pub from: f64,
    /// Hours at the right edge, more than `from`.
    pub to: f64,
    /// Width.
    pub columns: u16,
}

impl Axis {
    /// The axis of the first screen: the shortest span that shows the next stop's whole band and
    /// the likely end of at least half of the stocks that end at all, with three columns a day
    /// where that can be had.
    pub(in crate::tui) fn for_forecast(forecast: &Forecast, zone: Zone, columns: u16) -> Axis {
        let next = &forecast.next.hours;
        let stop = next.p90.or(next.p50).or(next.p10).unwrap_or(0.0);
        let mut ends: Vec<f64> = forecast.stocks.iter().filter_map(|s| s.hours.p50).collect();
        ends.sort_by(f64::total_cmp);
        let half = ends.get(ends.len().saturating_sub(1) / 2).copied().unwrap_or(0.0);
        let widest = (f64::from(columns) / 3.0).max(f64::from(2));
        let wanted = stop.max(half.min(stop * 2.0 + 48.0)) / 24.0;
        let least = SPANS.into_iter().find(|days| *days >= wanted).unwrap_or(31.0);
        // A week is easier to read than two days, and costs nothing where there is room.
        let days = if least <= 6.0 { widest.min(7.0).max(least) } else { least };
        Axis { at: forecast.at, zone, from: 0.0, to: days * 24.0, columns }
    }

    /// The column of `hour`; `None` when it lies outside.
    pub fn column(&self, hour: f64) -> Option<u16> {
        if !hour.is_finite() || hour < self.from || hour >= self.to || self.columns == 0 {
            return None;
        }
        let place = (hour - self.from) / (self.to - self.from) * f64::from(self.columns);
        Some((place.floor() as u16).min(self.columns - 1))
    }

    /// The hours that `column` covers.
    pub fn hours(&self, column: u16) -> (f64, f64) {
        let step = (self.to - self.from) / f64::from(self.columns.max(1));
        let low = self.from + step * f64::from(column);
        (low, low + step)
    }

    /// Midnights on the axis, as hours and the moment.
    pub(in crate::tui) fn midnights(&self) -> Vec<(f64, Moment)> {
        let Some(start) = after_hours(self.at, self.from) else { return Vec::new() };
        let mut date = self.zone.date(start);
        let mut midnights = Vec::new();
        while let Some(next) = date.checked_add_days(Days::new(1)) {
            let moment = self.zone.moment(next.and_time(NaiveTime::MIN));
            let hour = hours_between(self.at, moment);
            if hour >= self.to || midnights.len() > 400 {
                break;
            }
            midnights.push((hour, moment));
            date = next;
        }
        midnights
    }

    /// Names of days with the column at which each begins. With a week or less they are names
    /// alone, three letters or two; beyond that the day of the month goes with them. Where they
    /// have no room, only every second, third and so on is named.
    pub fn labels(&self) -> Vec<(u16, String)> {
        let per_day = f64::from(self.columns) / ((self.to - self.from) / 24.0);
        let form = match self.to - self.from {
            span if span > 8.0 * 24.0 => "%a %-d",
            _ if per_day >= 4.0 => "%a",
            _ => "%a2",
        };
        let named = |(hour, moment): (f64, Moment)| {
            let label: String = match form {
                "%a2" => moment.format("%a").to_string().chars().take(2).collect(),
                form => moment.format(form).to_string(),
            };
            Some((self.column(hour)?, label))
        };
        let all: Vec<(u16, String)> = self.midnights().into_iter().filter_map(named).collect();
        // Every day, or every second, third ... so that the names stand at even distances.
        let thinned = |every: usize| -> Vec<(u16, String)> {
            let fits =
                |(column, label): &&(u16, String)| column + label.len() as u16 <= self.columns;
            all.iter().step_by(every).filter(fits).cloned().collect()
        };
        let apart = |labels: &[(u16, String)]| {
            labels.windows(2).all(|two| two[1].0 > two[0].0 + two[0].1.len() as u16)
        };
        (1..=all.len()).map(thinned).find(|labels| apart(labels)).unwrap_or_default()
    }

    /// The last day on the axis by name: "Wed", or "Wed 25" beyond a week.
    pub(in crate::tui) fn last_day(&self) -> String {
        let form = if self.to - self.from > 8.0 * 24.0 { "%a %-d" } else { "%a" };
        let last = after_hours(self.at, self.to - 0.5).unwrap_or(self.at);
        self.zone.here(last).format(form).to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn axis(days: f64, columns: u16) -> Axis {
        let at: Moment = "2026-10-22T21:00:00+02:00".parse().unwrap();
        let zone = Zone::Named(chrono_tz::Europe::Oslo);
        Axis { at, zone, from: 0.0, to: days * 24.0, columns }
    }

    #[test]
    fn days_begin_at_midnight_also_when_clocks_change() {
        let hours: Vec<f64> = axis(5.0, 40).midnights().iter().map(|m| m.0).collect();
        // The night to Monday has 25 hours (clocks go back on 25 October 2026, IANA tzdata).
        assert_eq!(hours, [3.0, 27.0, 51.0, 76.0, 100.0]);
    }

    #[test]
    fn labels_never_overlap_or_leave_the_axis() {
        for columns in 0..90 {
            for days in SPANS {
                let mut end = 0;
                for (column, label) in axis(days, columns).labels() {
                    assert!(column >= end, "{days} days on {columns} columns");
                    end = column + label.len() as u16 + 1;
                    assert!(end - 1 <= columns);
                }
            }
        }
    }

    #[test]
    fn hours_outside_have_no_column() {
        let axis = axis(2.0, 24);
        let rows = [
            (0.0, Some(0)),
            (47.9, Some(23)),
            (48.0, None),
            (-0.1, None),
            (f64::NAN, None),
            (f64::INFINITY, None),
        ];
        for (hour, column) in rows {
            assert_eq!(axis.column(hour), column, "{hour}");
        }
    }
}
