//! The moment that a time phrase means.
//!
//! The rules, which the echo makes visible before anything is saved:
//!
//! - a bare hour (`21:00`) is the last time that clocks showed it, if that is at most twelve
//!   hours ago; an hour still ahead needs a day (`today 21:00` is a plan);
//! - `at 7` is 07:00 or 19:00, whichever can be; where both can, it is asked back, but that nobody
//!   means the hours before six;
//! - `planned` before a time makes it look ahead and refuses one that is past;
//! - a weekday belongs to its thing: behind for what has happened, ahead for guests, days away and
//!   what is said of the future; `last` and `next` keep off today; `from` and `until` look ahead;
//! - a date without a year is the nearest one, before or after; a plan's lies ahead;
//! - a past day without an hour means 21:00, a coming day 12:00, today now;
//! - `morning` is 08:00, `afternoon` 14:00, `evening` 20:00, `night` 22:00, and now, if the part
//!   of today so named has begun but its hour has not come;
//! - up to five in the morning, `this evening` and `tonight` are those that have just gone.

use crate::domain::time::NIGHT_ENDS;
use crate::domain::{Moment, Zone};
use chrono::{Datelike, Duration, NaiveDate, NaiveDateTime, NaiveTime, Timelike, Weekday};

/// From which hour of a dial on what was done is thought of as done by day first.
const LATEST: u32 = 10;

/// Nobody means the hours of a dial before this one that are in the night.
const EARLY: u32 = 6;

/// Plans reach this many days ahead.
const FURTHEST_AHEAD_DAYS: i64 = 400;
/// Entries reach this many days back.
const FURTHEST_BACK_DAYS: i64 = 3653;

/// Now, as seen from the van.
#[derive(Debug, Clone, Copy)]
pub(in crate::logline) struct Clock {
    pub now: Moment,
    /// The moment of what names no time, and the day of an hour that names no day, where the line
    /// is about another than now.
    pub about: Option<Moment>,
    pub civil: NaiveDateTime,
    pub zone: Zone,
}

/// Which way an unfinished date looks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::logline) enum Look {
    Usual,
    Last,
    Ahead,
    Next,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::logline) enum Day {
    FromToday(i64),
    /// The day that a part of it is named of: `this evening`.
    This,
    Date(NaiveDate),
    Weekday(Weekday, Look),
    OfMonth(u32, u32, Look),
    /// A date that says its weekday as well.
    Named(Weekday, u32, u32),
    /// A day of a month near this one that says its weekday as well.
    WeekdayOfMonth(Weekday, u32),
    /// A day of this month, or of the one next to it.
    OfThisMonth(u32, Look),
}

/// Which way the thing looks that a time stands with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Looks {
    /// It has happened.
    Back,
    /// It is about who is aboard: days lie ahead, hours do not.
    DaysAhead,
    /// It is said of the future.
    Ahead,
}

/// An hour: as clocks show it, or a part of the day with the hour that stands for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::logline) enum Hour {
    At(NaiveTime),
    /// On a clock of twelve hours, with no word of which half of the day.
    Dial(NaiveTime),
    Part {
        begins: u32,
        stands_for: u32,
    },
}

/// Whether words of a phrase itself make it look ahead.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(in crate::logline) enum Toward {
    /// No word says so.
    #[default]
    Open,
    /// `from` or `until` does.
    Ahead,
    /// `planned` does, so that it must not be past.
    Planned,
}

/// Why a phrase means no moment, and phrases that would.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::logline) struct Untimely {
    pub message: String,
    pub instead: Vec<String>,
}

fn untimely(message: String) -> Untimely {
    Untimely { message, instead: Vec::new() }
}

/// What a time phrase says; what it leaves open comes from the line or from the rules.
#[derive(Debug, Clone, PartialEq, Default)]
pub(in crate::logline) struct When {
    pub exact: Option<Moment>,
    pub day: Option<Day>,
    pub hour: Option<Hour>,
    pub toward: Toward,
    /// Characters of the line.
    pub start: usize,
    pub end: usize,
    pub words: String,
}

