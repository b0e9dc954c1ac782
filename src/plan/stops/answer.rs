//! What is asked about a trip over known places, and what is answered.

use crate::domain::timeline::Camp;
use crate::domain::{Direction, Moment, Stock, hours_between};
use crate::plan::road::Drive;

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
pub struct PlanTotals {
    /// Its stops: when, and their places by index among the rig's.
    pub stops: Vec<(Moment, Vec<usize>)>,
    /// Whether it is as sure as was asked.
    pub works: bool,
    /// Share of the fresh lives in which nothing runs out.
    pub probability: f64,
    /// Driving of each stop, in km.
    pub legs: Vec<f64>,
    /// Of all, in km.
    pub km: f64,
    /// What the visits cost, where places say.
    pub cost: f64,
    /// The least time by which a stop could be late, in hours, with the asked confidence; `None`
    /// where none has to be made.
    pub slack_hours: Option<f64>,
}

impl PlanTotals {
    /// What an answer comes to.
    pub fn of(trip: &Trip) -> PlanTotals {
        PlanTotals { works: trip.works, ..PlanTotals::summed(&trip.stops, trip.probability) }
    }

    /// The same of some stops, not known to work.
    pub(super) fn summed(stops: &[Stop], probability: f64) -> PlanTotals {
        let late = stops.iter().filter_map(|stop| Some(hours_between(stop.at, stop.latest?)));
        let slack = late.fold(f64::INFINITY, f64::min);
        PlanTotals {
            stops: stops.iter().map(|stop| (stop.at, stop.places().collect())).collect(),
            works: false,
            probability,
            // Adding zero takes the sign off the sum of nothing.
            km: stops.iter().map(|stop| stop.km).sum::<f64>() + 0.0,
            legs: stops.iter().map(|stop| stop.km).collect(),
            cost: stops.iter().filter_map(|stop| stop.cost).sum::<f64>() + 0.0,
            slack_hours: Some(slack).filter(|slack| slack.is_finite()),
        }
    }
}

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
    /// Seed of the lives that it is tried on.
    pub seed: u64,
    /// Other plans that it is compared with.
    pub against: Vec<Against>,
}

/// What to do to one stock at a stop.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Service {
    /// Index of the stock.
    pub stock: usize,
    /// Index of the place among the rig's: the stop's, or one of those further on.
    pub place: usize,
    /// About how much goes in or comes out, median life, in the stock's unit.
    pub amount: f64,
    /// Without it the schedule does not hold.
    pub needed: bool,
    /// Hours by which it pushes the next forced stop further away.
    pub pushes_hours: f64,
    /// One of those, not needed by themselves, that together push the next stop furthest: without
    /// it, it would be an hour earlier or more.
    pub joins: bool,
    /// For a charge: hours on the hook-up, by `crate::plan::hook_up::hours`.
    pub hours: Option<f64>,
    /// The same for the median life's amount.
    pub likely_hours: Option<f64>,
    /// Fewer hours after which one may leave as well, tried on the fresh lives.
    pub enough_hours: Option<f64>,
    /// What of [`Service::amount`] goes into jerrycans, or comes out of spare containers; 0 where
    /// those that are aboard may stay empty. `None` where none are taken along.
    pub spare: Option<f64>,
    /// What a unit costs there, if the place says.
    pub price: Option<f64>,
    /// Where buying less is cheaper, as the next stops sell it for less: so much is enough. Tried
    /// on the fresh lives, and left out where the schedule would not hold.
    pub enough: Option<f64>,
}

/// A further place of a stop, near the one before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Further {
    /// Index of the place among the rig's.
    pub place: usize,
    /// About when one is there.
    pub at: Moment,
    /// The way from the place before.
    pub way: Drive,
}

