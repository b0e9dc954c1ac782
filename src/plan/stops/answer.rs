//! What is asked about a trip over known places, and what is answered.

use crate::domain::stock::Direction;
use crate::domain::time::Moment;
use crate::domain::unit::Unit;

/// A trip that is thought of.
#[derive(Debug, Clone, PartialEq)]
pub struct TripRequest {
    /// Days ahead, at least 1: to the morning after so many nights.
    pub days: u32,
    /// How sure to be, `(0, 1)`.
    pub confidence: f64,
    /// People aboard throughout; `None` = as the journal says and plans.
    pub crew: Option<f64>,
    /// Lives that a schedule is tried on after it was chosen.
    pub lives: usize,
    /// Seed of the lives that it is chosen on.
    pub seed: u64,
}

/// What to do to one stock at a stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Service {
    /// Index of the stock.
    pub stock: usize,
    /// About how much goes in or comes out, median life, in the stock's unit.
    pub amount: f64,
    /// Without it the schedule does not hold.
    pub needed: bool,
    /// Hours by which it pushes the next forced stop further away.
    pub pushes_hours: f64,
    /// For a charge: hours on the hook-up.
    pub hours: Option<f64>,
}

/// One stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// Index of the place among the rig's.
    pub place: usize,
    /// When to be there.
    pub at: Moment,
    /// When to leave for it.
    pub leave_by: Moment,
    /// At the latest: nothing runs out before with the asked confidence, stops before this one
    /// made; `None` past the trip's end.
    pub latest: Option<Moment>,
    /// Driving there and back (or on), in km.
    pub km: f64,
    /// The same in hours.
    pub hours: f64,
    /// What the visit costs, if the place says.
    pub cost: Option<f64>,
    /// What to do there: what is needed first, then what pushes the next stop furthest.
    pub services: Vec<Service>,
    /// The van camps elsewhere afterwards, so that counted nights start anew.
    pub moves_camp: bool,
}

/// A place for the next forced stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Lead {
    /// Index of the place.
    pub place: usize,
    /// Be there by: the forced stop, or the end of the last open day before it.
    pub by: Moment,
    /// Leave by.
    pub leave_by: Moment,
    /// One way, in km.
    pub km: f64,
    /// One way, in hours.
    pub hours: f64,
    /// Indices of the stocks that it can service.
    pub services: Vec<usize>,
}

/// What would make an impossible trip possible.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Relaxation {
    /// Stocks that no known place services in time, by index.
    pub unserved: Vec<usize>,
    /// The longest trip that works with the asked confidence, in days, if any.
    pub days: Option<u32>,
    /// The highest confidence at which the whole trip works, if any down to one half.
    pub confidence: Option<f64>,
}

/// One stock, for what the answer's indices mean.
#[derive(Debug, Clone, PartialEq)]
pub struct StockName {
    /// Name, as in the rig.
    pub name: String,
    /// Unit of its amounts.
    pub unit: Unit,
    /// What it holds when full.
    pub capacity: f64,
    /// Which way it runs.
    pub runs: Direction,
    /// The level that forces a stop.
    pub limit: f64,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Trip {
    /// The moment that counts as now.
    pub at: Moment,
    /// The end of the trip.
    pub until: Moment,
    /// Days.
    pub days: u32,
    /// How sure was asked.
    pub confidence: f64,
    /// Lives it was chosen on.
    pub chosen_on: usize,
    /// Lives it was tried on afterwards, drawn with another seed.
    pub lives: usize,
    /// Seed of the first ones.
    pub seed: u64,
    /// Whether a schedule keeps every stock within its limit in enough of the fresh lives.
    pub works: bool,
    /// Share of the fresh lives in which it does.
    pub probability: f64,
    /// The schedule; the best there is when it does not work.
    pub stops: Vec<Stop>,
    /// Whether the search was exhaustive on its lives: fewest stops, then least driving, then
    /// least cost for certain. Otherwise labels were dropped, and a better schedule may exist.
    pub exact: bool,
    /// Where the next forced stop can be made.
    pub leads: Vec<Lead>,
    /// What would help, when nothing works.
    pub relaxation: Option<Relaxation>,
    /// The stocks.
    pub stocks: Vec<StockName>,
}
