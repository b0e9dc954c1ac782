//! Choosing a schedule, trying it on fresh lives, and what to give up when there is none.

use super::answer::{Relaxation, TripRequest};
use super::bound::{self, Fewest};
use super::improve::Judge;
use super::search::{self, Cancelled, Found, Problem};
use super::{FRESH, Layout, TRIES, whole};
use crate::domain::flow::Driver;
use crate::forecast::tracks::{Put, Track};
use crate::mechanism::driver::Source;
use crate::plan::case::{Case, Outcome};

/// Trips of more slots than this are not searched exactly.
const EXACT_SLOTS: usize = 16;

impl Layout<'_> {
    /// The schedule, chosen again with less to lose until the fresh lives bear it out.
    pub(super) fn choose(
        &self,
        request: &TripRequest,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<(Option<(Found, f64)>, bool), Cancelled> {
        let lives = self.problem.lives as f64;
        let mut problem = self.problem.clone();
        let allowed = (lives * (1.0 - request.confidence) + 1e-9) as usize;
        problem.allowed = allowed;
        let mut best: Option<(Found, f64)> = None;
        for _ in 0..TRIES {
            let Some(mut found) = self.find(&problem, cancelled)? else { break };
            // The optimum for fewer lives to lose than asked need not be the one for those asked.
            found.exact &= problem.allowed == allowed;
            let probability = self.try_on_fresh(&found.visits, request).probability;
            if best.as_ref().is_none_or(|(_, known)| probability > *known) {
                best = Some((found, probability));
            }
            if probability >= request.confidence {
                return Ok((best, true));
            }
            let miss = ((request.confidence - probability) * lives).ceil().max(1.0) as usize;
            match problem.allowed.checked_sub(miss) {
                Some(allowed) => problem.allowed = allowed,
                None => break,
            }
        }
        Ok((best, false))
    }

    /// The exact search where it is short enough; else as few stops as a schedule is found with,
    /// from the fewest on that the windows of each interval allow.
    fn find(
        &self,
        problem: &Problem,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<Option<Found>, Cancelled> {
        if problem.slots <= EXACT_SLOTS {
            let found = search::search(problem, cancelled)?;
            if found.as_ref().is_none_or(|found| found.exact) {
                return Ok(found);
            }
        }
        let windows = bound::windows(problem, problem.allowed);
        let Some(least) = bound::within(problem, &windows) else { return Ok(None) };
        let fewest = Fewest::of(problem, &windows);
        let judge = Judge::of(problem);
        for most in least..problem.slots - 1 {
            let beam = judge.beam(most, &|last| fewest.after(last), cancelled)?;
            let Some(mut visits) = beam else { continue };
            let lost = judge.settle(&mut visits);
            if lost <= problem.allowed {
                return Ok(Some(judge.found(visits, lost)));
            }
        }
        Ok(None)
    }

    /// A schedule on lives that it was not chosen on, with its driving.
    pub(super) fn try_on_fresh(&self, visits: &[usize], request: &TripRequest) -> Outcome {
        let case = self.with_drives(visits, request);
        let track = Track { from: 0, puts: self.puts(visits), mark: None };
        let mut lives = case.run(&[track]);
        Outcome::of(lives.pop().unwrap_or_default(), &case)
    }

    pub(super) fn with_drives(&self, visits: &[usize], request: &TripRequest) -> Case {
        let mut case = self.case.clone();
        (case.lives, case.seed) = (request.lives, request.seed ^ FRESH);
        for visit in visits {
            let slot = self.problem.visits[*visit].slot;
            let (_, km, _, hours) = self.ways[*visit];
            if let Some(hour) = case.scene.hours.get_mut(self.hours[slot].round() as usize) {
                hour.planned.push((Source::Driver(Driver::DriveHour), hours));
                hour.planned.push((Source::Driver(Driver::DriveKm), km));
            }
        }
        case
    }

    /// What the visits and what is planned already do to the levels.
    pub(super) fn puts(&self, visits: &[usize]) -> Vec<(usize, usize, Put)> {
        let mut puts = Vec::new();
        for slot in 1..self.problem.slots - 1 {
            let mut serves = self.problem.given[slot];
            for visit in visits.iter().map(|v| &self.problem.visits[*v]) {
                serves |= if visit.slot == slot { visit.serves } else { 0 };
            }
            puts.extend(whole(&self.case, self.hours[slot], serves));
        }
        puts
    }

    /// The smallest relaxations that make the trip work.
    pub(super) fn relax(
        &self,
        request: &TripRequest,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<Relaxation, Cancelled> {
        let lives = self.problem.lives as f64;
        let allowed = (lives * (1.0 - request.confidence) + 1e-9) as usize;
        let mut relaxation = Relaxation {
            unserved: search::unserved(&self.problem, allowed),
            ..Relaxation::default()
        };
        // Shorter trips: what a longer one needs, a shorter one has as well.
        let (mut low, mut high) = (0, self.problem.slots - 1);
        while low + 1 < high {
            let middle = (low + high) / 2;
            let problem = Problem { allowed, ..self.problem.until(middle) };
            match self.find(&problem, cancelled)? {
                Some(_) => low = middle,
                None => high = middle,
            }
        }
        let days = self.moment(low).map(|at| self.zone.date(at) - self.zone.date(self.now));
        relaxation.days = days.map(|d| d.num_days() as u32).filter(|d| *d > 0);
        let (mut low, mut high) = (allowed, (lives * 0.5) as usize);
        let works = |allowed: usize| {
            let problem = Problem { allowed, ..self.problem.clone() };
            self.find(&problem, cancelled).map(|found| found.is_some())
        };
        if works(high)? {
            while low + 1 < high {
                let middle = (low + high) / 2;
                if works(middle)? { high = middle } else { low = middle }
            }
            // Rounded down to whole percent: the lives are few.
            relaxation.confidence = Some(((1.0 - high as f64 / lives) * 100.0).floor() / 100.0);
        }
        Ok(relaxation)
    }
}
