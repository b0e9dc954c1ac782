//! Choosing a schedule, and trying it on fresh lives.

use super::answer::TripRequest;
use super::bound::{self, Fewest};
use super::improve::Judge;
use super::layout::{Layout, whole};
use super::search::{self, Cancelled, Found, Problem, Watch};
use super::telling::{Following, Telling};
use super::{FRESH, TRIES};
use crate::domain::flow::Driver;
use crate::forecast::scene;
use crate::forecast::tracks::{Put, Track};
use crate::mechanism::driver::Source;
use crate::plan::case::{Case, Outcome};

/// Trips of more slots than this are not searched exactly.
const EXACT_SLOTS: usize = 16;

/// What was chosen.
pub(super) struct Chosen {
    /// The schedule, with the share of the fresh lives in which it holds.
    pub found: Option<(Found, f64)>,
    /// Whether that is enough.
    pub works: bool,
    /// It was given up before the search was over.
    pub stopped: bool,
}

impl Layout<'_> {
    /// The schedule, chosen again with less to lose until the fresh lives bear it out.
    pub(super) fn choose(
        &self,
        request: &TripRequest,
        telling: &Telling,
    ) -> Result<Chosen, Cancelled> {
        let lives = self.problem.lives as f64;
        let mut problem = self.problem.clone();
        let allowed = self.allowed(request.confidence);
        problem.allowed = allowed;
        let mut chosen = Chosen { found: None, works: false, stopped: false };
        for _ in 0..TRIES {
            let following = Following::of(telling, problem.allowed == allowed);
            let found = self.find(&problem, &following);
            chosen.stopped = found.is_err();
            let found = match found {
                // What a search under way has found is tried as what one that is over has.
                Err(Cancelled) if telling.settles() => {
                    let kept = following.kept.into_inner();
                    kept.map(|found| Found { exact: false, ..found })
                }
                found => found?,
            };
            let Some(mut found) = found else { break };
            // The optimum for fewer lives to lose than asked need not be the one for those asked.
            found.exact &= problem.allowed == allowed;
            let probability = self.try_on_fresh(&found.visits, request).probability;
            if chosen.found.as_ref().is_none_or(|(_, known)| probability > *known) {
                chosen.found = Some((found, probability));
            }
            chosen.works = probability >= request.confidence;
            if chosen.works || chosen.stopped {
                break;
            }
            let miss = ((request.confidence - probability) * lives).ceil().max(1.0) as usize;
            match problem.allowed.checked_sub(miss) {
                Some(allowed) => problem.allowed = allowed,
                None => break,
            }
        }
        match chosen.stopped && chosen.found.is_none() {
            true => Err(Cancelled),
            false => Ok(chosen),
        }
    }

    /// The exact search where it is short enough; else as few stops as a schedule is found with,
    /// from the fewest on that the windows of each interval allow.
    pub(super) fn find(
        &self,
        problem: &Problem,
        watch: &dyn Watch,
    ) -> Result<Option<Found>, Cancelled> {
        if problem.slots <= EXACT_SLOTS {
            let found = search::search(problem, watch)?;
            if found.as_ref().is_none_or(|found| found.exact) {
                return Ok(found);
            }
        }
        let windows = bound::windows(problem, problem.allowed);
        let cancelled = || watch.cancelled();
        let Some(least) = bound::within(problem, &windows, &cancelled)? else { return Ok(None) };
        watch.least(least);
        let masks = bound::masks(problem);
        let fewest = Fewest::of(problem, &windows, &masks);
        let judge = Judge::of(problem);
        for most in least..problem.slots - 1 {
            let beam = judge.beam(most, &|last| fewest.after(last), &cancelled)?;
            let Some(mut visits) = beam else { continue };
            let lost = judge.settle(&mut visits);
            if lost <= problem.allowed {
                let found = judge.found(visits, lost);
                watch.found(&found);
                return Ok(Some(found));
            }
        }
        Ok(None)
    }

    /// A schedule on lives that it was not chosen on, with its driving.
    pub(super) fn try_on_fresh(&self, visits: &[usize], request: &TripRequest) -> Outcome {
        self.try_puts(visits, self.puts(visits), request)
    }

    /// The same with other amounts put in or taken out at its stops.
    pub(super) fn try_puts(
        &self,
        visits: &[usize],
        puts: Vec<(usize, usize, Put)>,
        request: &TripRequest,
    ) -> Outcome {
        let case = self.with_drives(visits, request);
        let track = Track { from: 0, puts, mark: None };
        let mut lives = case.run(&[track]);
        Outcome::of(lives.pop().unwrap_or_default(), &case)
    }

    pub(super) fn with_drives(&self, visits: &[usize], request: &TripRequest) -> Case {
        let mut case = self.case.clone();
        (case.lives, case.seed) = (request.lives, request.seed ^ FRESH);
        for visit in visits {
            let slot = self.problem.visits[*visit].slot;
            let (_, km, _, hours) = self.ways[*visit];
            let begins = self.hours[slot].round();
            scene::run(&mut case.scene.hours, begins, Driver::DriveHour, hours);
            if let Some(hour) = case.scene.hours.get_mut(begins as usize) {
                hour.planned.push((Source::Driver(Driver::DriveKm), km));
            }
        }
        case
    }

    /// A visit to a place that says how long its hook-up lasts charges that long, and not all the
    /// way; `puts` are those of the slot.
    fn put_hook_up(&self, visits: &[usize], slot: usize, puts: &mut [(usize, usize, Put)]) {
        let Some(electric) = self.case.beliefs.mechanism.electric else { return };
        let serves = |mask: u32| mask >> electric & 1 == 1;
        let here = visits.iter().filter(|visit| self.problem.visits[**visit].slot == slot);
        let mut charged = here.filter(|visit| serves(self.problem.visits[**visit].serves));
        let hours =
            charged.next().and_then(|visit| self.rig.places[self.ways[*visit].0].hook_up_hours);
        if let (Some(hours), false) = (hours, serves(self.problem.given[slot])) {
            let charge = puts.iter_mut().filter(|put| put.1 == electric);
            charge.for_each(|put| put.2 = Put::By(hours * self.case.hook_up()));
        }
    }

    /// What the visits and what is planned already do to the levels.
    pub(super) fn puts(&self, visits: &[usize]) -> Vec<(usize, usize, Put)> {
        let mut puts = Vec::new();
        for slot in 1..self.problem.slots - 1 {
            let mut serves = self.problem.given[slot];
            for visit in visits.iter().map(|v| &self.problem.visits[*v]) {
                serves |= if visit.slot == slot { visit.serves } else { 0 };
            }
            let mut own = whole(&self.case, self.hours[slot], serves);
            self.put_hook_up(visits, slot, &mut own);
            puts.extend(own);
        }
        puts
    }
}
