//! A trip laid out: the times at which one can stop, and how long every stock lasts from each of
//! them, life by life.

use super::answer::{Lead, TripRequest};
use super::bound;
use super::lead;
use super::least_km::least_km;
use super::problem::{Bits, Cancelled, Found, Problem};
use super::telling::{Step, Telling};
use super::{ahead, places, visits};
use crate::domain::journal::Standing;
use crate::domain::stock::Direction;
use crate::domain::time::{Moment, Zone, after_hours, hours_between};
use crate::forecast::tracks::{Put, Track, TrackLives};
use crate::plan::answer::{Request, Weather};
use crate::plan::assumptions::{LAST_HOUR_TODAY, STOP_HOUR};
use crate::plan::basis::Basis;
use crate::plan::case::{Case, Limits};
use crate::plan::stock_set::StockSet;
use chrono::{Duration, NaiveTime, Timelike};

/// Lives that a schedule is chosen on.
const CHOOSING_LIVES: usize = 512;

/// What a schedule is made of, laid out once.
pub(super) struct TripModel<'a> {
    pub basis: Basis<'a>,
    pub case: Case,
    pub zone: Zone,
    /// Hours from now of every slot; the first is now, the last the end.
    pub hours: Vec<f64>,
    pub problem: Problem,
    /// `passages[slot][stock][life]`, hours from now.
    pub passages: Vec<Vec<Vec<f64>>>,
    /// Use from each slot to the next, `[slot][stock][life]`, in the stock's unit; 0 up.
    pub steps: Vec<Vec<Vec<f64>>>,
}

