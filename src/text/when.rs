//! Dates, times of day and durations in words. All take the civil time where the van stands:
//! call [`crate::domain::time::Zone::here`] first.

use super::counted;
pub use crate::domain::time::half_hour_before;
use crate::domain::{Moment, Zone, after_hours};
use crate::forecast::Quantiles;
use chrono::Duration;

/// How long a date may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// `Saturday 14 March, 11:30`
    Full,
    /// `Sat 14 Mar 11:30`
    Short,
    /// `Sat 11:30`: only where no other Saturday can be meant.
    Tiny,
}

/// `moment` to the minute, in words.
pub fn date_time(moment: Moment, form: Form) -> String {
    let pattern = match form {
        Form::Full => "%A %-d %B, %H:%M",
        Form::Short => "%a %-d %b %H:%M",
        Form::Tiny => "%a %H:%M",
    };
    moment.format(pattern).to_string()
}

/// `Sat 14 Mar`
pub fn day(moment: Moment) -> String {
    moment.format("%a %-d %b").to_string()
}

/// `11:30`
pub fn clock(moment: Moment) -> String {
    moment.format("%H:%M").to_string()
}

/// The nearest full or half hour, for what is only likely.
pub(super) fn nearest_half_hour(moment: Moment) -> Moment {
    half_hour_before(moment + Duration::minutes(15))
}

/// When a stock, or the next stop, meets its limit, as clocks at the van show it and as it is told:
/// the safe date rounded down, the others to the nearest half hour; `None` past the horizon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dates {
    /// Nine in ten last longer.
    pub safe: Option<Moment>,
    /// Half of them do.
    pub likely: Option<Moment>,
    /// One in ten does.
    pub late: Option<Moment>,
}

impl Dates {
    /// From the hours after `now`.
    pub fn of(hours: &Quantiles, now: Moment, zone: &Zone) -> Dates {
        let at = |hours: Option<f64>| Some(zone.here(after_hours(now, hours?)?));
        Dates {
            safe: at(hours.p10).map(half_hour_before),
            likely: at(hours.p50).map(nearest_half_hour),
            late: at(hours.p90).map(nearest_half_hour),
        }
    }

    /// The three in words: still ahead of `now`, or after the days that were looked at.
    pub fn said(&self, now: Moment, days: usize, form: Form) -> [String; 3] {
        let said = |date: Option<Moment>| match date {
            Some(at) => still_ahead(at, now, form),
            None => format!("after {days} days"),
        };
        [self.safe, self.likely, self.late].map(said)
    }
}

/// What is said of a half hour that has begun already.
pub const SHORTLY: &str = "within the half hour";

/// A rounded `moment` after `now` in words, or that it is due: never a time that is past.
pub fn still_ahead(moment: Moment, now: Moment, form: Form) -> String {
    if moment <= now { SHORTLY.to_string() } else { date_time(moment, form) }
}

/// "in 1 day 14 h", "in 14 h", "in 40 min", "now": what is certainly left.
pub fn in_hours(hours: f64) -> String {
    match hours < 1.0 / 60.0 {
        true => "now".to_string(),
        false if !hours.is_finite() => "beyond what was looked at".to_string(),
        false => format!("in {}", lasting(hours)),
    }
}

/// "1 day 14 h", "14 h", "40 min": whole hours, minutes below two hours; rounded down. "Day" is 24
/// hours here.
pub(super) fn lasting(hours: f64) -> String {
    let minutes = (hours * 60.0 + 1e-6).floor().max(0.0) as usize;
    let (days, whole) = (minutes / 1440, minutes / 60);
    match (days, whole, whole % 24) {
        (_, 0..=1, _) => format!("{minutes} min"),
        (0, ..) => format!("{whole} h"),
        (1..=9, _, rest) if rest > 0 => format!("{} {rest} h", counted(days, "day")),
        _ => counted(days, "day"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Moment {
        text.parse().unwrap()
    }

    #[test]
    fn the_safe_date_rounds_down_and_the_likely_one_to_the_nearest() {
        let moment = at("2026-03-14T11:58:41.5+01:00");
        assert_eq!(half_hour_before(moment), at("2026-03-14T11:30:00+01:00"));
        assert_eq!(nearest_half_hour(moment), at("2026-03-14T12:00:00+01:00"));
        // A zone of three quarters of an hour: clocks there still show half hours.
        assert_eq!(
            half_hour_before(at("2026-03-14T11:40:00+05:45")),
            at("2026-03-14T11:30:00+05:45")
        );
        let now = at("2026-03-14T11:45:00+01:00");
        assert_eq!(still_ahead(half_hour_before(moment), now, Form::Short), SHORTLY);
        let later = still_ahead(nearest_half_hour(moment), now, Form::Short);
        assert_eq!(later, "Sat 14 Mar 12:00");
        assert_eq!(date_time(moment, Form::Full), "Saturday 14 March, 11:58");
        assert_eq!(date_time(moment, Form::Short), "Sat 14 Mar 11:58");
        assert_eq!(date_time(moment, Form::Tiny), "Sat 11:58");
    }

    #[test]
    fn durations_never_promise_more_than_is_left() {
        let rows = [
            (-3.0, "now"),
            (0.66, "in 39 min"),
            (1.99, "in 119 min"),
            (14.99, "in 14 h"),
            (24.2, "in 1 day"),
            (38.9, "in 1 day 14 h"),
            (60.0, "in 2 days 12 h"),
            (300.0, "in 12 days"),
            (f64::INFINITY, "beyond what was looked at"),
        ];
        for (hours, words) in rows {
            assert_eq!(in_hours(hours), words);
        }
    }
}
