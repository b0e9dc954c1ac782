//! What to do at each stop of a schedule, and what each service is worth there.

use super::answer::{Service, Stop, TripRequest};
use super::layout::Layout;
use super::{median, search};
use crate::domain::time::after_hours;
use crate::forecast::tracks::{Track, TrackLives};
use crate::plan::hook_up;

/// Most lives that amounts are told by: one track for each stop of a long trip is much to run.
const LIVES: usize = 512;
/// A service that pushes the next stop less far than this makes no difference, in hours.
const JOINS_H: f64 = 1.0;

impl Layout<'_> {
    pub(super) fn describe(&self, visits: &[usize], request: &TripRequest) -> Vec<Stop> {
        let mut case = self.with_drives(visits, request);
        case.lives = case.lives.min(LIVES);
        let tracks: Vec<Track> = visits
            .iter()
            .map(|visit| Track {
                from: 0,
                puts: self.puts(visits),
                mark: (self.hours[self.problem.visits[*visit].slot].round() as usize)
                    .checked_sub(1),
            })
            .collect();
        let levels = case.run(&tracks);
        (0..visits.len())
            .filter_map(|n| self.stop(visits, n, &levels[n], request.confidence))
            .collect()
    }

    fn stop(&self, visits: &[usize], n: usize, levels: &TrackLives, c: f64) -> Option<Stop> {
        let visit = &self.problem.visits[visits[n]];
        let (place, km, there, hours) = self.ways[visits[n]];
        let at = self.moment(visit.slot)?;
        let latest = after_hours(self.now, self.lasts(&self.last(visits, n, 0), c));
        let stocks = self.case.beliefs.mechanism.stocks();
        let end = *self.hours.last().unwrap_or(&0.0);
        let without = |mask: u32| self.lasts(&self.last(visits, n + 1, mask), c);
        let with = without(0);
        let mut services: Vec<Service> = (0..self.problem.stocks)
            .filter(|s| visit.serves & (1 << s) != 0 && !stocks[*s].reset_by_camp)
            .map(|stock| {
                let before = median(&levels.marked[stock]).clamp(0.0, stocks[stock].capacity);
                let amount = (before - stocks[stock].serviced_level()).abs();
                let electric = self.case.beliefs.mechanism.electric == Some(stock);
                Service {
                    stock,
                    amount,
                    needed: !self.holds(visits, n, stock, c),
                    pushes_hours: with.min(end) - without(1 << stock).min(end),
                    joins: false,
                    hours: electric.then(|| {
                        let full = stocks[stock].serviced_level();
                        let hours =
                            hook_up::hours(&levels.marked[stock], full, self.case.hook_up());
                        let most = self.rig.places[place].hook_up_hours;
                        most.map_or(hours, |most| hours.min(most))
                    }),
                    price: self.price(place, stock, visit),
                    enough: None,
                }
            })
            .collect();
        services.sort_by(|a, b| {
            (b.needed.cmp(&a.needed)).then(b.pushes_hours.total_cmp(&a.pushes_hours))
        });
        // Left out from the end, as long as that makes no difference, all left out together.
        let mut left_out = 0;
        for service in services.iter_mut().rev().filter(|service| !service.needed) {
            let more = left_out | 1 << service.stock;
            match with.min(end) - without(more).min(end) < JOINS_H {
                true => left_out = more,
                false => service.joins = true,
            }
        }
        let optional = services.iter().filter(|service| !service.needed);
        let bare = without(optional.fold(0, |mask, service| mask | 1 << service.stock));
        let moves_camp = (0..self.problem.stocks)
            .any(|s| stocks[s].reset_by_camp && !self.holds(visits, n, s, c));
        let within = |hours: f64| after_hours(self.now, hours).filter(|_| hours < end);
        Some(Stop {
            place,
            at,
            leave_by: after_hours(at, -there)?,
            latest,
            lasts: within(with),
            lasts_needed: within(bare),
            km,
            hours,
            cost: self.cost(place, &services),
            services,
            moves_camp,
        })
    }

    fn price(&self, place: usize, stock: usize, visit: &search::Visit) -> Option<f64> {
        let taken = visit.prices.iter().find(|(priced, _)| *priced == stock);
        let name = &self.case.beliefs.mechanism.stocks()[stock].name;
        let free = || self.rig.places[place].prices.iter().find(|(n, _)| n == name);
        taken.map(|(_, each)| *each).or_else(|| free().map(|(_, each)| *each))
    }

    /// The place's own price, and what is taken there filled up.
    fn cost(&self, place: usize, services: &[Service]) -> Option<f64> {
        let taken = services.iter().filter_map(|s| s.price.map(|each| each * s.amount));
        match (self.rig.places[place].cost, services.iter().any(|s| s.price.is_some())) {
            (None, false) => None,
            (own, _) => Some(own.unwrap_or(0.0) + taken.sum::<f64>()),
        }
    }

    /// Slot of each stock's last service after the first `count` visits, some services of the
    /// last of them left out, bit by bit.
    fn last(&self, visits: &[usize], count: usize, without: u32) -> Vec<usize> {
        let mut last = vec![0; self.problem.stocks];
        let until = match visits.get(count) {
            Some(next) => self.problem.visits[*next].slot,
            None => self.problem.slots,
        };
        for slot in 1..until.min(self.problem.slots - 1) {
            let made = visits.iter().take(count).enumerate();
            let serves = made.fold(self.problem.given[slot], |serves, (n, v)| {
                let visit = &self.problem.visits[*v];
                let left_out = if n + 1 == count { without } else { 0 };
                serves | if visit.slot == slot { visit.serves & !left_out } else { 0 }
            });
            for (stock, last) in last.iter_mut().enumerate() {
                if serves & (1 << stock) != 0 {
                    *last = slot;
                }
            }
        }
        last
    }

    /// Hours from now until which nothing runs out, with that confidence.
    fn lasts(&self, last: &[usize], confidence: f64) -> f64 {
        let mut first: Vec<f64> = (0..self.problem.lives)
            .map(|life| {
                let of = |(stock, slot): (usize, &usize)| self.passages[*slot][stock][life];
                last.iter().enumerate().map(of).fold(f64::INFINITY, f64::min)
            })
            .collect();
        first.sort_unstable_by(f64::total_cmp);
        let allowed = (first.len() as f64 * (1.0 - confidence) + 1e-9) as usize;
        first.get(allowed).copied().unwrap_or(f64::INFINITY)
    }

    /// Whether the schedule holds on its own lives without one service.
    fn holds(&self, visits: &[usize], n: usize, stock: usize, confidence: f64) -> bool {
        let served = visits.iter().enumerate().map(|(i, visit)| {
            let visit = &self.problem.visits[*visit];
            (visit.slot, if i == n { visit.serves & !(1 << stock) } else { visit.serves })
        });
        let served: Vec<(usize, u32)> = served.collect();
        search::lost_serving(&self.problem, &served) <= self.allowed(confidence)
    }
}
