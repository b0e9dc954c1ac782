//! What warms a van and its water, and what the van loses.

use super::once::once_each;

/// Something that heats the van, as its maker states it.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatSource {
    /// What the crew calls it; no two of a van alike.
    pub name: String,
    /// The stock that it burns, or that stores its electricity.
    pub burns: String,
    /// Heat content of one unit of that stock, in Wh (diesel 10 025 Wh/L; a battery 1).
    pub wh_per_unit: f64,
    /// Useful heat over heat content, `(0, 1]`.
    pub efficiency: f64,
    /// Largest heat output, in W.
    pub output_w: f64,
    /// Smallest heat output while burning, in W; below it the source cycles, or burns on where somebody
    /// tends it.
    pub lowest_w: f64,
    /// Electric draw at the largest output, in W; less with less heat, in proportion.
    pub fan_w: f64,
    /// Electric energy of one start (glow), in Wh.
    pub start_wh: f64,
    /// Log standard deviation of what it draws, fan and starts together.
    pub draw_spread: f64,
    /// Whether it heats while the crew sleeps.
    pub lit: Lit,
}

/// When a source of heat may be lit. With nobody aboard none is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lit {
    /// At any hour: a thermostat lights it.
    AtAnyHour,
    /// By day alone: somebody lights and tends it.
    ByDay,
}

/// By how much what a tended fire burns beyond what is wanted differs from day to day: relative
/// standard deviation, 0.3 to 0.8. People light it early and let it burn, or do not; widens what is
/// known of its fuel, now and ahead. Common practice, no source.
pub const TENDED_DAY_SD: f64 = 0.5;

/// Space heating and what the van loses.
#[derive(Debug, Clone, PartialEq)]
pub struct Heating {
    /// What heats it, in the order of use: each gives what is still wanted after those before it.
    pub sources: Vec<HeatSource>,
    /// Loss of the envelope and air change, in W per kelvin.
    pub ua_w_per_k: f64,
    /// Log standard deviation of `ua_w_per_k`.
    pub ua_spread: f64,
    /// Wanted inside by day, degrees Celsius.
    pub day_c: f64,
    /// Wanted inside by night, degrees Celsius.
    pub night_c: f64,
    /// Night begins at this hour, 0..24.
    pub night_from: u8,
    /// Night ends at this hour, 0..24.
    pub night_to: u8,
    /// Heat from each person, in W.
    pub person_w: f64,
    /// Area times transmittance through which the sun warms the van, in m2.
    pub sun_gain_m2: f64,
}

/// What a rig file leaves out of a source, but for what it burns; sources and spreads stand in
/// `assets/reference.ron`, whose rows a test compares with these.
impl Default for HeatSource {
    fn default() -> HeatSource {
        HeatSource {
            name: String::new(),
            burns: String::new(),
            wh_per_unit: 1.0,
            efficiency: 0.80,
            output_w: 2000.0,
            lowest_w: 0.0,
            fan_w: 25.0,
            start_wh: 6.0,
            draw_spread: 0.4,
            lit: Lit::AtAnyHour,
        }
    }
}

/// What a rig file leaves out; see [`HeatSource`]. Nothing burns.
impl Default for Heating {
    fn default() -> Heating {
        Heating {
            sources: Vec::new(),
            ua_w_per_k: 28.0,
            ua_spread: 0.3,
            day_c: 19.0,
            night_c: 14.0,
            night_from: 22,
            night_to: 7,
            person_w: 100.0,
            sun_gain_m2: 0.4,
        }
    }
}

impl Heating {
    /// Names of the stocks that heat is made of, each once, in the order of use.
    pub fn fuels(&self) -> Vec<&str> {
        once_each(self.sources.iter().map(|source| source.burns.as_str()))
    }
}

/// Where hot water gets its heat.
#[derive(Debug, Clone, PartialEq)]
pub struct HotWater {
    /// The stock that gives the heat.
    pub from: String,
    /// Heat content of one unit of it, in Wh.
    pub wh_per_unit: f64,
    /// Heat in the water over heat content, `(0, 1]`.
    pub efficiency: f64,
    /// Temperature of the water before heating, degrees Celsius.
    pub cold_c: f64,
}
