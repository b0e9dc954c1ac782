//! The lives: drawn, then stepped hour by hour, all stocks together.
//!
//! Lives are stepped in small groups, a stock's levels in the group side by side, so that the
//! inner loops run over lives. Which stocks there are, what moves them and where they bind is
//! data from the mechanism: no stock is special here, but for the two places where sun and cold
//! come in.

use super::draw::{ACTIVITY, BASE, Countdown, Drawer, LifeDraw, Stream, WEATHER, stream};
use super::scene::{HourAhead, Scene};
use super::tracks::{self, Track, TrackGroup, TrackLives};
use crate::belief::Beliefs;
use crate::belief::electric::climate_values;
use crate::domain::flow::Driver;
use crate::domain::stock::Direction;
use crate::mechanism::climate::{ClimateValues, HourWeather, heater_fuel};
use crate::mechanism::driver::Source;
use crate::weather::ahead::Departure;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// What the lives came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Lives {
    /// Number of lives.
    pub count: usize,
    /// Hours to the limit, `[stock][life]`; infinite where it is not met within the horizon.
    pub passages: Vec<Vec<f64>>,
    /// Levels at the start, `[stock][life]`.
    pub first: Vec<Vec<f64>>,
    /// Levels every [`FAN_STEP`] hours, `[point][stock][life]`; empty unless asked for.
    pub fans: Vec<Vec<Vec<f32>>>,
    /// Lowest level of the electric store per day ahead, `[day][life]`; empty without one.
    pub lowest: Vec<Vec<f32>>,
    /// Level after three days (or at the horizon), `[stock][life]`.
    pub third_day: Vec<Vec<f64>>,
}

/// Hours between the points of a fan.
pub const FAN_STEP: usize = 6;
/// Lives stepped side by side.
const GROUP: usize = 32;
/// Relative spread of one occurrence, and of one person-bound day, around the life's own mean.
/// Common practice, no source.
const OCCURRENCE: f64 = 0.25;
const BASE_DAY: f64 = 0.2;

/// Draws and steps `count` lives as [`run`] does, and carries the levels of `tracks` along.
pub fn run_tracks(
    beliefs: &Beliefs,
    scene: &Scene,
    seed: u64,
    count: usize,
    tracks: &[Track],
) -> Vec<TrackLives> {
    let drawer = Drawer::of(beliefs, seed);
    let groups: Vec<Group> = (0..count.div_ceil(GROUP))
        .into_par_iter()
        .map(|group| {
            let lives = group * GROUP..((group + 1) * GROUP).min(count);
            Group::live(beliefs, scene, &drawer, seed, lives, false, tracks)
        })
        .collect();
    let stocks = beliefs.mechanism.stocks().len();
    (0..tracks.len())
        .map(|t| {
            let of: Vec<_> = groups.iter().map(|g| (g.width, &g.tracks[t])).collect();
            tracks::gather(&of, stocks)
        })
        .collect()
}

/// Draws and steps `count` lives. The same seed gives the same lives on any number of threads.
pub fn run(beliefs: &Beliefs, scene: &Scene, seed: u64, count: usize, with_fans: bool) -> Lives {
    let drawer = Drawer::of(beliefs, seed);
    let groups: Vec<Group> = (0..count.div_ceil(GROUP))
        .into_par_iter()
        .map(|group| {
            let lives = group * GROUP..((group + 1) * GROUP).min(count);
            Group::live(beliefs, scene, &drawer, seed, lives, with_fans, &[])
        })
        .collect();
    gather(groups, count)
}

/// A few lives side by side. Arrays indexed `[stock * width + life]` unless said otherwise.
struct Group {
    width: usize,
    first: Vec<f64>,
    level: Vec<f64>,
    passage: Vec<f64>,
    third_day: Vec<f64>,
    fans: Vec<Vec<f32>>,
    lowest: Vec<Vec<f32>>,
    tracks: Vec<TrackGroup>,
}

/// One activity's effect on one stock, per occurrence, in each life of the group.
struct Effect {
    stock: usize,
    per_time: Vec<f64>,
}

