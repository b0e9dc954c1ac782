//! What stores electricity, feeds it and draws it: battery, panels, inverter, fridge.

/// Cell chemistry: what limits charge and depth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chemistry {
    /// Lithium iron phosphate and kin.
    Lithium,
    /// Flooded, gel or glass-mat lead-acid.
    LeadAcid,
}

/// A solar panel, or several of the same kind.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Rated power at standard test conditions, in W.
    pub rated_w: f64,
    /// Tilt from horizontal in degrees, 0 = flat on the roof, to 90.
    pub tilt_deg: f64,
    /// Direction that it faces, degrees from north over east, `[0, 360)`; irrelevant when flat.
    pub facing_deg: f64,
    /// Real over rated yield at the day's sun: dirt, wiring, part shade; `(0, 1.2]`.
    /// Heat is counted apart.
    pub factor: f64,
    /// Standard deviation of `factor`.
    pub factor_spread: f64,
    /// Change of power per kelvin of cell temperature above 25 degrees Celsius (negative).
    pub per_kelvin: f64,
}

/// An inverter between the battery and mains appliances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inverter {
    /// Output over input, `(0, 1]`.
    pub efficiency: f64,
    /// Draw with nothing connected, in W, all day while `always_on`.
    pub idle_w: f64,
    /// Whether it stays on around the clock.
    pub always_on: bool,
}

/// A compressor fridge, whose duty follows the temperature inside the van.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fridge {
    /// Mean draw at 20 degrees Celsius inside, in W.
    pub mean_w: f64,
    /// Relative change per kelvin (0.04 = 4 %).
    pub per_kelvin: f64,
    /// Log standard deviation of `mean_w`.
    pub spread: f64,
}

/// What is connected to the battery.
#[derive(Debug, Clone, PartialEq)]
pub struct Electrics {
    /// The stock that stores electricity (in Wh).
    pub store: String,
    /// Nominal voltage, to read ampere-hours.
    pub volts: f64,
    /// Cell chemistry.
    pub chemistry: Chemistry,
    /// Energy stored over energy sent in, `(0, 1]`.
    pub charge_efficiency: f64,
    /// Energy delivered over energy taken out, `(0, 1]`.
    pub discharge_efficiency: f64,
    /// No charging below this cell temperature in degrees Celsius.
    pub no_charge_below_c: Option<f64>,
    /// Largest charging power that the battery accepts, in W.
    pub charge_limit_w: Option<f64>,
    /// Peukert's exponent: 1 for a battery that gives the same at any current, 1.1 to 1.3 for
    /// lead-acid; `[1, 1.6]`.
    pub peukert: f64,
    /// Hours of steady discharge at which the capacity on the label was measured, `[1, 100]`.
    pub rated_hours: f64,
    /// Panels on the roof or on the ground.
    pub panels: Vec<Panel>,
    /// Inverter, if any.
    pub inverter: Option<Inverter>,
    /// Fridge that runs from the battery, if any.
    pub fridge: Option<Fridge>,
    /// Always-on draw (controls, detectors, router), in W.
    pub standing_w: f64,
    /// Log standard deviation of `standing_w`.
    pub standing_spread: f64,
}
