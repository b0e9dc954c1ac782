//! What to do at each stop of a schedule, and what each service is worth there.

use super::answer::{Service, Stop, TripRequest};
use super::layout::Layout;
use super::{median, search};
use crate::domain::time::after_hours;
use crate::forecast::tracks::{Track, TrackLives};

impl Layout<'_> {
    pub(super) fn describe(&self, visits: &[usize], request: &TripRequest) -> Vec<Stop> {
        let case = self.with_drives(visits, request);
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
        let latest = after_hours(self.now, self.lasts(&self.last(visits, n, None), c));
        let stocks = self.case.beliefs.mechanism.stocks();
        let with = self.lasts(&self.last(visits, n + 1, None), c);
        let mut services: Vec<Service> = (0..self.problem.stocks)
            .filter(|s| visit.serves & (1 << s) != 0 && !stocks[*s].reset_by_camp)
            .map(|stock| {
                let before = median(&levels.marked[stock]).clamp(0.0, stocks[stock].capacity);
                let amount = (before - stocks[stock].serviced_level()).abs();
                let without = self.lasts(&self.last(visits, n + 1, Some(stock)), c);
                let end = *self.hours.last().unwrap_or(&0.0);
                let charger = self.case.charger();
                let electric = self.case.beliefs.mechanism.electric == Some(stock);
                Service {
                    stock,
                    amount,
                    needed: !self.holds(visits, n, stock, c),
                    pushes_hours: with.min(end) - without.min(end),
                    hours: charger
                        .filter(|_| electric)
                        .map(|(_, wh)| high(&levels.marked[stock], stocks[stock].capacity) / wh),
                    price: self.price(place, stock, visit),
                    enough: None,
                }
            })
            .collect();
        services.sort_by(|a, b| {
            (b.needed.cmp(&a.needed)).then(b.pushes_hours.total_cmp(&a.pushes_hours))
        });
        let moves_camp = (0..self.problem.stocks)
            .any(|s| stocks[s].reset_by_camp && !self.holds(visits, n, s, c));
        Some(Stop {
            place,
            at,
            leave_by: after_hours(at, -there)?,
            latest,
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

    /// Slot of each stock's last service after the first `count` visits, one service left out.
    fn last(&self, visits: &[usize], count: usize, without: Option<usize>) -> Vec<usize> {
        let mut last = vec![0; self.problem.stocks];
        let until = match visits.get(count) {
            Some(next) => self.problem.visits[*next].slot,
            None => self.problem.slots,
        };
        for slot in 1..until.min(self.problem.slots - 1) {
            let made = visits.iter().take(count).enumerate();
            let serves = made.fold(self.problem.given[slot], |serves, (n, v)| {
                let visit = &self.problem.visits[*v];
                let left_out = without.filter(|_| n + 1 == count).map_or(0, |s| 1 << s);
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

/// What nine lives of ten need to be full.
fn high(levels: &[f64], capacity: f64) -> f64 {
    let mut missing: Vec<f64> = levels.iter().map(|l| capacity - l.clamp(0.0, capacity)).collect();
    missing.sort_unstable_by(f64::total_cmp);
    missing.get(missing.len() * 9 / 10).copied().unwrap_or(0.0)
}
