//! Which stops, where and when, keep every stock within its limit over a trip.
//!
//! The model. There is at most one stop at a time of day, `super::practice::STOP_HOUR` or as near to it as the
//! place's hours allow (today later, if that has passed), at a known place that is open then.
//! The van camps where the journal says or plans; a stop is a drive from that day's camp to the
//! place and on to the next camp, so driving adds up stop by stop. What a place offers is
//! serviced all the way, a battery on the hook-up until it is full; what has a price there may
//! be left out instead. Counted nights start anew after a stop: the van camps elsewhere then.
//! Services that are already planned happen on their day.
//!
//! Which hours a stock lasts after a service is simulated, life by life, for every time at which
//! it could be serviced. Short trips are then searched exactly on those lives (`search`:
//! fewest stops, then least driving, then least cost). For longer ones `heuristic` looks for a
//! schedule with as few stops as `bound` cannot rule out, so the gap between the two is what
//! the answer may be off, in stops. What is chosen is tried on lives of another seed, now with the
//! driving in them, and chosen again with less to lose where it does not hold surely. Stops that
//! these lives do not need are then taken away (`choose`), and of the schedules with as many the one
//! that people would choose is looked for (`prefer`). Where a few stops more save much driving, those
//! are made (`nearer`). All that has one seed whatever is asked, so
//! that no chance decides between schedules; what is promised is tried on lives of the seed asked
//! for. Where prices differ, what is enough until a cheaper stop follows from `refuel`; `spares`
//! says which jerrycans are taken along and when one may leave a hook-up.
//! `unplanned` says what going whenever something runs out would take. Of what drives charge,
//! the choice counts what nine lives of ten have; what they burn it leaves to the trial, and counts in where
//! that fails for it (`burnt`). Places near
//! each other may be one stop (`legs`); what is done at the second counts as done at the first,
//! which is an hour or two early.

mod ahead;
pub mod answer;
mod beside;
mod bound;
mod burnt;
mod choose;
mod describe;
mod heuristic;
mod labels;
mod layout;
mod legs;
mod less;
mod model;
mod nearer;
mod overdue;
pub mod places;
mod prefer;
mod problem;
mod purchase;
mod refuel;
mod relax;
pub mod saved;
mod search;
mod spares;
mod telling;
#[cfg(test)]
mod tests;
mod twins;
pub mod unmatched;
mod unplanned;
mod visits;
mod windows;

use crate::belief::Basis;
use crate::plan::case::last_morning;
use answer::{Against, Stop, Trip, TripRequest};
use choose::Chosen;
use less::Less;
use model::{TripInputs, TripModel};
pub use problem::Cancelled;
use telling::Telling;
pub use telling::{Onward, Phase, Progress};

/// Answers a trip, and tells again and again how far it is.
///
/// # Errors
/// When `tell` gives it up and there is nothing to settle for.
pub fn stops(
    basis: &Basis,
    request: &TripRequest,
    tell: &(dyn Fn(Progress) -> Onward + Sync),
) -> Result<Trip, Cancelled> {
    let mut trip = alone(basis, request, tell)?;
    let same = |other: &&Against| **other == Against::Sure(request.confidence);
    let others: Vec<Against> = request.against.iter().filter(|o| !same(o)).copied().collect();
    for (n, other) in others.iter().enumerate().take_while(|_| !trip.stopped) {
        let beside = Some((*other, n + 1, others.len()));
        let tell = |progress| tell(Progress { beside, ..progress });
        let ask = |basis: &Basis, request: &TripRequest| alone(basis, request, &tell);
        // Given up here, the answer stays with those that it has been compared with.
        let Ok(row) = beside::beside(basis, request, (&trip, *other), (&ask, &tell)) else { break };
        trip.against.push((*other, row));
    }
    Ok(trip)
}

/// The same with no other plan beside it.
fn alone(
    basis: &Basis,
    request: &TripRequest,
    tell: &(dyn Fn(Progress) -> Onward + Sync),
) -> Result<Trip, Cancelled> {
    let telling = Telling::of(tell);
    if !telling.goes_on(Phase::Simulating) {
        return Err(Cancelled);
    }
    let model = TripModel::of(TripInputs { basis: *basis, request, telling: &telling }, Vec::new());
    let (model, chosen) = burnt::chosen(model)?;
    let (model, chosen) = spares::decided(model, chosen)?;
    let (model, chosen, overdue) = overdue::excused(model, chosen);
    let Chosen { found, works, mut stopped, longer } = chosen;
    // Given up from here on, the schedule stays, with less said about it.
    let mut kept = |given_up: Cancelled| {
        stopped = true;
        if telling.settles() && found.is_some() { Ok(()) } else { Err(given_up) }
    };
    let schedule = found.as_ref().map(|(found, _)| found);
    let visits = schedule.map_or(&[][..], |found| &found.visits);
    let tried = model.try_all(visits);
    let probability = tried.probability;
    let chance = overdue.as_ref().map_or(probability, |overdue| overdue.probability);
    let undone_by = tried.most_often_first().filter(|_| !works);
    let relaxation = if works { Ok(None) } else { model.relax(undone_by, probability).map(Some) };
    let relaxation = relaxation.or_else(|given_up| kept(given_up).map(|()| None))?;
    let at_most = schedule.map_or(request.days as usize, |found| found.visits.len());
    let least_stops = match model.prove(at_most) {
        Ok(least) => least,
        Err(given_up) => kept(given_up).map(|()| telling.least_so_far())?,
    };
    Ok(Trip {
        at: basis.now,
        camp: basis.beliefs.timeline.camp(basis.now).clone(),
        until: last_morning(model.zone, basis.now, request.days),
        days: request.days,
        confidence: request.confidence,
        chosen_on: model.problem.lives,
        lives: request.lives,
        seed: request.seed,
        works: works && overdue.is_none(),
        probability,
        overdue,
        undone_by,
        standard_error: (probability * (1.0 - probability) / request.lives as f64).sqrt(),
        stops: if works { model.told_in_full(visits) } else { model.describe(visits) },
        exact: schedule.is_none_or(|found| found.exact),
        stopped,
        least_stops,
        longer,
        one_less: model.one_less(visits).filter(|_| longer.is_none()),
        nearest: works.then(|| model.nearest(visits, probability)).flatten(),
        nearly_as_sure: model.nearly_as_sure(visits, chance),
        planned: ahead::planned(&model, visits),
        unplanned: unplanned::unplanned(&model.problem, &model.passages, &model.hours),
        leads: model.leads(),
        burnt: model.burnt,
        relaxation,
        spares: model.spares(),
        against: Vec::new(),
        stocks: basis.beliefs.mechanism.stocks().to_vec(),
    })
}

impl TripModel<'_> {
    /// The stops with what is said only of those that do: how much is enough, and on which other days.
    fn told_in_full(&self, visits: &[usize]) -> Vec<Stop> {
        let mut stops = self.describe(visits);
        // All that may be left out, it may be left out together.
        let mut less = Less::of(self, visits);
        less.say_what_is_enough(&mut stops);
        less.say_which_spares_stay_empty(&mut stops);
        less.say_hours_that_do(&mut stops);
        for (stop, days) in stops.iter_mut().zip(self.other_days(visits)) {
            stop.or_on = days.into_iter().filter_map(|slot| self.moment(slot)).collect();
        }
        for (n, stop) in stops.iter_mut().enumerate().filter(|(_, s)| s.forced_by.is_none()) {
            let rest = [&visits[..n], &visits[n + 1..]].concat();
            stop.without = Some(self.try_on_fresh(&rest).probability);
        }
        stops
    }
}