impl When {
    /// This phrase, with what it leaves open taken from `line`.
    pub fn or(&self, line: &When) -> When {
        if self.exact.is_some() || self.is_empty() && line.exact.is_some() {
            return if self.exact.is_some() { self.clone() } else { line.clone() };
        }
        let mut both = if self.is_empty() { line.clone() } else { self.clone() };
        both.day = self.day.or(line.day);
        both.hour = self.hour.or(line.hour);
        both.toward = self.toward.max(line.toward);
        both
    }

    /// The same, as what is said of the time to come.
    pub(in crate::logline) fn ahead(mut self) -> When {
        self.toward = self.toward.max(Toward::Ahead);
        match &mut self.day {
            Some(Day::Weekday(_, look) | Day::OfMonth(_, _, look) | Day::OfThisMonth(_, look))
                if *look == Look::Usual =>
            {
                *look = Look::Ahead
            }
            _ => {}
        }
        self
    }

    /// Whether it is a day of any week, or an hour of any day.
    pub(in crate::logline) fn is_of_any_week(&self) -> bool {
        self.exact.is_none() && matches!(self.day, None | Some(Day::Weekday(..)))
    }

    /// Whether it is a day and no hour of it.
    pub(in crate::logline) fn is_a_day(&self) -> bool {
        self.exact.is_none() && self.day.is_some() && self.hour.is_none()
    }

