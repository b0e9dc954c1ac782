//! Two visits to one place on one day, where one does as much.

use super::heuristic::Heuristic;
use super::model::TripModel;
use super::problem::Schedule;
use crate::plan::practice::NEARLY;
use crate::plan::stock_set::StockSet;

/// A schedule that holds in such a share of the lives on which schedules are compared, with any two
/// visits to one place on one day made one that sees to as much, wherever that is as good.
pub(super) fn joined(model: &TripModel, mut found: Schedule, share: f64) -> (Schedule, f64) {
    found.visits.sort_by_key(|visit| model.problem.visits[*visit].slot);
    let sure = model.surely();
    let bar = if share >= sure { sure } else { share - NEARLY };
    let (mut best, heuristic) = ((found, share), Heuristic::of(&model.problem));
    loop {
        let pairs = 1..best.0.visits.len();
        let once = pairs.flat_map(|later| as_one(model, &best.0.visits, later));
        let tried = once.map(|visits| (model.compared(&visits, sure), visits));
        let tried: Vec<_> = tried.filter(|(held, _)| *held >= bar).collect();
        let Some((held, visits)) = tried.into_iter().max_by(|a, b| a.0.total_cmp(&b.0)) else {
            return best;
        };
        let lost = model.problem.lost_by(&visits);
        best = (heuristic.found(visits, lost), held);
    }
}

/// The visits with the one at `later` and the one before it made one, at the time of either; none
/// where they are no two visits to one place on one day.
fn as_one(model: &TripModel, visits: &[usize], later: usize) -> Vec<Vec<usize>> {
    let all = &model.problem.visits;
    let [first, second] = [&all[visits[later - 1]], &all[visits[later]]];
    let twins = first.leg.places().eq(second.leg.places())
        && model.days_apart(first.slot, second.slot) == 0;
    let mut both: StockSet = first.serves.clone();
    both.add_all(&second.serves);
    let one_at = |slot: usize| {
        let one = all.iter().position(|visit| {
            let alike = visit.slot == slot && visit.leg.places().eq(first.leg.places());
            alike && visit.serves.covers(&both)
        })?;
        let mut once = visits.to_vec();
        once.splice(later - 1..=later, [one]);
        once.windows(2).all(|two| all[two[0]].allows(&all[two[1]])).then_some(once)
    };
    let slots = [first.slot, second.slot].into_iter().filter(|_| twins);
    slots.filter_map(one_at).collect()
}
