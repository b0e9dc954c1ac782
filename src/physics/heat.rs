//! What keeping warm costs: loss through walls and air, what the heater must add, and what it
//! burns and draws for it.
//!
//! Steady state by the hour: a van's inside has so little mass that an hour's delay would be
//! guesswork. Hot water is in [`super::water`].

/// Heat that a cubic metre of room air carries per kelvin, in Wh.
///
/// Handbook practice for air near 20 degrees Celsius at sea level; see [`air_wh_per_m3_k`].
pub const ROOM_AIR_WH_PER_M3_K: f64 = 0.335;

/// Most starts per hour of a heater that cycles, reached at half duty.
///
/// Status: common practice, no source.
pub const MOST_STARTS_PER_HOUR: f64 = 2.0;

/// Heat that flows out through walls, windows and air change.
///
/// `ua_w_per_k`: loss per kelvin in W/K. `inside_c`, `outside_c`: degrees Celsius. Result in W,
/// negative when it is warmer outside.
///
/// Formula: UA · (T_in - T_out), steady. Source: any heat transfer text.
///
/// ```
/// use waystock::physics::heat::loss_w;
/// assert_eq!(loss_w(30.0, 18.0, 8.0), 300.0);
/// ```
pub fn loss_w(ua_w_per_k: f64, inside_c: f64, outside_c: f64) -> f64 {
    ua_w_per_k * (inside_c - outside_c)
}

/// Heat that the heater must add.
///
/// Arguments as for [`loss_w`]; `gains_w`: heat from people, appliances and sun in W. Result in
/// W, 0 when gains suffice.
///
/// Formula: max(0, loss - gains).
///
/// ```
/// use waystock::physics::heat::heat_demand_w;
/// assert_eq!(heat_demand_w(30.0, 18.0, 8.0, 120.0), 180.0);
/// assert_eq!(heat_demand_w(30.0, 18.0, 16.0, 120.0), 0.0);
/// ```
pub fn heat_demand_w(ua_w_per_k: f64, inside_c: f64, outside_c: f64, gains_w: f64) -> f64 {
    (loss_w(ua_w_per_k, inside_c, outside_c) - gains_w).max(0.0)
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

/// Inside temperature from which on people aboard open windows, degrees Celsius, and how much
/// warmer than outside it stays then, in K.
///
/// Status: common practice, no source.
pub const AIRED_FROM_C: f64 = 24.0;
/// See [`AIRED_FROM_C`].
pub const AIRED_K: f64 = 4.0;

/// Highest temperature inside that people aboard put up with before they open up, degrees Celsius.
///
/// `wanted_c`: what the heater is set to; nobody airs below it. `outside_c`: degrees Celsius.
///
/// ```
/// use waystock::physics::heat::aired_c;
/// assert_eq!(aired_c(19.0, 10.0), 24.0);
/// assert_eq!(aired_c(19.0, 28.0), 32.0);
/// ```
pub fn aired_c(wanted_c: f64, outside_c: f64) -> f64 {
    (outside_c + AIRED_K).max(aired_from_c(wanted_c))
}

/// The same while it is cool outside.
pub fn aired_from_c(wanted_c: f64) -> f64 {
    (wanted_c + 2.0).max(AIRED_FROM_C)
}

/// A heater's abilities and needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heater {
    /// Largest heat output, in W.
    pub output_w: f64,
    /// Smallest heat output while burning, in W, at most `output_w`; below it the heater cycles.
    pub lowest_w: f64,
    /// Useful heat over heat content, `(0, 1]`.
    pub efficiency: f64,
    /// Heat content of one unit of fuel, in Wh.
    pub wh_per_unit: f64,
    /// Electric draw while burning, in W.
    pub fan_w: f64,
    /// Electric energy of one start, in Wh.
    pub start_wh: f64,
}

/// What a heater did in one hour.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HeaterHour {
    /// Useful heat, in Wh.
    pub heat_wh: f64,
    /// Fuel burnt, in units of the fuel.
    pub fuel_units: f64,
    /// Electricity drawn, in Wh.
    pub electric_wh: f64,
    /// Heat that was wanted and not given, in Wh.
    pub unmet_wh: f64,
    /// Share of the hour in which it burned, `[0, 1]`.
    pub burning_share: f64,
}

