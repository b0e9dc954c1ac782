//! Instants with the offset they were written in, and civil days at the van.
//!
//! A user's "day" is a civil day where the van stands, not 24 hours, so both the instant and
//! the offset are kept. A zone decides which offset a typed local time has.

use chrono::{
    DateTime, Duration, FixedOffset, LocalResult, NaiveDate, NaiveDateTime, TimeZone, Timelike,
};

/// An instant together with the UTC offset it was written in.
pub type Moment = DateTime<FixedOffset>;

/// The hour at which people call it morning: what is told before it is told of the evening that has
/// gone. 4 to 6; common practice, no source.
pub const NIGHT_ENDS: u32 = 5;

/// How a civil date and time at the van becomes an instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Zone {
    /// Always the same distance from UTC.
    Fixed(FixedOffset),
    /// A zone of the IANA time zone database, with its daylight saving rules.
    Named(chrono_tz::Tz),
}

impl Zone {
    /// The instant at which clocks here show `civil`. In an hour that clocks repeat, the earlier
    /// instant; in an hour that they skip, the instant that clocks without the jump would show.
    pub fn moment(&self, civil: NaiveDateTime) -> Moment {
        match self {
            Zone::Fixed(offset) => earlier(offset, civil),
            Zone::Named(zone) => earlier(zone, civil),
        }
    }

    /// The same instant, written in this zone's offset.
    pub fn here(&self, moment: Moment) -> Moment {
        match self {
            Zone::Fixed(offset) => moment.with_timezone(offset),
            Zone::Named(zone) => moment.with_timezone(zone).fixed_offset(),
        }
    }

    /// So many hours' beginnings from `from` on, in this zone's offset. Clocks are looked up once a
    /// day where they do not change in between.
    pub fn hours(&self, from: Moment, count: usize) -> Vec<Moment> {
        let mut hours: Vec<Moment> = Vec::with_capacity(count);
        while hours.len() < count {
            let at = from + Duration::hours(hours.len() as i64);
            let (here, later) = (self.here(at), self.here(at + Duration::days(1)));
            let even = here.offset() == later.offset();
            let steps = if even { 24.min(count - hours.len()) } else { 1 };
            hours.extend((0..steps).map(|step| here + Duration::hours(step as i64)));
        }
        hours
    }

    /// The civil date at the van at `moment`.
    pub fn date(&self, moment: Moment) -> NaiveDate {
        self.here(moment).date_naive()
    }

    /// Whether somebody may live by this zone's clocks so many degrees east. No country's clocks are
    /// more than about three and a half hours from the sun's (from memory), so that four mean that a
    /// sign was forgotten.
    pub fn suits(&self, longitude_deg: f64, at: Moment) -> bool {
        let clocks = f64::from(self.here(at).offset().local_minus_utc()) / 240.0;
        let apart = (longitude_deg - clocks).rem_euclid(360.0);
        apart.min(360.0 - apart) <= 60.0
    }

    /// The day that people would call today at `moment`: in the small hours still the one before.
    pub fn waking_date(&self, moment: Moment) -> NaiveDate {
        self.date(moment - Duration::hours(NIGHT_ENDS.into()))
    }
}

fn earlier<Z: TimeZone>(zone: &Z, civil: NaiveDateTime) -> Moment {
    match zone.from_local_datetime(&civil) {
        LocalResult::Single(at) => at.fixed_offset(),
        LocalResult::Ambiguous(first, _) => first.fixed_offset(),
        // Clocks jump by an hour or two at most, so the offset before the jump is known three
        // hours earlier; shifting back and forth keeps real hours.
        LocalResult::None => {
            let before = civil - Duration::hours(3);
            earlier(zone, before) + Duration::hours(3)
        }
    }
}

/// Hours from `from` to `to`; negative when `to` is earlier.
pub fn hours_between(from: Moment, to: Moment) -> f64 {
    (to - from).num_milliseconds() as f64 / 3_600_000.0
}

/// The last full or half hour at or before `moment`: the safe side for "be there by".
pub fn half_hour_before(moment: Moment) -> Moment {
    minutes_before(moment, 30)
}

/// Its whole minute, by which people remember what happened.
pub fn to_the_minute(moment: Moment) -> Moment {
    minutes_before(moment, 1)
}

fn minutes_before(moment: Moment, whole: u32) -> Moment {
    let past = i64::from(moment.minute() % whole) * 60 + i64::from(moment.second());
    moment - Duration::seconds(past) - Duration::nanoseconds(i64::from(moment.nanosecond()))
}

/// The moment `hours` after `from`, to the millisecond. `None` past chrono's range.
pub fn after_hours(from: Moment, hours: f64) -> Option<Moment> {
    if !hours.is_finite() || hours.abs() > 1e9 {
        return None;
    }
    from.checked_add_signed(Duration::milliseconds((hours * 3_600_000.0).round() as i64))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn civil(text: &str) -> NaiveDateTime {
        NaiveDateTime::parse_from_str(text, "%Y-%m-%d %H:%M").unwrap()
    }

    #[test]
    fn skipped_and_repeated_hours_are_decided() {
        // Europe/Oslo: 2026-03-29 02:00 -> 03:00 and 2026-10-25 03:00 -> 02:00 (IANA tzdata).
        let zone = Zone::Named(chrono_tz::Europe::Oslo);
        assert_eq!(
            zone.moment(civil("2026-03-29 02:30")).to_rfc3339(),
            "2026-03-29T02:30:00+01:00"
        );
        assert_eq!(
            zone.moment(civil("2026-10-25 02:30")).to_rfc3339(),
            "2026-10-25T02:30:00+02:00"
        );
    }

    /// Longitudes to a degree, from memory: Los Angeles, Kashgar (by Beijing's clocks), Madrid,
    /// Apia across the date line.
    #[test]
    fn a_zone_suits_no_place_on_the_other_side_of_the_earth() {
        let at = |zone, longitude| {
            let now = "2026-07-01T12:00:00+00:00".parse().unwrap();
            Zone::Named(zone).suits(longitude, now)
        };
        assert!(at(chrono_tz::America::Los_Angeles, -118.0));
        assert!(!at(chrono_tz::America::Los_Angeles, 118.0));
        assert!(at(chrono_tz::Asia::Shanghai, 76.0));
        assert!(at(chrono_tz::Europe::Madrid, -9.0));
        assert!(at(chrono_tz::Pacific::Apia, -172.0));
    }

    /// Over the same two changes of clocks each hour is what it is by itself.
    #[test]
    fn hours_are_each_as_clocks_show_it() {
        let zone = Zone::Named(chrono_tz::Europe::Oslo);
        for from in ["2026-03-26 07:00", "2026-10-22 07:00"] {
            let from = zone.moment(civil(from));
            let hours = zone.hours(from, 100);
            let alone = |hour| zone.here(from + Duration::hours(hour)).to_rfc3339();
            let hours: Vec<String> = hours.iter().map(|at| at.to_rfc3339()).collect();
            assert_eq!(hours, (0..100).map(alone).collect::<Vec<_>>());
        }
    }

    #[test]
    fn hours_round_trip() {
        let at =
            Zone::Fixed(FixedOffset::east_opt(3600).unwrap()).moment(civil("2026-06-01 12:00"));
        let later = after_hours(at, 39.5).unwrap();
        assert_eq!(hours_between(at, later), 39.5);
        assert_eq!(after_hours(at, f64::INFINITY), None);
    }
}