/// One stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// Index of the place among the rig's.
    pub place: usize,
    /// When to be there.
    pub at: Moment,
    /// Further places, in order: near enough to be the same drive.
    pub further: Vec<Further>,
    /// Other moments at which it could be made as well, all other stops as they are, for as much
    /// driving and cost; the nearest first.
    pub or_on: Vec<Moment>,
    /// Index of the stock that forces it: of those that would be out, the one whose date comes
    /// first; `None` where nothing is out before the trip's end.
    pub forced_by: Option<usize>,
    /// Indices of the stocks for which it leads so far, where one could stop much nearer at that time:
    /// what is needed here and seen to by none of the nearer places, or what the drive charges.
    pub far_for: Vec<usize>,
    /// Share of the fresh lives in which nothing runs out where this stop alone is left out, of one
    /// that nothing forces by itself.
    pub without: Option<f64>,
    /// When to leave for it.
    pub leave_by: Moment,
    /// The way there, and the way back (or on) after it, from its last place.
    pub ways: [Drive; 2],
    /// At the latest, within the place's hours: nothing runs out before with the asked confidence,
    /// stops before this one made; `None` past the trip's end.
    pub latest: Option<Moment>,
    /// When something is out with that confidence, stops before this one made: the latest time, or
    /// later where the place is closed then.
    pub out: Option<Moment>,
    /// Until when nothing runs out afterwards with the asked confidence, all services made;
    /// `None` past the trip's end.
    pub lasts: Option<Moment>,
    /// The same with nothing but the needed ones made.
    pub lasts_needed: Option<Moment>,
    /// Driving there and back (or on), in whole km: what is said of each adds up to what is said of
    /// all.
    pub km: f64,
    /// The same in hours.
    pub hours: f64,
    /// What the visit costs, if the place says: its own price, and what is taken there filled up.
    pub cost: Option<f64>,
    /// What to do there: what is needed first, then what pushes the next stop furthest.
    pub services: Vec<Service>,
    /// The van camps elsewhere afterwards, so that counted nights start anew.
    pub moves_camp: bool,
}

impl Stop {
    /// All its places, in order, by index among the rig's.
    pub fn places(&self) -> impl Iterator<Item = usize> {
        [self.place].into_iter().chain(self.further.iter().map(|further| further.place))
    }

    /// When one is at a place of it.
    pub fn at_place(&self, place: usize) -> Moment {
        let further = self.further.iter().find(|further| further.place == place);
        further.map_or(self.at, |further| further.at)
    }
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

/// A stop that the journal plans already.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedStop {
    /// When.
    pub at: Moment,
    /// The remark that it was planned with: a schedule writes the place.
    pub note: String,
    /// Indices of the stocks that are seen to.
    pub stocks: Vec<usize>,
    /// Of those, what is not as sure as asked to last until then, and nothing before sees to.
    pub late_for: Vec<usize>,
}

/// Going on the last day that is in time, without a schedule; averages over the lives that the
/// schedule was chosen on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnplannedWay {
    /// Stops.
    pub stops: f64,
    /// Driving, in km.
    pub km: f64,
    /// Share of lives in which something was out for a while all the same.
    pub late: f64,
}

/// What going whenever something runs out would take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unplanned {
    /// Only what runs out is seen to at each stop.
    pub alone: UnplannedWay,
    /// All that the place offers is seen to.
    pub joined: UnplannedWay,
}

/// What would make an impossible trip possible.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Relaxation {
    /// Stocks that no known place services in time, by index.
    pub unserved: Vec<usize>,
    /// Those of them that a known place sees to, but too late or too seldom.
    pub too_late: Vec<usize>,
    /// The first stop that can see to one of those; after the trip where none is possible in it.
    pub first_stop: Option<FirstStop>,
    /// The longest trip that works with the asked confidence, in days, if any.
    pub days: Option<u32>,
    /// How sure the best schedule of the whole trip is, to a whole percent, if one half or more.
    pub confidence: Option<f64>,
    /// It works as asked when everything is serviced before it begins.
    pub serviced_first: bool,
    /// It works as asked when the places with services see to this stock as well, by index; the
    /// first one in the rig that suffices by itself.
    pub service: Option<usize>,
    /// It works as asked when these are done half as often: names in the plural; the first one
    /// that suffices by itself, else all together.
    pub half_as_often: Vec<String>,
}

/// A stop that is possible.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstStop {
    /// When one can be there.
    pub at: Moment,
    /// Days that a trip must have for that: as many as asked, or more.
    pub days: u32,
    /// Index of the place among the rig's.
    pub place: usize,
}

/// What may be at its limit before any stop can see to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Overdue {
    /// Indices of the stocks.
    pub stocks: Vec<usize>,
    /// Share of the lives in which one of them is, before the schedule sees to it.
    pub chance: f64,
    /// Share of the fresh lives in which nothing else runs out, nor these once they are seen to.
    pub probability: f64,
}

/// What fewer stops would come to, where a schedule takes more of them to drive less.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Longer {
    /// Stops.
    pub stops: usize,
    /// Driving, in km.
    pub km: f64,
}

/// What the surest schedule that was found with a stop less comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OneLess {
    /// Driving, in km.
    pub km: f64,
    /// Share of the fresh lives in which nothing runs out.
    pub probability: f64,
}

/// The same stops, each at the nearest place that does as much: what a schedule drives further
/// for is what its drives charge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// Driving, in km.
    pub km: f64,
    /// Share of the fresh lives in which nothing runs out.
    pub probability: f64,
    /// Index of the stock that the longer drives charge.
    pub charged: usize,
}

