//! One plan beside another: what each comes to, in a row.

use super::answer::{Stop, Trip, TripRequest};
use super::heuristic::Heuristic;
use super::model::TripModel;
use super::problem::Problem;
use super::windows::{Reachable, ways, windows};
use crate::domain::time::hours_between;
use crate::plan::basis::Basis;

/// What a plan comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside {
    /// Number of stops.
    pub stops: usize,
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
        stops: stops.len(),
        works: false,
        probability,
        km: stops.iter().map(|stop| stop.km).sum(),
        cost: stops.iter().filter_map(|stop| stop.cost).sum(),
        slack_hours: Some(slack).filter(|slack| slack.is_finite()),
    }
}

/// The surest schedule of `count` stops that is found; `None` where there is none.
pub fn with_so_many(basis: &Basis, request: &TripRequest, count: usize) -> Option<Beside> {
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
