//! What entries say of levels. A refill or an emptying is an observation first (how much went says
//! how it was), and a reset after.

use super::state::{Happening, Replay, Stops};
use crate::belief::evidence::{Innovation, Outlier, as_written, at_once, in_unit, levels_read};
use crate::belief::joint::Observation;
use crate::belief::practice::{
    AMOUNT_SD, DUE, FULL_SHORT, GAUGE_SD, GUESS_SD, JUDGED_SD, ONE_STOP_H,
};
use crate::domain::estimate::PastReading;
use crate::domain::{After, Direction, Estimate, Event, Moment, Quantity, Stock};
use crate::mechanism::driver::{Source, position};
use chrono::Duration;
use std::rc::Rc;

/// A fill or an emptying: what went in or out, and the level after it, as far as it was said.
struct Serviced {
    at: Moment,
    amount: Option<f64>,
    after: Option<Estimate>,
}

impl Replay<'_> {
    /// Takes what happened at the moment that has been summed up to.
    pub(super) fn take(&mut self, happening: Happening) {
        match happening {
            Happening::Kit(date) => {
                self.apply();
                self.put_kit_of(date);
            }
            Happening::Entry(entry) => self.take_entry(entry.at, &entry.event),
            Happening::Since(stock) => {
                if let Some((i, _)) = self.brought_up(stock) {
                    self.mark(i);
                }
            }
            Happening::Spent(stock, amount) => {
                if let Some((i, known)) = self.brought_up(stock) {
                    self.spent(i, known.capacity, amount);
                }
            }
        }
    }

    /// From now on the mark of a stock stands for its level and what is used of it.
    fn mark(&mut self, i: usize) {
        let Some(mark) = self.marks.iter_mut().find(|mark| mark.stock == i) else { return };
        mark.set = true;
        let place = mark.place;
        self.hypotheses.each(|joint| {
            joint.reset(place, Estimate { mean: 0.0, sd: 0.0 });
            joint.shift(place, joint.mean(i), &[(i, 1.0)]);
        });
    }

    /// So much was used since the stock's mark was set, all uses together: it teaches level and
    /// coefficients as the difference of two readings would, though neither may have been read.
    fn spent(&mut self, i: usize, range: f64, amount: Estimate) {
        let Some(mark) = self.marks.iter_mut().find(|mark| mark.stock == i && mark.set) else {
            return;
        };
        mark.set = false;
        let (place, Estimate { mean, sd }) = (mark.place, amount);
        self.hypotheses.each(|joint| joint.shift(place, -joint.mean(i), &[(i, -1.0)]));
        let told = Observation { low: mean, high: mean, noise_sd: sd, range };
        self.hypotheses.observe(place, told);
        self.hypotheses.each(|joint| {
            joint.reset(place, Estimate { mean: 0.0, sd: 0.0 });
            joint.hold(i, 0.0, range);
        });
    }

    /// Changes the level of a stock by what is no use of it: what was used so far stays in its mark.
    fn beside_use(&mut self, i: usize, change: impl FnOnce(&mut Self)) {
        let place = self.marks.iter().find(|mark| mark.stock == i && mark.set);
        let Some(place) = place.map(|mark| mark.place) else { return change(self) };
        self.hypotheses.each(|joint| joint.shift(place, -joint.mean(i), &[(i, -1.0)]));
        change(self);
        self.hypotheses.each(|joint| joint.shift(place, joint.mean(i), &[(i, 1.0)]));
    }

    fn take_entry(&mut self, at: Moment, event: &Event) {
        let volts = self.past.parts.volts();
        match event {
            Event::Level { stock, reading, step } => {
                let Some((i, known)) = self.brought_up(stock) else { return };
                if let Some(read) = levels_read(&known, reading, *step, volts) {
                    let own = if read.guessed { GUESS_SD } else { GAUGE_SD };
                    let noise_sd =
                        (own * known.capacity).hypot(self.divided_variance(i, at).sqrt());
                    self.read(i, at, (read.low, read.high), noise_sd);
                }
            }
            Event::Fill { stock, amount, after } => {
                let Some((i, known)) = self.brought_up(stock) else { return };
                let amount = amount.as_ref().and_then(|q| in_unit(q, &known, volts));
                let after = after.as_ref().and_then(|after| match after {
                    After::Full => Some(full(&known)),
                    After::Level(level) => left_at(level, &known, volts),
                });
                self.beside_use(i, |replay| replay.fill(i, &known, Serviced { at, amount, after }));
            }
            Event::Empty { stock, amount, after } => {
                let Some((i, known)) = self.brought_up(stock) else { return };
                let amount = amount.as_ref().and_then(|q| in_unit(q, &known, volts));
                let after = after.as_ref().and_then(|q| left_at(q, &known, volts));
                self.beside_use(i, |replay| {
                    replay.empty(i, &known, Serviced { at, amount, after })
                });
            }
            Event::Camp(_) => self.move_camp(),
            // Logged uses are spread over their day already, and what runs by the hour over its
            // hours: see `Past::uses` and `Past::runs`.
            other => {
                if let Some((Source::Driver(driver), amount)) = at_once(other, &self.past.parts) {
                    self.sums.add_run(position(driver), amount);
                }
            }
        }
    }

    /// Brings all levels up to the moment that has been summed up to; returns the index of the
    /// stock of that name, and what it is then.
    fn brought_up(&mut self, name: &str) -> Option<(usize, Rc<Stock>)> {
        let index = self.stocks.iter().position(|stock| stock.name == name)?;
        self.apply();
        Some((index, Rc::clone(&self.stocks[index])))
    }

    /// Variance of a stock's level at a moment from uses that were written down later that day:
    /// each of them happened before it or after it.
    fn divided_variance(&self, i: usize, at: Moment) -> f64 {
        let (count, main) = (self.stocks.len(), &self.hypotheses.main);
        let mut sum = 0.0;
        for (activity, amount, before) in self.past.uses.divided(self.past.from, at) {
            let source = Source::Activity(activity);
            let flows = self.mechanism.flows.iter().filter(|f| f.stock == i && f.source == source);
            let each: f64 = flows
                .map(|flow| {
                    let share = flow.share.map_or(1.0, |s| main.mean(count + s));
                    flow.scale * main.mean(count + flow.coefficient) * share
                })
                .sum();
            sum += each * each * self.unlogged.count_variance(activity, amount, before);
        }
        sum
    }

    fn read(&mut self, i: usize, at: Moment, (low, high): (f64, f64), noise_sd: f64) {
        let range = self.stocks[i].capacity;
        let electric = self.mechanism.electric == Some(i);
        // The first word about a level has nothing before it that it could be a slip against.
        if self.readings[i].is_empty() || electric {
            let sd = ((high - low).powi(2) / 12.0 + noise_sd * noise_sd).sqrt();
            let first = Estimate { mean: 0.5 * (low + high), sd };
            self.beside_use(i, |replay| replay.reset(i, first));
        }
        let since = self.readings[i].last().map_or(at, |reading| reading.at);
        self.readings[i].push(PastReading { at, low, high, service: false });
        // What it tells beyond its level is for the ensemble to hear, which knows sun and cold: without
        // them it would teach a false share of unwritten uses.
        if electric {
            return;
        }
        // A gauge at its end stop says "this much or less": the interval already ends there.
        let fit = self.hypotheses.observe(i, Observation { low, high, noise_sd, range });
        if fit.explained < 0.1 {
            self.outliers.push(Outlier { stock: i, at, expected: fit.expected });
        }
        let amount = 0.5 * (low + high) - fit.expected.mean;
        let sd = fit.expected.sd.hypot(noise_sd).hypot((high - low) / 12f64.sqrt());
        if fit.explained > 0.1 {
            self.days.read(i, amount, sd);
        }
        self.innovations[i].push(Innovation { at, since, amount, sd, likelihood: fit.likelihood });
        self.hypotheses.each(|joint| joint.hold(i, 0.0, range));
    }

    fn fill(&mut self, i: usize, known: &Stock, service: Serviced) {
        let capacity = known.capacity;
        if service.amount.is_none() {
            self.hear_that_it_was_due(i, service.at);
        }
        let divided = self.divided_variance(i, service.at);
        match (service.amount, service.after) {
            (Some(amount), Some(after)) => {
                let sd = after.sd.hypot(AMOUNT_SD * amount).hypot(divided.sqrt());
                self.observe_before(i, after.mean - amount, sd);
                self.leave_at(i, after, divided);
            }
            (Some(amount), None) => {
                self.hypotheses.each(|joint| {
                    joint.shift(i, amount, &[]);
                    joint.disturb(&[(i, 1.0)], (AMOUNT_SD * amount).powi(2));
                });
                let level = self.hypotheses.main.estimate(i);
                if level.mean > capacity - level.sd {
                    let noise_sd = GAUGE_SD * capacity;
                    // What went in is there, whatever was: else more than fits would leave less.
                    let low = (amount * (1.0 - 2.0 * AMOUNT_SD)).clamp(0.0, capacity);
                    let within = Observation { low, high: capacity, noise_sd, range: capacity };
                    self.hypotheses.observe(i, within);
                    self.hypotheses.each(|joint| joint.hold(i, low.min(0.98 * capacity), capacity));
                }
            }
            (None, Some(after)) => self.leave_at(i, after, divided),
            // Most people who say no more than "filled" mean to the top.
            (None, None) => {
                self.reset(i, Estimate { mean: 0.98 * capacity, sd: 0.03 * capacity });
            }
        }
        self.serviced(i, service.at);
    }

    fn empty(&mut self, i: usize, known: &Stock, service: Serviced) {
        if let (Some(out), None) = (service.amount, &service.after)
            && self.take_some(i, known, out)
        {
            return self.emptied(i, known, service.at);
        }
        let dregs = known.dregs.min(known.capacity);
        // Said to be empty or not: nothing left is nothing left.
        let nothing = Estimate { mean: dregs, sd: GAUGE_SD * known.capacity };
        let left = service.after.filter(|after| after.mean > dregs).unwrap_or(nothing);
        let divided = self.divided_variance(i, service.at);
        // What runs down was let out, for whatever reason.
        if service.amount.is_none() && known.runs == Direction::Up {
            self.hear_that_it_was_due(i, service.at);
        }
        if let Some(amount) = service.amount {
            let sd = left.sd.hypot(AMOUNT_SD * amount).hypot(divided.sqrt());
            self.observe_before(i, left.mean + amount, sd);
        }
        self.leave_at(i, left, divided);
        self.emptied(i, known, service.at);
    }

    /// What was spilled of a stock that runs down was no service of it.
    fn emptied(&mut self, i: usize, known: &Stock, at: Moment) {
        if known.runs == Direction::Up {
            self.serviced(i, at);
        }
    }

    /// Takes that much out of what was there, and is told that there was as much; `false` where it
    /// is about all there was, so that nothing is left.
    fn take_some(&mut self, i: usize, known: &Stock, out: f64) -> bool {
        let range = known.capacity;
        let before = self.hypotheses.main.estimate(i);
        if known.is_about_all(out, before.mean, before.sd) {
            return false;
        }
        // What is foreseen for certain says nothing, not even that the level may have changed unseen.
        if out > before.mean - 3.0 * before.sd {
            let noise_sd = (GAUGE_SD * range).hypot(AMOUNT_SD * out);
            let there = Observation { low: out.min(range), high: range, noise_sd, range };
            self.hypotheses.observe(i, there);
        }
        self.hypotheses.each(|joint| {
            joint.shift(i, -out, &[]);
            joint.disturb(&[(i, 1.0)], (AMOUNT_SD * out).powi(2));
            joint.hold(i, 0.0, range);
        });
        true
    }

    /// A service of which no amount is told tells something of the level all the same: a stop is made
    /// when something gets short, if not this stock, then another one. Were that left out, each
    /// reading would be of a stock that has lasted until then: after days that took little, as a rule.
    fn hear_that_it_was_due(&mut self, i: usize, at: Moment) {
        let Stops::Heard(stop) = &self.stops else { return };
        if stop.as_ref().is_none_or(|stop| at - stop.0 > Duration::hours(ONE_STOP_H)) {
            let chances = (0..self.stocks.len()).map(|other| self.chance_short(other)).collect();
            self.stops = Stops::Heard(Some((at, chances)));
        }
        if self.chance_short(i) > 0.0
            && let Stops::Heard(Some((_, chances))) = &self.stops
        {
            let others = chances.iter().enumerate().filter(|(other, _)| *other != i);
            let no_other: f64 = others.map(|(_, chance)| 1.0 - chance).product();
            let (runs, short) = (self.stocks[i].runs, short_level(&self.stocks[i]));
            let anyway = 1.0 - (1.0 - DUE.1) * no_other;
            self.hypotheses.hear(|joint| joint.serviced(i, (runs, short), anyway));
        }
    }

    /// Chance that so little of a stock is left that a stop is made for it; 0 where nobody knows.
    fn chance_short(&self, i: usize) -> f64 {
        let stock = &self.stocks[i];
        if self.readings[i].is_empty() || self.mechanism.electric == Some(i) || stock.reset_by_camp
        {
            return 0.0;
        }
        self.hypotheses.main.chance_beyond(i, (stock.runs, short_level(stock)))
    }

    fn observe_before(&mut self, i: usize, level: f64, noise_sd: f64) {
        let range = self.stocks[i].capacity;
        let level = level.clamp(0.0, range);
        self.hypotheses.observe(i, Observation { low: level, high: level, noise_sd, range });
    }

    fn leave_at(&mut self, i: usize, level: Estimate, divided: f64) {
        self.reset(i, level);
        self.hypotheses.each(|joint| joint.disturb(&[(i, 1.0)], divided));
    }

    fn reset(&mut self, i: usize, to: Estimate) {
        self.hypotheses.each(|joint| joint.reset(i, to));
    }

    fn serviced(&mut self, i: usize, at: Moment) {
        self.days.forget(i);
        let level = self.hypotheses.main.mean(i);
        self.readings[i].push(PastReading { at, low: level, high: level, service: true });
    }

    fn move_camp(&mut self) {
        let counted = |i: &usize| self.stocks[*i].reset_by_camp;
        let counted: Vec<usize> = (0..self.stocks.len()).filter(counted).collect();
        if !counted.is_empty() {
            self.apply();
        }
        for i in counted {
            self.reset(i, Estimate { mean: self.stocks[i].serviced_level(), sd: 0.0 });
        }
    }
}

/// The level from which on a stop is made for a stock.
fn short_level(stock: &Stock) -> f64 {
    match stock.runs {
        Direction::Down => DUE.0 * stock.capacity,
        Direction::Up => (1.0 - DUE.0) * stock.capacity,
    }
}

/// What "full" means: nobody fills to the last drop.
fn full(stock: &Stock) -> Estimate {
    let short = FULL_SHORT * stock.capacity;
    Estimate { mean: stock.capacity - short, sd: short.hypot(0.5 * GAUGE_SD * stock.capacity) }
}

/// The level that a service is said to have ended at: as fine as it was written, but nobody
/// judges it finer than about an eightieth of the tank.
fn left_at(level: &Quantity, stock: &Stock, volts: Option<f64>) -> Option<Estimate> {
    let mean = in_unit(level, stock, volts)?.min(stock.capacity);
    let (low, high) = as_written(stock, level, volts);
    let written = (high - low) / 12f64.sqrt();
    Some(Estimate { mean, sd: written.hypot(JUDGED_SD * stock.capacity) })
}