    /// Two phrases of one time, which do not clash.
    pub(in crate::logline) fn with(&self, other: &When) -> When {
        let both = self.or(other);
        let words = format!("{} {}", self.words, other.words);
        When { words, start: self.start.min(other.start), end: self.end.max(other.end), ..both }
    }

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        self.exact.is_none() && self.day.is_none() && self.hour.is_none()
    }

    /// Whether both say the same kind of thing, so that one has to give way.
    pub(in crate::logline) fn clashes(&self, other: &When) -> bool {
        let exact =
            self.exact.is_some() && !other.is_empty() || other.exact.is_some() && !self.is_empty();
        exact
            || self.day.is_some() && other.day.is_some()
            || self.hour.is_some() && other.hour.is_some()
    }

    /// Whether it needs nothing from the line.
    pub(in crate::logline) fn is_complete(&self) -> bool {
        self.exact.is_some() || self.day.is_some() && self.hour.is_some()
    }

    /// The date that it speaks of, for an outlook's row.
    pub fn date(&self, clock: &Clock) -> Option<NaiveDate> {
        if let Some(exact) = self.exact {
            return Some(clock.zone.date(exact));
        }
        let today = clock.civil.date();
        Some(match self.day? {
            Day::This => today,
            Day::Named(day, month, of) => named(today, day, month, of)?,
            Day::WeekdayOfMonth(day, of) => weekday_of_month(today, day, of)?,
            Day::OfThisMonth(day, look) => of_this_month(today, day, look)?,
            Day::FromToday(days) => today + Duration::days(days),
            Day::Date(date) => date,
            // Weather is spoken of ahead: the next such day, today included.
            Day::Weekday(day, Look::Usual) => weekday_from(today, day),
            Day::Weekday(day, look) => candidates_of_weekday(today, day, look)[0],
            Day::OfMonth(month, day, look) => month_day(today, month, day, look)?,
        })
    }

    /// The moment that it means; `Err` says what is wrong with it, and what would do.
    pub fn resolve(&self, clock: &Clock, looks: Looks) -> Result<Moment, Untimely> {
        let looks = if self.toward > Toward::Open { Looks::Ahead } else { looks };
        if let Some(Hour::Dial(dial)) = self.hour {
            return self.on_dial(dial, clock, looks);
        }
        let morning = matches!(self.hour, Some(Hour::Part { begins: 5, .. }));
        let night = clock.civil.hour() < NIGHT_ENDS;
        if self.day == Some(Day::This) && morning && night && looks == Looks::Back {
            let instead = vec!["yesterday morning".to_string(), "today 08:00".to_string()];
            let message = "it is not morning yet: write `yesterday morning`, or `today 08:00`";
            return Err(Untimely { message: message.to_string(), instead });
        }
        let at = match (self.exact, self.day, self.hour) {
            (Some(exact), _, _) => exact,
            (None, None, None) => clock.about.unwrap_or(clock.now),
            (None, None, Some(hour)) => match clock.about {
                Some(about) => at_hour(clock.zone.date(about), hour, clock),
                None => self.bare_hour(hour, clock, looks)?,
            },
            (None, Some(day), hour) => on_day(day, hour, clock, looks)
                .ok_or_else(|| untimely(format!("there is no such date as {}", self.words)))?,
        };
        if self.toward == Toward::Planned && at <= clock.now {
            let message = "not ahead: leave `planned` out for what happened".to_string();
            let without = self.words.trim_start_matches("planned ").to_string();
            return Err(Untimely { message, instead: vec![without] });
        }
        if at - clock.now > Duration::days(FURTHEST_AHEAD_DAYS) {
            return Err(untimely(format!("more than {FURTHEST_AHEAD_DAYS} days ahead")));
        }
        if clock.now - at > Duration::days(FURTHEST_BACK_DAYS) {
            return Err(untimely("more than ten years back".to_string()));
        }
        Ok(at)
    }

    /// The half of the day that an hour on a dial means.
    fn on_dial(&self, dial: NaiveTime, clock: &Clock, looks: Looks) -> Result<Moment, Untimely> {
        let half = |add: u32| {
            let hour = Some(Hour::At(time(dial.hour() + add, dial.minute())));
            When { hour, ..self.clone() }.resolve(clock, looks)
        };
        let fits = |at: &Moment| (*at > clock.now) == (looks == Looks::Ahead);
        let (am, pm) = (half(0), half(12));
        let early = dial.hour() < EARLY;
        let ask = |am: Moment, pm: Moment| {
            let mut instead = [am, pm].map(|at| named_moment(at, clock.zone, clock.now)).to_vec();
            let message = format!("morning or evening? Write `{}` or `{}`", instead[0], instead[1]);
            // What was done is told soon after; few do much at eleven at night.
            if dial.hour() < LATEST {
                instead.reverse();
            }
            Err(Untimely { message, instead })
        };
        // Of what was planned, the half of its day that is nearer to its hour.
        if let (Some(about), Ok(am), Ok(pm)) =
            (clock.about.filter(|_| self.day.is_none()), &am, &pm)
        {
            let near = if (*am - about).abs() < (*pm - about).abs() { *am } else { *pm };
            return if fits(&near) { Ok(near) } else { ask(*am, *pm) };
        }
        match (am.clone().ok().filter(fits), pm.clone().ok().filter(fits)) {
            (Some(am), Some(pm)) => match looks {
                _ if early => Ok(pm),
                // Plans of the day begin in the morning.
                Looks::Ahead if dial.hour() > 6 => Ok(am),
                _ => ask(am, pm),
            },
            (None, Some(pm)) => Ok(pm),
            (Some(am), None) => Ok(am),
            (None, None) => {
                if early {
                    pm
                } else {
                    am
                }
            }
        }
    }

    /// Whether it is the night that comes, or has just begun.
    pub(in crate::logline) fn is_tonight(&self) -> bool {
        let night = matches!(self.hour, Some(Hour::Part { begins: 17 | 21, .. }));
        self.exact.is_none() && self.day == Some(Day::This) && night
    }

    fn bare_hour(&self, hour: Hour, clock: &Clock, looks: Looks) -> Result<Moment, Untimely> {
        let today = clock.civil.date();
        let at = at_hour(today, hour, clock);
        if looks == Looks::Ahead {
            return Ok(if at > clock.now { at } else { at_hour(next(today), hour, clock) });
        }
        if at <= clock.now {
            return Ok(at);
        }
        let before = at_hour(today - Duration::days(1), hour, clock);
        if clock.now - before <= Duration::hours(12) {
            return Ok(before);
        }
        let hour = clock.zone.here(at).format("%H:%M");
        let (plan, past) = (format!("today {hour}"), format!("yesterday {hour}"));
        let message = format!("still ahead: write `{plan}` for a plan, or `{past}`");
        Err(Untimely { message, instead: vec![past, plan] })
    }
}

