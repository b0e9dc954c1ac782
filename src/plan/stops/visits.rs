//! Every visit to every place at every time at which it is open.

use super::model::TripModel;
use super::places;
use super::problem::{Leg, Visit};
use crate::domain::rig::{Parts, Place};
use crate::plan::hook_up;
use crate::plan::stock_set::StockSet;
use chrono::Duration;

/// Most stocks with a price at one place that may be left out there: every choice of them is a
/// visit of its own.
const MOST_LEFT_OUT: usize = 3;

/// Lays them out; `missing` is what [`most_missing`] says.
pub(super) fn visits(model: &TripModel, missing: &[Vec<f64>]) -> Vec<Visit> {
    let parts = &model.case.beliefs.mechanism.parts;
    let (reset, timeline) = (places::reset_by_camp(parts), &model.case.beliefs.timeline);
    let electric: StockSet = model.electric().into_iter().collect();
    let mut visits = Vec::new();
    for slot in 1..model.problem.end() {
        let (Some(at), Some(missing)) = (model.moment(slot), missing.get(slot)) else { continue };
        let before = timeline.camp(at - Duration::hours(1));
        let after = timeline.camp(at + Duration::hours(10));
        for (index, place) in model.basis.rig.places.iter().enumerate() {
            let mut serves = places::services(place, parts);
            if !is_full_after(model, place, missing) {
                serves = serves.without(&electric);
            }
            if !serves.is_empty() || place.name != before.name {
                serves.add_all(&reset);
            }
            let point = |camp: &crate::domain::timeline::Camp| (camp.latitude, camp.longitude);
            let (there, on) = places::round(place, point(before), point(after));
            let reachable = model.hours[slot] >= there.hours;
            if serves.is_empty() || !reachable || !places::is_open(place, model.zone, at) {
                continue;
            }
            let leg = Leg {
                place: index,
                km: there.km + on.km,
                there_h: there.hours,
                hours: there.hours + on.hours,
            };
            let priced = prices(place, parts, &serves);
            for left_out in choices(&priced) {
                let serves = serves.without(&left_out);
                let prices = priced.iter().filter(|(s, _)| serves.has(*s)).copied().collect();
                visits.push(Visit { slot, leg, serves, cost: place.cost.unwrap_or(0.0), prices });
            }
        }
    }
    visits
}

/// What is missing from the electric store at each slot, life by life, in Wh, if nothing charges
/// it before; a schedule that does leaves less to charge. Empty without one.
pub(super) fn most_missing(model: &TripModel, first: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let Some(stock) = model.electric() else { return vec![Vec::new(); model.problem.slots] };
    let known = &model.case.beliefs.mechanism.stocks()[stock];
    let (full, room) = (known.serviced_level(), known.serviced_level() - known.limit());
    // A life that goes below its limit is lost already.
    let mut missing: Vec<f64> = first[stock].iter().map(|l| (full - l).min(room)).collect();
    let mut all = vec![missing.clone()];
    for steps in &model.steps {
        missing.iter_mut().zip(&steps[stock]).for_each(|(m, step)| *m = (*m + step).min(room));
        all.push(missing.clone());
    }
    all
}

/// Whether a stop at a place fills the electric store: it does not say how long its hook-up lasts,
/// or long enough for nine lives of ten.
fn is_full_after(model: &TripModel, place: &Place, missing: &[f64]) -> bool {
    let Some(hours) = place.hook_up_hours else { return true };
    let most = missing.iter().copied().fold(0.0, f64::max);
    let levels: Vec<f64> = missing.iter().map(|missing| most - missing).collect();
    hook_up::hours(&levels, most, model.case.hook_up()) <= hours
}

/// What the stocks that a place services cost there by the unit.
fn prices(place: &Place, parts: &Parts, serves: &StockSet) -> Vec<(usize, f64)> {
    let known = place.prices.iter().filter_map(|(name, each)| {
        let index = parts.stocks.iter().position(|stock| stock.name.eq_ignore_ascii_case(name))?;
        (serves.has(index) && *each > 0.0).then_some((index, *each))
    });
    known.take(MOST_LEFT_OUT).collect()
}

/// Every choice of stocks with a price to leave out; nothing first.
fn choices(priced: &[(usize, f64)]) -> Vec<StockSet> {
    let choice = |choice: usize| {
        let chosen = priced.iter().enumerate().filter(|(n, _)| choice >> n & 1 == 1);
        chosen.map(|(_, (stock, _))| *stock).collect()
    };
    (0..1 << priced.len()).map(choice).collect()
}
