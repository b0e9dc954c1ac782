//! What a schedule comes to, in one sentence.

use crate::domain::Direction;
use crate::plan::Trip;
use crate::plan::stops::answer::Overdue;
use crate::text::count::{counted, either};
use crate::text::share;
use crate::text::stretch::chance;

/// "3 stops carry you through 14 days: 92 % chance of lasting; you want 90 %".
pub fn verdict(trip: &Trip) -> String {
    let days = counted(trip.days as usize, "day");
    let chance = chance(trip.probability, trip.confidence);
    if let Some(overdue) = &trip.overdue {
        return self::overdue(overdue, trip);
    }
    let here = without_driving(trip);
    match (trip.works, trip.stops.len()) {
        (true, 0) if !trip.planned.is_empty() => {
            format!("Besides the saved stops none is needed for {days}: {chance}")
        }
        (true, 0) => format!("No stop is needed for {days}: {chance}"),
        (true, n) if !trip.planned.is_empty() => {
            let more = if n == 1 { "1 more stop".to_string() } else { format!("{n} more stops") };
            let carry = if n == 1 { "carries" } else { "carry" };
            // How many drives those are their entries do not say: one leads to several places.
            let ones = if trip.planned.len() == 1 { "one" } else { "ones" };
            format!("{more} beside the planned {ones} {carry} you through {days}{here}: {chance}")
        }
        (true, 1) => format!("One stop carries you through {days}{here}: {chance}"),
        (true, n) => format!("{n} stops carry you through {days}{here}: {chance}"),
        (false, 0) => {
            format!("No schedule carries you through {days}; without a stop: {chance}")
        }
        (false, _) => {
            format!("No schedule is sure enough for {days}; the best found: {chance}")
        }
    }
}

/// ", 2 of them without driving": what the camp itself sees to counts as a stop, but is no trip.
fn without_driving(trip: &Trip) -> String {
    let here = trip.stops.iter().filter(|stop| stop.km == 0.0).count();
    match (here, trip.stops.len()) {
        (0, _) => String::new(),
        (1, 1) => ", without driving".into(),
        (here, all) if here == all => ", all of them without driving".into(),
        (here, _) => format!(", {here} of them without driving"),
    }
}

/// "Go as soon as you can: food or wood may run out before the first stop (79 % chance). From there on
/// 3 stops carry you through 10 days: 92 % chance of lasting; you want 90 %".
fn overdue(overdue: &Overdue, trip: &Trip) -> String {
    let (stocks, stops) = (overdue.stocks.iter().map(|s| &trip.stocks[*s]), trip.stops.len());
    let runs_out = stocks.clone().all(|stock| stock.runs == Direction::Down);
    let what = if runs_out { "run out" } else { "be at its limit" };
    let names = either(stocks.map(|stock| &stock.name));
    let before = share::percent(overdue.chance);
    let days = counted(trip.days as usize, "day");
    let more = if trip.planned.is_empty() { "" } else { "more " };
    let carry = match stops {
        0 => format!("no further stop is needed for {days}"),
        1 => format!("one {more}stop carries you through {days}"),
        n => format!("{n} {more}stops carry you through {days}"),
    };
    let chance = chance(overdue.probability, trip.confidence);
    format!(
        "Go as soon as you can: {names} may {what} before you are there ({before} chance). From \
         there on {carry}: {chance}"
    )
}

/// "What runs out in it first: diesel", of the best schedule where none works.
pub fn undone_by(trip: &Trip) -> Option<String> {
    let stock = &trip.stocks[trip.undone_by?];
    let what = if trip.stops.is_empty() { "without a stop" } else { "in it all the same" };
    let goes = if stock.runs == Direction::Down { "runs out" } else { "fills" };
    Some(format!("What {goes} first {what}: {}", stock.name))
}
