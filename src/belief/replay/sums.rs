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

/// A rig's flows by what they move, and by what they are uncertain in.
#[derive(Debug, Clone)]
pub(super) struct Flows<'a> {
    by_stock: Vec<Vec<&'a Flow>>,
    by_coefficient: Vec<Vec<&'a Flow>>,
}

impl Flows<'_> {
    pub fn of(mechanism: &Mechanism) -> Flows<'_> {
        let mut flows = Flows {
            by_stock: vec![Vec::new(); mechanism.stocks().len()],
            by_coefficient: vec![Vec::new(); mechanism.coefficients.len()],
        };
        for flow in &mechanism.flows {
            flows.by_stock[flow.stock].push(flow);
            flows.by_coefficient[flow.coefficient].push(flow);
        }
        flows
    }
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
        flows: &Flows,
        unlogged: &Unlogged,
        stocks: &[Rc<Stock>],
        beliefs: &mut Rivals,
    ) {
        let count = stocks.len();
        let burns = mechanism.climate.heat_loss.zip(climate::heater_fuel(mechanism));
        let mut direction: Vec<(usize, f64)> = Vec::new();
        for (index, known) in mechanism.coefficients.iter().enumerate() {
            let wanders = self.elapsed_days * (WANDER * known.sd()).powi(2);
            let relative = self.noise(unlogged, known);
            beliefs.each(|joint| {
                if wanders > 0.0 {
                    joint.disturb(&[(count + index, 1.0)], wanders);
                }
                if relative > 0.0 {
                    let value = joint.mean(count + index);
                    direction.clear();
                    direction.extend(flows.by_coefficient[index].iter().map(|flow| {
                        let share = flow.share.map_or(1.0, |s| joint.mean(count + s));
                        (flow.stock, flow.scale * share)
                    }));
                    joint.disturb(&direction, value * value * relative);
                }
            });
        }
        beliefs.each(|joint| self.move_level(flows, burns, stocks, joint, &mut direction));
    }

    /// Moves the levels in one belief, by what each flow amounts to and by the heater; `slopes` is to
    /// scribble on.
    fn move_level(
        &self,
        flows: &Flows,
        burns: Option<(usize, usize)>,
        stocks: &[Rc<Stock>],
        joint: &mut Joint,
        slopes: &mut Vec<(usize, f64)>,
    ) {
        let count = stocks.len();
        for (i, flows) in flows.by_stock.iter().enumerate() {
            let mut sum = 0.0;
            slopes.clear();
            for flow in flows {
                let scale = flow.scale * self.exposure.of(flow.source);
                if scale == 0.0 {
                    continue;
                }
                let c = count + flow.coefficient;
                let mean = joint.mean(c);
                match flow.share {
                    None => {
                        sum += scale * mean;
                        slopes.push((c, scale));
                    }
                    Some(share) => {
                        let s = count + share;
                        let share = joint.mean(s);
                        sum += scale * (mean * share + joint.covariance(c, s));
                        slopes.extend([(c, scale * share), (s, scale * mean)]);
                    }
                }
            }
            if !slopes.is_empty() {
                joint.shift(i, sum, slopes);
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
