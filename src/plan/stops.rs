//! Which stops, where and when, keep every stock within its limit over a trip.
//!
//! The model. There is at most one stop a day, at [`STOP_HOUR`] (today later, if that has
//! passed), at a known place that is open that day. The van camps where the journal says or
//! plans; a stop is a drive from that day's camp to the place and on to the next camp, so
//! driving adds up stop by stop. Everything that a place offers is serviced all the way, a
//! battery on the hook-up until it is full. Counted nights start anew after a stop: the van
//! camps elsewhere then. Services that are already planned happen on their day.
//!
//! Which hours a stock lasts after a service is simulated, life by life, for every day on which
//! it could be serviced; [`search`] then finds the fewest stops, exactly on those lives. Long
//! trips are searched with one life standing for all, and then judged on all lives; the fewest
//! stops that each stock alone needs says how far off the result can be at most. What is
//! chosen is tried on lives of another seed, now with the driving in them, and chosen again with
//! less to lose where that falls short. Left out of the choice, not of the trial: what the
//! drives charge and burn. Left out altogether: two places on one day, half a service.

pub mod answer;
pub mod bound;
mod choose;
mod describe;
pub mod improve;
pub mod lead;
mod places;
pub mod refuel;
pub mod saved;
pub mod search;

use crate::belief::Beliefs;
use crate::domain::entry::{After, Event};
use crate::domain::journal::Standing;
use crate::domain::rig::Rig;
use crate::domain::time::{Moment, Zone, after_hours, hours_between};
use crate::forecast::tracks::{Put, Track};
use crate::plan::answer::{Request, Weather};
use crate::plan::case::{Case, last_morning};
use answer::{StockName, Trip, TripRequest};
use chrono::{Duration, NaiveTime, Timelike};
use search::{Bits, Cancelled, Problem, Visit};

/// Civil hour of a stop.
pub const STOP_HOUR: u32 = 11;
/// Today's stop is at this civil hour at the latest.
const LAST_HOUR_TODAY: u32 = 16;
/// Lives that a schedule is chosen on.
const CHOOSING_LIVES: usize = 384;
/// Times that it is chosen again with less to lose.
const TRIES: usize = 5;
/// Added to the seed for the lives that it is tried on.
const FRESH: u64 = 0x5eed_0b57;

/// What a schedule is made of, laid out once.
struct Layout<'a> {
    rig: &'a Rig,
    case: Case,
    zone: Zone,
    now: Moment,
    /// Hours from now of every slot; the first is now, the last the end.
    hours: Vec<f64>,
    problem: Problem,
    /// `passages[slot][stock][life]`, hours from now.
    passages: Vec<Vec<Vec<f64>>>,
    /// Per visit: place, km, hours there, hours in all.
    ways: Vec<(usize, f64, f64, f64)>,
}

/// Answers a trip.
///
/// # Errors
/// When `cancelled` says that nobody waits any more.
pub fn stops(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    now: Moment,
    request: &TripRequest,
    cancelled: &(dyn Fn() -> bool + Sync),
) -> Result<Trip, Cancelled> {
    let layout = Layout::of(rig, standing, beliefs, now, request);
    if cancelled() {
        return Err(Cancelled);
    }
    let (found, works) = layout.choose(request, cancelled)?;
    let relaxation = match works {
        true => None,
        false => Some(layout.relax(request, cancelled)?),
    };
    let (schedule, probability) = match &found {
        Some((found, probability)) => (found.visits.clone(), *probability),
        None => (Vec::new(), layout.try_on_fresh(&[], request).probability),
    };
    let leads = layout.leads(beliefs, request.confidence);
    let exact = found.as_ref().is_none_or(|(found, _)| found.exact);
    let made = found.as_ref().map_or(request.days as usize, |(found, _)| found.visits.len());
    let least_stops = match exact && works {
        true => Some(made),
        false => layout.least_stops(request.confidence, made, cancelled)?,
    };
    Ok(Trip {
        at: now,
        until: last_morning(layout.zone, now, request.days),
        days: request.days,
        confidence: request.confidence,
        chosen_on: layout.problem.lives,
        lives: request.lives,
        seed: request.seed,
        works,
        probability,
        stops: layout.describe(&schedule, request),
        exact,
        least_stops,
        leads,
        relaxation,
        stocks: names(beliefs),
    })
}

fn names(beliefs: &Beliefs) -> Vec<StockName> {
    let stocks = beliefs.mechanism.stocks().iter();
    stocks
        .map(|s| StockName {
            name: s.name.clone(),
            unit: s.unit.clone(),
            capacity: s.capacity,
            runs: s.runs,
            limit: s.limit(),
        })
        .collect()
}

