//! What all groups of lives share, worked out once.

use super::FAN_STEP;
use super::group::BLOCK;
use crate::belief::Beliefs;
use crate::domain::flow::Driver;
use crate::domain::stock::{Direction, Stock};
use crate::forecast::scene::Scene;
use crate::forecast::tracks::Track;
use crate::mechanism::climate::heater_fuel;
use crate::mechanism::climate::lanes::KitHour;
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

/// A habit's own clock: how many occurrences to expect, at a rate of 1, up to each hour. Hours
/// in which it cannot occur do not exist on it.
pub(super) struct Clock {
    /// Hour, and the block that it lies in.
    hours: Vec<(u32, u32)>,
    upto: Vec<f64>,
    /// For even steps of the clock, the place in `hours` to look from.
    begin: Vec<u32>,
    steps_per_unit: f64,
}

impl Clock {
    fn of(exposures: impl Iterator<Item = f64>, block: usize) -> Clock {
        let (mut hours, mut upto, mut reached) = (Vec::new(), Vec::new(), 0.0);
        let mut least = f64::INFINITY;
        for (hour, exposure) in exposures.enumerate().filter(|(_, exposure)| *exposure > 0.0) {
            reached += exposure;
            least = least.min(exposure);
            hours.push((hour as u32, (hour / block) as u32));
            upto.push(reached);
        }
        let steps = (reached / least).clamp(1.0, MOST_STEPS).ceil();
        let steps_per_unit = if reached > 0.0 { steps / reached } else { 0.0 };
        let begin = (0..=steps as usize)
            .map(|step| upto.partition_point(|to| *to < step as f64 / steps_per_unit) as u32);
        let begin = begin.collect();
        // Nothing happens beyond the horizon: a last entry stops every search.
        hours.extend([hours.last().copied().unwrap_or((0, 0)); 2]);
        upto.extend([f64::INFINITY; 2]);
        Clock { hours, upto, begin, steps_per_unit }
    }

    /// What it says at the end of the hour before `hour`.
    pub fn reading(&self, hour: usize) -> f64 {
        let known = self.hours.len() - 2;
        let before = self.hours[..known].partition_point(|(h, _)| (*h as usize) < hour);
        // Nothing can have occurred before its first hour.
        before.checked_sub(1).map_or(-1.0, |last| self.upto[last])
    }

    /// The hour at a reading of the clock, and its block.
    #[inline]
    pub fn hour(&self, reading: f64) -> (usize, usize) {
        let step = ((reading * self.steps_per_unit) as usize).min(self.begin.len() - 1);
        let mut place = self.begin[step] as usize;
        // A step is no longer than any hour's exposure, so it holds one border at most. Adding
        // instead of branching spares the processor a guess that is wrong half the time.
        place += usize::from(self.upto[place] < reading);
        while self.upto[place] < reading {
            place += 1;
        }
        let (hour, block) = self.hours[place];
        (hour as usize, block as usize)
    }
}

/// Most steps of a clock: more would not stay near the processor.
const MOST_STEPS: f64 = 4096.0;

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
    /// Person-days of base use per hour.
    pub person_days: Vec<f64>,
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
            person_days: scene.hours.iter().map(|hour| hour.person_days).collect(),
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

fn clocks(beliefs: &Beliefs, scene: &Scene, block: usize) -> Vec<Clock> {
    let habits = beliefs.habits.iter().zip(&scene.shares);
    let clock = |(habit, shares): (&crate::belief::habit::Habit, &[f64; 24])| {
        Clock::of(
            scene.hours.iter().map(|hour| habit.people(hour.aboard) * shares[hour.hour]),
            block,
        )
    };
    habits.map(clock).collect()
}
