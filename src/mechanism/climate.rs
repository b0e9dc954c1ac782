//! What sun and cold do to the stocks in one hour: panels, fridge, heater, standing draws.
//!
//! These are the flows that are not linear in anything: a heater has nothing to do above the
//! wanted temperature, cold cells refuse charge. Everything uncertain about them is a
//! coefficient like any other.

pub mod lanes;

use super::Mechanism;
use super::coefficient::{Coefficient, Nature};
use super::driver::Source;
use crate::domain::rig::{Electrics, Heating};
use crate::physics;

/// Indices of the coefficients that sun and cold use; `None` without the kit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Factors {
    /// Real over rated yield of the panels.
    pub panels: Option<usize>,
    /// Mean draw of the fridge at 20 degrees Celsius, in W.
    pub fridge: Option<usize>,
    /// Always-on draw, in W.
    pub standing: Option<usize>,
    /// Loss of the van, in W per kelvin.
    pub heat_loss: Option<usize>,
    /// Draw of the heater while it burns, in W; its starts go with it.
    pub heater: Option<usize>,
}

impl Factors {
    /// Adds the coefficients that the rig's kit calls for.
    pub(super) fn join(mechanism: &mut Mechanism) -> Factors {
        let mut factors = Factors::default();
        let positive = |what: &str, unit: &str, mean: f64, spread: f64| {
            let nature = Nature::Positive { spread };
            Coefficient::new(what.into(), unit.into(), Source::Climate, mean, nature)
        };
        if let Some(electrics) = mechanism.parts.electrics.clone() {
            let rated: f64 = electrics.panels.iter().map(|p| p.rated_w).sum();
            if rated > 0.0 {
                let weighted = |of: fn(&crate::domain::rig::Panel) -> f64| {
                    electrics.panels.iter().map(|p| p.rated_w * of(p)).sum::<f64>() / rated
                };
                let mean = weighted(|p| p.factor);
                let spread = weighted(|p| p.factor_spread) / mean;
                factors.panels = Some(mechanism.add(positive("panel factor", "", mean, spread)));
            }
            if let Some(fridge) = electrics.fridge {
                let fridge = positive("fridge draw at 20 C", "W", fridge.mean_w, fridge.spread);
                factors.fridge = Some(mechanism.add(fridge));
            }
            if electrics.standing_w > 0.0 {
                let (mean, spread) = (electrics.standing_w, electrics.standing_spread);
                factors.standing =
                    Some(mechanism.add(positive("standing draw", "W", mean, spread)));
            }
        }
        if let Some(heating) = mechanism.parts.heating.clone()
            && heating.burns.is_some()
        {
            let loss = positive("heat loss", "W/K", heating.ua_w_per_k, heating.ua_spread);
            factors.heat_loss = Some(mechanism.add(loss));
            if mechanism.electric.is_some() && heating.fan_w > 0.0 {
                let draw = positive("heater draw", "W", heating.fan_w, heating.draw_spread);
                factors.heater = Some(mechanism.add(draw));
            }
        }
        factors
    }

    /// Stocks that a climate coefficient moves.
    pub(super) fn stocks_moved_by(&self, index: usize, mechanism: &Mechanism) -> Vec<usize> {
        let mut stocks = Vec::new();
        let electric = [self.panels, self.fridge, self.standing, self.heat_loss, self.heater];
        if electric.contains(&Some(index)) {
            stocks.extend(mechanism.electric);
        }
        if self.heat_loss == Some(index) {
            stocks.extend(heater_fuel(mechanism));
        }
        stocks
    }

    pub(super) fn feeds_only_electric(&self, index: usize, mechanism: &Mechanism) -> bool {
        let fuel = heater_fuel(mechanism);
        let loss = self.heat_loss == Some(index);
        !loss || fuel.is_none() || fuel == mechanism.electric
    }
}

/// Index of the stock that the heater burns.
pub fn heater_fuel(mechanism: &Mechanism) -> Option<usize> {
    let burns = mechanism.parts.heating.as_ref()?.burns.as_ref()?;
    mechanism.parts.stock(burns).map(|(index, _)| index)
}