impl<'a> Layout<'a> {
    fn of(
        rig: &'a Rig,
        standing: &[Standing],
        beliefs: &Beliefs,
        now: Moment,
        request: &TripRequest,
    ) -> Layout<'a> {
        let zone = rig.zone(now);
        let stay = Request {
            from: None,
            nights: request.days,
            place: None,
            weather: Weather::Outlook,
            crew: request.crew,
            fill_first: false,
            confidence: request.confidence,
            lives: CHOOSING_LIVES,
            seed: request.seed,
        };
        let case = Case::of(rig, standing, beliefs, now, &stay, 0);
        let mut hours = vec![0.0];
        let first_today = first_stop_today(zone, now);
        hours.extend(first_today.map(|at| hours_between(now, at)));
        for day in 1..i64::from(request.days) {
            let date = zone.date(now) + Duration::days(day);
            let at = zone.moment(date.and_time(hour(STOP_HOUR)));
            hours.push(hours_between(now, at));
        }
        hours.push(case.until_hours);
        let tracks: Vec<Track> = hours[..hours.len() - 1]
            .iter()
            .enumerate()
            .map(|(slot, at)| Track {
                from: at.round() as usize,
                puts: if slot == 0 { Vec::new() } else { whole(&case, *at, u32::MAX) },
                mark: None,
            })
            .collect();
        let passages: Vec<Vec<Vec<f64>>> =
            case.run(&tracks).into_iter().map(|lives| lives.passages).collect();
        let mut layout = Layout {
            rig,
            zone,
            now,
            problem: Problem {
                slots: hours.len(),
                stocks: beliefs.mechanism.stocks().len().min(32),
                lives: case.lives,
                allowed: 0,
                fails: Vec::new(),
                visits: Vec::new(),
                given: vec![0; hours.len()],
            },
            hours,
            passages,
            ways: Vec::new(),
            case,
        };
        layout.problem.fails = layout.fails();
        layout.problem.given = layout.given(standing);
        layout.visits();
        layout
    }

    fn fails(&self) -> Vec<Vec<Vec<Bits>>> {
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
        (0..self.problem.stocks)
            .map(|stock| {
                (0..slots - 1)
                    .map(|from| {
                        (0..slots)
                            .map(|to| if to > from { set(stock, from, to) } else { Bits::new() })
                            .collect()
                    })
                    .collect()
            })
            .collect()
    }

    /// Whole services that the journal plans already, by slot.
    fn given(&self, standing: &[Standing]) -> Vec<u32> {
        let mut given = vec![0; self.problem.slots];
        let parts = &self.case.beliefs.mechanism.parts;
        for plan in standing.iter().filter(|entry| entry.at > self.now) {
            let stock = match &plan.event {
                Event::Fill { stock, after: None | Some(After::Full), .. } => stock,
                Event::Empty { stock, after: None, .. } => stock,
                _ => continue,
            };
            let date = self.zone.date(plan.at);
            let slot = (1..self.problem.slots - 1)
                .find(|slot| self.moment(*slot).is_some_and(|at| self.zone.date(at) == date));
            if let (Some(slot), Some((index, _))) = (slot, parts.stock(stock)) {
                given[slot] |= 1u32.checked_shl(index as u32).unwrap_or(0);
            }
        }
        given
    }

    fn moment(&self, slot: usize) -> Option<Moment> {
        after_hours(self.now, self.hours[slot]).map(|at| self.zone.here(at))
    }

    /// Lays out every visit to every place on every day that it is open.
    fn visits(&mut self) {
        let parts = self.case.beliefs.mechanism.parts.clone();
        let reset = places::reset_by_camp(&parts);
        let timeline = self.case.beliefs.timeline.clone();
        for slot in 1..self.problem.slots - 1 {
            let Some(at) = self.moment(slot) else { continue };
            let before = timeline.camp(at - Duration::hours(1));
            let after = timeline.camp(at + Duration::hours(10));
            for (index, place) in self.rig.places.iter().enumerate() {
                let mut serves = places::services(place, &parts);
                if serves != 0 || place.name != before.name {
                    serves |= reset;
                }
                let point = |camp: &crate::domain::timeline::Camp| (camp.latitude, camp.longitude);
                let (there, on) = places::round(place, point(before), point(after));
                let reachable = self.hours[slot] >= there.hours;
                if serves == 0 || !reachable || !places::is_open(place, self.zone, at) {
                    continue;
                }
                self.problem.visits.push(Visit {
                    slot,
                    key: index,
                    serves,
                    km: there.km + on.km,
                    cost: place.cost.unwrap_or(0.0),
                });
                self.ways.push((index, there.km + on.km, there.hours, there.hours + on.hours));
            }
        }
    }

    fn least_stops(
        &self,
        confidence: f64,
        at_most: usize,
        cancelled: &(dyn Fn() -> bool + Sync),
    ) -> Result<Option<usize>, Cancelled> {
        let allowed = (self.problem.lives as f64 * (1.0 - confidence) + 1e-9) as usize;
        bound::least_stops(&Problem { allowed, ..self.problem.clone() }, at_most, cancelled)
    }

    fn leads(&self, beliefs: &Beliefs, confidence: f64) -> Vec<answer::Lead> {
        let outcome = self.case.outcome();
        let most = (0..outcome.binding.len())
            .max_by(|a, b| outcome.binding[*a].total_cmp(&outcome.binding[*b]));
        let by = after_hours(self.now, outcome.safe_hours(confidence));
        match (most.filter(|s| outcome.binding[*s] > 0.0), by) {
            (Some(binding), Some(by)) => lead::leads(self.rig, beliefs, self.now, by, binding),
            _ => Vec::new(),
        }
    }
}

/// Services all the way, of the stocks in a mask, at an hour.
fn whole(case: &Case, at: f64, serves: u32) -> Vec<(usize, usize, Put)> {
    let stocks = case.beliefs.mechanism.stocks().iter().take(32).enumerate();
    stocks
        .filter(|(index, _)| serves & (1 << index) != 0)
        .map(|(index, stock)| (at.round() as usize, index, Put::To(stock.serviced_level())))
        .collect()
}

fn hour(hour: u32) -> NaiveTime {
    NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default()
}

/// Today's stop: at the usual hour, or in an hour's time while the afternoon lasts.
fn first_stop_today(zone: Zone, now: Moment) -> Option<Moment> {
    let usual = zone.moment(zone.date(now).and_time(hour(STOP_HOUR)));
    let soon = zone.here(now + Duration::hours(1));
    let at = usual.max(soon);
    (zone.date(at) == zone.date(now) && at.hour() <= LAST_HOUR_TODAY).then_some(at)
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied().unwrap_or(0.0)
}
