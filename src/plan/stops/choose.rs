//! Choosing a schedule, and trying it on fresh lives.

use super::answer::{Longer, OneLess};
use super::heuristic::Heuristic;
use super::model::{Puts, TripModel, whole};
use super::problem::{Cancelled, Problem, Schedule, Visit, Watch};
use super::search::EXACT_SLOTS;
use super::telling::{Following, Phase};
use super::windows::{Reachable, ways, windows};
use super::{bound, search};
use crate::forecast::scene;
use crate::forecast::variants::LevelChange;
use crate::plan::case::{Case, Outcome};
use std::cell::RefCell;

/// Times that it is chosen again with less to lose.
const TRIES: usize = 6;
/// Added to the seed for the lives that it is tried on.
const FRESH: u64 = 0x5eed_0b57;
/// Seed of the lives on which schedules are compared: the same for all, so that it is not chance
/// that decides between two.
const COMPARED: u64 = 0x5eed_c0de;
/// Of the schedules with a stop less, those that lose least are also tried with their other stops
/// put where they are best then, which merges and shifts them. 2 to all; each takes a search.
const SHIFTED: usize = 3;
/// How many times as many lives as allowed may be lost in the choice by a schedule that is worth
/// trying on fresh lives: what drives charge is rated low there. 1.5 to 4.
pub(super) const HOPEFUL: usize = 2;
/// How many of those, at first and where it is close.
const COMPARING_LIVES: [usize; 3] = [512, 2048, 8192];

/// What was chosen.
pub(super) struct Chosen {
    /// The schedule, with the share of the fresh lives in which it holds.
    pub found: Option<(Schedule, f64)>,
    /// Whether that is enough.
    pub works: bool,
    /// It was given up before the search was over.
    pub stopped: bool,
    /// What fewer stops come to, where it takes more of them to drive less.
    pub longer: Option<Longer>,
}

/// The share of so many lives of which some are lost.
fn held(lives: usize, lost: usize) -> f64 {
    1.0 - lost as f64 / lives.max(1) as f64
}

/// Of a share of so many lives.
fn standard_error(share: f64, lives: usize) -> f64 {
    (share * (1.0 - share) / lives as f64).sqrt()
}

/// A schedule with each of its stops left out, by the lives that it loses then, fewest first.
fn without_one(problem: &Problem, visits: &[usize]) -> Vec<(usize, Vec<usize>)> {
    let each = (0..visits.len()).map(|n| {
        let mut left = visits.to_vec();
        left.remove(n);
        (problem.lost_by(&left), left)
    });
    let mut all: Vec<(usize, Vec<usize>)> = each.collect();
    all.sort();
    all.dedup();
    all
}