/// Number of cloudiness steps in [`SunHour::watts`].
const STEPS: usize = 7;
/// Width of a step of clearness (share of the clear-sky irradiance that arrives).
const STEP: f64 = 0.2;

/// What the sun offers in one hour, for any clearness of the sky.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SunHour {
    /// Clear-sky global horizontal irradiance, mean over the hour, in W/m2.
    pub clear_w_m2: f64,
    /// Power of all panels before heat and their factor, in W, at clearness 0, 0.2, ... 1.2.
    watts: [f64; STEPS],
    /// Mean irradiance in the panels' plane at the same steps, in W/m2.
    plane: [f64; STEPS],
}

impl SunHour {
    /// Tabulates the panels' plane for one hour. Flat panels are exactly linear in clearness, so
    /// the table loses nothing; tilted ones are interpolated between the steps.
    pub fn of(sun: &physics::sun::SunHour, electrics: Option<&Electrics>) -> SunHour {
        let mut hour = SunHour { clear_w_m2: sun.clear_w_m2, ..SunHour::default() };
        let Some(electrics) = electrics else { return hour };
        let rated: f64 = electrics.panels.iter().map(|p| p.rated_w).sum();
        if rated <= 0.0 || sun.clear_w_m2 <= 0.0 {
            return hour;
        }
        let mean_factor: f64 =
            electrics.panels.iter().map(|p| p.rated_w * p.factor).sum::<f64>() / rated;
        for step in 1..STEPS {
            let ghi = sun.clear_w_m2 * step as f64 * STEP;
            for panel in &electrics.panels {
                let plane = physics::panel::plane_of_array_w_m2(
                    ghi,
                    sun,
                    panel.tilt_deg,
                    panel.facing_deg,
                    physics::panel::USUAL_ALBEDO,
                );
                let relative = panel.factor / mean_factor;
                hour.watts[step] += panel.rated_w * relative * plane / 1000.0;
                hour.plane[step] += plane * panel.rated_w / rated;
            }
        }
        hour
    }

    /// Panel power in W before the panel factor, at a clearness and an outside temperature.
    pub fn panel_w(&self, clearness: f64, outside_c: f64, per_kelvin: f64) -> f64 {
        if self.clear_w_m2 <= 0.0 {
            return 0.0;
        }
        let place = (clearness / STEP).clamp(0.0, (STEPS - 1) as f64 - 1e-9);
        let (below, part) = (place as usize, place.fract());
        let between =
            |table: &[f64; STEPS]| table[below] + part * (table[below + 1] - table[below]);
        let cell_c = physics::panel::cell_temperature_c(
            outside_c,
            between(&self.plane),
            physics::panel::OPEN_NOCT_C,
        );
        between(&self.watts) * (1.0 + per_kelvin * (cell_c - 25.0)).max(0.0)
    }
}

/// What an hour needs to know besides the coefficients.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourWeather {
    /// Outside, mean over the hour, degrees Celsius.
    pub outside_c: f64,
    /// Share of the clear-sky irradiance that arrives, 0 to about 1.2.
    pub clearness: f64,
}

/// Values of the climate coefficients in one life.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ClimateValues {
    /// Real over rated yield.
    pub panel_factor: f64,
    /// Fridge draw at 20 degrees Celsius, W.
    pub fridge_w: f64,
    /// Always-on draw, W.
    pub standing_w: f64,
    /// Loss, W/K.
    pub loss_w_per_k: f64,
    /// What the heater draws, over what the rig says.
    pub heater_draw: f64,
}

impl ClimateValues {
    /// What these values of all coefficients say.
    pub fn of(mechanism: &Mechanism, coefficient: impl Fn(usize) -> f64) -> ClimateValues {
        let climate = &mechanism.climate;
        let value = |index: Option<usize>| index.map_or(0.0, &coefficient);
        let rated = |index: usize| mechanism.coefficients[index].mean;
        ClimateValues {
            panel_factor: value(climate.panels),
            fridge_w: value(climate.fridge),
            standing_w: value(climate.standing),
            loss_w_per_k: value(climate.heat_loss),
            heater_draw: climate.heater.map_or(1.0, |i| coefficient(i) / rated(i)),
        }
    }
}

