//! Which stops, where and when, keep every stock within its limit over a trip.
//!
//! The model. There is at most one stop at a time of day, [`STOP_HOUR`] or as near to it as the
//! place's hours allow (today later, if that has passed), at a known place that is open then.
//! The van camps where the journal says or plans; a stop is a drive from that day's camp to the
//! place and on to the next camp, so driving adds up stop by stop. What a place offers is
//! serviced all the way, a battery on the hook-up until it is full; what has a price there may
//! be left out instead. Counted nights start anew after a stop: the van camps elsewhere then.
//! Services that are already planned happen on their day.
//!
//! Which hours a stock lasts after a service is simulated, life by life, for every time at which
//! it could be serviced. Short trips are then searched exactly on those lives ([`search`]:
//! fewest stops, then least driving, then least cost). For longer ones [`improve`] looks for a
//! schedule with as few stops as [`bound`] cannot rule out, so the gap between the two is what
//! the answer may be off, in stops; [`least_km`] says the same of the driving. What is chosen is tried on lives of another seed, now with the driving
//! in them, and chosen again with less to lose where that falls short. Where prices differ, what
//! is enough until a cheaper stop follows from [`refuel`]. [`unplanned`] says what going whenever
//! something runs out would take. Left out of the choice, not of the trial: what the drives
//! charge and burn. Left out altogether: two places in one drive.

pub mod answer;
pub mod bound;
mod choose;
mod describe;
pub mod improve;
pub mod itinerary;
mod layout;
pub mod lead;
pub mod least_km;
pub(super) mod places;
mod purchase;
pub mod refuel;
mod relax;
pub mod saved;
pub mod search;
mod telling;
pub mod unplanned;

use crate::belief::Beliefs;
use crate::domain::journal::Standing;
use crate::domain::rig::Rig;
use crate::domain::time::Moment;
use crate::plan::case::last_morning;
use answer::{StockName, Trip, TripRequest};
use choose::Chosen;
use layout::Layout;
use search::Cancelled;
use telling::Telling;
pub use telling::{Onward, Progress, Step};

/// Civil hour of a stop, where the place's hours allow.
pub const STOP_HOUR: u32 = 11;
/// Times that it is chosen again with less to lose.
const TRIES: usize = 5;
/// Added to the seed for the lives that it is tried on.
const FRESH: u64 = 0x5eed_0b57;

/// Answers a trip.
///
/// # Errors
/// When `cancelled` says that nobody waits any more.
pub fn stops(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    now: Moment,
    request: &TripRequest,
    cancelled: &(dyn Fn() -> bool + Sync),
) -> Result<Trip, Cancelled> {
    let tell = |_| if cancelled() { Onward::Drop } else { Onward::GoOn };
    stops_told(rig, standing, beliefs, now, request, &tell)
}

/// Answers a trip, and tells again and again how far it is.
///
/// # Errors
/// When `tell` gives it up and there is nothing to settle for.
pub fn stops_told(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    now: Moment,
    request: &TripRequest,
    tell: &(dyn Fn(Progress) -> Onward + Sync),
) -> Result<Trip, Cancelled> {
    let telling = Telling::of(tell);
    if !telling.goes_on(Step::Simulating) {
        return Err(Cancelled);
    }
    let layout = Layout::of(rig, standing, beliefs, now, request);
    let Chosen { found, works, mut stopped } = layout.choose(request, &telling)?;
    // Given up from here on, the schedule stays, with less said about it.
    let mut kept = |given_up: Cancelled| {
        stopped = true;
        if telling.settles() && found.is_some() { Ok(()) } else { Err(given_up) }
    };
    let relaxation = match works {
        true => None,
        false => match layout.relax(request, &|| !telling.goes_on(Step::Relaxing)) {
            Ok(relaxation) => Some(relaxation),
            Err(given_up) => kept(given_up).map(|()| None)?,
        },
    };
    let exact = found.as_ref().is_none_or(|(found, _)| found.exact);
    let (least_stops, least_km) = match exact && works {
        true => (Some(found.as_ref().map_or(0, |(found, _)| found.visits.len())), None),
        false => match layout.prove(request, found.as_ref(), works, &telling) {
            Ok(bounds) => bounds,
            Err(given_up) => kept(given_up).map(|()| (telling.least_so_far(), None))?,
        },
    };
    let (schedule, probability) = match &found {
        Some((found, probability)) => (found.visits.clone(), *probability),
        None => (Vec::new(), layout.try_on_fresh(&[], request).probability),
    };
    let mut stops = layout.describe(&schedule, request);
    if works {
        layout.say_what_is_enough(&schedule, request, &mut stops);
    }
    Ok(Trip {
        at: now,
        until: last_morning(layout.zone, now, request.days),
        days: request.days,
        confidence: request.confidence,
        chosen_on: layout.problem.lives,
        lives: request.lives,
        seed: request.seed,
        works,
        probability,
        stops,
        exact,
        stopped,
        least_stops,
        least_km,
        planned: layout.planned(),
        unplanned: unplanned::unplanned(&layout.problem, &layout.passages, &layout.hours),
        leads: layout.leads(beliefs, request),
        relaxation,
        stocks: names(beliefs),
    })
}

fn names(beliefs: &Beliefs) -> Vec<StockName> {
    let stocks = beliefs.mechanism.stocks().iter();
    stocks
        .map(|s| StockName {
            name: s.name.clone(),
            unit: s.unit.clone(),
            capacity: s.capacity,
            runs: s.runs,
            limit: s.limit(),
        })
        .collect()
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied().unwrap_or(0.0)
}
