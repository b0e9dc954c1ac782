//! What to do at each stop of a schedule, and what each service is worth there.

use super::answer::{Further, Service, Stop};
use super::legs::Country;
use super::model::{TripModel, allowed};
use super::places;
use super::problem::{Leg, Visit};
use crate::domain::{Moment, time::after_hours};
use crate::forecast::passages::sorted;
use crate::forecast::variants::{Variant, VariantLives};
use crate::plan::case::{Case, safe_hours};
use crate::plan::hook_up;
use crate::plan::practice::{JOINS_H, LEAST_SERVICED, STOP_KM};
use crate::plan::stock_set::StockSet;

/// Most lives that amounts are told by: one track for each stop of a long trip is much to run.
const LIVES: usize = 512;

impl TripModel<'_> {
    pub(super) fn describe(&self, visits: &[usize]) -> Vec<Stop> {
        let mut case = self.with_drives(visits, self.asked.request.seed);
        case.lives = case.lives.min(LIVES);
        let tracks: Vec<Variant> = visits
            .iter()
            .map(|visit| Variant {
                from: 0,
                puts: self.puts(visits),
                mark: (self.hours[self.problem.visits[*visit].slot].round() as usize)
                    .checked_sub(1),
            })
            .collect();
        let levels = case.run(&tracks);
        let unserved = self.unserved();
        let stop = |n: usize| self.stop(visits, n, &levels[n], unserved);
        (0..visits.len()).filter_map(stop).collect()
    }

    /// Hours that all lasts, as sure as asked, where nobody stops: as the forecast says it, on its
    /// lives.
    fn unserved(&self) -> f64 {
        let request = self.asked.request;
        let case = Case { seed: request.seed, lives: request.lives, ..self.case.clone() };
        case.limits().safe_hours(request.confidence)
    }

    fn stop(
        &self,
        visits: &[usize],
        n: usize,
        levels: &VariantLives,
        unserved: f64,
    ) -> Option<Stop> {
        let (c, visit) = (self.asked.request.confidence, &self.problem.visits[visits[n]]);
        let at = self.moment(visit.slot)?;
        let before = self.last(visits, n, &StockSet::default());
        let forced_by = self.forced_by(&before, &visit.serves, c);
        let out = self.out(&before, visit, unserved);
        let visit = &self.in_time(visit, forced_by, out);
        let out = after_hours(self.asked.basis.now, out);
        let end = *self.hours.last().unwrap_or(&0.0);
        let all: StockSet = (0..self.problem.stocks).collect();
        let without = |set: &StockSet| self.lasts(&self.last(visits, n + 1, set), &all, c);
        let with = without(&StockSet::default());
        let pushes = |set: &StockSet| with.min(end) - without(set).min(end);
        let needed = |stock: usize| self.is_needed(visits, n, stock);
        let reset = |stock: &usize| self.case.beliefs.mechanism.stocks()[*stock].reset_by_camp;
        let mut services: Vec<Service> = (visit.serves.iter().filter(|stock| !reset(stock)))
            .map(|stock| Service {
                needed: needed(stock),
                pushes_hours: pushes(&StockSet::from_iter([stock])),
                ..self.taken(visit, stock, &levels.marked[stock])
            })
            .collect();
        self.need_together(visits, n, &mut services);
        services.sort_by(|a, b| {
            (b.needed.cmp(&a.needed)).then(b.pushes_hours.total_cmp(&a.pushes_hours))
        });
        // Left out from the end, as long as that makes no difference, all left out together.
        let mut left_out = StockSet::default();
        for service in services.iter_mut().rev().filter(|service| !service.needed) {
            let mut more = left_out.clone();
            more.add(service.stock);
            if pushes(&more) < JOINS_H { left_out = more } else { service.joins = true }
        }
        // Next to nothing is no errand, where nothing depends on it.
        services.retain(|service| {
            let full = self.case.beliefs.mechanism.stocks()[service.stock].capacity;
            service.needed || service.joins || service.amount >= LEAST_SERVICED * full
        });
        let optional = services.iter().filter(|service| !service.needed).map(|s| s.stock);
        let bare = without(&optional.collect());
        let within = |hours: f64| after_hours(self.asked.basis.now, hours).filter(|_| hours < end);
        Some(Stop {
            place: visit.leg.place,
            at,
            further: self.further(&visit.leg, at)?,
            or_on: Vec::new(),
            forced_by,
            far_for: self.far_for(visit, &services),
            without: None,
            leave_by: after_hours(at, -visit.leg.there.hours)?,
            ways: [visit.leg.there, visit.leg.on],
            latest: out.map(|out| self.last_chance(&visit.leg, at, out)),
            out,
            lasts: within(with),
            lasts_needed: within(bare),
            km: visit.leg.km.round(),
            hours: visit.leg.hours,
            cost: self.cost(&visit.leg, &services),
            services,
            moves_camp: (0..self.problem.stocks).any(|stock| reset(&stock) && needed(stock)),
        })
    }

    /// The same visit, with the place first that sees to what forces it, where that would be out by the
    /// time one gets there: `out` is in hours from now.
    fn in_time(&self, visit: &Visit, forced_by: Option<usize>, out: f64) -> Visit {
        let late = |stock: &usize| {
            let wait = visit.leg.until(visit.leg.place_for(*stock));
            wait > 0.0 && self.hours[visit.slot] + wait > out
        };
        let parts = &self.case.beliefs.mechanism.parts;
        let offers = self.asked.basis.rig.places.iter().map(|place| {
            let served = places::services(place, parts);
            served.iter().filter(|stock| visit.serves.has(*stock)).collect()
        });
        let sooner = forced_by.filter(late).and_then(|stock| {
            Some(Country::at(self, visit.slot, offers.collect())?.soonest(&visit.leg, stock))
        });
        Visit { leg: sooner.unwrap_or_else(|| visit.leg.clone()), ..visit.clone() }
    }

    /// As [`Stop::far_for`].
    fn far_for(&self, visit: &Visit, services: &[Service]) -> Vec<usize> {
        let nearer =
            |other: &&Visit| other.slot == visit.slot && other.leg.km + STOP_KM < visit.leg.km;
        let near = self.problem.visits.iter().filter(nearer);
        let near: StockSet =
            near.flat_map(|other| other.serves.iter().collect::<Vec<_>>()).collect();
        if near.is_empty() {
            return Vec::new();
        }
        let needed = services.iter().filter(|service| service.needed).map(|service| service.stock);
        let only_here: Vec<usize> = needed.filter(|stock| !near.has(*stock)).collect();
        match self.electric().filter(|_| only_here.is_empty() && !visit.charge.is_empty()) {
            Some(electric) => vec![electric],
            None => only_here,
        }
    }

    /// The further places of a way, with when one is there.
    fn further(&self, leg: &Leg, at: Moment) -> Option<Vec<Further>> {
        let of = leg.onward.iter().map(|onward| {
            let at = after_hours(at, onward.after).map(|at| self.zone.here(at))?;
            Some(Further { place: onward.place, at, way: onward.way })
        });
        of.collect()
    }

    /// The last moment at which one may be at the first place of a way, so that one is at each in its
    /// hours, before something is out.
    fn last_chance(&self, leg: &Leg, at: Moment, out: Moment) -> Moment {
        let further = leg.onward.iter().map(|onward| (onward.place, onward.after));
        let each = [(leg.place, 0.0)].into_iter().chain(further).filter_map(|(place, after)| {
            let place = &self.asked.basis.rig.places[place];
            let there = after_hours(at, after)?;
            let last = places::last_chance(place, self.zone, (there, out)).unwrap_or(there);
            after_hours(last, -after)
        });
        each.min().unwrap_or(at)
    }

    /// How much of a stock a visit takes, whatever that is good for; `levels` are those of the
    /// lives when it begins.
    fn taken(&self, visit: &Visit, stock: usize, levels: &[f64]) -> Service {
        let kind = &self.case.beliefs.mechanism.stocks()[stock];
        let full = kind.serviced_level();
        let before = median(levels).clamp(0.0, kind.capacity);
        let amount = (before - full).abs();
        let place = visit.leg.place_for(stock);
        let on_the_hook_up = || {
            let (wh, most) =
                (self.case.hook_up(), self.asked.basis.rig.places[place].hook_up_hours);
            let sure = hook_up::hours(levels, full, wh);
            [hook_up::half_hours(amount / wh), sure].map(|hours| hours.min(most.unwrap_or(hours)))
        };
        let hours = (self.electric() == Some(stock)).then(on_the_hook_up);
        Service {
            stock,
            place,
            amount,
            hours: hours.map(|[_, sure]| sure),
            likely_hours: hours.map(|[likely, _]| likely),
            spare: self.spares.iter().find(|(own, _)| *own == stock).map(|(_, holds)| *holds),
            price: self.price(place, stock, visit),
            ..Service::default()
        }
    }

    fn price(&self, place: usize, stock: usize, visit: &Visit) -> Option<f64> {
        let taken = visit.prices.iter().find(|(priced, _)| *priced == stock);
        let name = &self.case.beliefs.mechanism.stocks()[stock].name;
        let free = || self.asked.basis.rig.places[place].prices.iter().find(|(n, _)| n == name);
        taken.map(|(_, each)| *each).or_else(|| free().map(|(_, each)| *each))
    }

    /// The places' own prices, and what is taken there filled up; `None` where none says any.
    fn cost(&self, leg: &Leg, services: &[Service]) -> Option<f64> {
        let taken = services.iter().filter_map(|s| s.price.map(|each| each * s.amount));
        let own = leg.places().filter_map(|place| self.asked.basis.rig.places[place].cost);
        own.chain(taken).reduce(|sum, more| sum + more)
    }

    /// Slot of each stock's last service after the first `count` visits, some services of the
    /// last of them left out.
    fn last(&self, visits: &[usize], count: usize, without: &StockSet) -> Vec<u16> {
        let mut last = vec![0u16; self.problem.stocks];
        let until = visits.get(count).map_or(self.problem.slots, |v| self.problem.visits[*v].slot);
        let made = visits.iter().take(count).map(|visit| &self.problem.visits[*visit]);
        let mut made: Vec<(&Visit, StockSet)> = made.map(|v| (v, v.serves.clone())).collect();
        if let Some((_, serves)) = made.last_mut() {
            *serves = serves.without(without);
        }
        let done = self.problem.done(made.iter().map(|(visit, serves)| (*visit, serves)));
        let mut lost = self.problem.no_lives();
        for (slot, done) in done.iter().enumerate().take(until.min(self.problem.end())).skip(1) {
            self.problem.close(done, slot, &mut last, &mut lost);
        }
        last
    }

    /// Hours from now until which none of some stocks runs out, with that confidence.
    fn lasts(&self, last: &[u16], stocks: &StockSet, confidence: f64) -> f64 {
        let first = |life: usize| {
            let of = |stock: usize| self.passages[usize::from(last[stock])][stock][life];
            stocks.iter().map(of).fold(f64::INFINITY, f64::min)
        };
        safe_hours(&sorted((0..self.problem.lives).map(first)), confidence)
    }

    /// Hours from now until which a stock lasts if nothing is done, as sure as asked.
    pub(super) fn safe_now(&self, stock: usize) -> f64 {
        let only = StockSet::from_iter([stock]);
        self.lasts(&vec![0; self.problem.stocks], &only, self.asked.request.confidence)
    }

    /// Of some stocks, the one whose own date comes first, with that confidence, after these last
    /// services.
    fn forced_by(&self, last: &[u16], of: &StockSet, confidence: f64) -> Option<usize> {
        let dates = of.iter().map(|stock| {
            let hours = self.passages[usize::from(last[stock])][stock].iter().copied();
            (stock, safe_hours(&sorted(hours), confidence))
        });
        let first = dates.min_by(|a, b| a.1.total_cmp(&b.1));
        first.filter(|(_, date)| date.is_finite()).map(|(stock, _)| stock)
    }

    /// Hours until the first stock is out that a visit sees to, after these last services. Without
    /// any, where it sees to all that is out first, `unserved`.
    fn out(&self, last: &[u16], visit: &Visit, unserved: f64) -> f64 {
        let c = self.asked.request.confidence;
        let all: StockSet = (0..self.problem.stocks).collect();
        let sees_to_it = self.forced_by(last, &all, c).is_none_or(|first| visit.serves.has(first));
        let nothing_yet = last.iter().all(|slot| *slot == 0);
        match (sees_to_it, nothing_yet) {
            (true, true) => unserved,
            (true, false) => self.lasts(last, &all, c),
            (false, _) => self.lasts(last, &visit.serves, c),
        }
    }

    /// Whether the schedule holds on its own lives no longer without one service; where it does not
    /// hold on them in any case, whether it loses more.
    fn is_needed(&self, visits: &[usize], n: usize, stock: usize) -> bool {
        let lost = self.lost_without(visits, n, &StockSet::from_iter([stock]));
        let anyway = self.lost_without(visits, n, &StockSet::default());
        lost > allowed(self.problem.lives, self.surely()).max(anyway)
    }

    /// Lives that are lost where a stop leaves some services out.
    fn lost_without(&self, visits: &[usize], n: usize, left_out: &StockSet) -> usize {
        let made = self.problem.made(visits);
        let mut made: Vec<(&Visit, StockSet)> =
            made.map(|(v, serves)| (v, serves.clone())).collect();
        made[n].1 = made[n].1.without(left_out);
        self.problem.lost(made.iter().map(|(visit, serves)| (*visit, serves)))
    }

    /// Where each service alone could be left out, but not the stop: what is left once those that
    /// push least have been left out, one after another, for less than half of the lives that the
    /// stop saves.
    fn need_together(&self, visits: &[usize], n: usize, services: &mut [Service]) {
        if services.iter().any(|service| service.needed) {
            return;
        }
        services.sort_by(|a, b| a.pushes_hours.total_cmp(&b.pushes_hours));
        let lost = |left_out: &StockSet| self.lost_without(visits, n, left_out);
        let all: StockSet = services.iter().map(|service| service.stock).collect();
        let most = lost(&StockSet::default()).midpoint(lost(&all));
        let mut left_out = StockSet::default();
        for service in services {
            let mut more = left_out.clone();
            more.add(service.stock);
            service.needed = lost(&more) > most;
            left_out = if service.needed { left_out } else { more };
        }
    }
}

fn median(values: &[f64]) -> f64 {
    let sorted = sorted(values.iter().copied());
    sorted.get(sorted.len() / 2).copied().unwrap_or(0.0)
}
