//! What to give up, or to add, when no schedule works: the smallest of each kind that would do.

use super::answer::Relaxation;
use super::model::{TripModel, whole};
use super::problem::{Cancelled, Problem};
use super::windows::{Reachable, ways, windows};
use crate::plan::TripRequest;
use crate::plan::case::share_from;
use crate::plan::change::Change;
use crate::plan::options::can_be_less;
use std::cell::RefCell;

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
        Ok(Relaxation {
            unserved: Reachable::of(&offered, &windows, &ways(&offered)).unserved(),
            days: self.days(&asked, request, cancelled)?,
            confidence: self.confidence(&asked, request, cancelled)?,
            serviced_first: self.serviced_first(&asked, request, cancelled)?,
            service: self.service(&asked, request, cancelled)?,
            half_as_often: self.half_as_often(request, allowed, cancelled)?,
        })
    }

    fn works(&self, problem: &Problem, cancelled: &dyn Fn() -> bool) -> Result<bool, Cancelled> {
        self.find(problem, &|| cancelled()).map(|found| found.is_some())
    }

    /// The share of fresh lives in which the schedule that is found holds until the problem's end, its
    /// drives and all they burn counted; 0 where none is found.
    fn tried(
        &self,
        problem: &Problem,
        request: &TripRequest,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<f64, Cancelled> {
        let Some(found) = self.find(problem, &|| cancelled())? else { return Ok(0.0) };
        let tried = self.try_on_fresh(&found.visits, request);
        Ok(share_from(&tried.first, self.hours[problem.end()]))
    }

    /// Shorter trips: what a longer one needs, a shorter one has as well.
    fn days(
        &self,
        asked: &Problem,
        request: &TripRequest,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<Option<u32>, Cancelled> {
        let (mut low, mut high) = (0, asked.slots - 1);
        while low + 1 < high {
            let middle = (low + high) / 2;
            let share = self.tried(&asked.until(middle), request, cancelled)?;
            match share >= request.confidence {
                true => low = middle,
                false => high = middle,
            }
        }
        let today = self.zone.date(self.basis.now);
        let days = self.moment(low).map(|at| self.zone.date(at) - today);
        Ok(days.map(|d| d.num_days() as u32).filter(|d| *d > 0))
    }

    fn confidence(
        &self,
        asked: &Problem,
        request: &TripRequest,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<Option<f64>, Cancelled> {
        let lives = asked.lives as f64;
        let (mut low, mut high) = (asked.allowed, (lives * 0.5) as usize);
        let works = |allowed: usize| self.works(&Problem { allowed, ..asked.clone() }, cancelled);
        if high <= low || !works(high)? {
            return Ok(None);
        }
        // To a whole percent: the lives are few.
        while low + asked.lives / 100 + 1 < high {
            let middle = (low + high) / 2;
            if works(middle)? { high = middle } else { low = middle }
        }
        let tried = self.tried(&Problem { allowed: high, ..asked.clone() }, request, cancelled)?;
        let sure = (tried.min(1.0 - high as f64 / lives) * 100.0).floor() / 100.0;
        Ok(Some(sure).filter(|sure| *sure >= 0.5))
    }

    fn serviced_first(
        &self,
        asked: &Problem,
        request: &TripRequest,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<bool, Cancelled> {
        let serviced = (0..asked.stocks).filter(|stock| self.case.can_be_serviced(*stock));
        let puts = whole(&self.case, 0.0, &serviced.collect());
        let passages = self.case.limits_with(puts.clone()).lives.passages;
        let mut problem = asked.clone();
        for (fails, passages) in problem.fails.iter_mut().zip(&passages) {
            for (slot, lives) in fails[0].iter_mut().enumerate().skip(1) {
                *lives = self.before(slot, passages);
            }
        }
        let Some(found) = self.find(&problem, &|| cancelled())? else { return Ok(false) };
        let puts = [puts, self.puts(&found.visits)].concat();
        Ok(self.try_puts(&found.visits, puts, request).probability >= request.confidence)
    }

    /// The first stock that need only be serviced at every known place with services, tried on the
    /// fresh lives.
    fn service(
        &self,
        asked: &Problem,
        request: &TripRequest,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<Option<usize>, Cancelled> {
        for stock in 0..asked.stocks {
            // What was compared was so without that service.
            let mut model = TripModel { compared: RefCell::default(), ..self.clone() };
            model.problem.visits.iter_mut().for_each(|visit| visit.serves.add(stock));
            let problem = Problem { allowed: asked.allowed, ..model.problem.clone() };
            if problem.visits != asked.visits
                && model.tried(&problem, request, cancelled)? >= request.confidence
            {
                return Ok(Some(stock));
            }
        }
        Ok(None)
    }

    /// Activities of which half would do.
    fn half_as_often(
        &self,
        request: &TripRequest,
        allowed: usize,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<Vec<String>, Cancelled> {
        let activities = &self.case.beliefs.mechanism.parts.activities;
        let all: Vec<usize> =
            (0..activities.len()).filter(|a| can_be_less(&self.case, *a)).collect();
        let works = |half: &[usize]| {
            let halves: Vec<Change> =
                half.iter().map(|a| Change::Rate { activity: *a, factor: 0.5 }).collect();
            let model = TripModel::of_case(&self.basis, self.case.with(&halves), request.days);
            let problem = Problem { allowed, ..model.problem.clone() };
            Ok(model.tried(&problem, request, cancelled)? >= request.confidence)
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
