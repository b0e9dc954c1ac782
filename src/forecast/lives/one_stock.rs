//! One stock in all lives, run again and again with other things done to it: what moves a stock
//! does not depend on its level, so that the lives need not be drawn anew.

use super::group::walk::{Hours, Until, walk};
use super::setup::{Extras, RunSetup, StockSetup};
use super::{Batch, run_wide};
use crate::belief::Beliefs;
use crate::forecast::lives::group::Store;
use crate::forecast::sampler::Sampler;
use crate::forecast::scene::Scene;
use crate::forecast::variants::LevelChange;
use crate::mechanism::climate::lanes::{LANES, Lane};

/// What moves one stock in each hour of each life.
#[derive(Debug)]
pub struct OneStock {
    setup: StockSetup,
    /// Whether the van moves camp, per hour.
    moves: Vec<bool>,
    /// Hours after which it is gone for good.
    leaves: f64,
    /// Whether another stands in for it.
    stood_in: bool,
    count: usize,
    /// Per group of lives, levels at the start and what moves them, hour by hour.
    groups: Vec<(Lane, Vec<Lane>)>,
}

impl OneStock {
    /// Draws `count` lives as [`super::run`] does. It takes four bytes for each of their hours.
    pub fn of(
        beliefs: &Beliefs,
        scene: &Scene,
        (seed, count): (u64, usize),
        stock: usize,
    ) -> OneStock {
        let mut setup = RunSetup::of(beliefs, scene, Extras::OneStock(stock));
        setup.stocks[stock].puts.clear();
        let mut groups = Vec::with_capacity(count.div_ceil(LANES));
        Batch::of(&setup, &Sampler::of(beliefs, seed), count).groups(
            Store::RunToEnd,
            run_wide,
            |group| groups.push((group.first[stock].map(|level| level as f32), group.changes)),
        );
        let own = setup.stocks.swap_remove(stock);
        let (leaves, stood_in) = (scene.leaves[stock], scene.stood_in[stock]);
        OneStock { setup: own, moves: setup.moves, leaves, stood_in, count, groups }
    }

    /// Hours to the limit, life by life, when so much is done to the stock, `(hour, what)`; infinite
    /// where it is not met within the horizon.
    pub fn passages(&self, puts: Vec<(usize, LevelChange)>) -> Vec<f64> {
        let stock = &StockSetup { puts, ..self.setup.clone() };
        let block = &(0..self.moves.len());
        let mut all = Vec::with_capacity(self.groups.len() * LANES);
        for (first, changes) in &self.groups {
            let mut level = *first;
            stock.put(0, &mut level);
            let sought = level.map(|level| !stock.limit.is_out(level.into()));
            let hours = Hours { stock, moves: &self.moves, block };
            let met =
                walk(hours, &mut level, (sought, Until::AllMet), |hour, _| changes[hour], |_| ());
            all.extend((0..LANES).map(|life| if sought[life] { met[life] } else { 0.0 }));
        }
        all.truncate(self.count);
        super::forget_after(std::slice::from_mut(&mut all), &[self.leaves]);
        super::forget_stood_in(std::slice::from_mut(&mut all), &[self.stood_in]);
        all
    }
}