impl<'a> TripModel<'a> {
    /// Runs the lives on which a schedule is chosen.
    pub fn of(basis: &Basis<'a>, request: &TripRequest) -> TripModel<'a> {
        let mut case = Case::of(basis, &stay(request), 0);
        let Case { scene, beliefs, .. } = &mut case;
        scene.drive_to_planned_stops(basis.standing, beliefs);
        TripModel::of_case(basis, case, request.days)
    }

    /// The same for lives that are laid out already.
    pub fn of_case(basis: &Basis<'a>, case: Case, days: u32) -> TripModel<'a> {
        let hours = slots(basis, &case, days);
        // One track per slot: everything serviced there, and looked at again at the next.
        let everything: StockSet = (0..case.beliefs.mechanism.stocks().len()).collect();
        let track = |slot: usize| Track {
            from: hours[slot].round() as usize,
            puts: if slot == 0 { Vec::new() } else { whole(&case, hours[slot], &everything) },
            mark: Some((hours[slot + 1].round() as usize).saturating_sub(1)),
        };
        let tracks: Vec<Track> = (0..hours.len() - 1).map(track).collect();
        let lives = case.run(&tracks);
        let steps: Vec<_> = lives.iter().map(|lives| used_of(&case, lives)).collect();
        let mut model = TripModel {
            basis: *basis,
            zone: basis.zone(),
            problem: Problem {
                slots: hours.len(),
                stocks: everything.len(),
                lives: case.lives,
                allowed: 0,
                fails: Vec::new(),
                visits: Vec::new(),
                given: Vec::new(),
                used: Vec::new(),
            },
            hours,
            passages: Vec::new(),
            steps,
            case,
        };
        model.problem.used = model.used(&lives[0].first);
        let missing = visits::most_missing(&model, &lives[0].first);
        model.passages = lives.into_iter().map(|lives| lives.passages).collect();
        model.problem.fails = model.fails();
        model.problem.given = ahead::given(&model);
        model.problem.visits = visits::visits(&model, &missing);
        model
    }

    /// The lives with a passage before a slot.
    pub fn before(&self, slot: usize, passages: &[f64]) -> Bits {
        let mut bits = self.problem.no_lives();
        for (life, _) in passages.iter().enumerate().filter(|(_, p)| **p < self.hours[slot]) {
            bits[life / 64] |= 1 << (life % 64);
        }
        bits
    }

    /// As [`Problem::fails`].
    fn fails(&self) -> Vec<Vec<Vec<Bits>>> {
        let slots = self.problem.slots;
        let row = |stock: usize, from: usize| -> Vec<Bits> {
            (0..slots)
                .map(|to| match to > from {
                    true => self.before(to, &self.passages[from][stock]),
                    false => Bits::new(),
                })
                .collect()
        };
        let of = |stock: usize| (0..slots - 1).map(|from| row(stock, from)).collect();
        (0..self.problem.stocks).map(of).collect()
    }

    /// Expected use up to each slot, with what is missing now: means add up, medians do not.
    fn used(&self, first: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len().max(1) as f64;
        let stocks = self.case.beliefs.mechanism.stocks();
        let of = |stock: usize| {
            let mut sum = (mean(&first[stock]) - stocks[stock].serviced_level()).abs();
            let mut used = vec![sum];
            for steps in &self.steps {
                sum += mean(&steps[stock]);
                used.push(sum);
            }
            used
        };
        (0..self.problem.stocks).map(of).collect()
    }

    /// The moment of a slot.
    pub fn moment(&self, slot: usize) -> Option<Moment> {
        after_hours(self.basis.now, self.hours[slot]).map(|at| self.zone.here(at))
    }

    /// What no schedule goes below: stops, and km with as many stops as were found; `found` is the
    /// schedule where it works.
    pub fn prove(
        &self,
        request: &TripRequest,
        at_most: usize,
        found: Option<&Found>,
        telling: &Telling,
    ) -> Result<(Option<usize>, Option<f64>), Cancelled> {
        let problem = Problem { allowed: self.allowed(request.confidence), ..self.problem.clone() };
        let told = |least: usize| {
            telling.least(least);
            telling.goes_on(Step::Proving)
        };
        let stops = bound::least_stops(&problem, at_most, &told)?;
        let Some(found) = found else { return Ok((stops, None)) };
        let km = least_km(&problem, at_most, found.km, &|| !telling.goes_on(Step::Proving))?;
        Ok((stops, Some(km)))
    }

    /// Lives that may be lost at a confidence.
    pub fn allowed(&self, confidence: f64) -> usize {
        (self.problem.lives as f64 * (1.0 - confidence) + 1e-9) as usize
    }

    /// When the stocks meet their limits if no saved stop is made: a drive to one charges the
    /// battery, and nobody has said that it will be driven.
    fn limits_without_saved_stops(&self, request: &TripRequest) -> Limits {
        if !self.basis.standing.iter().any(Standing::is_stop_ahead) {
            return self.case.limits();
        }
        Case::of(&self.basis, &stay(request), 0).limits()
    }

    /// Where the first forced stop leads if no saved stop is made.
    pub fn leads(&self, request: &TripRequest) -> Vec<Lead> {
        let limits = self.limits_without_saved_stops(request);
        let most = (0..limits.binding.len())
            .max_by(|a, b| limits.binding[*a].total_cmp(&limits.binding[*b]));
        let by = after_hours(self.basis.now, limits.safe_hours(request.confidence));
        match (most.filter(|s| limits.binding[*s] > 0.0), by) {
            (Some(binding), Some(by)) => lead::leads(&self.basis, by, binding),
            _ => Vec::new(),
        }
    }

    /// The electric store, if there is one.
    pub fn electric(&self) -> Option<usize> {
        self.case.beliefs.mechanism.electric
    }
}

/// The trip as a stay where the van is, from now on.
fn stay(request: &TripRequest) -> Request {
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

/// What each life uses of each stock in the hours of a track, in the stock's unit; 0 up.
fn used_of(case: &Case, lives: &TrackLives) -> Vec<Vec<f64>> {
    let stocks = case.beliefs.mechanism.stocks().iter().enumerate();
    let of = |(stock, kind): (usize, &crate::domain::stock::Stock)| {
        let way = if kind.runs == Direction::Down { 1.0 } else { -1.0 };
        let of = lives.first[stock].iter().zip(&lives.marked[stock]);
        of.map(|(first, marked)| (way * (first - marked)).max(0.0)).collect()
    };
    stocks.map(of).collect()
}

/// Services all the way, of some stocks, at an hour: `(hour, stock, put)`.
pub(super) fn whole(case: &Case, at: f64, serves: &StockSet) -> Vec<(usize, usize, Put)> {
    let stocks = case.beliefs.mechanism.stocks();
    let to = |stock: usize| Put::To(stocks[stock].serviced_level());
    serves.iter().map(|stock| (at.round() as usize, stock, to(stock))).collect()
}

/// Hours from now of all slots.
fn slots(basis: &Basis, case: &Case, days: u32) -> Vec<f64> {
    let (zone, now) = (basis.zone(), basis.now);
    let usual = NaiveTime::from_hms_opt(STOP_HOUR, 0, 0).unwrap_or_default();
    let offering = basis.rig.places.iter().filter(|p| p.offers_anything());
    let times = places::stop_times(offering, usual);
    let soon = zone.here(now + Duration::hours(1));
    let mut hours: Vec<f64> = vec![0.0];
    for day in 0..i64::from(days) {
        for time in &times {
            let mut at = zone.moment((zone.date(now) + Duration::days(day)).and_time(*time));
            if at < soon {
                at = soon;
                let known = hours.len() > 1;
                if known || zone.date(at) != zone.date(now) || at.hour() > LAST_HOUR_TODAY {
                    continue;
                }
            }
            // Lives are stepped by the hour: two times in one hour are an hour apart.
            let at = hours_between(now, at).max(hours[hours.len() - 1].round() + 0.5);
            if at < case.until_hours {
                hours.push(at);
            }
        }
    }
    hours.push(case.until_hours);
    hours
}