impl Heater {
    /// What one hour of a steady demand makes of the heater.
    ///
    /// `demand_w`: heat wanted in W, as from [`heat_demand_w`]; negative counts as 0.
    ///
    /// Formula: above `output_w` it burns flat out and the rest is unmet. Between `lowest_w` and
    /// `output_w` it follows the demand, burning all hour without a new start. Below `lowest_w`
    /// it burns the share x = demand / lowest of the hour, with 4 · 2 · x · (1 - x) starts: the
    /// thermostat's cycling parabola, at most [`MOST_STARTS_PER_HOUR`]. So a mild hour can draw
    /// more electricity than a colder one.
    ///
    /// Source: the parabola is the usual one of thermostat studies (from memory); its height is
    /// common practice, no source.
    ///
    /// ```
    /// use waystock::physics::heat::Heater;
    /// let heater = Heater { output_w: 2000.0, lowest_w: 800.0, efficiency: 0.8,
    ///                       wh_per_unit: 10_025.0, fan_w: 20.0, start_wh: 5.0 };
    /// let hour = heater.hour(400.0);
    /// assert_eq!((hour.heat_wh, hour.burning_share), (400.0, 0.5));
    /// assert_eq!(hour.electric_wh, 20.0 * 0.5 + 2.0 * 5.0);
    /// assert_eq!(heater.hour(2500.0).unmet_wh, 500.0);
    /// ```
    pub fn hour(&self, demand_w: f64) -> HeaterHour {
        let demand_w = demand_w.max(0.0);
        let output_w = self.output_w.max(0.0);
        let heat_wh = demand_w.min(output_w);
        if heat_wh <= 0.0 {
            return HeaterHour { unmet_wh: demand_w, ..HeaterHour::default() };
        }
        let lowest_w = self.lowest_w.clamp(0.0, output_w);
        let burning_share = if heat_wh < lowest_w { heat_wh / lowest_w } else { 1.0 };
        let starts = 4.0 * MOST_STARTS_PER_HOUR * burning_share * (1.0 - burning_share);
        HeaterHour {
            heat_wh,
            fuel_units: fuel_units(heat_wh, self.efficiency, self.wh_per_unit),
            electric_wh: self.fan_w * burning_share + self.start_wh * starts,
            unmet_wh: demand_w - heat_wh,
            burning_share,
        }
    }
}

/// Loss by air change, with room air's heat.
///
/// `volume_m3`: air in the van in m3. `ach`: air changes per hour (about 0.5 shut, 1 with a vent
/// ajar). Result in W/K, to be added to the walls' UA.
///
/// Formula: 0.335 · ach · volume. Colder air is denser and carries up to 12 % more; see
/// [`air_wh_per_m3_k`].
///
/// Source: handbook practice (ASHRAE Fundamentals, infiltration).
///
/// ```
/// use waystock::physics::heat::ua_of_air;
/// assert!((ua_of_air(11.0, 1.0) - 3.685).abs() < 1e-12);
/// ```
pub fn ua_of_air(volume_m3: f64, ach: f64) -> f64 {
    ROOM_AIR_WH_PER_M3_K * ach * volume_m3
}

/// Heat that a cubic metre of dry air carries per kelvin.
///
/// `air_c`: its temperature in degrees Celsius. `pressure_hpa`: air pressure in hPa. Result in
/// Wh/(m3 K); use it instead of [`ROOM_AIR_WH_PER_M3_K`] high up or in hard frost.
///
/// Formula: p / (R T) · c_p with R = 287.05 and c_p = 1006 J/(kg K). Within 0.2 % from -30 to
/// 40 degrees Celsius.
///
/// Source: ideal gas law, any thermodynamics text.
///
/// ```
/// use waystock::physics::heat::air_wh_per_m3_k;
/// assert!((air_wh_per_m3_k(0.0, 1013.25) - 0.3612).abs() < 0.0005);
/// ```
pub fn air_wh_per_m3_k(air_c: f64, pressure_hpa: f64) -> f64 {
    let density_kg_m3 = pressure_hpa * 100.0 / (287.05 * (air_c + 273.15));
    density_kg_m3 * 1006.0 / 3600.0
}

/// Loss through a layered wall, window or floor.
///
/// `area_m2`: its area. `r_m2k_per_w`: thermal resistance of its layers (thickness over
/// conductivity) and of the air at both faces, in m2K/W. Result in W/K; 0 for a resistance that
/// is not positive.
///
/// Formula: area / ΣR. Bridges of metal are not in it; they can double a van's loss.
///
/// Source: ISO 6946 (from memory).
///
/// ```
/// use waystock::physics::heat::ua_of_wall;
/// let insulation = 0.05 / 0.035; // 50 mm of foam
/// assert!((ua_of_wall(22.0, insulation + 0.17) - 13.762).abs() < 0.001);
/// ```
pub fn ua_of_wall(area_m2: f64, r_m2k_per_w: f64) -> f64 {
    if r_m2k_per_w > 0.0 { area_m2 / r_m2k_per_w } else { 0.0 }
}

#[cfg(test)]
mod tests;
