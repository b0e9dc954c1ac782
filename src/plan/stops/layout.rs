//! A trip laid out: the times at which one can stop, how long every stock lasts from each of
//! them, life by life, and the visits that there are.

use super::answer::{Lead, PlannedStop, TripRequest};
use super::least_km::least_km;
use super::saved::SETTING_OUT;
use super::search::{Bits, Cancelled, Found, Problem, Visit};
use super::telling::{Step, Telling};
use super::{STOP_HOUR, bound, lead, places};
use crate::belief::Beliefs;
use crate::domain::counts::Counts;
use crate::domain::entry::{After, Event};
use crate::domain::journal::Standing;
use crate::domain::rig::{Place, Rig};
use crate::domain::stock::Direction;
use crate::domain::time::{Moment, Zone, after_hours, hours_between};
use crate::forecast::tracks::{Put, Track};
use crate::plan::answer::{Request, Weather};
use crate::plan::case::{Case, Limits};
use crate::plan::hook_up;
use chrono::{Duration, NaiveTime, Timelike};

/// Lives that a schedule is chosen on.
const CHOOSING_LIVES: usize = 512;
/// A stop that is made later today than its time of day is at this civil hour at the latest.
const LAST_HOUR_TODAY: u32 = 16;
/// Most stocks with a price at one place that may be left out there.
const MOST_LEFT_OUT: usize = 3;

/// What a schedule is made of, laid out once.
pub(super) struct Layout<'a> {
    pub rig: &'a Rig,
    pub standing: &'a [Standing],
    pub case: Case,
    pub zone: Zone,
    pub now: Moment,
    /// Hours from now of every slot; the first is now, the last the end.
    pub hours: Vec<f64>,
    pub problem: Problem,
    /// `passages[slot][stock][life]`, hours from now.
    pub passages: Vec<Vec<Vec<f64>>>,
    /// Use from each slot to the next, `[slot][stock][life]`, in the stock's unit; 0 up.
    pub steps: Vec<Vec<Vec<f64>>>,
    /// Per visit: place, km, hours there, hours in all.
    pub ways: Vec<(usize, f64, f64, f64)>,
}

