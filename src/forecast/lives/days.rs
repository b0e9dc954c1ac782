//! Days out: what all of a crew's uses have in common.
//!
//! On a day on which all are out nothing is used of anything but by the van itself, so the stocks'
//! dates move together. A day here is a block of hours from now on, not a civil one.

use super::grid::{BLOCK, DRAWN_HOURS};
use crate::forecast::sampler::{OUT, Row, Sampler};
use crate::mechanism::climate::lanes::{LANES, Lane};

/// The days that are drawn together, in a group of lives.
pub(super) struct HomeDays {
    /// Chance that a day is a day out, life by life.
    out: Row,
    /// 1 on a day at home, 0 on a day out.
    home: [Lane; DRAWN_HOURS / BLOCK],
}

impl HomeDays {
    /// Before the first day.
    pub(super) fn of(out: Row) -> HomeDays {
        HomeDays { out, home: [[1.0; LANES]; DRAWN_HOURS / BLOCK] }
    }

    /// Draws the days of the hours that are drawn together from hour `start` on, in the lives from
    /// number `from` on.
    #[inline(always)]
    pub(super) fn draw(&mut self, sampler: &Sampler, from: usize, start: usize) {
        for (day, home) in self.home.iter_mut().enumerate() {
            let bits = sampler.stratified(from, OUT + (start / BLOCK + day) as u64);
            for l in 0..LANES {
                let below = if l % 2 == 0 { bits[l / 2] } else { !bits[l / 2] };
                let share = (f64::from(below) + 0.5) / 4_294_967_296.0;
                home[l] = if share < self.out[l] { 0.0 } else { 1.0 };
            }
        }
    }

    /// Of the days that are drawn together.
    pub(super) fn drawn(&self) -> &[Lane] {
        &self.home
    }

    /// Of the day that an hour lies in.
    #[inline(always)]
    pub(super) fn on(&self, hour: usize) -> &Lane {
        &self.home[hour % DRAWN_HOURS / BLOCK]
    }
}