impl TripModel<'_> {
    /// How often a schedule must hold on the lives on which schedules are compared: by two standard
    /// errors of the trial more than asked, so that the trial bears it out whatever its seed is.
    pub(super) fn surely(&self) -> f64 {
        let c = self.asked.request.confidence;
        // Few lives leave much to chance, but nothing is surer than sure.
        (c + 2.0 * standard_error(c, self.asked.request.lives)).min((1.0 + c) / 2.0)
    }

    /// The schedule, chosen again with less to lose until the fresh lives bear it out.
    pub(super) fn choose(&self) -> Result<Chosen, Cancelled> {
        let (lives, sure, telling) = (self.problem.lives as f64, self.surely(), self.asked.telling);
        let mut problem = self.problem.clone();
        let allowed = problem.allowed;
        let (mut best, mut stopped) = (None, false);
        for _ in 0..TRIES {
            let following = Following { telling, kept: RefCell::default() };
            let found = self.find(&problem, &following);
            stopped = found.is_err();
            let found = match found {
                // What a search under way has found is tried as what one that is over has; it is
                // never said to be exact, as that is where a search ends.
                Err(Cancelled) if telling.settles() => following.kept.into_inner(),
                found => found?,
            };
            // Where nothing is as sure as asked, the best that there is: what drives charge is rated
            // low here, and a plan that nearly does says more than none.
            let Some(mut found) = found else {
                let wider = [HOPEFUL * allowed, self.problem.lives / 2].into_iter();
                match wider.filter(|lost| *lost > problem.allowed).min() {
                    Some(more) if best.is_none() => problem.allowed = more,
                    _ => break,
                }
                continue;
            };
            // The optimum for fewer lives to lose than asked need not be the one for those asked.
            found.exact &= problem.allowed == allowed;
            let (share, lost) = (self.compared(&found.visits, sure), found.lost);
            if best.as_ref().is_none_or(|(_, known)| share > *known) {
                best = Some((found, share));
            }
            let miss = ((sure - share) * lives).ceil().max(1.0) as usize;
            let fewer = match problem.allowed > allowed {
                // On the way back to what was asked: half of the way.
                true => Some(((lost + allowed) / 2).min(problem.allowed - 1)),
                false => problem.allowed.checked_sub(miss),
            };
            match fewer {
                Some(allowed) if share < sure && !stopped => problem.allowed = allowed,
                _ => break,
            }
        }
        if let Some(best) = best.as_mut().filter(|(_, share)| *share < sure && !stopped) {
            self.surer(best, sure);
        }
        match best {
            Some((found, share)) => {
                let (found, share) = super::twins::joined(self, found, share);
                self.settled(found, share, stopped)
            }
            None if stopped => Err(Cancelled),
            None => Ok(Chosen { found: None, works: false, stopped, longer: None }),
        }
    }

    /// Puts the surest schedule that is found in place of one that is not sure enough: of as many stops,
    /// then of one more each time, as long as that makes it surer and it has to be.
    fn surer(&self, (found, share): &mut (Schedule, f64), sure: f64) {
        for most in found.visits.len()..self.problem.end() {
            let Some(surest) = self.surest(most) else { continue };
            let other = self.compared(&surest.visits, sure);
            if other > *share {
                (*found, *share) = (surest, other);
            } else if most > found.visits.len() {
                return;
            }
            if *share >= sure || !self.asked.telling.goes_on(Phase::Choosing) {
                return;
            }
        }
    }

    /// The schedule of at most so many stops that is found to lose the fewest lives: every one
    /// counts, not only those beyond what may be lost.
    pub(super) fn surest(&self, most: usize) -> Option<Schedule> {
        let any = Problem { allowed: self.problem.lives / 2, ..self.problem.clone() };
        let (windows, ways) = (windows(&any, any.allowed), ways(&any));
        let reachable = Reachable::of(&any, &windows, &ways);
        let mut visits = Heuristic::of(&any).beam(most, &reachable, &|| false).ok()??;
        let each = Problem { allowed: 0, ..any };
        let heuristic = Heuristic::of(&each);
        let lost = heuristic.local_search(&mut visits);
        Some(heuristic.found(visits, lost))
    }

    /// What the surest schedule that is found with a stop less comes to: one of as many that was looked
    /// for, or this one without one of its stops.
    pub(super) fn one_less(&self, visits: &[usize]) -> Option<OneLess> {
        let most = visits.len().checked_sub(1).filter(|most| *most > 0)?;
        let each = Problem { allowed: 0, ..self.problem.clone() };
        let heuristic = Heuristic::of(&each);
        let without = without_one(&each, visits).into_iter().take(SHIFTED);
        let shifted = without.map(|(_, mut visits)| {
            let lost = heuristic.local_search(&mut visits);
            heuristic.found(visits, lost)
        });
        let surest = shifted.chain(self.surest(most)).min_by_key(|found| found.lost)?;
        let probability = self.try_on_fresh(&surest.visits).probability;
        Some(OneLess { km: self.said_km(&surest.visits), probability })
    }

    /// The schedule that is answered, from one that holds in such a share of the lives on which
    /// schedules are compared: with stops taken away, and then the one that people would choose.
    fn settled(&self, found: Schedule, share: f64, mut stopped: bool) -> Result<Chosen, Cancelled> {
        let (c, sure) = (self.asked.request.confidence, self.surely());
        let bar = if share >= sure { sure } else { c };
        let (mut fewer, mut preferred) = (None, None);
        if share >= bar && !stopped {
            fewer = self.with_fewer(&found, bar);
            preferred = fewer.clone().and_then(|found| self.preferred(found, bar));
            stopped = preferred.is_none();
            if stopped && !self.asked.telling.settles() {
                return Err(Cancelled);
            }
        }
        let near = preferred.clone().map(|found| self.nearer(found, bar));
        let near = near.map(|(found, longer)| (Some(found), longer));
        let (nearer, longer) = near.unwrap_or_default();
        // What is promised is what the fresh lives say, so that they must bear it out, too.
        let mut first = None;
        for found in [nearer, preferred, fewer, Some(found)].into_iter().flatten() {
            let share = self.try_on_fresh(&found.visits).probability;
            if share >= c {
                self.asked.telling.found(found.visits.len());
                let longer = longer.filter(|longer| found.visits.len() > longer.stops);
                return Ok(Chosen { found: Some((found, share)), works: true, stopped, longer });
            }
            first = first.or(Some((found, share)));
        }
        // Stops that make nothing surer are not offered.
        let idle = self.try_on_fresh(&[]).probability;
        let found = first.filter(|(_, share)| *share > idle);
        Ok(Chosen { found, works: false, stopped, longer: None })
    }

    /// The same schedule with stops taken away, one after another, as long as it holds in a share
    /// `bar` of the lives on which schedules are compared. `None` when it was given up.
    fn with_fewer(&self, found: &Schedule, bar: f64) -> Option<Schedule> {
        let (problem, telling) = (&self.problem, self.asked.telling);
        let heuristic = Heuristic::of(problem);
        let mut best = found.clone();
        'fewer: loop {
            let without = without_one(problem, &best.visits);
            let shifted = without.iter().take(SHIFTED).map(|(_, visits)| {
                let mut visits = visits.clone();
                (heuristic.local_search(&mut visits), visits)
            });
            for (lost, visits) in without.iter().cloned().chain(shifted) {
                if !telling.goes_on(Phase::Choosing) {
                    return None;
                }
                if lost <= HOPEFUL * problem.allowed && self.holds_often(&visits, bar) {
                    best = heuristic.found(visits, lost);
                    telling.found(best.visits.len());
                    continue 'fewer;
                }
            }
            return Some(best);
        }
    }

    /// Whether a schedule holds in a share `bar` of the lives on which schedules are compared.
    pub(super) fn holds_often(&self, visits: &[usize], bar: f64) -> bool {
        self.compared(visits, bar) >= bar
    }

    /// The share of the lives on which schedules are compared in which one holds; more lives are
    /// drawn while what they say lies within three standard errors of `bar`.
    pub(super) fn compared(&self, visits: &[usize], bar: f64) -> f64 {
        let known = self.compared.borrow().get(visits).copied();
        let (mut lives, mut lost) = known.unwrap_or_default();
        let mut laid_out = None;
        for more in COMPARING_LIVES {
            let near = (held(lives, lost) - bar).abs() <= 3.0 * standard_error(bar, lives);
            if more <= lives || lives > 0 && !near {
                continue;
            }
            let (case, puts) = laid_out.get_or_insert_with(|| {
                (self.with_drives(visits, COMPARED), self.all_puts(self.puts(visits)))
            });
            let first = case.limits_of(lives..more, puts.clone()).first;
            lost += first.iter().filter(|hours| **hours < case.until_hours).count();
            lives = more;
        }
        self.compared.borrow_mut().insert(visits.to_vec(), (lives, lost));
        held(lives, lost)
    }

    /// The exact search where it is short enough; else as few stops as a schedule is found with,
    /// from the fewest on that the windows of each interval allow.
    pub(super) fn find(
        &self,
        problem: &Problem,
        watch: &dyn Watch,
    ) -> Result<Option<Schedule>, Cancelled> {
        if problem.slots <= EXACT_SLOTS {
            let found = search::search(problem, watch)?;
            if found.as_ref().is_none_or(|found| found.exact) {
                return Ok(found);
            }
        }
        let (windows, ways) = (windows(problem, problem.allowed), ways(problem));
        let reachable = Reachable::of(problem, &windows, &ways);
        let cancelled = || watch.cancelled();
        let Some(least) = bound::within(problem, &reachable, &cancelled)? else { return Ok(None) };
        let heuristic = Heuristic::of(problem);
        for most in least..problem.end() {
            let beam = heuristic.beam(most, &reachable, &cancelled)?;
            let Some(mut visits) = beam else { continue };
            let lost = heuristic.local_search(&mut visits);
            if lost <= problem.allowed {
                let found = heuristic.found(visits, lost);
                watch.found(&found);
                return Ok(Some(found));
            }
        }
        Ok(None)
    }

    /// A schedule on lives that it was not chosen on, with its driving.
    pub(super) fn try_on_fresh(&self, visits: &[usize]) -> Outcome {
        self.try_puts(visits, self.puts(visits))
    }

    /// The same with other amounts put in or taken out at its stops.
    pub(super) fn try_puts(&self, visits: &[usize], puts: Puts) -> Outcome {
        self.with_drives(visits, self.asked.request.seed).limits_with(self.all_puts(puts))
    }

    /// What is put in at stops, behind what keeps those that are overdue until then.
    fn all_puts(&self, at_stops: Puts) -> Puts {
        [self.excused.clone(), at_stops].concat()
    }

    /// The case with the drives to these visits, on the asked number of lives of such a seed.
    pub(super) fn with_drives(&self, visits: &[usize], seed: u64) -> Case {
        let mut case = self.case.clone();
        (case.lives, case.seed) = (self.asked.request.lives, seed ^ FRESH);
        for visit in visits {
            let (hour, leg) = (self.hour_of(*visit) as f64, &self.problem.visits[*visit].leg);
            // What is done at the stop is done as its hour begins.
            let ends = [(hour - leg.there.hours, leg.there), (hour + leg.after(), leg.on)];
            let between = leg.onward.iter().map(|to| (hour + to.after - to.way.hours, to.way));
            for (begins, way) in ends.into_iter().chain(between) {
                scene::drive(&mut case.scene.hours, begins, (way.hours, way.km));
            }
        }
        case
    }

    /// What the visits and what is planned already do to the levels.
    pub(super) fn puts(&self, visits: &[usize]) -> Puts {
        let made = || self.problem.made(visits);
        let done = self.problem.done(made());
        let mut puts = Vec::new();
        for (slot, done) in done.iter().enumerate().take(self.problem.end()).skip(1) {
            let mut own = whole(&self.case, self.hours[slot], &done.stocks);
            let here = made().map(|(visit, _)| visit).filter(|visit| visit.slot == slot);
            self.put_hook_up(here, slot, &mut own);
            puts.extend(own);
        }
        puts
    }

    /// A visit to a place that says how long its hook-up lasts charges that long, and not all the
    /// way; `puts` are those of the slot.
    fn put_hook_up<'v>(
        &self,
        mut here: impl Iterator<Item = &'v Visit>,
        slot: usize,
        puts: &mut [(usize, usize, LevelChange)],
    ) {
        let Some(electric) = self.electric().filter(|e| !self.problem.given[slot].has(*e)) else {
            return;
        };
        let charged = here.find(|visit| visit.serves.has(electric));
        let hours = charged.and_then(|v| self.asked.basis.rig.places[v.leg.last()].hook_up_hours);
        if let Some(hours) = hours {
            let charge = puts.iter_mut().filter(|put| put.1 == electric);
            charge.for_each(|put| put.2 = LevelChange::By(hours * self.case.hook_up()));
        }
    }
}