impl<'a> Layout<'a> {
    pub fn of(
        rig: &'a Rig,
        standing: &'a [Standing],
        beliefs: &Beliefs,
        now: Moment,
        request: &TripRequest,
    ) -> Layout<'a> {
        let mut case = Case::of(rig, standing, beliefs, now, &stay(request), 0);
        let Case { scene, beliefs, .. } = &mut case;
        scene.drive_to_planned_stops(standing, beliefs);
        Layout::of_case(rig, standing, case, now, request.days)
    }

    /// The same for lives that are laid out already.
    pub fn of_case(
        rig: &'a Rig,
        standing: &'a [Standing],
        case: Case,
        now: Moment,
        days: u32,
    ) -> Layout<'a> {
        let zone = rig.zone(now);
        let hours = slots(rig, &case, zone, now, days);
        let tracks: Vec<Track> = (0..hours.len() - 1)
            .map(|slot| Track {
                from: hours[slot].round() as usize,
                puts: if slot == 0 { Vec::new() } else { whole(&case, hours[slot], u32::MAX) },
                mark: Some((hours[slot + 1].round() as usize).saturating_sub(1)),
            })
            .collect();
        let lives = case.run(&tracks);
        let steps = lives
            .iter()
            .map(|lives| {
                let stocks = case.beliefs.mechanism.stocks().iter().enumerate();
                stocks
                    .map(|(stock, kind)| {
                        let way = if kind.runs == Direction::Down { 1.0 } else { -1.0 };
                        let of = lives.first[stock].iter().zip(&lives.marked[stock]);
                        of.map(|(first, marked)| (way * (first - marked)).max(0.0)).collect()
                    })
                    .collect()
            })
            .collect();
        let mut layout = Layout {
            rig,
            standing,
            zone,
            now,
            problem: Problem {
                slots: hours.len(),
                stocks: case.beliefs.mechanism.stocks().len().min(32),
                lives: case.lives,
                allowed: 0,
                fails: Vec::new(),
                visits: Vec::new(),
                given: vec![0; hours.len()],
                used: Vec::new(),
            },
            hours,
            passages: Vec::new(),
            steps,
            ways: Vec::new(),
            case,
        };
        layout.problem.used = layout.used(&lives[0].first);
        let missing = layout.most_missing(&lives[0].first);
        layout.passages = lives.into_iter().map(|lives| lives.passages).collect();
        layout.problem.fails = layout.fails();
        layout.problem.given = layout.given();
        layout.visits(&missing);
        layout
    }

    pub fn fails(&self) -> Vec<Vec<Vec<Bits>>> {
        let set = |stock: usize, from: usize, to: usize| -> Bits {
            let mut bits = vec![0u64; self.problem.lives.div_ceil(64)];
            for (life, passage) in self.passages[from][stock].iter().enumerate() {
                if *passage < self.hours[to] {
                    bits[life / 64] |= 1 << (life % 64);
                }
            }
            bits
        };
        let slots = self.problem.slots;
        let row = |stock: usize, from: usize| -> Vec<Bits> {
            (0..slots)
                .map(|to| if to > from { set(stock, from, to) } else { Bits::new() })
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

    /// Whole services that the journal plans already, by slot. A charge counts as one where a
    /// schedule planned it; any other is energy, which the lives have in them.
    fn given(&self) -> Vec<u32> {
        let mut given = vec![0; self.problem.slots];
        for plan in self.standing.iter().filter(|entry| entry.counts == Counts::Ahead) {
            if let (Some(slot), mask) = (self.slot_of(plan.at), self.planned_by(plan))
                && mask != 0
            {
                given[slot] |= mask;
            }
        }
        given
    }

    fn planned_by(&self, plan: &Standing) -> u32 {
        let parts = &self.case.beliefs.mechanism.parts;
        let saved = plan.is_stop_ahead();
        let bit = |index: usize| 1u32.checked_shl(index as u32).unwrap_or(0);
        let own = match &plan.event {
            Event::Fill { stock, after: None | Some(After::Full), .. } => parts.stock(stock),
            Event::Empty { stock, after: None, .. } => parts.stock(stock),
            Event::Charge { .. } if saved => {
                let electric = self.case.beliefs.mechanism.electric;
                return electric.map_or(0, bit) | places::reset_by_camp(parts);
            }
            _ => None,
        };
        // After a stop of a schedule the van camps elsewhere; before it sets out it does not.
        let at_camp = plan.note.as_deref().is_some_and(|note| note.ends_with(SETTING_OUT));
        let reset = if saved && !at_camp { places::reset_by_camp(parts) } else { 0 };
        own.map_or(0, |(index, _)| bit(index)) | reset
    }

    /// The slot of that day that is nearest to a moment.
    fn slot_of(&self, at: Moment) -> Option<usize> {
        let hours = hours_between(self.now, at);
        let same_day = |slot: &usize| {
            self.moment(*slot).is_some_and(|moment| self.zone.date(moment) == self.zone.date(at))
        };
        let far = |slot: &usize| (self.hours[*slot] - hours).abs();
        (1..self.problem.slots - 1).filter(same_day).min_by(|a, b| far(a).total_cmp(&far(b)))
    }

    /// What the journal plans already, stop by stop.
    pub fn planned(&self) -> Vec<PlannedStop> {
        let end = *self.hours.last().unwrap_or(&0.0);
        let mut planned: Vec<PlannedStop> = Vec::new();
        for plan in self.standing.iter().filter(|entry| entry.counts == Counts::Ahead) {
            let mask = self.planned_by(plan);
            let own = mask & !places::reset_by_camp(&self.case.beliefs.mechanism.parts);
            if own == 0 || hours_between(self.now, plan.at) > end {
                continue;
            }
            let stocks = (0..self.problem.stocks).filter(|stock| own >> stock & 1 == 1);
            match planned.last_mut().filter(|last| last.at == plan.at) {
                Some(last) => last.stocks.extend(stocks),
                None => planned.push(PlannedStop {
                    at: plan.at,
                    note: plan.note.clone().unwrap_or_default(),
                    stocks: stocks.collect(),
                }),
            }
        }
        planned
    }

    pub fn moment(&self, slot: usize) -> Option<Moment> {
        after_hours(self.now, self.hours[slot]).map(|at| self.zone.here(at))
    }

    /// Lays out every visit to every place at every time at which it is open.
    fn visits(&mut self, missing: &[Vec<f64>]) {
        let parts = self.case.beliefs.mechanism.parts.clone();
        let reset = places::reset_by_camp(&parts);
        let timeline = self.case.beliefs.timeline.clone();
        for slot in 1..self.problem.slots - 1 {
            let (Some(at), Some(missing)) = (self.moment(slot), missing.get(slot)) else {
                continue;
            };
            let before = timeline.camp(at - Duration::hours(1));
            let after = timeline.camp(at + Duration::hours(10));
            for (index, place) in self.rig.places.iter().enumerate() {
                let mut serves = places::services(place, &parts);
                if !self.is_full_after(place, missing) {
                    serves &= !self.electric();
                }
                if serves != 0 || place.name != before.name {
                    serves |= reset;
                }
                let point = |camp: &crate::domain::timeline::Camp| (camp.latitude, camp.longitude);
                let (there, on) = places::round(place, point(before), point(after));
                let reachable = self.hours[slot] >= there.hours;
                if serves == 0 || !reachable || !places::is_open(place, self.zone, at) {
                    continue;
                }
                let priced = prices(place, &parts, serves);
                for left_out in left_out(&priced) {
                    let taken = serves & !left_out;
                    let prices = priced.iter().filter(|(s, _)| taken >> s & 1 == 1).copied();
                    self.problem.visits.push(Visit {
                        slot,
                        key: index,
                        serves: taken,
                        km: there.km + on.km,
                        cost: place.cost.unwrap_or(0.0),
                        prices: prices.collect(),
                    });
                    let hours = there.hours + on.hours;
                    self.ways.push((index, there.km + on.km, there.hours, hours));
                }
            }
        }
    }

    /// What is missing from the electric store at each slot, life by life, in Wh, if nothing charges
    /// it before; a schedule that does leaves less to charge. Empty without one.
    fn most_missing(&self, first: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let Some(stock) = self.case.beliefs.mechanism.electric else {
            return vec![Vec::new(); self.problem.slots];
        };
        let known = &self.case.beliefs.mechanism.stocks()[stock];
        let (full, room) = (known.serviced_level(), known.serviced_level() - known.limit());
        // A life that goes below its limit is lost already.
        let mut missing: Vec<f64> = first[stock].iter().map(|l| (full - l).min(room)).collect();
        let mut all = vec![missing.clone()];
        for steps in &self.steps {
            missing.iter_mut().zip(&steps[stock]).for_each(|(m, step)| *m = (*m + step).min(room));
            all.push(missing.clone());
        }
        all
    }

    /// Whether a stop at a place fills the electric store: it does not say how long its hook-up
    /// lasts, or long enough for nine lives of ten.
    fn is_full_after(&self, place: &Place, missing: &[f64]) -> bool {
        let Some(hours) = place.hook_up_hours else { return true };
        let most = missing.iter().copied().fold(0.0, f64::max);
        let levels: Vec<f64> = missing.iter().map(|missing| most - missing).collect();
        hook_up::hours(&levels, most, self.case.hook_up()) <= hours
    }

    /// The electric store as a bit; 0 without one.
    fn electric(&self) -> u32 {
        let electric = self.case.beliefs.mechanism.electric;
        electric.map_or(0, |stock| 1u32.checked_shl(stock as u32).unwrap_or(0))
    }

    /// What no schedule goes below: stops, and km with as many stops as were found.
    pub fn prove(
        &self,
        request: &TripRequest,
        found: Option<&(Found, f64)>,
        works: bool,
        telling: &Telling,
    ) -> Result<(Option<usize>, Option<f64>), Cancelled> {
        let problem = Problem { allowed: self.allowed(request.confidence), ..self.problem.clone() };
        let at_most = found.map_or(request.days as usize, |(found, _)| found.visits.len());
        let told = |least: usize| {
            telling.least(least);
            telling.goes_on(Step::Proving)
        };
        let stops = bound::least_stops(&problem, at_most, &told)?;
        let Some((found, _)) = found.filter(|_| works) else { return Ok((stops, None)) };
        let km = least_km(&problem, at_most, found.km, &|| !telling.goes_on(Step::Proving))?;
        Ok((stops, Some(km)))
    }

    /// Lives that may be lost at a confidence.
    pub fn allowed(&self, confidence: f64) -> usize {
        (self.problem.lives as f64 * (1.0 - confidence) + 1e-9) as usize
    }

    /// When the stocks meet their limits if no saved stop is made: a drive to one charges the
    /// battery, and nobody has said that it will be driven.
    fn limits_without_saved_stops(&self, beliefs: &Beliefs, request: &TripRequest) -> Limits {
        if !self.standing.iter().any(Standing::is_stop_ahead) {
            return self.case.limits();
        }
        Case::of(self.rig, self.standing, beliefs, self.now, &stay(request), 0).limits()
    }

    pub fn leads(&self, beliefs: &Beliefs, request: &TripRequest) -> Vec<Lead> {
        let limits = self.limits_without_saved_stops(beliefs, request);
        let most = (0..limits.binding.len())
            .max_by(|a, b| limits.binding[*a].total_cmp(&limits.binding[*b]));
        let by = after_hours(self.now, limits.safe_hours(request.confidence));
        match (most.filter(|s| limits.binding[*s] > 0.0), by) {
            (Some(binding), Some(by)) => lead::leads(self.rig, beliefs, self.now, by, binding),
            _ => Vec::new(),
        }
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

/// Services all the way, of the stocks in a mask, at an hour.
pub(super) fn whole(case: &Case, at: f64, serves: u32) -> Vec<(usize, usize, Put)> {
    let stocks = case.beliefs.mechanism.stocks().iter().take(32).enumerate();
    stocks
        .filter(|(index, _)| serves & (1 << index) != 0)
        .map(|(index, stock)| (at.round() as usize, index, Put::To(stock.serviced_level())))
        .collect()
}

/// Hours from now of all slots.
fn slots(rig: &Rig, case: &Case, zone: Zone, now: Moment, days: u32) -> Vec<f64> {
    let usual = NaiveTime::from_hms_opt(STOP_HOUR, 0, 0).unwrap_or_default();
    let times = places::stop_times(rig.places.iter().filter(|p| p.offers_anything()), usual);
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

/// What the stocks that a place services cost there by the unit.
fn prices(
    place: &crate::domain::rig::Place,
    parts: &crate::domain::rig::Parts,
    serves: u32,
) -> Vec<(usize, f64)> {
    let known = place.prices.iter().filter_map(|(name, each)| {
        let index = parts.stocks.iter().position(|stock| stock.name.eq_ignore_ascii_case(name))?;
        (index < 32 && serves >> index & 1 == 1 && *each > 0.0).then_some((index, *each))
    });
    known.take(MOST_LEFT_OUT).collect()
}

/// Every choice of stocks with a price to leave out, bit by bit; nothing first.
fn left_out(priced: &[(usize, f64)]) -> Vec<u32> {
    (0u32..1 << priced.len())
        .map(|choice| {
            let chosen = priced.iter().enumerate().filter(|(n, _)| choice >> n & 1 == 1);
            chosen.fold(0, |mask, (_, (stock, _))| mask | 1 << stock)
        })
        .collect()
}
