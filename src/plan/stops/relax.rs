//! What to give up, or to add, when no schedule works: the smallest of each kind that would do.

use super::answer::Relaxation;
use super::model::{TripModel, whole};
use super::problem::{Cancelled, Found, Problem};
use super::windows::{Reachable, ways, windows};
use crate::plan::TripRequest;
use crate::plan::case::share_from;
use crate::plan::change::Change;
use crate::plan::options::can_be_less;
use std::cell::RefCell;

/// What is tried, each time with something changed.
struct Relaxing<'a> {
    model: &'a TripModel<'a>,
    /// As it was asked for.
    asked: Problem,
    request: &'a TripRequest,
    cancelled: &'a dyn Fn() -> bool,
}

impl TripModel<'_> {
    /// Tries a shorter trip, a lower confidence, everything serviced first, one service more at
    /// the known places, and habits at half.
    pub(super) fn relax(
        &self,
        request: &TripRequest,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<Relaxation, Cancelled> {
        let allowed = self.allowed(request.confidence);
        let asked = Problem { allowed, ..self.problem.clone() };
        // What the drives there charge is nothing that a place offers.
        let offered = Problem { electric: None, ..asked.clone() };
        let windows = windows(&offered, allowed);
        let unserved = Reachable::of(&offered, &windows, &ways(&offered)).unserved();
        let trying = Relaxing { model: self, asked, request, cancelled };
        Ok(Relaxation {
            unserved,
            days: trying.days()?,
            confidence: trying.confidence()?,
            serviced_first: trying.serviced_first()?,
            service: trying.service()?,
            half_as_often: trying.half_as_often()?,
        })
    }
}

impl Relaxing<'_> {
    fn find(&self, problem: &Problem) -> Result<Option<Found>, Cancelled> {
        self.model.find(problem, &|| (self.cancelled)())
    }

    /// The share of fresh lives in which the schedule that is found holds until the problem's end, its
    /// drives and all they burn counted; 0 where none is found.
    fn tried(&self, problem: &Problem) -> Result<f64, Cancelled> {
        let Some(found) = self.find(problem)? else { return Ok(0.0) };
        let tried = self.model.try_on_fresh(&found.visits, self.request);
        Ok(share_from(&tried.first, self.model.hours[problem.end()]))
    }

    /// Whether another model is sure enough of the same.
    fn does(&self, model: &TripModel) -> Result<bool, Cancelled> {
        let problem = Problem { allowed: self.asked.allowed, ..model.problem.clone() };
        let share = Relaxing { model, asked: problem.clone(), ..*self }.tried(&problem)?;
        Ok(share >= self.request.confidence)
    }

    /// Shorter trips: what a longer one needs, a shorter one has as well.
    fn days(&self) -> Result<Option<u32>, Cancelled> {
        let (mut low, mut high) = (0, self.asked.slots - 1);
        while low + 1 < high {
            let middle = (low + high) / 2;
            match self.tried(&self.asked.until(middle))? >= self.request.confidence {
                true => low = middle,
                false => high = middle,
            }
        }
        let zone = self.model.zone;
        let today = zone.date(self.model.basis.now);
        let days = self.model.moment(low).map(|at| zone.date(at) - today);
        Ok(days.map(|d| d.num_days() as u32).filter(|d| *d > 0))
    }

    fn confidence(&self) -> Result<Option<f64>, Cancelled> {
        let asked = &self.asked;
        let lives = asked.lives as f64;
        let (mut low, mut high) = (asked.allowed, (lives * 0.5) as usize);
        let losing = |allowed: usize| Problem { allowed, ..asked.clone() };
        let works = |allowed: usize| self.find(&losing(allowed)).map(|found| found.is_some());
        if high <= low || !works(high)? {
            return Ok(None);
        }
        // To a whole percent: the lives are few.
        while low + asked.lives / 100 + 1 < high {
            let middle = (low + high) / 2;
            if works(middle)? { high = middle } else { low = middle }
        }
        let sure =
            (self.tried(&losing(high))?.min(1.0 - high as f64 / lives) * 100.0).floor() / 100.0;
        Ok(Some(sure).filter(|sure| *sure >= 0.5))
    }

    fn serviced_first(&self) -> Result<bool, Cancelled> {
        let (model, mut problem) = (self.model, self.asked.clone());
        let serviced = (0..problem.stocks).filter(|stock| model.case.can_be_serviced(*stock));
        let puts = whole(&model.case, 0.0, &serviced.collect());
        let passages = model.case.limits_with(puts.clone()).lives.passages;
        for (fails, passages) in problem.fails.iter_mut().zip(&passages) {
            for (slot, lives) in fails[0].iter_mut().enumerate().skip(1) {
                *lives = model.before(slot, passages);
            }
        }
        let Some(found) = self.find(&problem)? else { return Ok(false) };
        let puts = [puts, model.puts(&found.visits)].concat();
        let tried = model.try_puts(&found.visits, puts, self.request);
        Ok(tried.probability >= self.request.confidence)
    }

    /// The first stock that need only be serviced at every known place with services, tried on the
    /// fresh lives.
    fn service(&self) -> Result<Option<usize>, Cancelled> {
        for stock in 0..self.asked.stocks {
            // What was compared was so without that service.
            let mut model = TripModel { compared: RefCell::default(), ..self.model.clone() };
            model.problem.visits.iter_mut().for_each(|visit| visit.serves.add(stock));
            if model.problem.visits != self.asked.visits && self.does(&model)? {
                return Ok(Some(stock));
            }
        }
        Ok(None)
    }

    /// Activities of which half would do.
    fn half_as_often(&self) -> Result<Vec<String>, Cancelled> {
        let TripModel { case, basis, .. } = self.model;
        let activities = &case.beliefs.mechanism.parts.activities;
        let all: Vec<usize> = (0..activities.len()).filter(|a| can_be_less(case, *a)).collect();
        let works = |half: &[usize]| {
            let halves: Vec<Change> =
                half.iter().map(|a| Change::Rate { activity: *a, factor: 0.5 }).collect();
            self.does(&TripModel::of_case(basis, case.with(&halves), self.request.days))
        };
        if all.is_empty() || !works(&all)? {
            return Ok(Vec::new());
        }
        let mut enough = all.clone();
        for activity in &all {
            if works(&[*activity])? {
                enough = vec![*activity];
                break;
            }
        }
        Ok(enough.into_iter().map(|a| activities[a].plural.clone()).collect())
    }
}
