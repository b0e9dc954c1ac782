//! One plan beside another: what each comes to, in a row.

use super::answer::{Stop, Trip, TripRequest};
use super::heuristic::Heuristic;
use super::model::TripModel;
use super::problem::{Cancelled, Problem};
use super::telling::{Onward, Progress};
use super::windows::{Reachable, ways, windows};
use crate::domain::time::{Moment, hours_between};
use crate::plan::basis::Basis;

/// Another plan that an answer is compared with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Against {
    /// As sure as this, `(0, 1)`.
    Sure(f64),
    /// A stop more, on the surest days that are found.
    OneMore,
    /// A day longer.
    Longer,
    /// A place closed, by its index among the rig's.
    Without(usize),
}

/// How sure the plans are that the price of certainty is read off.
pub const CERTAINTY: [Against; 4] =
    [Against::Sure(0.8), Against::Sure(0.9), Against::Sure(0.95), Against::Sure(0.99)];

/// What a plan comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// Its stops: when, and the place's index among the rig's.
    pub stops: Vec<(Moment, usize)>,
    /// Whether it is as sure as was asked.
    pub works: bool,
    /// Share of the fresh lives in which nothing runs out.
    pub probability: f64,
    /// Driving, in km.
    pub km: f64,
    /// What the visits cost, where places say.
    pub cost: f64,
    /// The least time by which a stop could be late, in hours, with the asked confidence; `None`
    /// where none has to be made.
    pub slack_hours: Option<f64>,
}

impl Beside {
    /// What an answer comes to.
    pub fn of(trip: &Trip) -> Beside {
        Beside { works: trip.works, ..summed(&trip.stops, trip.probability) }
    }
}

fn summed(stops: &[Stop], probability: f64) -> Beside {
    let late = stops.iter().filter_map(|stop| Some(hours_between(stop.at, stop.latest?)));
    let slack = late.fold(f64::INFINITY, f64::min);
    Beside {
        stops: stops.iter().map(|stop| (stop.at, stop.place)).collect(),
        works: false,
        probability,
        // Adding zero takes the sign off the sum of nothing.
        km: stops.iter().map(|stop| stop.km).sum::<f64>() + 0.0,
        cost: stops.iter().filter_map(|stop| stop.cost).sum::<f64>() + 0.0,
        slack_hours: Some(slack).filter(|slack| slack.is_finite()),
    }
}

/// What the other plan comes to; `None` where none is found.
///
/// # Errors
/// When `tell` gives it up.
pub(super) fn beside(
    basis: &Basis,
    request: &TripRequest,
    (trip, against): (&Trip, Against),
    tell: &(dyn Fn(Progress) -> Onward + Sync),
) -> Result<Option<Beside>, Cancelled> {
    let asked = TripRequest { against: Vec::new(), ..request.clone() };
    let closed = |place: usize| {
        let mut rig = basis.rig.clone();
        (rig.places[place].services, rig.places[place].stocks) = (Vec::new(), Vec::new());
        rig
    };
    let of = |basis: &Basis, asked: TripRequest| {
        super::stops_told(basis, &asked, tell).map(|trip| Some(Beside::of(&trip)))
    };
    match against {
        Against::OneMore => Ok(with_so_many(basis, &asked, trip.stops.len() + 1)),
        Against::Sure(confidence) => of(basis, TripRequest { confidence, ..asked }),
        Against::Longer => of(basis, TripRequest { days: asked.days + 1, ..asked }),
        Against::Without(place) => of(&Basis { rig: &closed(place), ..*basis }, asked),
    }
}

/// The surest schedule of `count` stops that is found; `None` where there is none.
fn with_so_many(basis: &Basis, request: &TripRequest, count: usize) -> Option<Beside> {
    let model = TripModel::of(basis, request);
    let all = Problem { allowed: model.allowed(request.confidence), ..model.problem.clone() };
    let (windows, ways) = (windows(&all, all.allowed), ways(&all));
    let reachable = Reachable::of(&all, &windows, &ways);
    // Every life that is lost counts here, not only those beyond what is allowed.
    let sure = Problem { allowed: 0, ..all.clone() };
    let mut visits = Heuristic::of(&all).beam(count, &reachable, &|| false).ok()??;
    Heuristic::of(&sure).local_search(&mut visits);
    let probability = model.try_on_fresh(&visits, request).probability;
    let row = summed(&model.describe(&visits, request), probability);
    Some(Beside { works: probability >= request.confidence, ..row })
}
