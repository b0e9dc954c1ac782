//! The same place again: on one day, and on days running.

use crate::domain::{Place, Zone};
use crate::plan::Trip;
use crate::plan::stops::answer::Stop;
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

/// Stops at one place on days running, a line each run: "Stops 2 to 5 are at Mill quay on 4 days running,
/// for battery. Camping there takes no drives: a stretch says whether it works". A schedule leaves the
/// camp where it is; who can stay need not come back each day.
pub(super) fn days_running(trip: &Trip, places: &[Place], zone: &Zone) -> Vec<String> {
    // What cannot wait, and where it is seen to.
    let forced = |stop: &Stop| {
        let stock = stop.forced_by?;
        Some((stop.services.iter().find(|service| service.stock == stock)?.place, stock))
    };
    let goes_on = |a: &Stop, b: &Stop| {
        let days = zone.date(b.at) - zone.date(a.at);
        forced(a).is_some() && forced(a) == forced(b) && days.num_days() <= 1
    };
    let runs = trip.stops.chunk_by(goes_on).filter(|run| run.len() >= DAYS_RUNNING);
    let line = |run: &[Stop]| {
        let (place, stock) = forced(&run[0])?;
        let first = trip.stops.iter().position(|stop| *stop == run[0])? + 1;
        let (last, days) = (first + run.len() - 1, run.len());
        let (name, stock) = (&places.get(place)?.name, &trip.stocks[stock].name);
        Some(format!(
            "Stops {first} to {last} are at {name} on {days} days running, for {stock}. Camping there \
             takes no drives: a stretch says whether it works"
        ))
    };
    runs.filter_map(line).collect()
}