impl Group {
    fn live(
        beliefs: &Beliefs,
        scene: &Scene,
        drawer: &Drawer,
        seed: u64,
        lives: std::ops::Range<usize>,
        with_fans: bool,
        tracks: &[Track],
    ) -> Group {
        let draws: Vec<LifeDraw> = lives.clone().map(|life| drawer.life(life)).collect();
        let (width, stocks) = (draws.len(), beliefs.mechanism.stocks());
        let level: Vec<f64> =
            (0..stocks.len()).flat_map(|s| draws.iter().map(move |draw| draw.levels[s])).collect();
        let mut group = Group {
            width,
            first: level.clone(),
            passage: vec![f64::INFINITY; level.len()],
            third_day: level.clone(),
            level,
            fans: Vec::new(),
            lowest: Vec::new(),
            tracks: tracks.iter().map(|t| TrackGroup::of(t, stocks.len() * width)).collect(),
        };
        for (s, stock) in stocks.iter().enumerate() {
            for l in 0..width {
                if stock.is_out(group.level[s * width + l]) {
                    group.passage[s * width + l] = 0.0;
                }
            }
        }
        Steps::of(beliefs, scene, &draws, seed, lives).run(&mut group, with_fans);
        group
    }
}

/// Everything that the steps of a group need, laid out once.
struct Steps<'a> {
    beliefs: &'a Beliefs,
    scene: &'a Scene,
    width: usize,
    /// Per activity: its effects.
    effects: Vec<Vec<Effect>>,
    /// Per driver source that occurs: its effects.
    driven: Vec<(Source, Vec<Effect>)>,
    rates: Vec<Vec<f64>>,
    countdowns: Vec<Vec<Countdown>>,
    climate: Vec<ClimateValues>,
    departures: Vec<(Departure, Stream)>,
    base: Vec<Stream>,
}

