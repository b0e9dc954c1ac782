//! Of the schedules with as few stops, the one that people would choose.
//!
//! Which of them is preferred is read off the schedule alone, in the order of the rig's wishes,
//! and no seed has a part in it. Whether one holds is tried on lives that are the same for every
//! seed, so that other lives to choose on end at the same schedule where they can.

use super::answer::{Nearest, NearlyAsSure};
use super::choose::HOPEFUL;
use super::heuristic::Heuristic;
use super::model::TripModel;
use super::problem::{Problem, Schedule, Visit};
use super::telling::Phase;
use crate::domain::wish::{Wish, in_order};
use crate::plan::practice::{NEARLY, SAME_COST, SAME_KM};

/// Schedules that are tried on fresh lives at most, preferred ones first; 8 to 64.
const TRIALS: usize = 24;
/// Savings that are tried on fresh lives; 2 to 8.
const TRIED_TO_SAVE: usize = 4;
/// Other days of one stop that are tried for "or on"; each takes a run of lives.
const OTHER_DAYS: usize = 8;

impl TripModel<'_> {
    /// The schedule after moving stops, one at a time or all from one on, as long as that is
    /// preferred and holds in a share `bar` of the lives on which schedules are compared. `None`
    /// when it was given up.
    pub(super) fn preferred(&self, found: Schedule, bar: f64) -> Option<Schedule> {
        let problem = &self.problem;
        let heuristic = Heuristic::of(problem);
        let useful = problem.useful_visits();
        let wishes = in_order(&self.asked.basis.rig.prefer);
        let least_km = self.km(&found.visits);
        let (mut best, mut trials) = (found, TRIALS);
        'better: loop {
            let now = self.key(&best.visits, &wishes, least_km);
            let others = moved(problem, &useful, &best.visits).into_iter();
            let others = others.map(|visits| (self.key(&visits, &wishes, least_km), visits));
            let mut others: Vec<(Vec<i64>, Vec<usize>)> =
                others.filter(|(key, _)| *key < now).collect();
            others.sort();
            others.dedup();
            for (_, visits) in others {
                let lost = problem.lost_by(&visits);
                if lost > HOPEFUL * problem.allowed {
                    continue;
                }
                if !self.asked.telling.goes_on(Phase::Choosing) {
                    return None;
                }
                if trials == 0 {
                    break;
                }
                trials -= 1;
                if self.holds_often(&visits, bar) {
                    let found = heuristic.found(visits, lost);
                    // What is preferred may drive or pay more than the least.
                    let exact = best.exact && (found.km, found.cost) <= (best.km, best.cost);
                    best = Schedule { exact, ..found };
                    continue 'better;
                }
            }
            return Some(best);
        }
    }

    /// Slots of the other days on which one stop could be made as well, at the same place for as
    /// much driving and cost, all else as it is: up to two days either way, the nearest first.
    pub(super) fn other_days(&self, visits: &[usize]) -> Vec<Vec<usize>> {
        let slot = |visit: usize| self.problem.visits[visit].slot;
        let mut trials = OTHER_DAYS;
        let mut days: Vec<Vec<usize>> = vec![Vec::new(); visits.len()];
        for n in 0..visits.len() {
            let own = &self.problem.visits[visits[n]];
            let same = |other: &Visit| {
                other.leg == own.leg && other.serves == own.serves && other.cost == own.cost
            };
            let free = |other: &Visit| !visits.iter().any(|visit| slot(*visit) == other.slot);
            let near = |other: &Visit| (1..=2).contains(&self.days_apart(own.slot, other.slot));
            // A day that is told beside two stops reads as if both could be made on it.
            let told: Vec<usize> = days[..n].concat();
            let untold =
                |other: &Visit| told.iter().all(|day| self.days_apart(*day, other.slot) > 0);
            let all = self.problem.visits.iter().enumerate();
            let open =
                all.filter(|(_, other)| same(other) && free(other) && near(other) && untold(other));
            let mut open: Vec<usize> = open.map(|(index, _)| index).collect();
            open.sort_by_key(|other| slot(*other).abs_diff(own.slot));
            for other in open {
                let mut visits = visits.to_vec();
                visits[n] = other;
                visits.sort_by_key(|visit| slot(*visit));
                if trials == 0
                    || !self.problem.can_be_paid(&visits)
                    || self.problem.lost_by(&visits) > self.problem.allowed
                {
                    continue;
                }
                trials -= 1;
                if self.holds_often(&visits, self.asked.request.confidence) {
                    days[n].push(slot(other));
                }
            }
        }
        days
    }

    /// What the same times come to at the nearest places that do as much, where the schedule drives
    /// further and is surer, of that `chance`: nothing but what its drives charge makes it so.
    pub(super) fn nearest(&self, visits: &[usize], chance: f64) -> Option<Nearest> {
        let charged = self.electric()?;
        let all = &self.problem.visits;
        let near = visits.iter().map(|visit| {
            let own = &all[*visit];
            let does = |v: &usize| all[*v].slot == own.slot && all[*v].serves.covers(&own.serves);
            let open = (0..all.len()).filter(does);
            open.min_by(|a, b| all[*a].leg.km.total_cmp(&all[*b].leg.km)).unwrap_or(*visit)
        });
        let near: Vec<usize> = near.collect();
        if self.km(visits) - self.km(&near) < SAME_KM {
            return None;
        }
        let probability = self.try_on_fresh(&near).probability;
        let less_sure = probability < chance;
        less_sure.then_some(Nearest { km: self.said_km(&near), probability, charged })
    }

    /// The other place or time of one stop that is hardly less sure than the whole of such a chance, and
    /// saves most: driving worth a thought, or else money.
    pub(super) fn nearly_as_sure(&self, visits: &[usize], chance: f64) -> Option<NearlyAsSure> {
        let (problem, useful) = (&self.problem, self.problem.useful_visits());
        let (km, cost) = (self.said_km(visits), problem.cost(visits));
        let changed = |other: &Vec<usize>| {
            let new: Vec<usize> = other.iter().copied().filter(|v| !visits.contains(v)).collect();
            let old = visits.iter().position(|visit| !other.contains(visit));
            old.zip(new.first().copied().filter(|_| new.len() == 1))
        };
        let most = problem.lost_by(visits) + (NEARLY * problem.lives as f64) as usize;
        let saving = moved(problem, &useful, visits).into_iter().filter_map(|other| {
            let (stop, visit) = changed(&other)?;
            let saved = (km - self.said_km(&other), cost - problem.cost(&other));
            let less = saved.0 >= SAME_KM && saved.1 >= 0.0
                || saved.0 >= 0.0 && saved.1 >= SAME_COST * cost && saved.1 > 0.0;
            (less && problem.lost_by(&other) <= most).then_some((saved, stop, visit, other))
        });
        let mut saving: Vec<_> = saving.collect();
        saving.sort_by(|a, b| b.0.0.total_cmp(&a.0.0).then(b.0.1.total_cmp(&a.0.1)));
        saving.into_iter().take(TRIED_TO_SAVE).find_map(|((km, cost), stop, visit, other)| {
            let probability = self.try_on_fresh(&other).probability;
            let own = &problem.visits[visit];
            let at = self.moment(own.slot)?;
            let told = NearlyAsSure { stop, at, place: own.leg.place, km, cost, probability };
            (probability >= chance - NEARLY).then_some(told)
        })
    }

    /// Civil days between two slots.
    pub(super) fn days_apart(&self, one: usize, other: usize) -> i64 {
        let date = |slot: usize| self.moment(slot).map(|moment| self.zone.date(moment));
        match (date(one), date(other)) {
            (Some(one), Some(other)) => (other - one).num_days().abs(),
            _ => i64::MAX,
        }
    }

    /// What a schedule comes to, wish by wish; less is better. Driving is what is driven beyond the
    /// least: counted from nothing, two drives of 29 and 31 km would differ, and 30 and 39 would not.
    fn key(&self, visits: &[usize], wishes: &[Wish], least_km: f64) -> Vec<i64> {
        wishes.iter().map(|wish| self.comes_to(visits, *wish, least_km)).collect()
    }

    /// All that these visits drive, in km.
    fn km(&self, visits: &[usize]) -> f64 {
        visits.iter().map(|visit| self.problem.visits[*visit].leg.km).sum()
    }

    /// The same as it is said: of each a whole number.
    pub(super) fn said_km(&self, visits: &[usize]) -> f64 {
        visits.iter().map(|visit| self.problem.visits[*visit].leg.km.round()).sum()
    }

    fn comes_to(&self, visits: &[usize], wish: Wish, least_km: f64) -> i64 {
        let made = || visits.iter().map(|visit| &self.problem.visits[*visit]);
        let pairs = || made().zip(made().skip(1));
        match wish {
            Wish::Driving => ((self.km(visits) - least_km) / SAME_KM).floor().max(0.0) as i64,
            Wish::Cost => self.problem.cost(visits) as i64,
            Wish::Apart => {
                pairs().filter(|(a, b)| self.days_apart(a.slot, b.slot) <= 1).count() as i64
            }
            Wish::Even => {
                let slots = made().map(|visit| visit.slot).chain([self.problem.end()]);
                let ends: Vec<f64> = [0].into_iter().chain(slots).map(|s| self.hours[s]).collect();
                let days = ends.windows(2).map(|gap| (gap[1] - gap[0]) / 24.0);
                days.map(|days| days * days).sum::<f64>().round() as i64
            }
            Wish::OnePlace => {
                pairs().filter(|(a, b)| !a.leg.places().eq(b.leg.places())).count() as i64
            }
            Wish::Daylight => {
                let dark = |visit: &Visit| {
                    let hour = self.case.scene.hours.get(self.hours[visit.slot] as usize);
                    hour.is_some_and(|hour| hour.sun.clear_w_m2 <= 0.0)
                };
                made().filter(|visit| dark(visit)).count() as i64
            }
            Wish::Errands => made().map(|visit| visit.serves.iter().count()).sum::<usize>() as i64,
        }
    }
}

