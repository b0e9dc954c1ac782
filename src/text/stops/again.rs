//! The same place again: on one day, and on days running.

use crate::domain::{Place, Zone};
use crate::plan::Trip;
use crate::plan::stops::answer::{Service, Stop};
use crate::text::{led, listed, when};

/// So many days running at one place are a stay, 3 to 5 (common practice, no source).
const DAYS_RUNNING: usize = 3;

/// Why a place is visited twice on one day, a line each: "Stops 6 and 7 are both at Mill quay on Wed
/// 2 Dec: one alone is too little for liquids".
pub(super) fn twice(trip: &Trip, places: &[Place], zone: &Zone) -> Vec<String> {
    let day = |stop: &Stop| zone.here(stop.at).date_naive();
    let pairs = trip.stops.windows(2).enumerate();
    let twins =
        pairs.filter(|(_, two)| two[0].place == two[1].place && day(&two[0]) == day(&two[1]));
    let line = |(n, two): (usize, &[Stop])| {
        let mut forced: Vec<usize> = two.iter().filter_map(|stop| stop.forced_by).collect();
        forced.dedup();
        let why = listed(forced.iter().map(|stock| &trip.stocks[*stock].name));
        let place = places.get(two[0].place).map_or("", |place| place.name.as_str());
        let on = when::day(zone.here(two[0].at));
        let why = led(": one alone is too little for ", &why);
        format!("Stops {} and {} are both at {place} on {on}{why}", n + 1, n + 2)
    };
    twins.map(line).collect()
}

/// What is charged at a stop on the hook-up.
fn charged(stop: &Stop) -> Option<&Service> {
    stop.services.iter().find(|service| service.hours.is_some())
}

/// Stops at one hook-up on days running, a line each run: "Stops 2 to 5 are at Mill quay on 4 days
/// running, for battery. Camping there takes no drives: a stretch says whether it works". A schedule
/// leaves the camp where it is; who can stay need not come back each day.
pub(super) fn days_running(trip: &Trip, places: &[Place], zone: &Zone) -> Vec<String> {
    let goes_on = |a: &Stop, b: &Stop| {
        let days = zone.date(b.at) - zone.date(a.at);
        let [one, other] = [a, b].map(|stop| charged(stop).map(|service| service.place));
        one.is_some() && one == other && days.num_days() <= 1
    };
    let first = |run: &[Stop]| trip.stops.iter().position(|stop| Some(stop) == run.first());
    let runs = trip.stops.chunk_by(goes_on).filter(|run| run.len() >= DAYS_RUNNING);
    let line = |run: &[Stop]| {
        let (first, charged) = (first(run)? + 1, charged(&run[0])?);
        let place = places.get(charged.place).map_or("", |place| place.name.as_str());
        let (last, days) = (first + run.len() - 1, run.len());
        let stock = &trip.stocks[charged.stock].name;
        Some(format!(
            "Stops {first} to {last} are at {place} on {days} days running, for {stock}. Camping there \
             takes no drives: a stretch says whether it works"
        ))
    };
    runs.filter_map(line).collect()
}