impl<'a> Steps<'a> {
    fn of(
        beliefs: &'a Beliefs,
        scene: &'a Scene,
        draws: &[LifeDraw],
        seed: u64,
        lives: std::ops::Range<usize>,
    ) -> Steps<'a> {
        let mechanism = &beliefs.mechanism;
        let effects_of = |source: Source| effects(beliefs, draws, source);
        let activities = mechanism.parts.activities.len();
        let mut sources: Vec<Source> = Vec::new();
        for flow in &mechanism.flows {
            if matches!(flow.source, Source::Driver(_)) && !sources.contains(&flow.source) {
                sources.push(flow.source);
            }
        }
        Steps {
            beliefs,
            scene,
            width: draws.len(),
            effects: (0..activities).map(|a| effects_of(Source::Activity(a))).collect(),
            driven: sources.into_iter().map(|source| (source, effects_of(source))).collect(),
            rates: (0..activities).map(|a| draws.iter().map(|d| d.rates[a]).collect()).collect(),
            countdowns: (0..activities)
                .map(|a| {
                    let purpose = ACTIVITY + a as u64;
                    let fano = beliefs.habits[a].fano;
                    lives
                        .clone()
                        .map(|l| Countdown::start(fano, stream(seed, l, purpose)))
                        .collect()
                })
                .collect(),
            climate: draws.iter().map(|d| climate_values(mechanism, &d.coefficients)).collect(),
            departures: lives
                .clone()
                .map(|l| (Departure::default(), stream(seed, l, WEATHER)))
                .collect(),
            base: lives.map(|l| stream(seed, l, BASE)).collect(),
        }
    }

    fn run(mut self, group: &mut Group, with_fans: bool) {
        let hours = self.scene.hours.len();
        let (stocks, width) = (self.beliefs.mechanism.stocks().len(), self.width);
        let mut events = vec![0.0; 24 * stocks * width];
        let mut swing = vec![1.0; width];
        let mut weather = vec![(0.0, 0.0); width];
        let mut sky_day = usize::MAX;
        let mut delta = vec![0.0; stocks * width];
        for block in (0..hours).step_by(24) {
            let ends = (block + 24).min(hours);
            self.occurrences(block..ends, &mut events);
            for (swing, random) in swing.iter_mut().zip(&mut self.base) {
                let z: f64 = StandardNormal.sample(random);
                *swing = (1.0 + BASE_DAY * z).max(0.1);
            }
            let mut lowest = vec![f32::INFINITY; width];
            for index in block..ends {
                let hour = &self.scene.hours[index];
                if hour.day != sky_day {
                    sky_day = hour.day;
                    let day = &self.scene.days[sky_day];
                    for (now, (departure, random)) in weather.iter_mut().zip(&mut self.departures) {
                        *now = departure.next(day, random);
                    }
                }
                let place = (index - block) * stocks * width;
                delta.copy_from_slice(&events[place..place + stocks * width]);
                self.drivers(hour, &swing, &mut delta);
                self.climate(hour, &weather, &mut delta);
                let kinds = self.beliefs.mechanism.stocks();
                for track in &mut group.tracks {
                    track.open(index, &group.level, kinds, width);
                    track.step(index, hour, &delta, kinds, width);
                }
                self.step(index, hour, &delta, group, &mut lowest);
                if index + 1 == 72.min(hours) {
                    group.third_day.clone_from(&group.level);
                }
                if with_fans && (index + 1) % FAN_STEP == 0 {
                    group.fans.push(group.level.iter().map(|v| *v as f32).collect());
                }
            }
            if self.beliefs.mechanism.electric.is_some() {
                group.lowest.push(lowest);
            }
        }
    }

    /// Lays the occurrences of every activity in a block of hours into `events`.
    fn occurrences(&mut self, block: std::ops::Range<usize>, events: &mut [f64]) {
        events.fill(0.0);
        let row = events.len() / 24;
        for (a, countdowns) in self.countdowns.iter_mut().enumerate() {
            let habit = &self.beliefs.habits[a];
            let mut reached = 0.0;
            let cumulative: Vec<f64> = self.scene.hours[block.clone()]
                .iter()
                .map(|hour| {
                    reached += habit.people(hour.aboard) * self.scene.shares[a][hour.hour];
                    reached
                })
                .collect();
            for (l, countdown) in countdowns.iter_mut().enumerate() {
                let rate = self.rates[a][l];
                let mut passed = 0.0;
                for (index, upto) in cumulative.iter().enumerate() {
                    while countdown.left() <= rate * upto - passed {
                        passed += countdown.left();
                        countdown.pass(countdown.left());
                        let size = countdown.occur(OCCURRENCE) * habit.size;
                        for effect in &self.effects[a] {
                            let cell = index * row + effect.stock * self.width + l;
                            events[cell] += effect.per_time[l] * size;
                        }
                    }
                }
                countdown.pass(rate * reached - passed);
            }
        }
    }

    /// Base use and what is planned.
    fn drivers(&self, hour: &HourAhead, swing: &[f64], delta: &mut [f64]) {
        let width = self.width;
        for (source, effects) in &self.driven {
            let planned: f64 =
                hour.planned.iter().filter(|(s, _)| s == source).map(|(_, amount)| amount).sum();
            let (amount, swings) = match source {
                Source::Driver(Driver::PersonDay) => (hour.person_days, true),
                Source::Driver(Driver::Day) => (1.0 / 24.0, false),
                _ => (planned, false),
            };
            if amount == 0.0 {
                continue;
            }
            for effect in effects {
                let cells = &mut delta[effect.stock * width..(effect.stock + 1) * width];
                for l in 0..width {
                    let swing = if swings { swing[l] } else { 1.0 };
                    cells[l] += effect.per_time[l] * amount * swing;
                }
            }
        }
        for (source, amount) in &hour.planned {
            if let Source::Activity(a) = source {
                for effect in &self.effects[*a] {
                    let cells = &mut delta[effect.stock * width..(effect.stock + 1) * width];
                    cells.iter_mut().zip(&effect.per_time).for_each(|(c, e)| *c += e * amount);
                }
            }
        }
    }

    /// Sun and cold.
    fn climate(&self, hour: &HourAhead, weather: &[(f64, f64)], delta: &mut [f64]) {
        let mechanism = &self.beliefs.mechanism;
        let fuel = heater_fuel(mechanism);
        let (electric, width) = (mechanism.electric, self.width);
        if electric.is_none() && fuel.is_none() {
            return;
        }
        let sky = &self.scene.days[hour.day].sky;
        let expected_c = sky.low_c + (sky.high_c - sky.low_c) * hour.warmth;
        for l in 0..width {
            let (offset_k, clearness) = weather[l];
            let weather = HourWeather { outside_c: expected_c + offset_k, clearness };
            let flows =
                self.scene.kit.hour(hour.hour, hour.aboard, weather, &hour.sun, &self.climate[l]);
            if let Some(fuel) = fuel {
                delta[fuel * width + l] -= flows.fuel;
            }
            if let Some(electric) = electric {
                delta[electric * width + l] +=
                    flows.solar_wh + hour.planned_charge_wh - flows.load_wh;
            }
        }
    }

    /// Moves the levels, clamps them, and notes the passages.
    fn step(
        &self,
        index: usize,
        hour: &HourAhead,
        delta: &[f64],
        group: &mut Group,
        lowest: &mut [f32],
    ) {
        let width = self.width;
        for (s, stock) in self.beliefs.mechanism.stocks().iter().enumerate() {
            let (limit, capacity) = (stock.limit(), stock.capacity);
            let cells = s * width..(s + 1) * width;
            let sign = if stock.runs == Direction::Down { 1.0 } else { -1.0 };
            let levels = &mut group.level[cells.clone()];
            let passages = &mut group.passage[cells.clone()];
            for ((level, passage), change) in levels.iter_mut().zip(passages).zip(&delta[cells]) {
                let before = *level;
                let after = (before + change).clamp(0.0, capacity);
                if passage.is_infinite() && sign * (after - limit) <= 0.0 {
                    let part = ((before - limit) / (before - after)).clamp(0.0, 1.0);
                    *passage = index as f64 + if part.is_finite() { part } else { 1.0 };
                }
                *level = after;
            }
            if hour.moves_camp && stock.reset_by_camp {
                levels.fill(stock.serviced_level());
            }
            if self.beliefs.mechanism.electric == Some(s) {
                lowest.iter_mut().zip(levels).for_each(|(low, now)| *low = low.min(*now as f32));
            }
        }
    }
}

