//! What all groups of lives share, worked out once.

use super::FAN_STEP;
use super::clock::Clock;
use super::group::BLOCK;
use crate::belief::Beliefs;
use crate::domain::flow::Driver;
use crate::domain::stock::{Direction, Stock};
use crate::forecast::scene::{HourAhead, Scene};
use crate::forecast::tracks::Track;
use crate::mechanism::climate::{KitHour, heater_fuel};
use crate::mechanism::driver::Source;
use std::ops::Range;

/// How one stock is run.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct StockPlan {
    pub capacity: f64,
    pub limit: f64,
    /// 1 for a draining stock, -1 for a filling one: `sign * (level - limit) <= 0` is out.
    pub sign: f64,
    /// Whether every flow moves it towards its limit. Then a block of hours that ends short of
    /// the limit never met it, and only the sum matters.
    pub one_way: bool,
    pub reset_by_camp: bool,
    pub serviced_level: f64,
}

/// What all groups share.
pub(super) struct Plan<'a> {
    pub beliefs: &'a Beliefs,
    pub scene: &'a Scene,
    pub stocks: Vec<StockPlan>,
    /// Per stock, the activities that move it.
    pub moved_by: Vec<Vec<usize>>,
    pub electric: Option<usize>,
    pub fuel: Option<usize>,
    pub hours: Vec<KitHour>,
    /// Per activity, its clock.
    pub clocks: Vec<Clock>,
    /// Planned amounts by hour, drivers and activities alike.
    pub planned: Vec<(usize, Source, f64)>,
    /// Sources other than activities, each once.
    pub drivers: Vec<Source>,
    /// Per hour: the civil day, an index into the scene's days, and the charge from outside that
    /// is planned, in Wh at the battery.
    pub outside: Vec<(u32, f32)>,
    /// Person-days of base use per hour, and per block.
    pub person_days: Vec<f64>,
    pub block_person_days: Vec<f64>,
    /// Whether the van moves camp, per hour.
    pub moves: Vec<bool>,
    /// Hours in a block.
    pub step: usize,
    pub with_fans: bool,
    /// Further sets of levels to carry along.
    pub tracks: &'a [Track],
}

impl<'a> Plan<'a> {
    pub fn of(
        beliefs: &'a Beliefs,
        scene: &'a Scene,
        with_fans: bool,
        tracks: &'a [Track],
    ) -> Plan<'a> {
        let mechanism = &beliefs.mechanism;
        let planned: Vec<(usize, Source, f64)> = scene
            .hours
            .iter()
            .enumerate()
            .flat_map(|(index, hour)| hour.planned.iter().map(move |(s, n)| (index, *s, *n)))
            .collect();
        let mut drivers: Vec<Source> =
            vec![Source::Driver(Driver::PersonDay), Source::Driver(Driver::Day)];
        for flow in &mechanism.flows {
            if matches!(flow.source, Source::Driver(_)) && !drivers.contains(&flow.source) {
                drivers.push(flow.source);
            }
        }
        let step = if with_fans { FAN_STEP } else { BLOCK };
        let taken_back = planned.iter().any(|(_, _, amount)| *amount < 0.0);
        let person_days: Vec<f64> = scene.hours.iter().map(|hour| hour.person_days).collect();
        let fuel = heater_fuel(mechanism).filter(|fuel| Some(*fuel) != mechanism.electric);
        Plan {
            stocks: (0..mechanism.stocks().len())
                .map(|s| stock_plan(beliefs, s, fuel, taken_back))
                .collect(),
            moved_by: (0..mechanism.stocks().len()).map(|s| moved_by(beliefs, s)).collect(),
            electric: mechanism.electric,
            fuel,
            hours: kit_hours(scene),
            clocks: clocks(beliefs, scene, step),
            step,
            outside: scene.hours.iter().map(outside).collect(),
            block_person_days: person_days.chunks(step).map(|block| block.iter().sum()).collect(),
            person_days,
            moves: scene.hours.iter().map(|hour| hour.moves_camp).collect(),
            planned,
            drivers,
            beliefs,
            scene,
            with_fans,
            tracks,
        }
    }

    /// What is planned within a range of hours.
    pub fn planned_in(&self, hours: &Range<usize>) -> &[(usize, Source, f64)] {
        let from = self.planned.partition_point(|(hour, ..)| *hour < hours.start);
        let to = self.planned.partition_point(|(hour, ..)| *hour < hours.end);
        &self.planned[from..to]
    }
}

fn outside(hour: &HourAhead) -> (u32, f32) {
    (hour.day as u32, hour.planned_charge_wh as f32)
}

fn moved_by(beliefs: &Beliefs, s: usize) -> Vec<usize> {
    let flows = &beliefs.mechanism.flows;
    let moves = |a: &usize| flows.iter().any(|f| f.stock == s && f.source == Source::Activity(*a));
    (0..beliefs.habits.len()).filter(moves).collect()
}

fn stock_plan(beliefs: &Beliefs, s: usize, fuel: Option<usize>, taken_back: bool) -> StockPlan {
    let stock: &Stock = &beliefs.mechanism.stocks()[s];
    let sign = if stock.runs == Direction::Down { 1.0 } else { -1.0 };
    let mut flows = beliefs.mechanism.flows.iter().filter(|flow| flow.stock == s);
    StockPlan {
        capacity: stock.capacity,
        limit: stock.limit(),
        sign,
        one_way: !taken_back
            && flows.all(|flow| sign * flow.scale <= 0.0)
            && (fuel != Some(s) || sign > 0.0),
        reset_by_camp: stock.reset_by_camp,
        serviced_level: stock.serviced_level(),
    }
}

fn kit_hours(scene: &Scene) -> Vec<KitHour> {
    scene
        .hours
        .iter()
        .map(|hour| {
            let sky = &scene.days[hour.day].sky;
            let expected_c = sky.low_c + (sky.high_c - sky.low_c) * hour.warmth;
            scene.kit.shared(hour.hour, hour.aboard, expected_c, &hour.sun)
        })
        .collect()
}

fn clocks(beliefs: &Beliefs, scene: &Scene, step: usize) -> Vec<Clock> {
    let habits = beliefs.habits.iter().zip(&scene.shares);
    let clock = |(habit, shares): (&crate::belief::habit::Habit, &[f64; 24])| {
        let exposures = scene.hours.iter().map(|h| habit.people(h.aboard) * shares[h.hour]);
        Clock::of(exposures, step)
    };
    habits.map(clock).collect()
}
