//! The replay: what was logged moves the levels, what was read corrects them and teaches the
//! coefficients.
//!
//! Between two readings everything is linear in the coefficients, so exposures are only summed
//! and applied once, just before the next reading. A refill is an observation first (how much
//! went in says how low it was) and a reset after.

mod rivals;
mod service;
mod sums;
mod trial;

use rivals::Rivals;
use service::{full, left_at};
use sums::{Flows, Step, Sums};
pub use trial::{Outcome, Suspicion, Trial, suspect};

use super::electric;
pub use super::evidence::{exposure_of, in_unit, reading_interval};
use super::habit::Habit;
use super::joint::{Joint, Observation};
use super::past::{DayRecord, Past, PastHour};
use super::unlogged::Unlogged;
use super::{Beliefs, Innovation};
use crate::domain::entry::{After, Event};
use crate::domain::estimate::{Estimate, PastReading};
use crate::domain::flow::Driver;
use crate::domain::stock::{Direction, Gauge, Stock};
use crate::domain::time::{Moment, hours_between};
use crate::mechanism::Mechanism;
use crate::mechanism::climate::{self, ClimateValues, Kit};
use crate::mechanism::coefficient::Coefficient;
use crate::mechanism::driver::{DRIVERS, Source, person_hour_share, position};
use chrono::{Duration, NaiveDate};
use std::rc::Rc;

/// Relative spread of the fuel burnt in a day around what its weather asks for: recorded
/// weather, assumed weather. Common practice, no source.
const FUEL_KNOWN: f64 = 0.12;
const FUEL_ASSUMED: f64 = 0.5;
/// How far a coefficient may wander in a day, as a share of its spread between crews: old evidence
/// fades.
const WANDER: f64 = 0.015;
/// Error of a gauge beyond its step, and of "full" and "empty", as a share of capacity.
const GAUGE_SD: f64 = 0.008;
/// The same for a level that was guessed, without any gauge.
const GUESS_SD: f64 = 0.03;
/// Replays the past.
pub fn run(past: &Past, habits: Vec<Habit>, seed: u64) -> Beliefs {
    let mechanism = Mechanism::of(&past.parts);
    let mut replay = Replay::begin(past, &mechanism, &habits);
    let mut silent_days: Vec<NaiveDate> = Vec::new();
    for entry in &past.entries {
        replay.advance(entry.at);
        replay.take(entry.at, &entry.event);
    }
    replay.advance(past.now);
    replay.apply();
    for (day, record) in &past.days {
        if *record == DayRecord::Silent {
            silent_days.push(*day);
        }
    }
    let (joint, readings, surprises) = (replay.joint.main, replay.readings, replay.surprises);
    let count = mechanism.stocks().len();
    let known: Vec<Estimate> =
        (0..mechanism.coefficients.len()).map(|i| joint.estimate(count + i)).collect();
    let unlogged = Unlogged::of(&past.parts, &habits);
    let ground =
        electric::Ground { past, mechanism: &mechanism, known: &known, unlogged: &unlogged, seed };
    let (electric, misfits) = electric::run(&ground);
    let mut innovations = replay.innovations;
    if let Some(stock) = mechanism.electric {
        innovations[stock] = misfits;
    }
    Beliefs {
        joint,
        electric,
        habits,
        timeline: past.timeline.clone(),
        readings,
        surprises,
        innovations,
        silent_days,
        mechanism,
    }
}

/// The running state of a replay.
#[derive(Clone)]
struct Replay<'a> {
    past: &'a Past<'a>,
    mechanism: &'a Mechanism,
    flows: Flows<'a>,
    unlogged: Unlogged<'a>,
    kit: Kit,
    joint: Rivals,
    /// Stocks as they were at the moment reached, in the present rig's order.
    stocks: Vec<Rc<Stock>>,
    reached: Moment,
    /// What has been summed since the levels were last moved.
    sums: Sums,
    /// What is written down instead of applied, by a replay that only sums.
    noted: Option<Vec<Step>>,
    /// Dates of kit changes still ahead, latest first.
    changes: Vec<NaiveDate>,
    readings: Vec<Vec<PastReading>>,
    surprises: Vec<(usize, Moment, Estimate)>,
    innovations: Vec<Vec<Innovation>>,
}

