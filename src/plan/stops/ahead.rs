//! What the journal plans already: services that a schedule counts on.

use super::answer::PlannedStop;
use super::model::TripModel;
use super::places;
use super::saved::SETTING_OUT;
use crate::domain::{After, Event, Moment, Standing, hours_between};
use crate::plan::stock_set::StockSet;

/// Whole services that the journal plans already, by slot. A charge counts as one where a
/// schedule planned it; any other is energy, which the lives have in them.
pub(super) fn given(model: &TripModel) -> Vec<StockSet> {
    let mut given = vec![StockSet::default(); model.problem.slots];
    for plan in model.asked.basis.planned() {
        if let Some(slot) = slot_of(model, plan.at) {
            given[slot].add_all(&planned_by(model, plan));
        }
    }
    given
}

/// Stocks that a planned entry services all the way.
fn planned_by(model: &TripModel, plan: &Standing) -> StockSet {
    let parts = &model.case.beliefs.mechanism.parts;
    let saved = plan.is_stop_ahead();
    let own = match &plan.event {
        Event::Fill { stock, after: None | Some(After::Full), .. }
        | Event::Empty { stock, amount: None, after: None } => {
            parts.serviced(&plan.event).and(parts.stock(stock)).map(|(index, _)| index)
        }
        Event::Charge { .. } if saved => model.electric(),
        _ => None,
    };
    let mut all: StockSet = own.into_iter().collect();
    // After a stop of a schedule the van camps elsewhere; before it sets out it does not.
    let at_camp = plan.note.as_deref().is_some_and(|note| note.ends_with(SETTING_OUT));
    if saved && !at_camp {
        all.add_all(&places::reset_by_camp(parts));
    }
    all
}

/// The slot of that day that is nearest to a moment.
fn slot_of(model: &TripModel, at: Moment) -> Option<usize> {
    let hours = hours_between(model.asked.basis.now, at);
    let same_day = |slot: &usize| {
        model.moment(*slot).is_some_and(|moment| model.zone.date(moment) == model.zone.date(at))
    };
    let far = |slot: &usize| (model.hours[*slot] - hours).abs();
    (1..model.problem.end()).filter(same_day).min_by(|a, b| far(a).total_cmp(&far(b)))
}

/// What the journal plans already, stop by stop, beside these visits.
pub(super) fn planned(model: &TripModel, visits: &[usize]) -> Vec<PlannedStop> {
    let visits = || visits.iter().map(|visit| &model.problem.visits[*visit]);
    let mut seen_to = StockSet::default();
    let end = *model.hours.last().unwrap_or(&0.0);
    let reset = places::reset_by_camp(&model.case.beliefs.mechanism.parts);
    let mut planned: Vec<PlannedStop> = Vec::new();
    for plan in model.asked.basis.planned() {
        let own = planned_by(model, plan).without(&reset);
        if own.is_empty() || hours_between(model.asked.basis.now, plan.at) > end {
            continue;
        }
        let at = hours_between(model.asked.basis.now, plan.at);
        let before = |stock: usize| {
            let mut earlier = visits().filter(|visit| model.hours[visit.slot] < at);
            seen_to.has(stock) || earlier.any(|visit| visit.serves.has(stock))
        };
        let late = own.iter().filter(|stock| !before(*stock) && model.safe_now(*stock) < at);
        let late: Vec<usize> = late.collect();
        seen_to.add_all(&own);
        match planned.last_mut().filter(|last| last.at == plan.at) {
            Some(last) => {
                last.stocks.extend(own.iter());
                last.late_for.extend(late);
            }
            None => planned.push(PlannedStop {
                at: plan.at,
                note: plan.note.clone().unwrap_or_default(),
                stocks: own.iter().collect(),
                late_for: late,
            }),
        }
    }
    planned
}