/// What one hour of sun and cold moves.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HourFlows {
    /// Units of the heater's stock burnt.
    pub fuel: f64,
    /// Energy taken from the battery by fridge, heater and standing draws, in Wh at the cells.
    pub load_wh: f64,
    /// Energy that the panels offer, in Wh, before any loss of the battery.
    pub offered_wh: f64,
    /// Whether the battery is warm enough to take it; loads are fed in any case.
    pub charges: bool,
    /// Heat that was wanted and could not be given, in Wh.
    pub unmet_heat_wh: f64,
    /// Temperature inside, degrees Celsius.
    pub inside_c: f64,
}

impl HourFlows {
    /// What the hour's light is worth to the battery, in Wh at the cells: what it spares the
    /// battery by feeding the kit's loads, and what of the rest is stored.
    pub fn stored_wh(&self, electrics: Option<&Electrics>) -> f64 {
        let Some(electrics) = electrics else { return 0.0 };
        let discharge = electrics.discharge_efficiency;
        let direct_wh = self.offered_wh.min(self.load_wh * discharge);
        let kept = if self.charges { electrics.charge_efficiency } else { 0.0 };
        direct_wh / discharge + (self.offered_wh - direct_wh) * kept
    }
}

/// The kit that sun and cold act on, with what an hour's step needs ready at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Kit {
    electrics: Option<Electrics>,
    heating: Option<Heating>,
    burns: bool,
    heater: Option<physics::heat::Heater>,
    idle_w: f64,
    per_kelvin: f64,
    rate: Option<Rate>,
    lanes: lanes::KitLanes,
}

/// How a battery's capacity shrinks with the current; see [`physics::battery::drain_wh`].
#[derive(Debug, Clone, Copy, PartialEq)]
struct Rate {
    capacity_wh: f64,
    rated_hours: f64,
    exponent: f64,
}

impl Kit {
    /// Reads it off the mechanism.
    pub fn of(mechanism: &Mechanism) -> Kit {
        let electrics = mechanism.parts.electrics.clone().filter(|_| mechanism.electric.is_some());
        let rated: f64 = electrics.iter().flat_map(|e| &e.panels).map(|p| p.rated_w).sum();
        let per_kelvin = electrics
            .iter()
            .flat_map(|e| &e.panels)
            .map(|p| p.per_kelvin * p.rated_w / rated.max(1e-9))
            .sum();
        let idle = electrics.as_ref().and_then(|e| e.inverter).filter(|i| i.always_on);
        let mut kit = Kit {
            lanes: lanes::KitLanes::default(),
            idle_w: idle.map_or(0.0, |i| i.idle_w),
            per_kelvin,
            burns: heater_fuel(mechanism).is_some(),
            heater: mechanism.parts.heating.as_ref().map(Heating::heater),
            heating: mechanism.parts.heating.clone(),
            rate: rate(mechanism),
            electrics,
        };
        kit.lanes = lanes::KitLanes::of(&kit);
        kit
    }

    /// What the hour's net change of the battery, in Wh at the cells, comes to at its current:
    /// a fast discharge costs some batteries more than it delivers. Charge is left as it is.
    #[inline]
    fn at_rate(&self, net_wh: &mut [f32]) {
        let Some(rate) = self.rate else { return };
        let Rate { capacity_wh, rated_hours, exponent } = rate;
        for net in net_wh.iter_mut().filter(|net| **net < 0.0) {
            let drawn_wh = -f64::from(*net);
            let taken = physics::battery::drain_wh(drawn_wh, capacity_wh, rated_hours, exponent);
            *net = -taken as f32;
        }
    }

