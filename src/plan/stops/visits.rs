//! Every visit to every place at every time at which it is open.

use super::legs::{Country, camps};
use super::model::TripModel;
use super::places;
use super::problem::{Leg, Visit};
use crate::domain::{Driver, Parts, Place};
use crate::plan::hook_up;
use crate::plan::practice::FULL_SHARE;
use crate::plan::stock_set::StockSet;

/// Up to so many stocks with a price at one place, every choice of those to leave out is a visit of
/// its own; of more, any one of them, all but one, or all.
const MOST_CHOICES: usize = 3;

/// Lays them out; `first` are the levels now, `[stock][life]`.
pub(super) fn visits(model: &TripModel, first: &[Vec<f64>]) -> Vec<Visit> {
    let parts = &model.case.beliefs.mechanism.parts;
    let reset = places::reset_by_camp(parts);
    let electric: StockSet = model.electric().into_iter().collect();
    let mut missing = Missing::of(model, first);
    let mut visits = Vec::new();
    for slot in 1..model.problem.end() {
        missing.carry_on(model);
        let Some(at) = model.moment(slot) else { continue };
        let [camp, _] = camps(model, at);
        let offers = model.asked.basis.rig.places.iter().map(|place| {
            let mut serves = places::services(place, parts);
            if !missing.is_full_after(model, place) {
                serves = serves.without(&electric);
            }
            if !serves.is_empty() || place.name != camp.name {
                serves.add_all(&reset);
            }
            serves
        });
        let Some(country) = Country::at(model, slot, offers.collect()) else { continue };
        for (leg, serves) in country.legs() {
            let charge = missing.charged(model, leg.hours);
            let priced = prices(&model.asked.basis.rig.places, &leg, parts, &serves);
            let mut left_out = choices(&priced);
            let charges = |serves: &StockSet| model.electric().is_some_and(|one| serves.has(one));
            // Who means to go on that day need not wait for the hook-up.
            if charges(&serves) && model.is_same_day(slot, slot + 1) {
                left_out.extend(left_out.clone().into_iter().map(|mut choice| {
                    choice.add_all(&electric);
                    choice
                }));
            }
            for left_out in left_out {
                let serves = serves.without(&left_out);
                let prices = priced.iter().filter(|(s, _)| serves.has(*s)).copied().collect();
                let each = leg.places().map(|place| model.asked.basis.rig.places[place].cost);
                let cost = each.flatten().sum();
                let stay =
                    if charges(&serves) { model.hook_up_lasts(&leg, slot) } else { leg.after() };
                let at = model.hours[slot];
                let away = (at - leg.there.hours, at + stay + leg.on.hours);
                let (charge, leg) = (charge.clone(), leg.clone());
                visits.push(Visit { slot, away, leg, serves, cost, prices, charge });
            }
        }
    }
    visits
}

impl TripModel<'_> {
    /// Whether two slots are on one civil day.
    fn is_same_day(&self, one: usize, other: usize) -> bool {
        other < self.problem.end() && self.days_apart(one, other) == 0
    }

    /// Hours from a slot on until a hook-up at the last place of a way lets the van go: as long as the
    /// place says, else the rest of the day, as nobody knows before how much will be missing.
    fn hook_up_lasts(&self, leg: &Leg, slot: usize) -> f64 {
        let today = (slot + 1..self.problem.end()).take_while(|next| self.is_same_day(slot, *next));
        let last = today.last().unwrap_or(slot);
        let says = self.asked.basis.rig.places[leg.last()].hook_up_hours;
        let rest = self.hours[last] - self.hours[slot];
        says.map_or(rest.max(leg.after()), |hours| leg.after() + hours)
    }
}

/// What is missing from the electric store, in Wh, if nothing charges it from the last service on:
/// life by life, by the slot of that service. No rows without a store.
struct Missing(Vec<Vec<f64>>);

