//! Which stocks a place can service, and how it is reached.

use crate::domain::rig::{Parts, Place};
use crate::domain::stock::{Direction, Stock};
use crate::domain::time::{Moment, Zone};
use crate::domain::unit::Unit;
use crate::plan::road::{self, Way};
use chrono::{Datelike, Duration, NaiveTime};

/// Stocks that a place services, bit by bit: those that it names itself, those whose name or
/// other words say a service's word, and those that a service plainly means (water for what is
/// drawn by the litre, shore for the battery, food for person-days).
pub fn services(place: &Place, parts: &Parts) -> u32 {
    let serves = |stock: &Stock| {
        place.stocks.iter().any(|name| name.eq_ignore_ascii_case(&stock.name))
            || place.services.iter().any(|word| means(word, stock, parts))
    };
    let stocks = parts.stocks.iter().take(32).enumerate();
    stocks.filter(|(_, stock)| serves(stock)).fold(0, |mask, (index, _)| mask | 1 << index)
}

fn means(word: &str, stock: &Stock, parts: &Parts) -> bool {
    let says = |text: &str| text.split(' ').any(|w| w.eq_ignore_ascii_case(word));
    if says(&stock.name) || stock.also.iter().any(|also| says(also)) {
        // "waste water" fills up, and no tap helps it.
        return word != "water" || stock.runs == Direction::Down;
    }
    let is = |name: Option<&String>| name == Some(&stock.name);
    let electric = is(parts.electrics.as_ref().map(|e| &e.store));
    match word {
        "shore" => electric,
        "food" => stock.unit == Unit::PersonDay && stock.runs == Direction::Down,
        "water" => stock.runs == Direction::Down && stock.lift_wh > 0.0,
        "laundry" => stock.name.contains("clothes") || stock.name.contains("linen"),
        _ => false,
    }
}

/// Stocks that a move to another camp sets back, bit by bit.
pub fn reset_by_camp(parts: &Parts) -> u32 {
    let stocks = parts.stocks.iter().take(32).enumerate();
    stocks.filter(|(_, s)| s.reset_by_camp).fold(0, |mask, (index, _)| mask | 1 << index)
}

/// Whether a place is open at `at`: on that civil day, and within its hours where they are known.
pub fn is_open(place: &Place, zone: Zone, at: Moment) -> bool {
    let time = zone.here(at).time();
    !place.closed.contains(&zone.date(at).weekday())
        && place.opens.is_none_or(|opens| time >= opens)
        && place.closes.is_none_or(|closes| time <= closes)
}

/// The time of day of a stop at a place: `usual`, or as near to it as its hours allow, an hour
/// before it closes at the latest.
pub fn stop_time(place: &Place, usual: NaiveTime) -> NaiveTime {
    let last = place.closes.map(|closes| closes.overflowing_sub_signed(Duration::hours(1)).0);
    let time = last.map_or(usual, |last| usual.min(last));
    place.opens.map_or(time, |opens| time.max(opens))
}

/// The way to a place from one camp and on to the next (the same one for a round trip).
pub fn round(place: &Place, before: (f64, f64), after: (f64, f64)) -> (Way, Way) {
    (road::way(before, place), road::way(after, place))
}