    /// One hour. `hour` is the civil hour at the van, `people` who is aboard. With nobody aboard
    /// the heater is off and the inside follows the outside.
    pub fn hour(
        &self,
        hour: usize,
        people: f64,
        weather: HourWeather,
        sun: &SunHour,
        values: &ClimateValues,
    ) -> HourFlows {
        let (mut flows, heater_wh) = self.heated(hour, people, weather, sun, values);
        if let Some(electrics) = &self.electrics {
            let fridge_w = electrics.fridge.map_or(0.0, |fridge| {
                let (mean, per_kelvin) = (values.fridge_w, fridge.per_kelvin);
                physics::fridge::mean_draw_w(mean, per_kelvin, flows.inside_c)
            });
            let drawn_wh = fridge_w + values.standing_w + self.idle_w + heater_wh;
            flows.load_wh = drawn_wh / electrics.discharge_efficiency;
            let panel_w = sun.panel_w(weather.clearness, weather.outside_c, self.per_kelvin)
                * values.panel_factor;
            let allowed_w = electrics.charge_limit_w.map_or(panel_w, |limit| panel_w.min(limit));
            // Cells indoors are as warm as the van; out in the cold they refuse charge.
            let cold = electrics.no_charge_below_c.is_some_and(|below| flows.inside_c < below);
            (flows.offered_wh, flows.charges) = (allowed_w, !cold);
        }
        flows
    }

    /// The fuel that [`Kit::hour`] burns, alone.
    pub fn fuel(
        &self,
        hour: usize,
        people: f64,
        weather: HourWeather,
        sun: &SunHour,
        values: &ClimateValues,
    ) -> f64 {
        self.heated(hour, people, weather, sun, values).0.fuel
    }

    /// What heating alone moves, and what the heater draws, in Wh.
    fn heated(
        &self,
        hour: usize,
        people: f64,
        weather: HourWeather,
        sun: &SunHour,
        values: &ClimateValues,
    ) -> (HourFlows, f64) {
        let mut flows = HourFlows { inside_c: weather.outside_c, ..HourFlows::default() };
        let mut heater_wh = 0.0;
        if let Some(heating) = &self.heating {
            let wanted_c = heating.wanted_c(hour);
            let gains_w = people * heating.person_w
                + heating.sun_gain_m2 * sun.clear_w_m2 * weather.clearness
                + if people > 0.0 { values.fridge_w + values.standing_w } else { 0.0 };
            let loss = values.loss_w_per_k.max(1e-6);
            let free_c = weather.outside_c + gains_w / loss;
            flows.inside_c = match people > 0.0 {
                true => free_c.min(physics::heat::aired_c(wanted_c, weather.outside_c)),
                false => free_c,
            };
            if let Some(heater) = self.heater.filter(|_| self.burns)
                && people > 0.0
                && free_c < wanted_c
            {
                let run = heater.hour(loss * (wanted_c - free_c));
                flows.fuel = run.fuel_units;
                flows.unmet_heat_wh = run.unmet_wh;
                flows.inside_c = wanted_c - run.unmet_wh / loss;
                heater_wh = run.electric_wh * values.heater_draw;
            }
        }
        (flows, heater_wh)
    }
}

/// `None` for a battery whose capacity is the same at any current.
fn rate(mechanism: &Mechanism) -> Option<Rate> {
    let electrics = mechanism.parts.electrics.as_ref().filter(|e| e.peukert > 1.0)?;
    let capacity_wh = mechanism.stocks()[mechanism.electric?].capacity;
    Some(Rate { capacity_wh, rated_hours: electrics.rated_hours, exponent: electrics.peukert })
}

impl Heating {
    /// Wanted temperature inside at a civil hour, degrees Celsius.
    pub fn wanted_c(&self, hour: usize) -> f64 {
        let (from, to) = (usize::from(self.night_from), usize::from(self.night_to));
        let night = match from <= to {
            true => (from..to).contains(&hour),
            false => hour >= from || hour < to,
        };
        if night { self.night_c } else { self.day_c }
    }

    /// The heater alone, as the physics takes it.
    pub fn heater(&self) -> physics::heat::Heater {
        physics::heat::Heater {
            wh_per_unit: self.wh_per_unit,
            efficiency: self.efficiency,
            output_w: self.output_w,
            lowest_w: self.lowest_w,
            fan_w: self.fan_w,
            start_wh: self.start_wh,
        }
    }
}
