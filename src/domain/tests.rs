//! What several tests of the domain are made from.

use super::entry::Event;
use super::quantity::Amount;
use super::time::Moment;
use chrono::Duration;

/// So many hours after the midnight with which the first of June 2026 begins.
pub(super) fn at(hour: i64) -> Moment {
    "2026-06-01T00:00:00+02:00".parse::<Moment>().unwrap() + Duration::hours(hour)
}

pub(super) fn fill(stock: &str) -> Event {
    Event::Fill { stock: stock.into(), amount: None, after: None }
}

pub(super) fn empty(stock: &str) -> Event {
    Event::Empty { stock: stock.into(), amount: None, after: None }
}

/// So many people are aboard.
pub(super) fn crew(people: i64) -> Event {
    Event::Crew(Amount::from_milli(people * 1000).unwrap())
}