/// One stop made elsewhere or at another time, for less driving or money and hardly less surely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearlyAsSure {
    /// Index of the stop among those of the schedule.
    pub stop: usize,
    /// When it would be.
    pub at: Moment,
    /// Index of its first place among the rig's.
    pub place: usize,
    /// How much driving that saves, in km: at least 0.
    pub km: f64,
    /// How much money, at least 0.
    pub cost: f64,
    /// Share of the fresh lives in which nothing runs out then.
    pub probability: f64,
}

/// Jerrycans or spare containers of a stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spare {
    /// Index of the stock.
    pub stock: usize,
    /// What they hold, in its unit.
    pub holds: f64,
    /// Whether the schedule takes them along; empty when it begins.
    pub taken: bool,
}

impl Relaxation {
    /// Indices of the stocks that no known place sees to.
    pub fn seen_to_nowhere(&self) -> Vec<usize> {
        let late = |stock: &usize| self.too_late.contains(stock);
        self.unserved.iter().copied().filter(|stock| !late(stock)).collect()
    }
}

impl Trip {
    /// Whether its stops are as sure as asked, be it from the first ones on.
    pub fn carries(&self) -> bool {
        self.works || self.overdue.is_some()
    }

    /// The services of a stop in the order in which they are best made, place by place: what charges for
    /// hours first, then what is emptied, then what is filled. What is needed comes first within each.
    pub fn in_order<'s>(&self, stop: &'s Stop) -> Vec<&'s Service> {
        let turn = |service: &Service| match (service.hours, self.stocks[service.stock].runs) {
            (Some(_), _) => 0,
            (None, Direction::Up) => 1,
            (None, Direction::Down) => 2,
        };
        let mut all: Vec<&Service> = stop.services.iter().collect();
        let place = |service: &Service| stop.places().position(|place| place == service.place);
        all.sort_by_key(|service| (place(service), turn(service), !service.needed));
        all
    }
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Trip {
    /// The moment that counts as now.
    pub at: Moment,
    /// Where it begins.
    pub camp: Camp,
    /// The end of the trip.
    pub until: Moment,
    /// Days.
    pub days: u32,
    /// How sure was asked.
    pub confidence: f64,
    /// Lives it was chosen on.
    pub chosen_on: usize,
    /// Lives it was tried on afterwards, others than those.
    pub lives: usize,
    /// Seed of the latter; the former are the same for every seed.
    pub seed: u64,
    /// Whether a schedule keeps every stock within its limit in enough of the fresh lives.
    pub works: bool,
    /// Share of the fresh lives in which it does.
    pub probability: f64,
    /// What may be at its limit before any stop can see to it, so that nothing works as asked: the
    /// schedule does from its first stops on.
    pub overdue: Option<Overdue>,
    /// Where it does not work: index of the stock that runs out first in most of the lives that are
    /// lost.
    pub undone_by: Option<usize>,
    /// Standard error of that share: what the number of fresh lives leaves to chance.
    pub standard_error: f64,
    /// The schedule; the best there is when it does not work.
    pub stops: Vec<Stop>,
    /// Whether the search was exhaustive on its lives: fewest stops, then least driving, then
    /// least cost for certain. Otherwise labels were dropped, and a better schedule may exist.
    pub exact: bool,
    /// The search was given up before it was over: this is the best found until then.
    pub stopped: bool,
    /// No schedule has fewer stops than this, in 39 of 40 draws of the lives: what [`Trip::stops`]
    /// may be off the optimum at most. `None` when a stock cannot be kept within its limit, or
    /// nothing is proved yet.
    pub least_stops: Option<usize>,
    /// What fewer stops would drive, where it takes more of them to drive less.
    pub longer: Option<Longer>,
    /// How close a stop less comes, where the schedule takes two or more.
    pub one_less: Option<OneLess>,
    /// What driving less comes to, where the schedule drives further than its services need.
    pub nearest: Option<Nearest>,
    /// What would save driving or money and be hardly less sure.
    pub nearly_as_sure: Option<NearlyAsSure>,
    /// Stops that the journal plans already, counted on.
    pub planned: Vec<PlannedStop>,
    /// What going without a schedule would take.
    pub unplanned: Unplanned,
    /// Where the next forced stop can be made.
    pub leads: Vec<Lead>,
    /// The stock of which the drives burn so much that they decided where it leads.
    pub burnt: Option<usize>,
    /// What would help, when nothing works.
    pub relaxation: Option<Relaxation>,
    /// Stocks that the rig has jerrycans or spare containers for, and what they hold.
    pub spares: Vec<Spare>,
    /// The plans that were asked for beside it, and what they come to; `None` where none is found.
    pub against: Vec<(Against, Option<PlanTotals>)>,
    /// The stocks.
    pub stocks: Vec<Stock>,
}
