//! What to give up, or to add, when no schedule works: the smallest of each kind that would do.

use super::answer::{FirstStop, Relaxation};
use super::model::{TripInputs, TripModel, whole};
use super::places;
use super::problem::{Cancelled, Problem, Schedule, Visit};
use super::telling::Phase;
use super::windows::{Reachable, ways, windows};
use crate::plan::case::share_from;
use crate::plan::change::Change;
use crate::plan::options::can_be_less;
use crate::plan::{Basis, TripRequest};
use std::cell::RefCell;
use std::cmp::Reverse;

/// Days after the trip on which the first stop is looked for where none is in it: all of a week,
/// as places are closed by the day of the week.
const DAYS_AFTER: u32 = 7;

impl TripModel<'_> {
    /// Tries a shorter trip, everything serviced first, one service more at the known places, and
    /// habits at half; with the stock that undoes the best schedule, which holds in such a share of the
    /// fresh lives, where no place sees to that.
    pub(super) fn relax(
        &self,
        undone_by: Option<usize>,
        probability: f64,
    ) -> Result<Relaxation, Cancelled> {
        // What the drives there charge is nothing that a place offers.
        let offered = Problem { electric: None, ..self.problem.clone() };
        let windows = windows(&offered, offered.allowed);
        let mut unserved = Reachable::of(&offered, &windows, &ways(&offered)).unserved();
        let seen = |stock: usize| offered.visits.iter().any(|visit| visit.serves.has(stock));
        unserved.extend(undone_by.filter(|stock| !seen(*stock) && !unserved.contains(stock)));
        let known = |stock: usize| seen(stock) || self.is_offered(stock);
        let too_late: Vec<usize> = unserved.iter().copied().filter(|s| known(*s)).collect();
        Ok(Relaxation {
            first_stop: self.first_stop(&too_late),
            too_late,
            unserved,
            days: self.fewer_days()?,
            // To a whole percent; what the best schedule is said to hold in is what it holds in.
            confidence: Some((probability * 100.0 + 1e-9).floor() / 100.0).filter(|p| *p >= 0.5),
            serviced_first: self.serviced_first()?,
            service: self.one_service_more()?,
            half_as_often: self.half_as_often()?,
        })
    }

    /// Whether a known place sees to a stock, be it out of reach or closed as long as the trip lasts.
    fn is_offered(&self, stock: usize) -> bool {
        let Basis { rig, beliefs, .. } = self.asked.basis;
        let parts = &beliefs.mechanism.parts;
        rig.places.iter().any(|place| places::services(place, parts).has(stock))
    }

    /// The first stop that sees to one of these stocks, to as many of them as one can then; after the
    /// trip where none is in it.
    fn first_stop(&self, stocks: &[usize]) -> Option<FirstStop> {
        let days = self.asked.request.days + DAYS_AFTER;
        let longer = TripRequest { days, ..self.asked.request.clone() };
        let longer = TripInputs { request: &longer, ..self.asked };
        if stocks.is_empty() {
            return None;
        }
        self.first_in_it(stocks).or_else(|| {
            let first = TripModel::of(longer, Vec::new()).first_in_it(stocks)?;
            // To the morning after the night that follows it.
            let after = self.zone.date(first.at) - self.zone.date(self.asked.basis.now);
            let days = (after.num_days() as u32 + 1).max(first.days - DAYS_AFTER + 1);
            Some(FirstStop { days, ..first })
        })
    }

    fn first_in_it(&self, stocks: &[usize]) -> Option<FirstStop> {
        let sees_to = |v: &Visit| stocks.iter().filter(|stock| v.serves.has(**stock)).count();
        let alone = |v: &&Visit| v.leg.onward.is_empty() && sees_to(v) > 0;
        let rank = |v: &Visit| (v.slot, Reverse(sees_to(v)));
        let first = self.problem.visits.iter().filter(alone).min_by(|a, b| {
            rank(a).cmp(&rank(b)).then(a.leg.there.hours.total_cmp(&b.leg.there.hours))
        })?;
        let (at, days) = (self.moment(first.slot)?, self.asked.request.days);
        Some(FirstStop { at, days, place: first.leg.place })
    }

    fn found_in(&self, problem: &Problem) -> Result<Option<Schedule>, Cancelled> {
        self.find(problem, &|| !self.asked.telling.goes_on(Phase::Relaxing))
    }

    /// The share of fresh lives in which the schedule that is found holds until the problem's end, its
    /// drives and all they burn counted; 0 where none is found.
    fn tried(&self, problem: &Problem) -> Result<f64, Cancelled> {
        let Some(found) = self.found_in(problem)? else { return Ok(0.0) };
        Ok(share_from(&self.try_on_fresh(&found.visits).first, self.hours[problem.end()]))
    }

    /// Whether a schedule is found that is sure enough.
    fn does(&self) -> Result<bool, Cancelled> {
        Ok(self.tried(&self.problem)? >= self.asked.request.confidence)
    }

    /// Shorter trips: what a longer one needs, a shorter one has as well.
    fn fewer_days(&self) -> Result<Option<u32>, Cancelled> {
        let (mut low, mut high) = (0, self.problem.slots - 1);
        while low + 1 < high {
            let middle = (low + high) / 2;
            let does = self.tried(&self.problem.until(middle))? >= self.asked.request.confidence;
            if does { low = middle } else { high = middle }
        }
        let today = self.zone.date(self.asked.basis.now);
        let days = self.moment(low).map(|at| self.zone.date(at) - today);
        Ok(days.map(|d| d.num_days() as u32).filter(|d| *d > 0))
    }

    fn serviced_first(&self) -> Result<bool, Cancelled> {
        let mut problem = self.problem.clone();
        let serviced = (0..problem.stocks).filter(|stock| self.case.can_be_serviced(*stock));
        let puts = whole(&self.case, 0.0, &serviced.collect());
        let passages = self.case.limits_with(puts.clone()).lives.passages;
        for (fails, passages) in problem.fails.iter_mut().zip(&passages) {
            for (slot, lives) in fails[0].iter_mut().enumerate().skip(1) {
                *lives = self.before(slot, passages);
            }
        }
        let Some(found) = self.found_in(&problem)? else { return Ok(false) };
        let puts = [puts, self.puts(&found.visits)].concat();
        let tried = self.try_puts(&found.visits, puts);
        Ok(tried.probability >= self.asked.request.confidence)
    }

    /// The first stock that need only be serviced at every known place with services, tried on the
    /// fresh lives.
    fn one_service_more(&self) -> Result<Option<usize>, Cancelled> {
        for stock in 0..self.problem.stocks {
            // What was compared was so without that service.
            let mut model = TripModel { compared: RefCell::default(), ..self.clone() };
            model.problem.visits.iter_mut().for_each(|visit| visit.serves.add(stock));
            if model.problem.visits != self.problem.visits && model.does()? {
                return Ok(Some(stock));
            }
        }
        Ok(None)
    }

    /// Activities of which half would do.
    fn half_as_often(&self) -> Result<Vec<String>, Cancelled> {
        let case = &self.case;
        let activities = &case.beliefs.mechanism.parts.activities;
        let all: Vec<usize> = (0..activities.len()).filter(|a| can_be_less(case, *a)).collect();
        let works = |half: &[usize]| {
            let halves: Vec<Change> =
                half.iter().map(|a| Change::Rate { activity: *a, factor: 0.5 }).collect();
            TripModel::of_case(self.asked, case.with(&halves)).does()
        };
        if all.is_empty() || !works(&all)? {
            return Ok(Vec::new());
        }
        for activity in &all {
            if works(&[*activity])? {
                return Ok(vec![activities[*activity].plural.clone()]);
            }
        }
        Ok(all.into_iter().map(|a| activities[a].plural.clone()).collect())
    }
}
