//! One hour of sun, cold, loads and battery, in one life or in many side by side.
//!
//! Every formula is [`crate::physics`]'s; here they are joined. [`Kit`] holds what stays, a
//! [`KitHour`] what all lives share in an hour, and the lanes what each life has of its own.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::lanes::{DayLanes, FlowLanes, FuelLanes, Lane, ValueLanes};
use super::light::{LightHour, PIECES};
use super::values::{ClimateValues, HourFlows, Surroundings};
use super::warming::{HeatLanes, Warming, WarmthHour};
use crate::mechanism::Mechanism;
use crate::mechanism::factors::{over_panels, rated_w};
use crate::physics::battery::{Terminals, drain_wh, may_charge};
use crate::physics::heat::{aired_c, inside_c};
use crate::physics::real::Real;
use crate::physics::{fridge, panel};

/// The kit that sun and cold act on, in the precision of its hours.
#[derive(Debug, Clone, PartialEq)]
pub struct Kit<R = f32> {
    warming: Warming<R>,
    /// How many fuels there are.
    fuels: usize,
    /// Whether all panels lie level.
    level: bool,
    per_kelvin: R,
    fridge_per_kelvin: R,
    /// What an inverter draws that is always on, in W.
    idle_w: R,
    cells: Terminals<R>,
    charge_efficiency: R,
    charge_limit_w: R,
    refuses_below_c: R,
    rate: Option<Rate>,
}

/// How a battery's capacity shrinks with the current; see [`drain_wh`].
#[derive(Debug, Clone, Copy, PartialEq)]
struct Rate {
    capacity_wh: f64,
    rated_hours: f64,
    exponent: f64,
}

/// What all lives share in one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KitHour<R = f32> {
    warmth: WarmthHour<R>,
    dark: bool,
    /// Power of the panels with cool cells over clearness, piece by piece, in W.
    watts: [R; PIECES],
    /// Irradiance in the panels' plane over clearness, in W/m2.
    plane: [R; PIECES],
}

/// How light reaches the panels in an hour: not at all, onto level ones, onto any.
const DARK: u8 = 0;
const LEVEL: u8 = 1;
const TILTED: u8 = 2;

impl<R: Real> Kit<R> {
    /// Reads it off the mechanism.
    pub fn of(mechanism: &Mechanism) -> Kit<R> {
        let parts = &mechanism.parts;
        let electrics = parts.electrics.as_ref().filter(|_| mechanism.electric.is_some());
        let inverter = electrics.and_then(|e| e.inverter).filter(|inverter| inverter.always_on);
        let panels = electrics.filter(|e| rated_w(e) > 0.0);
        let number = |value: Option<f64>, none: f64| R::of(value.unwrap_or(none));
        Kit {
            warming: Warming::of(mechanism),
            fuels: parts.heat_fuels().len(),
            level: electrics.is_none_or(|e| e.panels.iter().all(|panel| panel.tilt_deg == 0.0)),
            per_kelvin: number(panels.map(|e| over_panels(e, |panel| panel.per_kelvin)), 0.0),
            fridge_per_kelvin: number(electrics.and_then(|e| Some(e.fridge?.per_kelvin)), 0.0),
            idle_w: number(inverter.map(|inverter| inverter.idle_w), 0.0),
            cells: Terminals::of(electrics.map_or(1.0, |e| e.discharge_efficiency)),
            charge_efficiency: number(electrics.map(|e| e.charge_efficiency), 0.0),
            charge_limit_w: number(electrics.and_then(|e| e.charge_limit_w), f64::INFINITY),
            refuses_below_c: number(electrics.and_then(|e| e.no_charge_below_c), f64::NEG_INFINITY),
            rate: rate(mechanism),
        }
    }

    /// What all lives share of an hour's warmth, under so much light on level ground from a clear
    /// sky, in W/m2.
    pub fn warmth(&self, around: Surroundings, clear_w_m2: f64) -> WarmthHour<R> {
        self.warming.hour(around, clear_w_m2)
    }

    /// What all lives share in an hour: as [`Kit::warmth`], and what the sun offers.
    pub fn shared(&self, around: Surroundings, sun: &LightHour) -> KitHour<R> {
        KitHour {
            warmth: self.warmth(around, sun.clear_w_m2),
            dark: sun.clear_w_m2 <= 0.0,
            watts: sun.watts.map(R::of),
            plane: sun.plane.map(R::of),
        }
    }

