//! Lives side by side: what each keeps for a day, and what an hour moves in each.
//!
//! The compiler turns loops over lanes into vector instructions where rows are plain local arrays
//! and everything is inlined. Single precision is ample: a battery's level is good to a hundredth
//! of a watt-hour after a month.
//!
//! Tried without gain: occurrences drawn for all lanes in step; release without overflow checks.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::light::{PIECE, PIECES};
use super::values::ClimateValues;
use crate::physics::battery::held_wh;
use crate::physics::real::Real;

/// Lives side by side.
pub const LANES: usize = 32;
/// One number per life.
pub type Lane<R = f32, const N: usize = LANES> = [R; N];

/// Climate coefficients of each life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValueLanes<R = f32, const N: usize = LANES> {
    pub(super) panel_factor: Lane<R, N>,
    pub(super) fridge_w: Lane<R, N>,
    pub(super) standing_w: Lane<R, N>,
    pub(super) loss_w_per_k: Lane<R, N>,
    pub(super) kelvin_per_w: Lane<R, N>,
    pub(super) heater_draw: Lane<R, N>,
    pub(super) tending: Lane<R, N>,
    /// Share of the time that anybody is at home.
    pub(super) home: Lane<R, N>,
}

impl<R: Real, const N: usize> ValueLanes<R, N> {
    /// Takes one life per lane; lanes beyond `values` draw nothing.
    #[inline]
    pub fn of(values: impl Iterator<Item = ClimateValues>) -> ValueLanes<R, N> {
        let (none, one) = ([R::of(0.0); N], [R::of(1.0); N]);
        let mut lanes = ValueLanes {
            panel_factor: none,
            fridge_w: none,
            standing_w: none,
            loss_w_per_k: one,
            kelvin_per_w: one,
            heater_draw: one,
            tending: one,
            home: one,
        };
        for (l, value) in values.take(N).enumerate() {
            let loss_w_per_k = value.loss_w_per_k.max(1e-6);
            lanes.panel_factor[l] = R::of(value.panel_factor);
            lanes.fridge_w[l] = R::of(value.fridge_w.max(0.0));
            lanes.standing_w[l] = R::of(value.standing_w);
            lanes.loss_w_per_k[l] = R::of(loss_w_per_k);
            lanes.kelvin_per_w[l] = R::of(1.0 / loss_w_per_k);
            lanes.heater_draw[l] = R::of(value.heater_draw);
            lanes.tending[l] = R::of(value.tending.max(0.0));
        }
        lanes
    }

    /// The same where anybody is at home (1) or all are out (0), lane by lane: then nobody heats or
    /// airs the van, or warms it.
    #[inline(always)]
    pub fn at_home(self, home: &Lane<R, N>) -> ValueLanes<R, N> {
        ValueLanes { home: *home, ..self }
    }
}

/// What each life's weather is like for one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayLanes<R = f32, const N: usize = LANES> {
    pub(super) offset_k: Lane<R, N>,
    pub(super) clearness: Lane<R, N>,
    /// How much of the clearness falls in each piece of the panels' light.
    pub(super) pieces: [Lane<R, N>; PIECES],
    /// How much a tended fire burns beyond what is wanted, over what is usual.
    pub(super) tending: Lane<R, N>,
}

impl<R: Real, const N: usize> Default for DayLanes<R, N> {
    fn default() -> DayLanes<R, N> {
        let none = [R::of(0.0); N];
        let tending = [R::of(1.0); N];
        DayLanes { offset_k: none, clearness: none, pieces: [none; PIECES], tending }
    }
}

impl<R: Real, const N: usize> DayLanes<R, N> {
    /// Takes how much a tended fire burns beyond what is wanted, over what is usual, at least 0.
    #[inline(always)]
    pub fn put_tending(&mut self, tending: &[f64; N]) {
        self.tending = tending.map(R::of);
    }

    /// Takes each life's departure from the expected temperature, in K, and its clearness, which is
    /// clamped to `[0, 1.2]`.
    #[inline(always)]
    pub fn put_all(&mut self, offset_k: &[f64; N], clearness: &[f64; N]) {
        let mut bounded = [0.0; N];
        for l in 0..N {
            bounded[l] = clearness[l].clamp(0.0, PIECES as f64 * PIECE);
            self.offset_k[l] = R::of(offset_k[l]);
            self.clearness[l] = R::of(bounded[l]);
        }
        for (piece, row) in self.pieces.iter_mut().enumerate() {
            for l in 0..N {
                row[l] = R::of((bounded[l] - piece as f64 * PIECE).clamp(0.0, PIECE));
            }
        }
    }
}

/// The fuels that warm the van, in the order of [`Parts::heat_fuels`](crate::domain::Parts), in each
/// life.
pub struct FuelLanes<'a, R = f32, const N: usize = LANES> {
    /// Units burnt of each so far; an hour adds to it.
    pub burnt: &'a mut [Lane<R, N>],
    /// Units of each that can still be burnt: what is out is not, and the next source stands in for
    /// it. Empty where nobody asks.
    pub left: &'a [Lane<R, N>],
}

impl<'a, R, const N: usize> FuelLanes<'a, R, N> {
    /// Of which nobody asks how much is left.
    #[inline(always)]
    pub fn enough(burnt: &'a mut [Lane<R, N>]) -> FuelLanes<'a, R, N> {
        FuelLanes { burnt, left: &[] }
    }
}

/// What one hour moves in each life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowLanes<R = f32, const N: usize = LANES> {
    /// Heat that is asked for, in W; all sources together may give less.
    pub asked_w: Lane<R, N>,
    /// What moves the battery, in Wh at the cells, before full and empty.
    pub net_wh: Lane<R, N>,
}

impl<R: Real, const N: usize> FlowLanes<R, N> {
    /// Nothing moves.
    #[inline(always)]
    pub(super) fn none() -> FlowLanes<R, N> {
        let none = [R::of(0.0); N];
        FlowLanes { asked_w: none, net_wh: none }
    }

    /// The battery's level in a lane after that part of the hour, in Wh; see [`held_wh`].
    #[inline(always)]
    pub fn level_after(&self, l: usize, level_wh: R, part: R, capacity_wh: R) -> R {
        held_wh(level_wh + self.net_wh[l] * part, capacity_wh)
    }
}
