//! One hour of sun and cold in many lives side by side.
//!
//! The same sums as [`Kit::hour`], laid out so that the compiler turns them into vector
//! instructions: what all lives share is worked out once per hour ([`KitHour`]), what a life
//! keeps for a day once per day ([`DayLanes`]). Single precision is ample here: a battery's
//! level is good to a hundredth of a watt-hour after a month.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::{ClimateValues, Kit, STEP, STEPS, SunHour};
use crate::physics;

/// Lives side by side.
pub const LANES: usize = 32;
/// One number per life.
pub type Lane = [f32; LANES];

/// Pieces of the panels' light table.
const PIECES: usize = STEPS - 1;

/// What all lives share in one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KitHour {
    /// Outside temperature without a life's departure from it, degrees Celsius.
    outside_c: f32,
    wanted_c: f32,
    /// Heat from people, in W.
    people_w: f32,
    /// Heat from the sun at full clearness, in W.
    sun_w: f32,
    /// 1 where what appliances draw warms the van, 0 with nobody aboard or where warmth is not
    /// modelled: then it is as cold inside as outside.
    warmed: f32,
    /// Temperature inside from which on windows are opened, degrees Celsius; nobody does with nobody
    /// aboard.
    aired_from_c: f32,
    /// What the heater can give in this hour, in W; 0 where it is off.
    output_w: f32,
    dark: bool,
    /// Slope of panel power over clearness, piece by piece, in W.
    watts: [f32; PIECES],
    /// Slope of the irradiance in the panels' plane, in W/m2.
    plane: [f32; PIECES],
}

/// Climate coefficients of each life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValueLanes {
    panel_factor: Lane,
    fridge_w: Lane,
    standing_w: Lane,
    loss_w_per_k: Lane,
    kelvin_per_w: Lane,
    heater_draw: Lane,
}

impl ValueLanes {
    /// Takes one life per lane; lanes beyond `values` repeat zeros.
    pub fn of(values: impl Iterator<Item = ClimateValues>) -> ValueLanes {
        let none = [0.0; LANES];
        let mut lanes = ValueLanes {
            panel_factor: none,
            fridge_w: none,
            standing_w: none,
            loss_w_per_k: [1.0; LANES],
            kelvin_per_w: [1.0; LANES],
            heater_draw: [1.0; LANES],
        };
        for (l, value) in values.take(LANES).enumerate() {
            let loss = value.loss_w_per_k.max(1e-6);
            lanes.panel_factor[l] = value.panel_factor as f32;
            lanes.fridge_w[l] = value.fridge_w.max(0.0) as f32;
            lanes.standing_w[l] = value.standing_w as f32;
            lanes.loss_w_per_k[l] = loss as f32;
            lanes.kelvin_per_w[l] = (1.0 / loss) as f32;
            lanes.heater_draw[l] = value.heater_draw as f32;
        }
        lanes
    }
}

/// What each life's weather is like for one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayLanes {
    offset_k: Lane,
    clearness: Lane,
    /// How much of the clearness falls in each piece of the light table.
    pieces: [Lane; PIECES],
}

impl Default for DayLanes {
    fn default() -> DayLanes {
        let none = [0.0; LANES];
        DayLanes { offset_k: none, clearness: none, pieces: [none; PIECES] }
    }
}

impl DayLanes {
    /// A life's departure from the expected temperature, in K, and its clearness, clamped to
    /// `[0, 1.2]`.
    pub fn put(&mut self, lane: usize, offset_k: f64, clearness: f64) {
        let clearness = clearness.clamp(0.0, PIECES as f64 * STEP);
        self.offset_k[lane] = offset_k as f32;
        self.clearness[lane] = clearness as f32;
        for (piece, row) in self.pieces.iter_mut().enumerate() {
            row[lane] = (clearness - piece as f64 * STEP).clamp(0.0, STEP) as f32;
        }
    }
}

