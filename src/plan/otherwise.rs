//! What could make a stretch work that nothing at hand does: fewer nights, a stop in the middle,
//! fewer people, more tank and battery. Each is tried on the same lives.

use super::answer::Otherwise;
use super::case::{Case, Outcome, last_morning};
use super::change::Change;
use super::stops::places;
use super::{Basis, Stretch, road};
use crate::domain::{Moment, hours_between};
use chrono::Timelike;

/// Lives that they are tried on.
const LIVES: usize = 500;
/// Places that a stop in the middle is tried at, nearest first; 1 to 5.
const PLACES: usize = 3;
/// Mornings that it is tried on; every one of a week, fewer of a longer stay.
const MORNINGS: usize = 7;
/// Times that what is short is made larger by a half before more tank is given up.
const LARGER: usize = 4;
/// The civil hour of a stop in the middle, as in `super::practice::STOP_HOUR`.
const HOUR: usize = super::practice::STOP_HOUR as usize;

/// Looks for it; `base` is the stretch as it was asked for.
pub(super) fn otherwise(basis: &Basis, answer: &Stretch, base: &Case) -> Otherwise {
    let case = base.clone().cut(0, base.lives.min(LIVES));
    let works = |limits: &Outcome| limits.probability >= answer.confidence;
    let nights = |case: &Case| {
        let safe = case.limits().safe_hours(answer.confidence);
        let morning = |n: &u32| last_morning(basis.zone(), answer.from, *n);
        let lasts = |n: &u32| hours_between(basis.now, morning(n)) <= safe;
        (1..answer.nights).take_while(lasts).count() as u32
    };
    let fewer = |people: &u32| {
        let mut case = case.clone();
        case.set_aboard(f64::from(*people));
        works(&case.limits())
    };
    Otherwise {
        nights: nights(&case),
        nights_serviced: nights(&serviced_first(&case)),
        stop: stop(basis, answer.confidence, &case),
        people: (1..answer.aboard.ceil() as u32).rev().find(fewer),
        carry: carry(answer, &case),
    }
}

fn serviced_first(case: &Case) -> Case {
    let mut case = case.clone();
    let stocks = case.beliefs.mechanism.stocks().iter().enumerate();
    let full = stocks.filter(|(index, stock)| !stock.reset_by_camp && case.can_be_serviced(*index));
    case.puts = full.map(|(index, _)| case.service(index)).collect();
    case
}

/// The stop that helps in most lives, where it helps enough.
fn stop(basis: &Basis, confidence: f64, case: &Case) -> Option<(Moment, String, f64)> {
    let mechanism = &case.beliefs.mechanism;
    let camp = case.beliefs.timeline.camp(case.from);
    let here = (camp.latitude, camp.longitude);
    let mut open: Vec<_> = basis.rig.places.iter().filter(|p| p.offers_anything()).collect();
    open.sort_by(|a, b| road::way(here, a).km.total_cmp(&road::way(here, b).km));
    let mornings = case.hours_at(HOUR);
    let step = mornings.len().div_ceil(MORNINGS).max(1);
    let mut best: Option<(Moment, String, f64)> = None;
    for place in open.into_iter().take(PLACES) {
        let mut serves = places::services(place, &mechanism.parts);
        serves.add_all(&places::reset_by_camp(&mechanism.parts));
        for hour in mornings.iter().step_by(step) {
            let at = case.moment(*hour);
            if !places::is_open(place, basis.zone(), at) {
                continue;
            }
            let mut track = case.track(&[]);
            let full = serves.iter().map(|stock| case.service(stock));
            track.puts.extend(full.map(|(stock, put)| (*hour, stock, put)));
            let share = case.limits_of_track(track).probability;
            if share >= confidence && best.as_ref().is_none_or(|best| share > best.2 + 0.005) {
                let on_the_hour = basis.zone().here(at).with_minute(0).unwrap_or(at);
                best = Some((on_the_hour, place.name.clone(), share));
            }
        }
    }
    best
}

/// More tank for every stock that is short, as much as it takes together; none where that does
/// not do either.
fn carry(answer: &Stretch, case: &Case) -> Vec<(usize, f64)> {
    let stocks = answer.stocks.iter().enumerate();
    let reset = |stock: usize| case.beliefs.mechanism.stocks()[stock].reset_by_camp;
    let short = stocks.filter(|(index, stock)| stock.margin < 0.0 && !reset(*index));
    let mut short: Vec<(usize, f64)> =
        short.map(|(index, stock)| (index, grain(stock.capacity, -stock.margin))).collect();
    for _ in 0..LARGER {
        let carry = |(stock, amount)| Change::Carry { stock, amount };
        let changes: Vec<Change> = short.iter().copied().map(carry).collect();
        if case.with(&changes).limits().probability >= answer.confidence {
            return short;
        }
        for (stock, amount) in &mut short {
            *amount = grain(answer.stocks[*stock].capacity, 1.5 * *amount);
        }
    }
    Vec::new()
}

/// Rounded up to a twentieth of what the tank holds now.
fn grain(capacity: f64, amount: f64) -> f64 {
    let grain = capacity / 20.0;
    (amount / grain).ceil() * grain
}
