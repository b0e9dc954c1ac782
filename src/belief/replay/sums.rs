//! What an interval of the past holds, summed, and what it does to levels.

use super::super::joint::Joint;
use super::super::unlogged::{OCCURRENCE, Unlogged, base_variance, day_felt};
use super::WANDER;
use super::rivals::Rivals;
use crate::domain::flow::Driver;
use crate::domain::stock::Stock;
use crate::mechanism::climate;
use crate::mechanism::coefficient::Coefficient;
use crate::mechanism::driver::{Exposure, Source};
use crate::mechanism::{Flow, Mechanism};
use chrono::NaiveDate;
use std::rc::Rc;

/// One step of a past that was summed once and is replayed several times.
#[derive(Debug, Clone)]
pub(super) enum Step {
    /// Time goes by.
    Pass(Sums),
    /// The kit changes.
    Kit(NaiveDate),
    /// The entry of that index, among the past's entries.
    Entry(usize),
}

/// An interval, summed: everything is linear in the coefficients until the next reading.
#[derive(Debug, Clone)]
pub(super) struct Sums {
    pub exposure: Exposure,
    pub fuel: Fuel,
    pub elapsed_days: f64,
}

/// Heater fuel of an interval: amount, its slope in the heat-loss coefficient, and the variance
/// that the weather's uncertainty adds.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Fuel {
    /// Amount, carried back along the slope to a heat loss of 0.
    at_zero: f64,
    slope: f64,
    variance: f64,
}

impl Fuel {
    /// Adds an hour, from what is burnt at nine and eleven tenths of a heat loss.
    pub fn add_hour(&mut self, loss_w_per_k: f64, (low, high): (f64, f64), relative_sd: f64) {
        let amount = 0.5 * (low + high);
        let slope = (high - low) / (0.2 * loss_w_per_k);
        self.slope += slope;
        self.at_zero += amount - slope * loss_w_per_k;
        // Hours of a day share its error: 24 hours' variances add to the day's square.
        self.variance += (relative_sd * amount).powi(2) * 24.0;
    }
}

impl Sums {
    pub fn none(activities: usize) -> Sums {
        let (exposure, fuel) = (Exposure::none(activities), Fuel::default());
        Sums { exposure, fuel, elapsed_days: 0.0 }
    }

    pub fn clear(&mut self) {
        self.exposure.clear();
        self.fuel = Fuel::default();
        self.elapsed_days = 0.0;
    }

    /// Empties it and returns what it held.
    pub fn take(&mut self) -> Sums {
        let held = self.clone();
        self.clear();
        held
    }

    pub fn add(&mut self, other: &Sums) {
        self.exposure.add(&other.exposure);
        self.fuel.at_zero += other.fuel.at_zero;
        self.fuel.slope += other.fuel.slope;
        self.fuel.variance += other.fuel.variance;
        self.elapsed_days += other.elapsed_days;
    }

    /// Moves the levels by all of it, in every belief.
    pub fn move_levels(
        &self,
        mechanism: &Mechanism,
        unlogged: &Unlogged,
        stocks: &[Rc<Stock>],
        beliefs: &mut Rivals,
    ) {
        let known = mechanism.coefficients.iter().enumerate();
        let wander = |(index, known): (usize, &Coefficient)| {
            let variance = self.elapsed_days * (WANDER * known.sd()).powi(2);
            (variance > 0.0).then_some((stocks.len() + index, variance))
        };
        let wandering: Vec<(usize, f64)> = known.clone().filter_map(wander).collect();
        let noise = |(index, known): (usize, &Coefficient)| {
            let relative = self.noise(unlogged, known);
            let flows = mechanism.flows.iter().filter(|flow| flow.coefficient == index);
            (relative > 0.0).then(|| (index, relative, flows.collect()))
        };
        let noises: Vec<(usize, f64, Vec<&Flow>)> = known.filter_map(noise).collect();
        let amounts = mechanism.flows.iter().map(|flow| (flow, self.exposure.of(flow.source)));
        let moved: Vec<(&Flow, f64)> = amounts.filter(|(_, amount)| *amount != 0.0).collect();
        let burns = mechanism.climate.heat_loss.zip(climate::heater_fuel(mechanism));
        let mut direction: Vec<(usize, f64)> = Vec::new();
        beliefs.each(|joint| {
            for (index, variance) in &wandering {
                joint.disturb(&[(*index, 1.0)], *variance);
            }
            for (index, relative, flows) in &noises {
                let value = joint.mean(stocks.len() + index);
                direction.clear();
                direction.extend(flows.iter().map(|flow| {
                    let share = flow.share.map_or(1.0, |s| joint.mean(stocks.len() + s));
                    (flow.stock, flow.scale * share)
                }));
                joint.disturb(&direction, value * value * relative);
            }
            self.move_level(&moved, burns, stocks, joint);
        });
    }

    /// Moves the levels in one belief, by what each flow amounts to and by the heater.
    fn move_level(
        &self,
        moved: &[(&Flow, f64)],
        burns: Option<(usize, usize)>,
        stocks: &[Rc<Stock>],
        joint: &mut Joint,
    ) {
        let count = stocks.len();
        for &(flow, amount) in moved {
            let c = count + flow.coefficient;
            let mean = joint.mean(c);
            match flow.share {
                None => {
                    let slope = flow.scale * amount;
                    joint.shift(flow.stock, slope * mean, &[(c, slope)]);
                }
                Some(share) => {
                    let s = count + share;
                    let share = joint.mean(s);
                    let product = mean * share + joint.covariance(c, s);
                    let scale = flow.scale * amount;
                    let slopes = [(c, scale * share), (s, scale * mean)];
                    joint.shift(flow.stock, scale * product, &slopes);
                }
            }
        }
        if let Some((loss, stock)) = burns {
            self.burn(count + loss, stock, joint);
        }
        for (i, stock) in stocks.iter().enumerate() {
            joint.clamp(i, 0.0, stock.capacity);
        }
    }

    fn burn(&self, loss: usize, stock: usize, joint: &mut Joint) {
        let amount = self.fuel.at_zero + self.fuel.slope * joint.mean(loss);
        if amount > 0.0 {
            joint.shift(stock, -amount, &[(loss, -self.fuel.slope)]);
            joint.disturb(&[(stock, 1.0)], self.fuel.variance);
        }
    }

    /// Variance of the occurrence-to-occurrence noise of one coefficient, over the square of what
    /// it is; it is felt by all stocks that the coefficient moves.
    fn noise(&self, unlogged: &Unlogged, known: &Coefficient) -> f64 {
        let (source, own) = (known.source, known.sd() > 0.0);
        let own_spread = known.sd() / known.mean.max(1e-9);
        let amount = self.exposure.of(source);
        let hidden = match source {
            Source::Activity(activity) => self.exposure.unlogged_variance[activity],
            _ => 0.0,
        };
        let occurrences = match source {
            _ if !own => 0.0,
            Source::Activity(activity) => unlogged.occurrence_variance(activity, amount),
            Source::Driver(Driver::PersonDay) => {
                base_variance(amount, self.elapsed_days, own_spread)
            }
            _ => (day_felt(own_spread) * OCCURRENCE).powi(2) * amount,
        };
        occurrences + hidden
    }
}
