//! What all groups of lives share, worked out once.

use super::clock::CumulativeIntensity;
use super::grid::{BLOCK, FAN_STEP};
use super::renewal::scatters;
use crate::belief::Beliefs;
use crate::belief::habit::Habit;
use crate::domain::once_each;
use crate::forecast::limit::Limit;
use crate::forecast::scene::Scene;
use crate::forecast::variants::{LevelChange, Variant};
use crate::mechanism::climate::KitHour;
use crate::mechanism::climate::lanes::LANES;
use crate::mechanism::driver::Source;
use crate::mechanism::{Mechanism, Rhythm};
use crate::physics::real::Real;
use std::ops::Range;

/// What is asked of the lives besides their passages.
#[derive(Clone, Copy)]
pub(super) enum Extras<'a> {
    /// Nothing.
    Passages,
    /// Every level, every [`FAN_STEP`] hours.
    Fans,
    /// What moves this stock, hour by hour, and no more.
    OneStock(usize),
    /// Further sets of levels, carried along.
    Variants(&'a [Variant]),
}

/// How one stock is run.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct StockSetup {
    pub capacity: f64,
    pub limit: Limit,
    /// Whether every flow moves it towards its limit. Then a block of hours that ends short of
    /// the limit never met it, and only the sum matters.
    pub one_way: bool,
    pub reset_by_camp: bool,
    pub serviced_level: f64,
    /// What is done to it, at the start of which hours, in their order.
    pub puts: Vec<(usize, LevelChange)>,
    /// Its place among the fuels that warm the van; the electric store's hours know without.
    pub fuel: Option<usize>,
    /// The activities that move it, each with the place of that effect among its effects.
    pub moved_by: Vec<(usize, usize)>,
}

impl StockSetup {
    /// Does what is done to it at the start of an hour.
    #[inline(always)]
    pub(super) fn put<F: Real>(&self, hour: usize, levels: &mut [F; LANES]) {
        for (_, put) in self.puts.iter().filter(|put| put.0 == hour) {
            put.apply(self.capacity, &self.limit, levels);
        }
    }

    /// Whether anything is done to it within some hours.
    pub(super) fn is_put(&self, hours: &Range<usize>) -> bool {
        self.puts.iter().any(|put| hours.contains(&put.0))
    }
}

/// What all groups share.
pub(super) struct RunSetup<'a> {
    pub beliefs: &'a Beliefs,
    pub scene: &'a Scene,
    pub stocks: Vec<StockSetup>,
    pub electric: Option<usize>,
    /// What warms the van, in the order of use, as far as it is among the stocks.
    pub fuels: Vec<Option<usize>>,
    pub hours: Vec<KitHour>,
    /// Per activity, its clock.
    pub clocks: Vec<CumulativeIntensity>,
    /// Per activity, how far one occurrence differs from the next, relatively.
    pub scatters: Vec<f32>,
    /// Sources other than activities, each once.
    pub drivers: Vec<Source>,
    /// Planned amounts in order of hours, and per hour (and for the end) the place of its first.
    planned: Vec<(Source, f64)>,
    planned_from: Vec<usize>,
    /// Per hour: the civil day, an index into the scene's days, and the charge from outside that
    /// is planned, in Wh at the battery.
    pub outside: Vec<(u32, f32)>,
    /// Per rhythm of base use, its person-days or days per hour, and per block, in 24ths: an even
    /// day is a whole one in each of its hours.
    pub base: Vec<Vec<f64>>,
    pub block_base: Vec<Vec<f64>>,
    /// Relative standard deviation of base use, per day ahead.
    pub base_day_sd: Vec<f64>,
    /// Whether somebody tends a fire that burns more than is wanted.
    pub tends_a_fire: bool,
    /// Whether the van moves camp, per hour.
    pub moves: Vec<bool>,
    /// Hours in a block.
    pub step: usize,
    wanted: Extras<'a>,
}

