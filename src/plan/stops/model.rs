//! A trip laid out: the times at which one can stop, and how long every stock lasts from each of
//! them, life by life.

use super::answer::Lead;
use super::places;
use super::problem::{Bits, Cancelled, Problem};
use super::search::EXACT_SLOTS;
use super::telling::{Phase, Telling};
use super::windows::at_most_served;
use super::{bound, search};
use crate::domain::{Moment, Standing, Zone, after_hours};
use crate::forecast::variants::LevelChange;
use crate::plan::case::{Case, Outcome};
use crate::plan::stock_set::StockSet;
use crate::plan::{Basis, Request, TripRequest, road};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// Lives that a schedule is chosen on.
pub(super) const CHOOSING_LIVES: usize = 512;

/// What is put in or taken out at the stops: `(hour, stock, put)`.
pub(super) type Puts = Vec<(usize, usize, LevelChange)>;

/// What is asked, of what, and who waits for it.
#[derive(Clone, Copy)]
pub(super) struct TripInputs<'a> {
    pub basis: Basis<'a>,
    pub request: &'a TripRequest,
    /// Is told how far the search is, and may end it.
    pub telling: &'a Telling<'a>,
}

/// What a schedule is made of, laid out once.
#[derive(Clone)]
pub(super) struct TripModel<'a> {
    pub asked: TripInputs<'a>,
    pub case: Case,
    pub zone: Zone,
    /// Hours from now of every slot; the first is now, the last the end.
    pub hours: Vec<f64>,
    pub problem: Problem,
    /// `passages[slot][stock][life]`, hours from now.
    pub passages: Vec<Vec<Vec<f64>>>,
    /// What is carried besides of some stocks: `(stock, amount)`, in the stock's unit.
    pub spares: Vec<(usize, f64)>,
    /// What drives burn so much of that the schedule was chosen on lives that drive.
    pub burnt: Option<usize>,
    /// Use from each slot to the next, `[slot][stock][life]`, in the stock's unit; 0 up.
    pub steps: Vec<Vec<Vec<f64>>>,
    /// What keeps stocks that are overdue until they are seen to, in the lives that a schedule is
    /// tried on.
    pub excused: Puts,
    /// Of schedules that were compared, on how many lives, and how many of them they lose.
    pub compared: RefCell<BTreeMap<Vec<usize>, (usize, usize)>>,
}