    /// One hour of one life with that clearness of the sky, and what is burnt of each fuel in it, in
    /// its units.
    pub fn alone(
        &self,
        hour: &KitHour<R>,
        clearness: f64,
        values: &ClimateValues,
    ) -> (HourFlows<R>, Vec<R>) {
        let (day, values) = one_life(clearness, values);
        let mut burnt = vec![[R::of(0.0)]; self.fuels];
        let mut fuels = FuelLanes::enough(&mut burnt);
        let heat = self.warming.lanes(&hour.warmth, (&day, &values), &mut fuels);
        let flows = self.lane::<TILTED, 1>((hour, &heat), &day, &values, 0);
        (flows, burnt.concat())
    }

    /// Adds what [`Kit::alone`] burns of each fuel; `tending` is how much a tended fire burns beyond
    /// what is wanted, over what is usual.
    pub fn burn(
        &self,
        warmth: &WarmthHour<R>,
        (clearness, tending): (f64, f64),
        values: &ClimateValues,
        burnt: &mut [Lane<R, 1>],
    ) {
        let (mut day, values) = one_life(clearness, values);
        day.put_tending(&[tending]);
        self.warming.lanes(warmth, (&day, &values), &mut FuelLanes::enough(burnt));
    }

    /// What an hour's light is worth to the battery of a life, in Wh at the cells: what it spares
    /// them by feeding the kit's loads, and what they keep of the rest.
    pub(in crate::mechanism) fn light_wh(&self, flows: &HourFlows<R>) -> R {
        let HourFlows { load_wh, offered_wh, accepted, .. } = *flows;
        self.cells.joined_wh(-load_wh, offered_wh, accepted) + load_wh
    }

    /// One hour in every lane, with what is burnt of `fuels`. `others` says what moves the battery besides light, in Wh at the cells, from the lane, the kit's loads
    /// in Wh at the cells and what heat takes of the battery itself. What it looks at is best a plain
    /// local array.
    #[inline(always)]
    pub fn hour_lanes<const N: usize>(
        &self,
        hour: &KitHour<R>,
        (day, values): (&DayLanes<R, N>, &ValueLanes<R, N>),
        mut fuels: FuelLanes<R, N>,
        others: impl Fn(usize, R, R) -> R,
    ) -> FlowLanes<R, N> {
        let heat = self.warming.lanes(&hour.warmth, (day, values), &mut fuels);
        // Settled outside the loop: whether it is dark, and whether panels lie level. Those see
        // clearness times the clear sky, one slope.
        match (hour.dark, self.level) {
            (true, _) => self.each_lane::<DARK, N>((hour, &heat), day, values, others),
            (false, true) => self.each_lane::<LEVEL, N>((hour, &heat), day, values, others),
            (false, false) => self.each_lane::<TILTED, N>((hour, &heat), day, values, others),
        }
    }

    #[inline(always)]
    fn each_lane<const LIGHT: u8, const N: usize>(
        &self,
        (hour, heat): (&KitHour<R>, &HeatLanes<R, N>),
        day: &DayLanes<R, N>,
        values: &ValueLanes<R, N>,
        others: impl Fn(usize, R, R) -> R,
    ) -> FlowLanes<R, N> {
        let mut flows = FlowLanes::none();
        for l in 0..N {
            let flow = self.lane::<LIGHT, N>((hour, heat), day, values, l);
            let net_wh = others(l, flow.load_wh, heat.of_store[l]);
            flows.net_wh[l] = match LIGHT {
                DARK => net_wh,
                _ => self.cells.joined_wh(net_wh, flow.offered_wh, flow.accepted),
            };
            flows.asked_w[l] = heat.asked_w[l];
        }
        self.at_rate(&mut flows.net_wh);
        flows
    }

    /// What the hour's net change of the battery, in Wh at the cells, comes to at its current:
    /// a fast discharge costs some batteries more than it delivers. Charge is left as it is.
    #[inline]
    fn at_rate(&self, net_wh: &mut [R]) {
        let Some(Rate { capacity_wh, rated_hours, exponent }) = self.rate else { return };
        for net in net_wh.iter_mut().filter(|net| **net < R::of(0.0)) {
            let drawn_wh = (-*net).into();
            *net = R::of(-drain_wh(drawn_wh, capacity_wh, rated_hours, exponent));
        }
    }

