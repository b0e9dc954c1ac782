//! What an interval of the past holds, summed, and what it does to levels.

use super::super::joint::Joint;
use super::super::unlogged::{OCCURRENCE, Unlogged};
use super::WANDER;
use crate::domain::stock::Stock;
use crate::mechanism::Mechanism;
use crate::mechanism::climate;
use crate::mechanism::driver::{Exposure, Source};
use chrono::NaiveDate;

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

    /// Moves the levels by all of it.
    pub fn move_levels(
        &self,
        mechanism: &Mechanism,
        unlogged: &Unlogged,
        stocks: &[Stock],
        joint: &mut Joint,
    ) {
        let count = stocks.len();
        let mut direction: Vec<(usize, f64)> = Vec::new();
        for (index, coefficient) in mechanism.coefficients.iter().enumerate() {
            let wander = self.elapsed_days * (WANDER * coefficient.sd()).powi(2);
            if coefficient.sd() > 0.0 {
                joint.disturb(&[(count + index, 1.0)], wander);
            }
            let variance = self.noise(mechanism, unlogged, count, joint, index);
            if variance > 0.0 {
                direction.clear();
                for flow in mechanism.flows.iter().filter(|f| f.coefficient == index) {
                    let share = flow.share.map_or(1.0, |s| joint.mean(count + s));
                    direction.push((flow.stock, flow.scale * share));
                }
                joint.disturb(&direction, variance);
            }
        }
        for flow in &mechanism.flows {
            let amount = self.exposure.of(flow.source);
            if amount == 0.0 {
                continue;
            }
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
        self.burn(mechanism, count, joint);
        for (i, stock) in stocks.iter().enumerate() {
            joint.clamp(i, 0.0, stock.capacity);
        }
    }

    fn burn(&self, mechanism: &Mechanism, count: usize, joint: &mut Joint) {
        let (Some(loss), Some(stock)) =
            (mechanism.climate.heat_loss, climate::heater_fuel(mechanism))
        else {
            return;
        };
        let amount = self.fuel.at_zero + self.fuel.slope * joint.mean(count + loss);
        if amount > 0.0 {
            joint.shift(stock, -amount, &[(count + loss, -self.fuel.slope)]);
            joint.disturb(&[(stock, 1.0)], self.fuel.variance);
        }
    }

    /// Variance of the occurrence-to-occurrence noise of one coefficient, felt by all stocks that
    /// it moves.
    fn noise(
        &self,
        mechanism: &Mechanism,
        unlogged: &Unlogged,
        count: usize,
        joint: &Joint,
        coefficient: usize,
    ) -> f64 {
        let known = &mechanism.coefficients[coefficient];
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
            // What differs little between crews differs little between days: food, by definition.
            _ => OCCURRENCE.min(2.2 * own_spread).powi(2) * amount,
        };
        let value = joint.mean(count + coefficient);
        value * value * (occurrences + hidden)
    }
}
