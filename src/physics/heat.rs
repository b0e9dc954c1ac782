//! What keeping warm costs: loss through walls and air, what the heater must add, and what it
//! burns and draws for it.
//!
//! Steady state by the hour: a van's inside has so little mass that an hour's delay would be
//! guesswork. What runs in every life takes either precision ([`Real`]). Hot water is in
//! [`super::water`].

use super::practice::{AIRED_ABOVE_WANTED_K, AIRED_FROM_C, AIRED_K, HEATER_MOST_STARTS_PER_HOUR};
use super::real::Real;

/// Heat that flows out through walls, windows and air change.
///
/// `ua_w_per_k`: loss per kelvin in W/K. `inside_c`, `outside_c`: degrees Celsius. Result in W,
/// negative when it is warmer outside.
///
/// Formula: UA · (T_in - T_out), steady. Source: any heat transfer text.
#[inline(always)]
fn loss_w<R: Real>(ua_w_per_k: R, inside_c: R, outside_c: R) -> R {
    ua_w_per_k * (inside_c - outside_c)
}

/// Heat that the heater must add.
///
/// `ua_w_per_k`: loss per kelvin in W/K. `inside_c`, `outside_c`: degrees Celsius. `gains_w`: heat
/// from people, appliances and sun in W. Result in W, 0 when gains suffice.
///
/// Formula: max(0, UA · (T_in - T_out) - gains). Source: any heat transfer text.
///
/// ```
/// use waystock::physics::heat::heat_demand_w;
/// assert_eq!(heat_demand_w(30.0, 18.0, 8.0, 120.0), 180.0);
/// assert_eq!(heat_demand_w(30.0, 18.0, 16.0, 120.0), 0.0);
/// ```
#[inline(always)]
pub fn heat_demand_w<R: Real>(ua_w_per_k: R, inside_c: R, outside_c: R, gains_w: R) -> R {
    (loss_w(ua_w_per_k, inside_c, outside_c) - gains_w).most(R::of(0.0))
}

/// Temperature inside that a heat holds.
///
/// `outside_c`: degrees Celsius. `heat_w`: from the heater, people, appliances and sun, in W.
/// `kelvin_per_w`: one over the loss in W/K, ready at hand. Result in degrees Celsius.
///
/// Formula: the steady loss solved for the inside, T_out + Q / UA.
///
/// ```
/// use waystock::physics::heat::inside_c;
/// assert_eq!(inside_c(8.0, 300.0, 1.0 / 30.0), 18.0);
/// ```
#[inline(always)]
pub fn inside_c<R: Real>(outside_c: R, heat_w: R, kelvin_per_w: R) -> R {
    outside_c + heat_w * kelvin_per_w
}

/// Fuel that gives an amount of heat.
///
/// `heat_wh`: useful heat in Wh. `efficiency`: useful heat over heat content, `(0, 1]`.
/// `wh_per_unit`: heat content of one unit of the fuel in Wh (diesel about 10 025 Wh/L). Result
/// in units of the fuel, 0 for no heat.
///
/// Formula: heat / (efficiency · heating value). Either divisor at or below 0 means no such
/// fuel, and gives 0.
///
/// ```
/// use waystock::physics::heat::fuel_units;
/// assert!((fuel_units(16_040.0, 0.8, 10_025.0) - 2.0).abs() < 1e-12);
/// ```
pub fn fuel_units(heat_wh: f64, efficiency: f64, wh_per_unit: f64) -> f64 {
    let useful_wh_per_unit = efficiency * wh_per_unit;
    if useful_wh_per_unit > 0.0 { heat_wh.max(0.0) / useful_wh_per_unit } else { 0.0 }
}

/// Temperature inside from which on people aboard open windows while it is cool outside, in
/// degrees Celsius. `wanted_c`: what the heater is set to.
///
/// Formula: max(24, wanted + 2). Status: common practice, no source.
///
/// ```
/// use waystock::physics::heat::aired_from_c;
/// assert_eq!((aired_from_c(19.0), aired_from_c(23.5)), (24.0, 25.5));
/// ```
pub fn aired_from_c(wanted_c: f64) -> f64 {
    (wanted_c + AIRED_ABOVE_WANTED_K).max(AIRED_FROM_C)
}

/// Highest temperature inside that people aboard put up with, in degrees Celsius.
///
/// `from_c`: from [`aired_from_c`], infinite where nobody can open a window. `outside_c`: degrees
/// Celsius; an open window does not make it as cool as that.
///
/// Formula: max(T_out + 4, from). Status: common practice, no source.
///
/// ```
/// use waystock::physics::heat::aired_c;
/// assert_eq!((aired_c(24.0, 10.0), aired_c(24.0, 28.0)), (24.0, 32.0));
/// ```
#[inline(always)]
pub fn aired_c<R: Real>(from_c: R, outside_c: R) -> R {
    (outside_c + R::of(AIRED_K)).most(from_c)
}

/// What a heater does where less is wanted than its smallest output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BelowLowest {
    /// A thermostat puts it out and lights it again.
    #[default]
    Cycles,
    /// A fire that somebody tends burns on, and what it gives too much leaves by the window.
    BurnsOn,
}