    /// Adds the fuel that [`Kit::hour_lanes`] tells of, alone.
    #[inline(always)]
    pub fn heat_lanes<const N: usize>(
        &self,
        hour: &KitHour<R>,
        lives: (&DayLanes<R, N>, &ValueLanes<R, N>),
        mut fuels: FuelLanes<R, N>,
    ) {
        self.warming.lanes(&hour.warmth, lives, &mut fuels);
    }

    /// How far the van stays below the wanted temperature in each lane, in K, where so much heat is
    /// asked for; `out` tells of each fuel in which lanes there is none. Zeros with nobody aboard.
    #[inline(always)]
    pub fn short_k<const N: usize>(
        &self,
        hour: &KitHour<R>,
        values: &ValueLanes<R, N>,
        asked_w: &Lane<R, N>,
        out: &[[bool; N]],
    ) -> Lane<R, N> {
        self.warming.short_k(&hour.warmth, values, asked_w, out)
    }

    /// One hour in one lane.
    #[inline(always)]
    fn lane<const LIGHT: u8, const N: usize>(
        &self,
        (hour, heat): (&KitHour<R>, &HeatLanes<R, N>),
        day: &DayLanes<R, N>,
        values: &ValueLanes<R, N>,
        l: usize,
    ) -> HourFlows<R> {
        let outside_c = heat.outside_c[l];
        let shut_c = inside_c(outside_c, heat.gains_w[l] + heat.given_w[l], values.kelvin_per_w[l]);
        let open_c = shut_c.least(aired_c(hour.warmth.aired_from_c, outside_c));
        let home = values.home[l];
        let inside_c = open_c * home + shut_c * (R::of(1.0) - home);
        let fridge_w = fridge::mean_draw_w(values.fridge_w[l], self.fridge_per_kelvin, inside_c);
        let heaters_wh = heat.electric_wh[l] * values.heater_draw[l];
        let drawn_wh = fridge_w + values.standing_w[l] + self.idle_w + heaters_wh;
        let (cool_w, plane_w_m2) = hour.onto_panels::<LIGHT, N>(day, l);
        let cell_c = panel::cell_temperature_c(outside_c, plane_w_m2);
        let panel_w = panel::power_w(cool_w, cell_c, self.per_kelvin) * values.panel_factor[l];
        // Cells indoors are as warm as the van; out in the cold they refuse charge.
        let charges = may_charge(inside_c, self.refuses_below_c);
        HourFlows {
            inside_c,
            load_wh: self.cells.taken_wh(drawn_wh),
            offered_wh: panel_w.least(self.charge_limit_w),
            accepted: if charges { self.charge_efficiency } else { R::of(0.0) },
        }
    }
}

impl<R: Real> KitHour<R> {
    /// Power of the panels with cool cells, in W, and irradiance in their plane, in W/m2.
    #[inline(always)]
    fn onto_panels<const LIGHT: u8, const N: usize>(
        &self,
        day: &DayLanes<R, N>,
        l: usize,
    ) -> (R, R) {
        let (mut watts, mut plane) = (R::of(0.0), R::of(0.0));
        match LIGHT {
            DARK => {}
            LEVEL => {
                watts = self.watts[0] * day.clearness[l];
                plane = self.plane[0] * day.clearness[l];
            }
            _ => {
                for piece in 0..PIECES {
                    watts = watts + self.watts[piece] * day.pieces[piece][l];
                    plane = plane + self.plane[piece] * day.pieces[piece][l];
                }
            }
        }
        (watts, plane)
    }
}

/// The lanes of a life that departs from no expected temperature.
#[inline(always)]
fn one_life<R: Real>(clearness: f64, values: &ClimateValues) -> (DayLanes<R, 1>, ValueLanes<R, 1>) {
    let mut day = DayLanes::default();
    day.put_all(&[0.0], &[clearness]);
    (day, ValueLanes::of(std::iter::once(*values)))
}

/// `None` for a battery whose capacity is the same at any current.
fn rate(mechanism: &Mechanism) -> Option<Rate> {
    let electrics = mechanism.parts.electrics.as_ref().filter(|e| e.peukert > 1.0)?;
    let capacity_wh = mechanism.stocks()[mechanism.electric?].capacity;
    Some(Rate { capacity_wh, rated_hours: electrics.rated_hours, exponent: electrics.peukert })
}

#[cfg(test)]
mod tests;