impl Missing {
    /// As it is now.
    fn of(model: &TripModel, first: &[Vec<f64>]) -> Missing {
        let row = |stock: usize| {
            let kind = &model.case.beliefs.mechanism.stocks()[stock];
            let (full, room) = (kind.serviced_level(), kind.serviced_level() - kind.limit());
            // A life that goes below its limit is lost already.
            first[stock].iter().map(|level| (full - level).min(room)).collect()
        };
        Missing(model.electric().map(row).into_iter().collect())
    }

    /// On to the next slot, where a service would leave nothing missing.
    fn carry_on(&mut self, model: &TripModel) {
        let Some(stock) = model.electric() else { return };
        let kind = &model.case.beliefs.mechanism.stocks()[stock];
        let room = kind.serviced_level() - kind.limit();
        let step = &model.steps[self.0.len() - 1][stock];
        for row in &mut self.0 {
            row.iter_mut().zip(step).for_each(|(m, step)| *m = (*m + step).min(room));
        }
        self.0.push(vec![0.0; step.len()]);
    }

    /// Whether a stop at a place fills the store: it does not say how long its hook-up lasts, or
    /// long enough for nine lives of ten that nothing has charged before.
    fn is_full_after(&self, model: &TripModel, place: &Place) -> bool {
        let (Some(hours), Some(missing)) = (place.hook_up_hours, self.0.first()) else {
            return true;
        };
        let most = missing.iter().copied().fold(0.0, f64::max);
        let levels: Vec<f64> = missing.iter().map(|missing| most - missing).collect();
        hook_up::hours(&levels, most, model.case.hook_up()) <= hours
    }

    /// As [`Visit::charge`], for so many hours of driving here: the latest service that leaves as
    /// much missing, or more, in nine lives of ten as the drive does. Nothing that the drive does
    /// not bring is counted on.
    fn charged(&self, model: &TripModel, hours: f64) -> Vec<u16> {
        let wh = model.case.brought_by(Driver::DriveHour).unwrap_or(0.0) * hours;
        if wh <= 0.0 {
            return Vec::new();
        }
        let mut like = 0;
        let rows = self.0.iter().enumerate();
        rows.map(|(last, row)| {
            like = like.max(last);
            while let Some(next) = self.0.get(like + 1) {
                let good = row.iter().zip(next).filter(|(now, next)| **now - wh <= **next);
                if (good.count() as f64) < FULL_SHARE * row.len() as f64 {
                    break;
                }
                like += 1;
            }
            like as u16
        })
        .collect()
    }
}

/// What the stocks that are seen to on a way cost by the unit, each where it is seen to.
pub(super) fn prices(
    places: &[Place],
    leg: &Leg,
    parts: &Parts,
    serves: &StockSet,
) -> Vec<(usize, f64)> {
    let known = serves.iter().filter_map(|index| {
        let (name, place) = (&parts.stocks[index].name, &places[leg.place_for(index)]);
        let each = place.prices.iter().find(|(priced, _)| priced.eq_ignore_ascii_case(name))?.1;
        (each > 0.0).then_some((index, each))
    });
    known.collect()
}

/// Every choice of stocks with a price to leave out; nothing first.
fn choices(priced: &[(usize, f64)]) -> Vec<StockSet> {
    let stocks: StockSet = priced.iter().map(|(stock, _)| *stock).collect();
    if priced.len() > MOST_CHOICES {
        let each = stocks.iter().map(|stock| StockSet::from_iter([stock]));
        let each: Vec<StockSet> = each.collect();
        let but_one = each.iter().map(|one| stocks.without(one));
        let ends = [StockSet::default(), stocks.clone()];
        return ends.into_iter().chain(but_one).chain(each.iter().cloned()).collect();
    }
    let choice = |choice: usize| {
        let chosen = stocks.iter().enumerate().filter(|(n, _)| choice >> n & 1 == 1);
        chosen.map(|(_, stock)| stock).collect()
    };
    (0..1 << priced.len()).map(choice).collect()
}