impl TripModel<'_> {
    /// The lives with a passage before a slot.
    pub(super) fn before(&self, slot: usize, passages: &[f64]) -> Bits {
        let mut bits = self.problem.no_lives();
        for (life, _) in passages.iter().enumerate().filter(|(_, p)| **p < self.hours[slot]) {
            bits[life / 64] |= 1 << (life % 64);
        }
        bits
    }

    /// The moment of a slot.
    pub(super) fn moment(&self, slot: usize) -> Option<Moment> {
        after_hours(self.asked.basis.now, self.hours[slot]).map(|at| self.zone.here(at))
    }

    /// The stops that no schedule goes below.
    ///
    /// They are bounded for other lives than these, too. The best schedule of all loses on these
    /// lives at most two standard errors more than may be lost, in 39 of 40 draws of them, and then
    /// it is among those that the bound allows (Luedtke and Ahmed, A sample approximation approach
    /// for optimization with probabilistic constraints, 2008; from memory).
    pub(super) fn prove(&self, at_most: usize) -> Result<Option<usize>, Cancelled> {
        let (lives, c) = (self.problem.lives as f64, self.asked.request.confidence);
        let (mut loose, telling) = (self.problem.clone(), self.asked.telling);
        loose.allowed += (2.0 * (lives * c * (1.0 - c)).sqrt()).ceil() as usize;
        let told = |least: usize| {
            telling.least(least);
            telling.goes_on(Phase::Proving)
        };
        let mut best = None;
        if loose.slots <= EXACT_SLOTS {
            for n in 0..loose.visits.len() {
                loose.visits[n].serves = at_most_served(&loose, &loose.visits[n]);
                loose.visits[n].charge.clear();
            }
            let Some(found) = search::search(&loose, &|| !told(0))? else { return Ok(None) };
            best = found.exact.then_some(found.visits.len());
        }
        let stops = match best {
            None => bound::least_stops(&loose, at_most, &told)?,
            exact => exact,
        };
        let stops = stops.map(|stops| stops.min(at_most));
        stops.iter().for_each(|stops| telling.least(*stops));
        Ok(stops)
    }

    /// When the stocks meet their limits if no saved stop is made: a drive to one charges the
    /// battery, and nobody has said that it will be driven.
    fn limits_without_saved_stops(&self) -> Outcome {
        if !self.asked.basis.standing.iter().any(Standing::is_stop_ahead) {
            return self.case.limits();
        }
        Case::of(&self.asked.basis, &stay(self.asked.request), 0).limits()
    }

    /// Where the first forced stop leads if no saved stop is made: "be there by" is also "leave by",
    /// and a place that is closed that day is no answer.
    pub(super) fn leads(&self) -> Vec<Lead> {
        let limits = self.limits_without_saved_stops();
        let by =
            after_hours(self.asked.basis.now, limits.safe_hours(self.asked.request.confidence));
        let binding = limits.most_often_first().filter(|s| limits.binding[*s] > 0.0);
        let leads = by.zip(binding).map(|(by, binding)| leads_to(&self.asked.basis, by, binding));
        leads.unwrap_or_default()
    }

    /// The hour from now in which a visit begins.
    pub(super) fn hour_of(&self, visit: usize) -> usize {
        self.hours[self.problem.visits[visit].slot].round() as usize
    }

    /// The electric store, if there is one.
    pub(super) fn electric(&self) -> Option<usize> {
        self.case.beliefs.mechanism.electric
    }
}

/// Places that can service what binds, each with the last moment to be there and to leave:
/// `by` itself within opening hours, else late on the last open day before it. Those that
/// cannot be reached any more are left out. Nearest first.
fn leads_to(basis: &Basis, by: Moment, binding: usize) -> Vec<Lead> {
    let Basis { rig, beliefs, now, .. } = *basis;
    let parts = &beliefs.mechanism.parts;
    let (camp, zone) = (beliefs.timeline.camp(now), basis.zone());
    let mut leads: Vec<Lead> = Vec::new();
    for (index, place) in rig.places.iter().enumerate() {
        let mut serves = places::services(place, parts);
        if place.name != camp.name {
            serves.add_all(&places::reset_by_camp(parts));
        }
        if !serves.has(binding) {
            continue;
        }
        let way = road::way((camp.latitude, camp.longitude), place);
        let Some(at) = places::last_chance(place, zone, (now, by)) else { continue };
        let Some(leave_by) = after_hours(at, -way.hours) else { continue };
        if leave_by < now {
            continue;
        }
        let (km, hours, services) = (way.km, way.hours, serves.iter().collect());
        leads.push(Lead { place: index, by: at, leave_by, km, hours, services });
    }
    leads.sort_by(|a, b| a.hours.total_cmp(&b.hours));
    leads
}

/// Lives that may be lost, of so many, at a confidence.
pub(super) fn allowed(lives: usize, confidence: f64) -> usize {
    (lives as f64 * (1.0 - confidence) + 1e-9) as usize
}

/// The trip as a stay where the van is, from now on.
pub(super) fn stay(request: &TripRequest) -> Request {
    Request {
        crew: request.crew,
        confidence: request.confidence,
        lives: CHOOSING_LIVES,
        seed: request.seed,
        ..Request::here_for(request.days)
    }
}

/// Services all the way, of some stocks, at an hour: `(hour, stock, put)`.
pub(super) fn whole(case: &Case, at: f64, serves: &StockSet) -> Puts {
    let full = serves.iter().map(|stock| case.service(stock));
    full.map(|(stock, put)| (at.round() as usize, stock, put)).collect()
}