/// Every schedule that differs in one stop, by its time or place, or in all stops from one on, by
/// one slot.
pub(super) fn moved(problem: &Problem, useful: &[Vec<usize>], visits: &[usize]) -> Vec<Vec<usize>> {
    let slot = |visit: usize| problem.visits[visit].slot;
    let mut all = Vec::new();
    for n in 0..visits.len() {
        let open = |at: &usize| visits.iter().enumerate().all(|(k, v)| k == n || slot(*v) != *at);
        for other in (1..problem.end()).filter(open).flat_map(|at| &useful[at]) {
            let mut moved = visits.to_vec();
            moved[n] = *other;
            moved.sort_by_key(|visit| slot(*visit));
            all.push(moved);
        }
        for later in [true, false] {
            let shifted = visits[n..].iter().map(|visit| {
                let at = if later { slot(*visit) + 1 } else { slot(*visit) - 1 };
                let leg = &problem.visits[*visit].leg;
                let there = useful.get(at).into_iter().flatten();
                there.copied().find(|other| problem.visits[*other].leg.places().eq(leg.places()))
            });
            let Some(shifted) = shifted.collect::<Option<Vec<usize>>>() else { continue };
            let before = n.checked_sub(1).map_or(0, |n| slot(visits[n]));
            if shifted.first().is_some_and(|first| slot(*first) > before) {
                all.push([&visits[..n], &shifted].concat());
            }
        }
    }
    all.retain(|visits| problem.can_be_paid(visits));
    all
}