impl DayLanes {
    /// [`DayLanes::put`] for every lane.
    #[inline(always)]
    pub fn put_all(&mut self, offset_k: &[f64; LANES], clearness: &[f64; LANES]) {
        let mut bounded = [0.0; LANES];
        for l in 0..LANES {
            bounded[l] = clearness[l].clamp(0.0, PIECES as f64 * STEP);
            self.offset_k[l] = offset_k[l] as f32;
            self.clearness[l] = bounded[l] as f32;
        }
        for (piece, row) in self.pieces.iter_mut().enumerate() {
            for l in 0..LANES {
                row[l] = (bounded[l] - piece as f64 * STEP).clamp(0.0, STEP) as f32;
            }
        }
    }
}

/// What one hour moves in each life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowLanes {
    /// Units of the heater's stock burnt.
    pub fuel: Lane,
    /// Heat that a heater is asked for, in W; it may give less.
    pub wanted_w: Lane,
    /// What moves the battery, in Wh at the cells.
    pub net_wh: Lane,
}

impl Default for FlowLanes {
    fn default() -> FlowLanes {
        let none = [0.0; LANES];
        FlowLanes { fuel: none, wanted_w: none, net_wh: none }
    }
}

/// What one hour moves in one life; see [`super::HourFlows`].
struct Flow {
    fuel: f32,
    wanted_w: f32,
    load_wh: f32,
    offered_wh: f32,
    /// Share of what is sent into the battery that it keeps: 0 while it is too cold to charge.
    accepts: f32,
}

/// How light reaches the panels in an hour: not at all, onto level ones, onto any.
const DARK: u8 = 0;
const LEVEL: u8 = 1;
const TILTED: u8 = 2;

const AIRED_K: f32 = physics::heat::AIRED_K as f32;