/// A moment in words, to the minute: `yesterday 21:00`, `friday 23 october 12:00`; RFC 3339 where
/// minutes are not enough (seconds, repeated hours).
pub(in crate::logline) fn named_moment(at: Moment, zone: Zone, now: Moment) -> String {
    let civil = zone.here(at).naive_local();
    let minute = civil.date().and_hms_opt(civil.hour(), civil.minute(), 0);
    if minute.is_none_or(|minute| zone.moment(minute) != at) {
        return zone.here(at).to_rfc3339();
    }
    let day = match (civil.date() - zone.here(now).date_naive()).num_days() {
        -1 => "yesterday".to_string(),
        0 => "today".to_string(),
        1 => "tomorrow".to_string(),
        -150..=150 => civil.format("%A %-d %B").to_string().to_lowercase(),
        _ => civil.format("%Y-%m-%d").to_string(),
    };
    format!("{day} {}", civil.format("%H:%M"))
}

fn next(date: NaiveDate) -> NaiveDate {
    date.succ_opt().unwrap_or(date)
}

pub(in crate::logline) fn time(hour: u32, minute: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, minute, 0).unwrap_or(NaiveTime::MIN)
}

fn at_hour(date: NaiveDate, hour: Hour, clock: &Clock) -> Moment {
    match hour {
        Hour::At(time) | Hour::Dial(time) => clock.zone.moment(date.and_time(time)),
        Hour::Part { begins, stands_for } => {
            let at = clock.zone.moment(date.and_time(time(stands_for, 0)));
            let begun = date == clock.civil.date() && clock.civil.hour() >= begins;
            if begun { at.min(clock.now) } else { at }
        }
    }
}

/// The evening of people who come, and the morning after, from the night that was named.
pub(in crate::logline) fn night(clock: &Clock) -> (Moment, Moment) {
    let today = clock.civil.date();
    let small_hours = clock.civil.hour() < NIGHT_ENDS;
    let evening = clock.zone.moment(today.and_time(time(18, 0)));
    let evening = if clock.civil.hour() >= 17 { clock.now } else { evening };
    let morning = if small_hours { today } else { next(today) };
    let from = if small_hours { clock.now } else { evening };
    (from, clock.zone.moment(morning.and_time(time(8, 0))))
}

/// The morning or the hour after so many nights or days from `from`.
pub(in crate::logline) fn after_days(from: Moment, days: i64, clock: &Clock) -> Option<Moment> {
    let civil = clock.zone.here(from).naive_local();
    let civil = civil.checked_add_signed(Duration::days(days))?;
    let minute = civil.with_second(0)?.with_nanosecond(0)?;
    Some(clock.zone.moment(minute))
}

fn on_day(day: Day, hour: Option<Hour>, clock: &Clock, looks: Looks) -> Option<Moment> {
    let today = clock.civil.date();
    let at = |date: NaiveDate| match hour {
        Some(hour) => at_hour(date, hour, clock),
        None if date == today => clock.now,
        None if date < today => clock.zone.moment(date.and_time(time(21, 0))),
        None => clock.zone.moment(date.and_time(time(12, 0))),
    };
    let ahead = |look: Look| match look {
        Look::Usual if looks != Looks::Back => Look::Ahead,
        look => look,
    };
    match day {
        Day::This => {
            let late = matches!(hour, Some(Hour::Part { begins, .. }) if begins >= 12);
            let gone = late && clock.civil.hour() < NIGHT_ENDS && looks == Looks::Back;
            Some(at(if gone { today - Duration::days(1) } else { today }))
        }
        Day::Named(day, month, of) => named(today, day, month, of).map(at),
        Day::WeekdayOfMonth(day, of) => weekday_of_month(today, day, of).map(at),
        Day::OfThisMonth(day, look) => of_this_month(today, day, ahead(look)).map(at),
        // Before the night ends, today is the day that it ends.
        Day::FromToday(0)
            if hour.is_none() && looks == Looks::Back && clock.civil.hour() < NIGHT_ENDS =>
        {
            Some(at(today - Duration::days(1)))
        }
        Day::FromToday(days) => Some(at(today + Duration::days(days))),
        Day::Date(date) => Some(at(date)),
        Day::OfMonth(month, day, look) => month_day(today, month, day, ahead(look)).map(at),
        Day::Weekday(day, look) => {
            let look = ahead(look);
            let [first, second] = candidates_of_weekday(today, day, look).map(at);
            let fits = match look {
                Look::Usual => first <= clock.now,
                Look::Ahead => first > clock.now,
                Look::Last | Look::Next => true,
            };
            Some(if fits { first } else { second })
        }
    }
}