/// A heater as its maker states it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Heater {
    /// Largest heat output, in W.
    pub output_w: f64,
    /// Smallest heat output while burning, in W, at most `output_w`.
    pub lowest_w: f64,
    /// What it does where less is wanted.
    pub below_lowest: BelowLowest,
    /// Useful heat over heat content, `(0, 1]`.
    pub efficiency: f64,
    /// Heat content of one unit of fuel, in Wh.
    pub wh_per_unit: f64,
    /// Electric draw at the largest output, in W; at less heat it is less, in proportion.
    pub fan_w: f64,
    /// Electric energy of one start, in Wh.
    pub start_wh: f64,
}

/// A [`Heater`] with its divisions done, for every hour of every life.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeaterStep<R> {
    fuel_per_wh: R,
    per_lowest_w: R,
    /// What it burns for at least while it is lit, in W; 0 for one that cycles.
    least_w: R,
    /// What the fan draws for each watt of heat: see [`Heater::fan_w`].
    fan_per_w: R,
    /// Energy of starts at 1/4 of what cycles most: see [`HeaterStep::hour`].
    starts_wh: R,
}

/// What a heater did in one hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeaterHour<R> {
    /// Useful heat, in Wh; the mean over the hour in W.
    pub heat_wh: R,
    /// Fuel burnt, in units of the fuel.
    pub fuel_units: R,
    /// What a fire burns beside that for heat that nobody wants, in the same units.
    pub surplus_units: R,
    /// Electricity drawn, in Wh.
    pub electric_wh: R,
}

impl<R: Real> HeaterStep<R> {
    /// Takes a heater's numbers into the precision of the step.
    pub fn of(heater: &Heater) -> HeaterStep<R> {
        let lowest_w = heater.lowest_w.clamp(0.0, heater.output_w.max(0.0));
        HeaterStep {
            fuel_per_wh: R::of(fuel_units(1.0, heater.efficiency, heater.wh_per_unit)),
            // A heater without a lowest output never cycles.
            per_lowest_w: R::of(if lowest_w > 0.0 { 1.0 / lowest_w } else { 1e9 }),
            least_w: R::of(match heater.below_lowest {
                BelowLowest::Cycles => 0.0,
                BelowLowest::BurnsOn => lowest_w,
            }),
            fan_per_w: R::of(if heater.output_w > 0.0 {
                heater.fan_w / heater.output_w
            } else {
                0.0
            }),
            starts_wh: R::of(4.0 * HEATER_MOST_STARTS_PER_HOUR * heater.start_wh),
        }
    }

    /// What one hour of a steady demand makes of the heater.
    ///
    /// `demand_w`: heat wanted in W, as from [`heat_demand_w`], at least 0. `output_w`: the most it
    /// gives in this hour, 0 while it is off; what is wanted beyond it is not given.
    ///
    /// Formula: between its lowest and its largest output it follows the demand, burning all hour
    /// without a new start. Below the lowest it burns the share x = demand / lowest of the hour,
    /// with 4 · 2 · x · (1 - x) starts: the thermostat's cycling parabola, at most
    /// two an hour. Fan and pump draw in proportion to what is burnt, starts on top of that. So a mild
    /// hour can draw more electricity than a colder one. A fire that burns on
    /// does so at its lowest for all of an hour in which anything is wanted.
    ///
    /// Source: the parabola is the usual one of thermostat studies (from memory); its height is
    /// common practice, no source, and so is the fire that burns on. That a heater draws far less at
    /// its lowest (0.7 A at 12 V) than at its largest output: a freight-efficiency council's
    /// confidence report on fuel-operated heaters; that it does so in proportion: from memory.
    ///
    /// ```
    /// use waystock::physics::heat::{Heater, HeaterStep};
    /// let heater = Heater { output_w: 2000.0, lowest_w: 800.0, efficiency: 0.8, fan_w: 20.0,
    ///                       wh_per_unit: 10_025.0, start_wh: 5.0, ..Heater::default() };
    /// let step: HeaterStep<f64> = HeaterStep::of(&heater);
    /// assert_eq!(step.hour(400.0, 2000.0).electric_wh, 20.0 * 0.2 + 2.0 * 5.0);
    /// assert_eq!(step.hour(2500.0, 2000.0).heat_wh, 2000.0);
    /// ```
    #[inline(always)]
    pub fn hour(&self, demand_w: R, output_w: R) -> HeaterHour<R> {
        let heat_wh = demand_w.least(output_w);
        let least_w = if heat_wh > R::of(0.0) { self.least_w } else { R::of(0.0) };
        let burnt_wh = heat_wh.most(least_w);
        let burning_share = (burnt_wh * self.per_lowest_w).least(R::of(1.0));
        let starts_wh = self.starts_wh * (R::of(1.0) - burning_share);
        HeaterHour {
            heat_wh,
            fuel_units: heat_wh * self.fuel_per_wh,
            surplus_units: (burnt_wh - heat_wh) * self.fuel_per_wh,
            electric_wh: burnt_wh * self.fan_per_w + starts_wh * burning_share,
        }
    }
}

#[cfg(test)]
mod tests;
