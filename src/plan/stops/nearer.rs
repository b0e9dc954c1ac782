//! A few stops more for much less driving: who camps beside a drain goes there twice rather than once
//! to a harbour an hour away, though that is one stop less.

use super::answer::Longer;
use super::choose::HOPEFUL;
use super::heuristic::Heuristic;
use super::model::TripModel;
use super::problem::Schedule;
use crate::domain::wish::{Wish, in_order};
use crate::plan::practice::{SAME_KM, STOP_KM};

/// Near stops that may take the place of a far one, at most.
const IN_ITS_PLACE: usize = 2;
/// Schedules that are tried on the lives on which schedules are compared, at most; 8 to 64.
const TRIALS: usize = 24;

impl TripModel<'_> {
    /// The schedule with far stops made near ones, as long as what it then takes more of them is worth it
    /// and it holds in a share `bar` of the lives on which schedules are compared; and what the schedule
    /// of fewer stops comes to.
    pub(super) fn nearer(&self, found: Schedule, bar: f64) -> (Schedule, Option<Longer>) {
        let fewest = Longer { stops: found.visits.len(), km: self.said_km(&found.visits) };
        let (mut best, mut trials) = (found, TRIALS);
        let heuristic = Heuristic::of(&self.problem);
        while let Some(other) = self.with_a_nearer(&heuristic, (&best, bar), &mut trials) {
            let km = other.km + SAME_KM;
            let tidied = self.preferred(other.clone(), bar).filter(|tidied| tidied.km <= km);
            best = Schedule { exact: false, ..tidied.unwrap_or(other) };
        }
        let longer = Some(fewest).filter(|fewest| best.visits.len() > fewest.stops);
        (best, longer)
    }

    /// The schedule with one of its far stops left out, the farthest first, and near ones in its place.
    fn with_a_nearer(
        &self,
        heuristic: &Heuristic,
        (best, bar): (&Schedule, f64),
        trials: &mut usize,
    ) -> Option<Schedule> {
        let km = |visit: &usize| self.problem.visits[*visit].leg.km;
        let mut far: Vec<usize> = best.visits.iter().copied().filter(|v| km(v) > STOP_KM).collect();
        far.sort_by(|a, b| km(b).total_cmp(&km(a)));
        far.into_iter().find_map(|left_out| {
            let mut visits: Vec<usize> =
                best.visits.iter().copied().filter(|visit| *visit != left_out).collect();
            (0..=IN_ITS_PLACE).find_map(|n| {
                if n > 0 {
                    let near_km = (km(&left_out) - STOP_KM).max(STOP_KM);
                    visits = self.with_one_near(heuristic, &visits, near_km)?;
                }
                self.worth_it(heuristic, &visits, (best, bar), trials)
            })
        })
    }

    /// These visits, or those that a search from them on ends at, where they hold and the driving that
    /// they save is worth the stops that they take more.
    fn worth_it(
        &self,
        heuristic: &Heuristic,
        visits: &[usize],
        (best, bar): (&Schedule, f64),
        trials: &mut usize,
    ) -> Option<Schedule> {
        let mut moved = visits.to_vec();
        heuristic.local_search(&mut moved);
        [visits.to_vec(), moved].into_iter().find_map(|visits| {
            let lost = self.problem.lost_by(&visits);
            let other = heuristic.found(visits, lost);
            let more = other.visits.len().saturating_sub(best.visits.len());
            let saves = best.km - other.km >= (more as f64 * STOP_KM).max(SAME_KM);
            // Who would rather save money drives for it.
            let dearer = self.saves_money_first() && other.cost > best.cost + 0.005;
            if !saves || dearer || lost > HOPEFUL * self.problem.allowed || *trials == 0 {
                return None;
            }
            *trials -= 1;
            self.holds_often(&other.visits, bar).then_some(other)
        })
    }

    fn saves_money_first(&self) -> bool {
        let wishes = in_order(&self.asked.basis.rig.prefer);
        let place = |wish: Wish| wishes.iter().position(|other| *other == wish);
        place(Wish::Cost) < place(Wish::Driving)
    }

    /// The visits with the one beside them that leaves the fewest lives lost, of those so near: a place
    /// is near beside a far one where it saves as much driving as a stop more is worth.
    fn with_one_near(
        &self,
        heuristic: &Heuristic,
        visits: &[usize],
        near_km: f64,
    ) -> Option<Vec<usize>> {
        let slot = |visit: usize| self.problem.visits[visit].slot;
        let taken = |at: usize| visits.iter().any(|visit| slot(*visit) == at);
        let near = heuristic.useful();
        let near = near.filter(|v| self.problem.visits[*v].leg.km <= near_km && !taken(slot(*v)));
        let with = near.map(|near| {
            let mut all = [visits, &[near]].concat();
            all.sort_by_key(|visit| slot(*visit));
            all
        });
        with.filter(|all| self.problem.can_be_paid(all)).min_by_key(|all| self.problem.lost_by(all))
    }
}
