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
    /// 1 with somebody aboard, 0 without.
    aboard: f32,
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
        };
        for (l, value) in values.take(LANES).enumerate() {
            let loss = value.loss_w_per_k.max(1e-6);
            lanes.panel_factor[l] = value.panel_factor as f32;
            lanes.fridge_w[l] = value.fridge_w.max(0.0) as f32;
            lanes.standing_w[l] = value.standing_w as f32;
            lanes.loss_w_per_k[l] = loss as f32;
            lanes.kelvin_per_w[l] = (1.0 / loss) as f32;
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

/// What one hour moves in each life; see [`super::HourFlows`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlowLanes {
    /// Units of the heater's stock burnt.
    pub fuel: Lane,
    /// Energy that the loads take, in Wh at the cells.
    pub load_wh: Lane,
    /// Energy that the panels offer, in Wh, before any loss of the battery.
    pub offered_wh: Lane,
    /// Share of what is sent into the battery that it keeps: 0 while it is too cold to charge.
    pub accepts: Lane,
    /// How far the van stays below the wanted temperature, in K.
    pub short_k: Lane,
}

impl Default for FlowLanes {
    fn default() -> FlowLanes {
        let none = [0.0; LANES];
        FlowLanes { fuel: none, load_wh: none, offered_wh: none, accepts: none, short_k: none }
    }
}

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
    heated: bool,
    fuel_per_wh: f32,
    per_lowest_w: f32,
    fan_w: f32,
    starts_wh: f32,
    electric: bool,
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
            heated: kit.heating.is_some(),
            fuel_per_wh: physics::heat::fuel_units(1.0, heater.efficiency, heater.wh_per_unit)
                as f32,
            // A heater without a lowest output never cycles.
            per_lowest_w: if lowest_w > 0.0 { (1.0 / lowest_w) as f32 } else { 1e9 },
            fan_w: heater.fan_w as f32,
            starts_wh: (4.0 * physics::heat::MOST_STARTS_PER_HOUR * heater.start_wh) as f32,
            electric: electrics.is_some(),
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
            aboard: if people > 0.0 { 1.0 } else { 0.0 },
            output_w: heater.map_or(0.0, |h| h.output_w.max(0.0)) as f32,
            dark: sun.clear_w_m2 <= 0.0,
            watts: slopes(&sun.watts),
            plane: slopes(&sun.plane),
        }
    }

    /// One hour in every lane; the lanes' counterpart of [`Kit::hour`].
    #[inline(always)]
    pub fn hour_lanes(
        &self,
        hour: &KitHour,
        day: &DayLanes,
        values: &ValueLanes,
        flows: &mut FlowLanes,
    ) {
        let kit = &self.lanes;
        let mut inside_c = [0.0; LANES];
        let mut heater_wh = [0.0; LANES];
        if kit.heated {
            let heats = if hour.output_w > 0.0 { 1.0 } else { 0.0 };
            for l in 0..LANES {
                let outside_c = hour.outside_c + day.offset_k[l];
                let appliances_w = hour.aboard * (values.fridge_w[l] + values.standing_w[l]);
                let gains_w = hour.people_w + hour.sun_w * day.clearness[l] + appliances_w;
                let demand_w = values.loss_w_per_k[l] * (hour.wanted_c - outside_c) - gains_w;
                let wanted_w = most(demand_w, 0.0);
                let heat_w = least(wanted_w, hour.output_w);
                let burning = least(heat_w * kit.per_lowest_w, 1.0);
                inside_c[l] = outside_c + (gains_w + heat_w) * values.kelvin_per_w[l];
                heater_wh[l] = kit.fan_w * burning + kit.starts_wh * burning * (1.0 - burning);
                flows.fuel[l] = heat_w * kit.fuel_per_wh;
                flows.short_k[l] = heats * (wanted_w - heat_w) * values.kelvin_per_w[l];
            }
        } else {
            for l in 0..LANES {
                inside_c[l] = hour.outside_c + day.offset_k[l];
            }
        }
        if kit.electric {
            for l in 0..LANES {
                let share = 1.0 + kit.fridge_per_kelvin * (inside_c[l] - 20.0);
                let share = least(most(share, LEAST_FRIDGE), MOST_FRIDGE);
                let drawn_wh =
                    values.fridge_w[l] * share + values.standing_w[l] + kit.idle_w + heater_wh[l];
                flows.load_wh[l] = drawn_wh * kit.per_discharge;
            }
            self.light(hour, day, values, &inside_c, flows);
        }
    }

    /// Joins an hour's light to whatever else moves the battery in it, `net_wh` at the cells:
    /// light feeds the loads first, without a loss in the battery, and what is left is stored.
    /// Then what the hour's current costs is taken.
    #[inline(always)]
    pub fn settle(&self, flows: &FlowLanes, net_wh: &mut Lane) {
        let kit = &self.lanes;
        for l in 0..LANES {
            let wanted_wh = most(-net_wh[l], 0.0) * kit.discharge;
            let direct_wh = least(flows.offered_wh[l], wanted_wh);
            let sent_wh = flows.offered_wh[l] - direct_wh;
            net_wh[l] += direct_wh * kit.per_discharge + sent_wh * flows.accepts[l];
        }
        self.at_rate(net_wh);
    }

    /// What the panels offer, and what the battery keeps of it.
    #[inline(always)]
    fn light(
        &self,
        hour: &KitHour,
        day: &DayLanes,
        values: &ValueLanes,
        inside_c: &Lane,
        flows: &mut FlowLanes,
    ) {
        if hour.dark {
            flows.offered_wh = [0.0; LANES];
            return;
        }
        let kit = &self.lanes;
        let (mut watts, mut plane) = ([0.0; LANES], [0.0; LANES]);
        if kit.flat {
            // Level panels see clearness times the clear sky: one slope.
            for l in 0..LANES {
                watts[l] = hour.watts[0] * day.clearness[l];
                plane[l] = hour.plane[0] * day.clearness[l];
            }
        } else {
            for piece in 0..PIECES {
                for l in 0..LANES {
                    watts[l] += hour.watts[piece] * day.pieces[piece][l];
                    plane[l] += hour.plane[piece] * day.pieces[piece][l];
                }
            }
        }
        for l in 0..LANES {
            let cell_c = hour.outside_c + day.offset_k[l] + KELVIN_PER_W_M2 * plane[l];
            let heat = most(1.0 + kit.per_kelvin * (cell_c - 25.0), 0.0);
            flows.offered_wh[l] =
                least(watts[l] * heat * values.panel_factor[l], kit.charge_limit_w);
            // Cells indoors are as warm as the van; out in the cold they refuse charge.
            flows.accepts[l] = if inside_c[l] < kit.refuses_below_c { 0.0 } else { kit.charge };
        }
    }
}

const LEAST_FRIDGE: f32 = physics::fridge::LEAST_SHARE as f32;
const MOST_FRIDGE: f32 = physics::fridge::MOST_SHARE as f32;
/// Cell temperature over air temperature per irradiance; see [`physics::panel`].
const KELVIN_PER_W_M2: f32 = ((physics::panel::OPEN_NOCT_C - 20.0) / 800.0) as f32;

#[cfg(test)]
mod tests;
