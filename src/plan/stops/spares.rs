//! Jerrycans, spare containers and hours on the hook-up: what a schedule takes along, and what it
//! may do without.
//!
//! Jerrycans and containers that a rig has are empty when the trip begins, and seen to with their
//! stock at every stop. They are taken along only where that saves a stop, or where no schedule
//! works without them.

use super::answer::{Spare, Stop};
use super::choose::Chosen;
use super::less::Less;
use super::model::TripModel;
use super::problem::Cancelled;
use crate::domain::stock::Direction;
use crate::forecast::variants::LevelChange;
use crate::plan::practice::LEAST_HOOK_UP_H;

/// The schedule, chosen once more with all that the rig can carry where that may help.
///
/// # Errors
/// [`Cancelled`] when nobody waits any more.
pub(super) fn decided(
    plain: TripModel<'_>,
    chosen: Chosen,
) -> Result<(TripModel<'_>, Chosen), Cancelled> {
    let (asked, all) = (plain.asked, plain.aboard());
    let count = |chosen: &Chosen| chosen.found.as_ref().map_or(0, |(found, _)| found.visits.len());
    let may_help = !chosen.works || count(&chosen) > 0;
    if all.is_empty() || chosen.stopped || !may_help {
        return Ok((plain, chosen));
    }
    let mut model = TripModel::of(asked, all.clone());
    let mut other = match model.choose() {
        // Given up here, the schedule without them stays.
        Err(Cancelled) if asked.telling.settles() && chosen.found.is_some() => {
            return Ok((plain, Chosen { stopped: true, ..chosen }));
        }
        other => other?,
    };
    if !other.works || chosen.works && count(&other) >= count(&chosen) {
        return Ok((plain, chosen));
    }
    for spare in all {
        let rest: Vec<_> = model.spares.iter().copied().filter(|one| *one != spare).collect();
        let Some((found, _)) = other.found.as_ref().filter(|_| !rest.is_empty()) else { break };
        let fewer = TripModel::of(asked, rest);
        // The visits are the same ones where their places do as much.
        let same = fewer.problem.visits == model.problem.visits;
        let share = fewer.try_on_fresh(&found.visits).probability;
        if same && share >= asked.request.confidence {
            model = fewer;
            other.found = other.found.map(|(found, _)| (found, share));
        }
    }
    Ok((model, other))
}

impl TripModel<'_> {
    /// What the rig has besides: `(stock, amount)`. Saved stops see to it as well, so that a plan
    /// that took it along still does.
    fn aboard(&self) -> Vec<(usize, f64)> {
        let stocks = self.asked.basis.beliefs.mechanism.stocks().iter().enumerate();
        stocks.filter(|(_, stock)| stock.spare > 0.0).map(|(n, stock)| (n, stock.spare)).collect()
    }

    /// The same, each with whether it is taken along.
    pub(super) fn spares(&self) -> Vec<Spare> {
        let all = self.aboard().into_iter();
        let taken = |stock: usize| self.spares.iter().any(|(own, _)| *own == stock);
        all.map(|(stock, holds)| Spare { stock, holds, taken: taken(stock) }).collect()
    }
}

impl Less<'_> {
    /// Jerrycans that may stay empty at a stop, from the last one on: [`super::answer::Service::spare`].
    pub(super) fn say_which_spares_stay_empty(&mut self, stops: &mut [Stop]) {
        for (n, stop) in stops.iter_mut().enumerate().rev() {
            for service in stop.services.iter_mut().filter(|service| service.enough.is_none()) {
                let kind = &self.model.case.beliefs.mechanism.stocks()[service.stock];
                let Some(holds) = service.spare.filter(|_| kind.runs == Direction::Down) else {
                    continue;
                };
                let tank = LevelChange::To(kind.capacity - holds);
                if self.holds_with(service.stock, &[(n, tank)]) {
                    service.spare = Some(0.0);
                    service.amount = (service.amount - holds).max(0.0);
                }
            }
        }
    }

    /// Hours of hook-up that are enough, from the last stop on: [`super::answer::Service::enough_hours`].
    pub(super) fn say_hours_that_do(&mut self, stops: &mut [Stop]) {
        let wh = self.model.case.hook_up();
        for (n, stop) in stops.iter_mut().enumerate().rev() {
            let charges = stop.services.iter_mut().find(|service| service.hours.is_some());
            let Some(service) = charges.filter(|service| service.needed) else { continue };
            let most = service.hours.unwrap_or(0.0) - LEAST_HOOK_UP_H;
            // In half hours: the fewest that hold lie above `low`.
            let (mut low, mut high) = (0.0, most + 0.5);
            while low + 0.5 < high {
                let middle = (low + high).round() / 2.0;
                let less = LevelChange::By(middle * wh);
                let holds = self.holds_with(service.stock, &[(n, less)]);
                if holds { high = middle } else { low = middle }
            }
            service.enough_hours = Some(high).filter(|hours| *hours <= most);
        }
    }
}
