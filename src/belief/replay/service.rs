//! Refills and emptyings: an observation first (how much went says how it was), a reset after.

use super::{GAUGE_SD, Replay, in_unit};
use crate::belief::evidence::as_written;
use crate::belief::joint::Observation;
use crate::domain::estimate::{Estimate, PastReading};
use crate::domain::quantity::Quantity;
use crate::domain::stock::Stock;
use crate::domain::time::Moment;

/// By how much of capacity "full" usually falls short; and the error of a level that a service
/// is said to have ended at. Common practice, no source.
const FULL_SHORT: f64 = 0.006;
const JUDGED_SD: f64 = 0.012;
/// Relative error of an amount that went in or came out.
const AMOUNT_SD: f64 = 0.03;

impl Replay<'_> {
    pub(super) fn fill(
        &mut self,
        i: usize,
        at: Moment,
        known: &Stock,
        amount: Option<f64>,
        after: Option<Estimate>,
    ) {
        let capacity = known.capacity;
        let fine = GAUGE_SD * capacity;
        let divided = self.divided_variance(i, at);
        match (amount, after) {
            (Some(amount), Some(after)) => {
                let sd = after.sd.hypot(AMOUNT_SD * amount).hypot(divided.sqrt());
                self.observe_before(i, after.mean - amount, sd, capacity);
                self.joint.reset(i, after);
                self.joint.disturb(&[(i, 1.0)], divided);
            }
            (Some(amount), None) => {
                self.joint.shift(i, amount, &[]);
                self.joint.disturb(&[(i, 1.0)], (AMOUNT_SD * amount).powi(2));
                let level = self.joint.main.estimate(i);
                if level.mean > capacity - level.sd {
                    let within =
                        Observation { low: 0.0, high: capacity, noise_sd: fine, range: capacity };
                    self.joint.observe(i, within);
                    self.joint.clamp(i, 0.0, capacity);
                }
            }
            (None, Some(after)) => {
                self.joint.reset(i, after);
                self.joint.disturb(&[(i, 1.0)], divided);
            }
            // Most people who say no more than "filled" mean to the top.
            (None, None) => {
                let most = Estimate { mean: 0.98 * capacity, sd: 0.03 * capacity };
                self.joint.reset(i, most);
            }
        }
        self.serviced(i, at);
    }

    pub(super) fn empty(
        &mut self,
        i: usize,
        at: Moment,
        known: &Stock,
        amount: Option<f64>,
        after: Option<Estimate>,
    ) {
        let fine = GAUGE_SD * known.capacity;
        let left = after.unwrap_or(Estimate { mean: known.dregs.min(known.capacity), sd: fine });
        let divided = self.divided_variance(i, at);
        if let Some(amount) = amount {
            let sd = left.sd.hypot(AMOUNT_SD * amount).hypot(divided.sqrt());
            self.observe_before(i, left.mean + amount, sd, known.capacity);
        }
        self.joint.reset(i, left);
        self.joint.disturb(&[(i, 1.0)], divided);
        self.serviced(i, at);
    }

    fn observe_before(&mut self, i: usize, level: f64, noise_sd: f64, range: f64) {
        let level = level.clamp(0.0, range);
        self.joint.observe(i, Observation { low: level, high: level, noise_sd, range });
    }

    fn serviced(&mut self, i: usize, at: Moment) {
        let level = self.joint.main.mean(i);
        self.readings[i].push(PastReading { at, low: level, high: level, service: true });
    }
}

/// What "full" means: nobody fills to the last drop.
pub(super) fn full(stock: &Stock) -> Estimate {
    let short = FULL_SHORT * stock.capacity;
    Estimate { mean: stock.capacity - short, sd: short.hypot(0.5 * GAUGE_SD * stock.capacity) }
}

/// The level that a service is said to have ended at: as fine as it was written, but nobody
/// judges it finer than a fiftieth of the tank.
pub(super) fn left_at(level: &Quantity, stock: &Stock, volts: Option<f64>) -> Option<Estimate> {
    let mean = in_unit(level, stock, volts)?.min(stock.capacity);
    let (low, high) = as_written(stock, level, volts);
    let written = (high - low) / 12f64.sqrt();
    Some(Estimate { mean, sd: written.hypot(JUDGED_SD * stock.capacity) })
}