impl<'a> RunSetup<'a> {
    pub(super) fn of(beliefs: &'a Beliefs, scene: &'a Scene, wanted: Extras<'a>) -> RunSetup<'a> {
        let mechanism = &beliefs.mechanism;
        let step = if matches!(wanted, Extras::Fans) { FAN_STEP } else { BLOCK };
        let all = scene.hours.iter();
        let counts = all.clone().map(|hour| hour.planned.len());
        let running = counts.scan(0, |sum, count| {
            *sum += count;
            Some(*sum)
        });
        let held = |rhythm: &Rhythm| -> Vec<f64> {
            let all = scene.hours.iter();
            all.map(|hour| 24.0 * rhythm.in_hour(hour.hour, hour.aboard)).collect()
        };
        let base: Vec<Vec<f64>> = mechanism.rhythms.iter().map(held).collect();
        let by_block = |hours: &Vec<f64>| hours.chunks(step).map(|b| b.iter().sum()).collect();
        RunSetup {
            stocks: stocks(beliefs, scene),
            electric: mechanism.electric,
            fuels: mechanism.heat_fuels(),
            hours: kit_hours(scene),
            clocks: clocks(beliefs, scene, step),
            scatters: scatters(mechanism),
            base_day_sd: all
                .clone()
                .step_by(BLOCK)
                .map(|hour| beliefs.manner.base_day_sd(hour.aboard))
                .collect(),
            tends_a_fire: mechanism.parts.tends_a_fire(),
            drivers: drivers(beliefs),
            planned_from: std::iter::once(0).chain(running).collect(),
            planned: all.clone().flat_map(|hour| hour.planned.iter().copied()).collect(),
            outside: all.clone().map(|h| (h.day as u32, h.planned_charge_wh as f32)).collect(),
            block_base: base.iter().map(by_block).collect(),
            base,
            moves: all.map(|hour| hour.moves_camp).collect(),
            step,
            beliefs,
            scene,
            wanted,
        }
    }

    /// What is planned within a range of hours: sources and amounts.
    #[inline(always)]
    pub(super) fn planned_in(&self, hours: &Range<usize>) -> &[(Source, f64)] {
        &self.planned[self.planned_from[hours.start]..self.planned_from[hours.end]]
    }

    /// The stocks that warm the van, without the electric store.
    pub(super) fn burnt_stocks(&self) -> impl Iterator<Item = usize> + '_ {
        self.fuels.iter().flatten().copied().filter(|fuel| Some(*fuel) != self.electric)
    }

    /// Further sets of levels to carry along.
    pub(super) fn variants(&self) -> &'a [Variant] {
        match self.wanted {
            Extras::Variants(variants) => variants,
            _ => &[],
        }
    }

    /// The only stock that is asked for, if it is one.
    pub(super) fn one_stock(&self) -> Option<usize> {
        match self.wanted {
            Extras::OneStock(stock) => Some(stock),
            _ => None,
        }
    }

    /// Points of the fans; 0 where none are asked for.
    pub(super) fn fan_points(&self) -> usize {
        match self.wanted {
            Extras::Fans => self.hours.len() / FAN_STEP,
            _ => 0,
        }
    }

    /// Whether levels are asked for, whatever became of them.
    #[inline(always)]
    pub(super) fn wants_levels(&self) -> bool {
        !matches!(self.wanted, Extras::Passages)
    }
}

fn stocks(beliefs: &Beliefs, scene: &Scene) -> Vec<StockSetup> {
    let Mechanism { flows, electric, .. } = &beliefs.mechanism;
    let fuels = beliefs.mechanism.heat_fuels();
    let mut planned = scene.hours.iter().flat_map(|hour| &hour.planned);
    let taken_back = planned.any(|(_, amount)| *amount < 0.0);
    let stocks = beliefs.mechanism.stocks().iter().enumerate();
    stocks
        .map(|(s, stock)| {
            let limit = Limit::of(stock);
            let puts = scene.puts.iter();
            let mut own = flows.iter().filter(|flow| flow.stock == s);
            let fuel = fuels.iter().position(|fuel| *fuel == Some(s) && *fuel != *electric);
            let towards = own.all(|flow| limit.sign * flow.scale <= 0.0);
            StockSetup {
                capacity: stock.capacity,
                limit,
                one_way: !taken_back && towards && (fuel.is_none() || limit.sign > 0.0),
                fuel,
                reset_by_camp: stock.reset_by_camp,
                serviced_level: stock.serviced_level(),
                puts: puts.filter(|put| put.1 == s).map(|put| (put.0, put.2)).collect(),
                moved_by: moved_by(beliefs, s),
            }
        })
        .collect()
}

/// The activities that move a stock, with the place of that effect in [`super::effects::effects`]:
/// an activity's stocks in the order in which its flows first name them.
fn moved_by(beliefs: &Beliefs, s: usize) -> Vec<(usize, usize)> {
    let place = |a: usize| {
        let own = beliefs.mechanism.flows.iter().filter(|f| f.source == Source::Activity(a));
        once_each(own.map(|flow| flow.stock)).iter().position(|stock| *stock == s)
    };
    (0..beliefs.habits.len()).filter_map(|a| Some((a, place(a)?))).collect()
}

/// Every driver, and every rhythm of base use, that moves anything.
fn drivers(beliefs: &Beliefs) -> Vec<Source> {
    let moves = |source: &Source| matches!(source, Source::Driver(_) | Source::Base(_));
    once_each(beliefs.mechanism.flows.iter().map(|flow| flow.source).filter(moves))
}

fn kit_hours(scene: &Scene) -> Vec<KitHour> {
    scene
        .hours
        .iter()
        .map(|hour| {
            let sky = &scene.days[hour.day].sky;
            scene.kit.shared(hour.surroundings(sky), &hour.sun)
        })
        .collect()
}

fn clocks(beliefs: &Beliefs, scene: &Scene, step: usize) -> Vec<CumulativeIntensity> {
    let clock = |(activity, habit): (usize, &Habit)| {
        let exposures = scene.hours.iter().map(|hour| scene.exposure(activity, habit, hour));
        CumulativeIntensity::of(exposures, step)
    };
    beliefs.habits.iter().enumerate().map(clock).collect()
}