/// The first such weekday at or after `from`.
fn weekday_from(from: NaiveDate, day: Weekday) -> NaiveDate {
    let ahead = (7 + day.num_days_from_monday() - from.weekday().num_days_from_monday()) % 7;
    from + Duration::days(i64::from(ahead))
}

/// The date meant, and the one a week further off in case the first is on the wrong side of now.
fn candidates_of_weekday(today: NaiveDate, day: Weekday, look: Look) -> [NaiveDate; 2] {
    let week = Duration::days(7);
    let ahead = weekday_from(today, day);
    let off = i32::from(ahead == today);
    match look {
        Look::Usual => [ahead - week * (1 - off), ahead - week * (2 - off)],
        Look::Last => [ahead - week, ahead - week * 2],
        Look::Ahead => [ahead, ahead + week],
        Look::Next => [ahead + week * off, ahead + week * (1 + off)],
    }
}

/// The nearest year in which that day of the month is that weekday.
fn named(today: NaiveDate, weekday: Weekday, month: u32, day: u32) -> Option<NaiveDate> {
    let years = (today.year() - 12..=today.year() + 12)
        .filter_map(|year| NaiveDate::from_ymd_opt(year, month, day));
    nearest(today, years.filter(|date| date.weekday() == weekday))
}

/// `friday the 16th`: in this month or one beside it, if that day is a Friday there.
fn weekday_of_month(today: NaiveDate, weekday: Weekday, of: u32) -> Option<NaiveDate> {
    let near =
        months(today, 1).filter_map(|(year, month)| NaiveDate::from_ymd_opt(year, month, of));
    nearest(today, near.filter(|date| date.weekday() == weekday))
}

/// Year and month of those up to so many months off.
fn months(today: NaiveDate, off: i32) -> impl Iterator<Item = (i32, u32)> {
    let this = today.year() * 12 + today.month0() as i32;
    (this - off..=this + off).map(|month| (month.div_euclid(12), month.rem_euclid(12) as u32 + 1))
}

/// `the 17th`: the latest one that is not ahead, or the first that is not past.
fn of_this_month(today: NaiveDate, day: u32, look: Look) -> Option<NaiveDate> {
    let months =
        months(today, 2).filter_map(|(year, month)| NaiveDate::from_ymd_opt(year, month, day));
    match look {
        Look::Usual | Look::Last => months.filter(|date| *date <= today).max(),
        Look::Ahead | Look::Next => months.filter(|date| *date >= today).min(),
    }
}

/// A month and day in the year that `look` asks for.
fn month_day(today: NaiveDate, month: u32, day: u32, look: Look) -> Option<NaiveDate> {
    let years = (today.year() - 4..=today.year() + 4)
        .filter_map(|year| NaiveDate::from_ymd_opt(year, month, day));
    nearest(
        today,
        years.filter(|date| match look {
            Look::Usual => true,
            Look::Last => *date < today,
            Look::Ahead => *date >= today,
            Look::Next => *date > today,
        }),
    )
}

fn nearest(today: NaiveDate, dates: impl Iterator<Item = NaiveDate>) -> Option<NaiveDate> {
    dates.min_by_key(|date| (*date - today).num_days().abs())
}