impl<'a> Replay<'a> {
    fn begin(past: &'a Past<'a>, mechanism: &'a Mechanism, habits: &'a [Habit]) -> Replay<'a> {
        let stocks: Vec<Rc<Stock>> = mechanism.stocks().iter().cloned().map(Rc::new).collect();
        let mut estimates: Vec<Estimate> = mechanism.stocks().iter().map(unknown_level).collect();
        estimates.extend(mechanism.coefficients.iter().map(Coefficient::prior));
        let first_day = past.zone.date(past.from);
        let mut changes: Vec<NaiveDate> = past.rig.changes.iter().map(|c| c.from).collect();
        changes.retain(|from| *from > first_day);
        changes.sort_by(|a, b| b.cmp(a));
        let mut replay = Replay {
            past,
            mechanism,
            flows: Flows::of(mechanism),
            unlogged: Unlogged::of(&past.parts, habits),
            kit: Kit::of(mechanism),
            joint: Rivals::alone(Joint::independent(&estimates)),
            readings: vec![Vec::new(); stocks.len()],
            innovations: vec![Vec::new(); stocks.len()],
            stocks,
            reached: past.from,
            sums: Sums::none(past.parts.activities.len()),
            noted: None,
            changes,
            surprises: Vec::new(),
        };
        replay.put_stocks_of(first_day);
        replay
    }

    /// Sums exposures up to `to`, stopping at changes of kit.
    fn advance(&mut self, to: Moment) {
        while let Some(&change) = self.changes.last()
            && self.past.zone.date(to) >= change
        {
            self.changes.pop();
            self.change_kit(change);
        }
        let burning = self.burning();
        while self.reached < to {
            let since = hours_between(self.past.from, self.reached);
            let index = (since + 1e-9) as usize;
            let ends = self.past.from + Duration::hours(index as i64 + 1);
            let until = ends.min(to);
            if let Some(hour) = self.past.hours.get(index) {
                let part = hours_between(self.reached, until);
                self.sum_hour(hour, part, burning.as_ref());
                let begins = since - index as f64;
                for used in &self.past.used[index] {
                    self.sums.exposure.activities[used.activity] +=
                        used.between(begins, begins + part);
                }
                for run in &self.past.runs[index] {
                    self.sums.exposure.drivers[position(run.driver)] +=
                        run.between(begins, begins + part);
                }
            }
            self.reached = until;
        }
    }

    /// What a heater burns by, as believed until the next reading; none where nothing is burnt.
    fn burning(&self) -> Option<ClimateValues> {
        climate::heater_fuel(self.mechanism)
            .filter(|_| self.mechanism.climate.heat_loss.is_some())?;
        let count = self.stocks.len();
        Some(ClimateValues::of(self.mechanism, |i| self.joint.main.mean(count + i)))
    }

    fn sum_hour(&mut self, hour: &PastHour, part: f64, burning: Option<&ClimateValues>) {
        let sums = &mut self.sums;
        sums.elapsed_days += part / 24.0;
        let people = hour.aboard * person_hour_share(hour.hour) * part;
        sums.exposure.drivers[position(Driver::PersonDay)] += people;
        sums.exposure.drivers[position(Driver::Day)] += part / 24.0;
        for (index, amount) in self.unlogged.amounts(hour).enumerate() {
            sums.exposure.activities[index] += amount * part;
            sums.exposure.unlogged_variance[index] +=
                self.unlogged.variance(index, amount * part, hour);
        }
        let Some(usual) = burning else { return };
        let at = usual.loss_w_per_k;
        let burnt = |loss_w_per_k: f64| {
            let values = ClimateValues { loss_w_per_k, ..*usual };
            self.kit.fuel(hour.hour, hour.aboard, hour.weather, &hour.sun, &values) * part
        };
        let relative = if hour.weather_known { FUEL_KNOWN } else { FUEL_ASSUMED };
        let (low, high) = (burnt(0.9 * at), burnt(1.1 * at));
        self.sums.fuel.add_hour(at, (low, high), relative);
    }

    /// Moves the levels by what has been summed.
    fn apply(&mut self) {
        let Replay { mechanism, flows, unlogged, stocks, sums, joint, .. } = self;
        sums.move_levels(mechanism, flows, unlogged, stocks, joint);
        sums.clear();
    }

    fn take(&mut self, at: Moment, event: &Event) {
        match event {
            Event::Level { stock, reading, step } => {
                self.on_stock(stock, |replay, i, known, volts| {
                    let Some(value) = in_unit(reading, known, volts) else { return };
                    let (low, high) = reading_interval(known, value, reading, *step, volts);
                    let guessed = known.gauge == Gauge::None && step.is_none();
                    let noise = if guessed { GUESS_SD } else { GAUGE_SD };
                    let noise =
                        (noise * known.capacity).hypot(replay.divided_variance(i, at).sqrt());
                    replay.read(i, at, (low, high), noise);
                });
            }
            Event::Fill { stock, amount, after } => {
                self.on_stock(stock, |replay, i, known, volts| {
                    let amount = amount.as_ref().and_then(|q| in_unit(q, known, volts));
                    let after = after.as_ref().and_then(|after| match after {
                        After::Full => Some(full(known)),
                        After::Level(level) => left_at(level, known, volts),
                    });
                    replay.fill(i, at, known, amount, after);
                });
            }
            Event::Empty { stock, amount, after } => {
                self.on_stock(stock, |replay, i, known, volts| {
                    let amount = amount.as_ref().and_then(|q| in_unit(q, known, volts));
                    let after = after.as_ref().and_then(|q| left_at(q, known, volts));
                    replay.empty(i, at, known, amount, after);
                });
            }
            Event::Camp(_) => self.move_camp(),
            other => {
                // Logged uses are spread over their day already, and what runs by the hour over its
                // hours: see `Past::used` and `Past::runs`.
                if let Some((Source::Driver(driver), amount)) = exposure_of(other, &self.past.parts)
                    && !driver.is_by_the_hour()
                {
                    self.sums.exposure.drivers[position(driver)] += amount;
                }
            }
        }
    }

    fn on_stock(&mut self, name: &str, act: impl FnOnce(&mut Self, usize, &Stock, Option<f64>)) {
        let Some(index) = self.stocks.iter().position(|stock| stock.name == name) else { return };
        self.apply();
        let known = Rc::clone(&self.stocks[index]);
        act(self, index, &known, self.past.parts.volts());
    }

    /// Variance of a stock's level at a moment from uses that were written down later that day:
    /// each of them happened before it or after it.
    fn divided_variance(&self, i: usize, at: Moment) -> f64 {
        let count = self.stocks.len();
        let mut sum = 0.0;
        for (activity, amount, before) in self.past.divided(at) {
            let source = Source::Activity(activity);
            let flows = self.mechanism.flows.iter().filter(|f| f.stock == i && f.source == source);
            let each: f64 = flows
                .map(|flow| {
                    let share = flow.share.map_or(1.0, |s| self.joint.main.mean(count + s));
                    flow.scale * self.joint.main.mean(count + flow.coefficient) * share
                })
                .sum();
            sum += each * each * self.unlogged.count_variance(activity, amount, before);
        }
        sum
    }

    fn read(&mut self, i: usize, at: Moment, (low, high): (f64, f64), noise_sd: f64) {
        let range = self.stocks[i].capacity;
        // The first word about a level has nothing before it that it could be a slip against.
        if self.readings[i].is_empty() && self.mechanism.electric != Some(i) {
            let sd = ((high - low).powi(2) / 12.0 + noise_sd * noise_sd).sqrt();
            self.joint.reset(i, Estimate { mean: 0.5 * (low + high), sd });
        }
        // A gauge at its end stop says "this much or less": the interval already ends there.
        let fit = self.joint.observe(i, Observation { low, high, noise_sd, range });
        if fit.explained < 0.1 && self.mechanism.electric != Some(i) {
            self.surprises.push((i, at, fit.expected));
        }
        let previous = self.readings[i].last().map(|reading| reading.at);
        let off = 0.5 * (low + high) - fit.expected.mean;
        let sd = fit.expected.sd.hypot(noise_sd).hypot((high - low) / 12f64.sqrt());
        let since = previous.unwrap_or(at);
        self.innovations[i].push(Innovation { at, since, off, sd, likelihood: fit.likelihood });
        self.readings[i].push(PastReading { at, low, high, service: false });
        self.joint.clamp(i, 0.0, range);
    }

    fn move_camp(&mut self) {
        if self.stocks.iter().any(|stock| stock.reset_by_camp) {
            self.apply();
        }
        for i in 0..self.stocks.len() {
            if self.stocks[i].reset_by_camp {
                let mean = self.stocks[i].serviced_level();
                self.joint.reset(i, Estimate { mean, sd: 0.0 });
            }
        }
    }

    fn change_kit(&mut self, date: NaiveDate) {
        let until = self.past.zone.moment(date.and_time(chrono::NaiveTime::MIN));
        if until > self.reached {
            self.advance_within(until);
        }
        if let Some(noted) = &mut self.noted {
            noted.push(Step::Pass(self.sums.take()));
            noted.push(Step::Kit(date));
            return;
        }
        self.apply();
        self.put_stocks_of(date);
    }

    fn advance_within(&mut self, to: Moment) {
        let kept = std::mem::take(&mut self.changes);
        self.advance(to);
        self.changes = kept;
    }

    /// Takes the stocks as they were on `date`; a replaced one starts unknown, and a coefficient
    /// whose reference value changed starts afresh.
    fn put_stocks_of(&mut self, date: NaiveDate) {
        let parts = self.past.rig.parts_on(date);
        for i in 0..self.stocks.len() {
            let Some((_, then)) = parts.stock(&self.stocks[i].name) else { continue };
            if *then != *self.stocks[i] {
                let same =
                    then.capacity == self.stocks[i].capacity && then.unit == self.stocks[i].unit;
                self.stocks[i] = Rc::new(then.clone());
                if !same {
                    self.joint.reset(i, unknown_level(then));
                }
            }
        }
        let eve = Mechanism::of(&self.past.rig.parts_on(date - Duration::days(1)));
        let then = Mechanism::of(&parts);
        for (index, now) in self.mechanism.coefficients.iter().enumerate() {
            let reference = |of: &Mechanism| {
                of.coefficients.iter().find(|c| c.what == now.what).map(|c| c.mean)
            };
            if reference(&eve) != reference(&then) {
                self.joint.reset(self.stocks.len() + index, now.prior());
            }
        }
    }
}

/// A level nobody has ever read: anywhere between empty and full. A count of nights starts at
/// its service level instead.
fn unknown_level(stock: &Stock) -> Estimate {
    if stock.reset_by_camp {
        return Estimate { mean: stock.serviced_level(), sd: 0.0 };
    }
    let lean = match stock.runs {
        Direction::Down => 0.6,
        Direction::Up => 0.4,
    };
    Estimate { mean: lean * stock.capacity, sd: 0.29 * stock.capacity }
}

/// Every driver, so that a new one cannot be forgotten here.
const _: () = assert!(DRIVERS.len() == 6);
