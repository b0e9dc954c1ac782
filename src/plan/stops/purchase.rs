//! Where prices differ: how much is enough until a cheaper stop.
//!
//! A stock with a price runs along the trip as fuel does along a way, its cumulative use standing
//! for the distance, and [`refuel::cheapest`] says what to buy where. Use is taken as high as all
//! but a few lives have it, what is held now as low; what comes out is then tried on the fresh
//! lives, and said only where the schedule still holds.

use super::answer::Stop;
use super::less::Less;
use super::model::TripModel;
use super::refuel::{self, Station};
use crate::domain::Direction;
use crate::forecast::passages::sorted;
use crate::forecast::variants::LevelChange;
use crate::plan::practice::{HIGHER, LEAST_SAVING, LOWER_SDS};

impl Less<'_> {
    /// Fills in [`super::answer::Service::enough`] where buying less is cheaper.
    pub(super) fn say_what_is_enough(&mut self, stops: &mut [Stop]) {
        // One stock after the other, each on top of what was found enough of those before it.
        for stock in 0..self.model.problem.stocks {
            let Some(bought) = self.model.enough(self.visits, stops, stock) else { continue };
            let puts: Vec<_> =
                bought.iter().map(|(n, amount)| (*n, LevelChange::By(*amount))).collect();
            if !self.holds_with(stock, &puts) {
                continue;
            }
            for (n, amount) in bought {
                let of = |service: &&mut super::answer::Service| service.stock == stock;
                if let Some(service) = stops[n].services.iter_mut().find(of)
                    && amount < service.amount
                {
                    service.enough = Some(amount);
                }
            }
        }
    }
}

impl TripModel<'_> {
    /// What to buy of a stock at which stops; `None` where filling up is as cheap.
    fn enough(&self, visits: &[usize], stops: &[Stop], stock: usize) -> Option<Vec<(usize, f64)>> {
        let kind = &self.case.beliefs.mechanism.stocks()[stock];
        let electric = self.electric() == Some(stock);
        if kind.runs != Direction::Down || electric || stops.len() != visits.len() {
            return None;
        }
        let mut bought_at: Vec<usize> = Vec::new();
        let mut stations: Vec<Station> = Vec::new();
        let mut filled = 0.0;
        for (n, stop) in stops.iter().enumerate() {
            let Some(service) = stop.services.iter().find(|s| s.stock == stock) else { continue };
            let price = service.price?;
            let at = self.high_use(self.problem.visits[visits[n]].slot, stock);
            stations.push(Station { at, price });
            bought_at.push(n);
            filled += price * service.amount;
        }
        // What is planned already breaks the row.
        let given = self.problem.given.iter().any(|given| given.has(stock));
        if stations.len() < 2 || given {
            return None;
        }
        let held = self.low_level(stock) - kind.limit();
        let goal = self.high_use(self.problem.end(), stock);
        let room = kind.serviced_level() - kind.limit();
        let bought = refuel::cheapest(room, held.max(0.0), &stations, goal)?;
        let paid: f64 = bought.iter().zip(&stations).map(|(b, station)| b * station.price).sum();
        // Filled up, what is left at the end has been paid for as well.
        (paid < filled * (1.0 - LEAST_SAVING))
            .then(|| bought_at.into_iter().zip(bought.iter().map(|b| b.ceil())).collect())
    }

    /// Use from now to a slot that all but a few lives stay below.
    fn high_use(&self, slot: usize, stock: usize) -> f64 {
        let mut used = vec![0.0; self.problem.lives];
        for steps in &self.steps[..slot] {
            used.iter_mut().zip(&steps[stock]).for_each(|(used, step)| *used += step);
        }
        let used = sorted(used);
        used[((used.len() as f64) * (1.0 - HIGHER)) as usize]
    }

    /// Level now that all but a few lives are above.
    fn low_level(&self, stock: usize) -> f64 {
        let level = self.case.beliefs.level(stock);
        level.mean - LOWER_SDS * level.sd
    }
}
