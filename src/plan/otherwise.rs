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
/// Times that more tank is tried, each time half as much again, before it is given up.
const LARGER: usize = 5;
/// A stock that meets its limit in more than this share of lives may need more tank.
const SELDOM: f64 = 0.01;
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
            if !places::can_stop(place, basis.zone(), at) {
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

/// More tank for the stocks that may be short, together enough and no more of any than that takes;
/// none where much more does not do either.
fn carry(answer: &Stretch, case: &Case) -> Vec<(usize, f64)> {
    let reset = |stock: usize| case.beliefs.mechanism.stocks()[stock].reset_by_camp;
    let holds = |more: &[(usize, u32)]| {
        let carry = |(stock, grains): &(usize, u32)| Change::Carry {
            stock: *stock,
            amount: f64::from(*grains) * grain(answer.stocks[*stock].capacity),
        };
        let changes: Vec<Change> = more.iter().map(carry).collect();
        case.with(&changes).limits().probability >= answer.confidence
    };
    let stocks = answer.stocks.iter().enumerate();
    let short = stocks.filter(|(index, stock)| stock.out > SELDOM && !reset(*index));
    let grains = |short: f64, capacity: f64| (short.max(0.0) / grain(capacity)).ceil() as u32;
    let mut more: Vec<(usize, u32)> =
        short.map(|(index, stock)| (index, grains(-stock.margin, stock.capacity).max(1))).collect();
    let Some(_) = (0..LARGER).find(|_| {
        let done = holds(&more);
        if !done {
            more.iter_mut().for_each(|(_, grains)| *grains += grains.div_ceil(2));
        }
        done
    }) else {
        return Vec::new();
    };
    more.sort_by_key(|(_, grains)| std::cmp::Reverse(*grains));
    for place in 0..more.len() {
        // The least that still does, by halves.
        let (mut least, mut most) = (0, more[place].1);
        while least < most {
            more[place].1 = (least + most) / 2;
            if holds(&more) { most = more[place].1 } else { least = more[place].1 + 1 }
        }
        more[place].1 = most;
    }
    more.retain(|(_, grains)| *grains > 0);
    more.sort_unstable();
    let amount = |(stock, grains): (usize, u32)| {
        (stock, f64::from(grains) * grain(answer.stocks[stock].capacity))
    };
    more.into_iter().map(amount).collect()
}

/// More tank is told in twentieths of what it holds now.
fn grain(capacity: f64) -> f64 {
    capacity / 20.0
}