/// The smaller one. Unlike `f32::min` it is a single instruction, since NaN is nobody's value.
#[inline(always)]
fn least(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

/// The larger one.
#[inline(always)]
fn most(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// The kit's numbers in the lanes' precision.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct KitLanes {
    fuel_per_wh: f32,
    per_lowest_w: f32,
    fan_w: f32,
    starts_wh: f32,
    flat: bool,
    fridge_per_kelvin: f32,
    idle_w: f32,
    discharge: f32,
    per_discharge: f32,
    charge: f32,
    charge_limit_w: f32,
    refuses_below_c: f32,
    per_kelvin: f32,
}

impl KitLanes {
    pub(super) fn of(kit: &Kit) -> KitLanes {
        let heater = kit.heater.filter(|_| kit.burns).unwrap_or(physics::heat::Heater {
            output_w: 0.0,
            lowest_w: 0.0,
            efficiency: 0.0,
            wh_per_unit: 0.0,
            fan_w: 0.0,
            start_wh: 0.0,
        });
        let lowest_w = heater.lowest_w.clamp(0.0, heater.output_w.max(0.0));
        let electrics = kit.electrics.as_ref();
        let or = |of: fn(&crate::domain::rig::Electrics) -> Option<f64>, none: f64| {
            electrics.and_then(of).unwrap_or(none) as f32
        };
        KitLanes {
            fuel_per_wh: physics::heat::fuel_units(1.0, heater.efficiency, heater.wh_per_unit)
                as f32,
            // A heater without a lowest output never cycles.
            per_lowest_w: if lowest_w > 0.0 { (1.0 / lowest_w) as f32 } else { 1e9 },
            fan_w: heater.fan_w as f32,
            starts_wh: (4.0 * physics::heat::MOST_STARTS_PER_HOUR * heater.start_wh) as f32,
            flat: electrics.is_none_or(|e| e.panels.iter().all(|p| p.tilt_deg == 0.0)),
            fridge_per_kelvin: or(|e| e.fridge.map(|f| f.per_kelvin), 0.0),
            idle_w: kit.idle_w as f32,
            discharge: electrics.map_or(1.0, |e| e.discharge_efficiency) as f32,
            per_discharge: (1.0 / electrics.map_or(1.0, |e| e.discharge_efficiency)) as f32,
            charge: or(|e| Some(e.charge_efficiency), 0.0),
            charge_limit_w: or(|e| e.charge_limit_w, f64::INFINITY),
            refuses_below_c: or(|e| e.no_charge_below_c, f64::NEG_INFINITY),
            per_kelvin: kit.per_kelvin as f32,
        }
    }
}

impl Kit {
    /// What all lives share in an hour: the civil hour at the van, who is aboard, the expected
    /// temperature outside in degrees Celsius, and the sun.
    pub fn shared(&self, hour: usize, people: f64, outside_c: f64, sun: &SunHour) -> KitHour {
        let heating = self.heating.as_ref();
        let heater = self.heater.filter(|_| self.burns && people > 0.0);
        let slopes = |table: &[f64; STEPS]| {
            std::array::from_fn(|piece| ((table[piece + 1] - table[piece]) / STEP) as f32)
        };
        KitHour {
            outside_c: outside_c as f32,
            wanted_c: heating.map_or(0.0, |h| h.wanted_c(hour)) as f32,
            people_w: heating.map_or(0.0, |h| people * h.person_w) as f32,
            sun_w: heating.map_or(0.0, |h| h.sun_gain_m2 * sun.clear_w_m2) as f32,
            warmed: if heating.is_some() && people > 0.0 { 1.0 } else { 0.0 },
            aired_from_c: match heating {
                Some(heating) if people > 0.0 => {
                    physics::heat::aired_from_c(heating.wanted_c(hour)) as f32
                }
                _ => f32::INFINITY,
            },
            output_w: heater.map_or(0.0, |h| h.output_w.max(0.0)) as f32,
            dark: sun.clear_w_m2 <= 0.0,
            watts: slopes(&sun.watts),
            plane: slopes(&sun.plane),
        }
    }

    /// One hour in every lane; the lanes' counterpart of [`Kit::hour`]. `others` says what moves
    /// the battery besides light, in Wh at the cells, from the lane, the kit's loads in Wh at the
    /// cells and the fuel burnt. What it looks at is best a plain local array.
    #[inline(always)]
    pub fn hour_lanes(
        &self,
        hour: &KitHour,
        day: &DayLanes,
        values: &ValueLanes,
        flows: &mut FlowLanes,
        others: impl Fn(usize, f32, f32) -> f32,
    ) {
        match (hour.dark, self.lanes.flat) {
            (true, _) => self.each_lane::<DARK>(hour, day, values, flows, others),
            // Level panels see clearness times the clear sky: one slope.
            (false, true) => self.each_lane::<LEVEL>(hour, day, values, flows, others),
            (false, false) => self.each_lane::<TILTED>(hour, day, values, flows, others),
        }
    }

    #[inline(always)]
    fn each_lane<const LIGHT: u8>(
        &self,
        hour: &KitHour,
        day: &DayLanes,
        values: &ValueLanes,
        flows: &mut FlowLanes,
        others: impl Fn(usize, f32, f32) -> f32,
    ) {
        let kit = &self.lanes;
        for l in 0..LANES {
            let flow = kit.lane::<LIGHT>(hour, day, values, l);
            let net_wh = others(l, flow.load_wh, flow.fuel);
            flows.net_wh[l] = if LIGHT == DARK { net_wh } else { kit.settle(&flow, net_wh) };
            flows.fuel[l] = flow.fuel;
            flows.wanted_w[l] = flow.wanted_w;
        }
        self.at_rate(&mut flows.net_wh);
    }

    /// The fuel that [`Kit::hour_lanes`] tells of, alone.
    #[inline(always)]
    pub fn heat_lanes(
        &self,
        hour: &KitHour,
        day: &DayLanes,
        values: &ValueLanes,
        burnt: &mut Lane,
    ) {
        for l in 0..LANES {
            burnt[l] = self.lanes.heat(hour, day, values, l).heat_w * self.lanes.fuel_per_wh;
        }
    }

    /// How far the van stays below the wanted temperature in each lane, in K; `unfuelled` where the
    /// heater has nothing to burn. Zeros with nobody aboard.
    #[inline(always)]
    pub fn short_k(
        &self,
        hour: &KitHour,
        values: &ValueLanes,
        wanted_w: &Lane,
        unfuelled: &[bool; LANES],
    ) -> Lane {
        let mut short = [0.0; LANES];
        if hour.output_w > 0.0 {
            for l in 0..LANES {
                let output_w = if unfuelled[l] { 0.0 } else { hour.output_w };
                short[l] = most(wanted_w[l] - output_w, 0.0) * values.kelvin_per_w[l];
            }
        }
        short
    }
}

/// What heats one life's van in one hour.
struct Heat {
    outside_c: f32,
    gains_w: f32,
    wanted_w: f32,
    /// What the heater gives.
    heat_w: f32,
}

impl KitLanes {
    /// Heat in one lane.
    #[inline(always)]
    fn heat(&self, hour: &KitHour, day: &DayLanes, values: &ValueLanes, l: usize) -> Heat {
        let outside_c = hour.outside_c + day.offset_k[l];
        let appliances_w = hour.warmed * (values.fridge_w[l] + values.standing_w[l]);
        let gains_w = hour.people_w + hour.sun_w * day.clearness[l] + appliances_w;
        let demand_w = values.loss_w_per_k[l] * (hour.wanted_c - outside_c) - gains_w;
        let wanted_w = most(demand_w, 0.0);
        Heat { outside_c, gains_w, wanted_w, heat_w: least(wanted_w, hour.output_w) }
    }

    /// One hour in one lane.
    #[inline(always)]
    fn lane<const LIGHT: u8>(
        &self,
        hour: &KitHour,
        day: &DayLanes,
        values: &ValueLanes,
        l: usize,
    ) -> Flow {
        let Heat { outside_c, gains_w, wanted_w, heat_w } = self.heat(hour, day, values, l);
        let burning = least(heat_w * self.per_lowest_w, 1.0);
        let inside_c = outside_c + (gains_w + heat_w) * values.kelvin_per_w[l];
        let inside_c = least(inside_c, most(outside_c + AIRED_K, hour.aired_from_c));
        let heater_wh = (self.fan_w + self.starts_wh * (1.0 - burning)) * burning;
        let heater_wh = heater_wh * values.heater_draw[l];
        let share = 1.0 + self.fridge_per_kelvin * (inside_c - 20.0);
        let share = least(most(share, LEAST_FRIDGE), MOST_FRIDGE);
        let drawn_wh = values.fridge_w[l] * share + values.standing_w[l] + self.idle_w + heater_wh;
        let (watts, plane) = match LIGHT {
            DARK => (0.0, 0.0),
            LEVEL => (hour.watts[0] * day.clearness[l], hour.plane[0] * day.clearness[l]),
            _ => {
                let (mut watts, mut plane) = (0.0, 0.0);
                for piece in 0..PIECES {
                    watts += hour.watts[piece] * day.pieces[piece][l];
                    plane += hour.plane[piece] * day.pieces[piece][l];
                }
                (watts, plane)
            }
        };
        let cell_c = outside_c + KELVIN_PER_W_M2 * plane;
        let heat = most(1.0 + self.per_kelvin * (cell_c - 25.0), 0.0);
        Flow {
            fuel: heat_w * self.fuel_per_wh,
            wanted_w,
            load_wh: drawn_wh * self.per_discharge,
            offered_wh: least(watts * heat * values.panel_factor[l], self.charge_limit_w),
            // Cells indoors are as warm as the van; out in the cold they refuse charge.
            accepts: if inside_c < self.refuses_below_c { 0.0 } else { self.charge },
        }
    }

    /// Joins an hour's light to whatever else moves the battery in it, `net_wh` at the cells:
    /// light feeds the loads first, without a loss in the battery, and what is left is stored.
    #[inline(always)]
    fn settle(&self, flow: &Flow, net_wh: f32) -> f32 {
        let wanted_wh = most(-net_wh, 0.0) * self.discharge;
        let direct_wh = least(flow.offered_wh, wanted_wh);
        let sent_wh = flow.offered_wh - direct_wh;
        net_wh + direct_wh * self.per_discharge + sent_wh * flow.accepts
    }
}

const LEAST_FRIDGE: f32 = physics::fridge::LEAST_SHARE as f32;
const MOST_FRIDGE: f32 = physics::fridge::MOST_SHARE as f32;
/// Cell temperature over air temperature per irradiance; see [`physics::panel`].
const KELVIN_PER_W_M2: f32 = ((physics::panel::OPEN_NOCT_C - 20.0) / 800.0) as f32;

#[cfg(test)]
mod tests;
