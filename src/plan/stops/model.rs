//! A trip laid out: the times at which one can stop, and how long every stock lasts from each of
//! them, life by life.

use super::answer::Lead;
use super::lead;
use super::problem::{Bits, Cancelled, Problem};
use super::search::EXACT_SLOTS;
use super::telling::{Phase, Telling};
use super::windows::at_most_served;
use super::{bound, search};
use crate::domain::{Moment, Standing, Zone, after_hours};
use crate::forecast::variants::LevelChange;
use crate::plan::case::{Case, Outcome};
use crate::plan::stock_set::StockSet;
use crate::plan::{Basis, Request, TripRequest, Weather};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// Lives that a schedule is chosen on.
const CHOOSING_LIVES: usize = 512;

/// What is put in or taken out at the stops: `(hour, stock, put)`.
pub(super) type Puts = Vec<(usize, usize, LevelChange)>;

/// What a schedule is made of, laid out once.
#[derive(Clone)]
pub(super) struct TripModel<'a> {
    pub basis: Basis<'a>,
    pub case: Case,
    pub zone: Zone,
    /// Hours from now of every slot; the first is now, the last the end.
    pub hours: Vec<f64>,
    pub problem: Problem,
    /// `passages[slot][stock][life]`, hours from now.
    pub passages: Vec<Vec<Vec<f64>>>,
    /// What is carried besides of some stocks: `(stock, amount)`, in the stock's unit.
    pub spares: Vec<(usize, f64)>,
    /// Use from each slot to the next, `[slot][stock][life]`, in the stock's unit; 0 up.
    pub steps: Vec<Vec<Vec<f64>>>,
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
        after_hours(self.basis.now, self.hours[slot]).map(|at| self.zone.here(at))
    }

    /// The stops that no schedule goes below.
    ///
    /// They are bounded for other lives than these, too. The best schedule of all loses on these
    /// lives at most two standard errors more than may be lost, in 39 of 40 draws of them, and then
    /// it is among those that the bound allows (Luedtke and Ahmed, A sample approximation approach
    /// for optimization with probabilistic constraints, 2008; from memory).
    pub(super) fn prove(
        &self,
        request: &TripRequest,
        at_most: usize,
        telling: &Telling,
    ) -> Result<Option<usize>, Cancelled> {
        let (lives, c) = (self.problem.lives as f64, request.confidence);
        let luck = (2.0 * (lives * c * (1.0 - c)).sqrt()).ceil() as usize;
        let mut loose = Problem { allowed: self.allowed(c) + luck, ..self.problem.clone() };
        let told = |least: usize| {
            telling.least(least);
            telling.goes_on(Phase::Proving)
        };
        let stops = match loose.slots <= EXACT_SLOTS {
            true => {
                for n in 0..loose.visits.len() {
                    loose.visits[n].serves = at_most_served(&loose, &loose.visits[n]);
                    loose.visits[n].charge.clear();
                }
                let best = search::search(&loose, &|| !told(0))?;
                match best {
                    Some(best) if best.exact => Some(best.visits.len()),
                    Some(_) => bound::least_stops(&loose, at_most, &told)?,
                    None => None,
                }
            }
            false => bound::least_stops(&loose, at_most, &told)?,
        };
        let stops = stops.map(|stops| stops.min(at_most));
        stops.iter().for_each(|stops| telling.least(*stops));
        Ok(stops)
    }

    /// Lives that may be lost at a confidence.
    pub(super) fn allowed(&self, confidence: f64) -> usize {
        (self.problem.lives as f64 * (1.0 - confidence) + 1e-9) as usize
    }

    /// When the stocks meet their limits if no saved stop is made: a drive to one charges the
    /// battery, and nobody has said that it will be driven.
    fn limits_without_saved_stops(&self, request: &TripRequest) -> Outcome {
        if !self.basis.standing.iter().any(Standing::is_stop_ahead) {
            return self.case.limits();
        }
        Case::of(&self.basis, &stay(request), 0).limits()
    }

    /// Where the first forced stop leads if no saved stop is made.
    pub(super) fn leads(&self, request: &TripRequest) -> Vec<Lead> {
        let limits = self.limits_without_saved_stops(request);
        let most = (0..limits.binding.len())
            .max_by(|a, b| limits.binding[*a].total_cmp(&limits.binding[*b]));
        let by = after_hours(self.basis.now, limits.safe_hours(request.confidence));
        match (most.filter(|s| limits.binding[*s] > 0.0), by) {
            (Some(binding), Some(by)) => lead::leads(&self.basis, by, binding),
            _ => Vec::new(),
        }
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

/// The trip as a stay where the van is, from now on.
pub(super) fn stay(request: &TripRequest) -> Request {
    Request {
        from: None,
        nights: request.days,
        place: None,
        weather: Weather::Outlook,
        crew: request.crew,
        fill_first: false,
        confidence: request.confidence,
        lives: CHOOSING_LIVES,
        seed: request.seed,
    }
}

/// Services all the way, of some stocks, at an hour: `(hour, stock, put)`.
pub(super) fn whole(case: &Case, at: f64, serves: &StockSet) -> Puts {
    let stocks = case.beliefs.mechanism.stocks();
    let to = |stock: usize| LevelChange::To(stocks[stock].serviced_level());
    serves.iter().map(|stock| (at.round() as usize, stock, to(stock))).collect()
}