/// What a source does to each stock, per occurrence, in each life.
fn effects(beliefs: &Beliefs, draws: &[LifeDraw], source: Source) -> Vec<Effect> {
    let mut effects: Vec<Effect> = Vec::new();
    for flow in beliefs.mechanism.flows.iter().filter(|flow| flow.source == source) {
        let of = |draw: &LifeDraw| {
            let share = flow.share.map_or(1.0, |s| draw.coefficients[s]);
            flow.scale * draw.coefficients[flow.coefficient] * share
        };
        match effects.iter_mut().find(|effect| effect.stock == flow.stock) {
            Some(known) => {
                known.per_time.iter_mut().zip(draws).for_each(|(cell, draw)| *cell += of(draw));
            }
            None => {
                effects.push(Effect { stock: flow.stock, per_time: draws.iter().map(of).collect() })
            }
        }
    }
    effects
}

/// Joins the groups, life after life.
fn gather(groups: Vec<Group>, count: usize) -> Lives {
    let stocks = groups.first().map_or(0, |g| g.level.len() / g.width.max(1));
    let per_stock = |of: &dyn Fn(&Group) -> &Vec<f64>| -> Vec<Vec<f64>> {
        (0..stocks)
            .map(|s| {
                groups
                    .iter()
                    .flat_map(|g| of(g)[s * g.width..(s + 1) * g.width].iter().copied())
                    .collect()
            })
            .collect()
    };
    let points = groups.first().map_or(0, |g| g.fans.len());
    let days = groups.first().map_or(0, |g| g.lowest.len());
    Lives {
        count,
        passages: per_stock(&|g| &g.passage),
        first: per_stock(&|g| &g.first),
        third_day: per_stock(&|g| &g.third_day),
        fans: (0..points)
            .map(|p| {
                (0..stocks)
                    .map(|s| {
                        groups
                            .iter()
                            .flat_map(|g| g.fans[p][s * g.width..(s + 1) * g.width].iter().copied())
                            .collect()
                    })
                    .collect()
            })
            .collect(),
        lowest: (0..days)
            .map(|d| groups.iter().flat_map(|g| g.lowest[d].iter().copied()).collect())
            .collect(),
    }
}
