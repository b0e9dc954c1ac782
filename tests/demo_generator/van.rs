//! The van as it really is: levels, a cabin with thermal mass and a thermostat, a fridge that
//! feels the cabin, a battery that tapers. Its kit is rated as the rig file says; how well each
//! part really works is known only here.

use super::dice::Dice;
use super::people::{Deed, Unlogged};
use super::sky::Hour;

/// Stocks by index; `NAMES` and the constants below go by the same order.
pub const FRESH: usize = 0;
pub const GREY: usize = 1;
pub const LIQUIDS: usize = 2;
pub const SOLIDS: usize = 3;
pub const BATTERY: usize = 4;
pub const DIESEL: usize = 5;
pub const GAS: usize = 6;
pub const FOOD: usize = 7;
pub const CLOTHES: usize = 8;
pub const NIGHTS: usize = 9;
/// How many there are.
pub const STOCKS: usize = 10;

pub const NAMES: [&str; STOCKS] = [
    "fresh",
    "grey",
    "liquids",
    "solids",
    "battery",
    "diesel",
    "gas",
    "food",
    "clean clothes",
    "nights here",
];
pub const CAPACITY: [f64; STOCKS] = [165.0, 118.0, 18.0, 38.0, 5400.0, 23.0, 5.0, 39.0, 42.0, 7.0];
/// The level that forces a stop.
pub const LIMIT: [f64; STOCKS] = [15.0, 114.0, 17.5, 38.0, 1080.0, 3.0, 0.4, 3.0, 0.0, 7.0];
/// Which ones fill up.
pub const FILLS_UP: [bool; STOCKS] =
    [false, true, true, true, false, false, false, false, false, true];

/// Levels by stock.
pub type Levels = [f64; STOCKS];

/// Whether `level` of `stock` has met its limit.
pub fn is_out(stock: usize, level: f64) -> bool {
    if FILLS_UP[stock] { level >= LIMIT[stock] } else { level <= LIMIT[stock] }
}

/// The van's state.
pub struct Van {
    pub levels: Levels,
    pub inside_c: f64,
    burning: bool,
    /// Work under way at each laptop: hours left, W.
    jobs: Vec<(f64, f64)>,
    dice: Dice,
}

/// What is going on around the van in an hour.
pub struct Around<'a> {
    pub sky: &'a Hour,
    pub sun_w_m2: f64,
    pub hour_of_day: usize,
    pub at_van: usize,
    pub lived_in: bool,
}

const PANEL_W: f64 = 750.0;
const PANEL_FACTOR: f64 = 0.74;
const CABIN_WH_PER_K: f64 = 330.0;
const LOSS_W_PER_K: f64 = 43.0;
const HEATER_WH_PER_L: f64 = 10_025.0 * 0.77;

impl Van {
    pub fn new(seed: u64) -> Van {
        let levels = [60.0, 31.0, 4.0, 6.0, 4600.0, 15.5, 4.1, 6.0, 9.0, 0.0];
        Van { levels, inside_c: 16.0, burning: false, jobs: vec![], dice: Dice::new(seed, "van") }
    }

    /// Adds to a level, within what the stock holds, and returns what really went in or out.
    pub fn shift(&mut self, stock: usize, amount: f64) -> f64 {
        let before = self.levels[stock];
        self.levels[stock] = (before + amount).clamp(0.0, CAPACITY[stock]);
        self.levels[stock] - before
    }

    /// Draws water, warm or not, and lets `share` of it down the drain.
    fn draw(&mut self, litres: f64, share: f64, warmed_by_k: f64) {
        let drawn = -self.shift(FRESH, -litres);
        self.shift(GREY, drawn * share);
        self.shift(BATTERY, -0.19 * drawn);
        self.shift(DIESEL, -drawn * 1.163 * warmed_by_k / (10_025.0 * 0.72));
    }

    /// Does what somebody does.
    pub fn doing(&mut self, deed: Deed) {
        let share = (0.955 + 0.02 * self.dice.normal()).clamp(0.85, 1.0);
        match deed {
            Deed::Shower(litres) => self.draw(litres, share, 27.0),
            Deed::Dishes(litres) => self.draw(litres, share - 0.05, 33.0),
            Deed::DogRinse(litres) => self.draw(litres, 0.75 * share, 15.0),
            Deed::Meal(kg) => drop(self.shift(GAS, -kg)),
            Deed::Work(hours, watts) => self.jobs.push((hours, watts)),
            Deed::Solids => drop(self.shift(SOLIDS, 1.0)),
        }
    }

    /// What goes unlogged.
    pub fn living(&mut self, use_: &Unlogged) {
        self.draw(use_.drunk_l, 0.06, 0.0);
        self.draw(use_.washed_l, 0.95, 6.0);
        self.shift(LIQUIDS, use_.urine_l);
        self.shift(FOOD, -use_.eaten);
        self.shift(CLOTHES, -use_.worn);
        self.shift(GAS, -use_.kettle_kg);
    }

    /// A hour of weather on cabin and battery.
    pub fn weather(&mut self, around: &Around) {
        let heater_wh = self.cabin(around);
        let evening = matches!(around.hour_of_day, 18..23) && around.at_van > 0;
        let duty = 1.0 + 0.05 * (self.inside_c - 20.0);
        let fridge = 21.0 * duty.max(0.3) * self.dice.factor(0.15);
        let standing = 5.5 + if around.lived_in { 4.5 } else { 0.0 };
        let lights = if evening { 24.0 * self.dice.factor(0.3) } else { 0.0 };
        let phones = if around.hour_of_day == 21 { 14.0 * around.at_van as f64 } else { 0.0 };
        let fan = if evening && around.sky.wet { 8.0 } else { 0.0 };
        let work = self.work();
        let draw = fridge + standing + lights + phones + fan + work + heater_wh;
        self.charge(self.panel_w(around) - draw);
    }

    /// An hour of the work under way, with the inverter's losses; returns its Wh.
    fn work(&mut self) -> f64 {
        let mut drawn = 0.0;
        for (left, watts) in &mut self.jobs {
            drawn += left.min(1.0) * (*watts / 0.88 + 9.0);
            *left -= 1.0;
        }
        self.jobs.retain(|(left, _)| *left > 0.0);
        drawn
    }

    fn panel_w(&self, around: &Around) -> f64 {
        let cell = around.sky.outside_c + around.sun_w_m2 * 0.032 / (1.0 + 0.04 * around.sky.wind);
        let heat = 1.0 - 0.0038 * (cell - 25.0);
        PANEL_W * PANEL_FACTOR * heat * around.sun_w_m2 / 1000.0
    }

    /// Moves energy in (positive, with losses and the taper near full) or out (negative).
    pub fn charge(&mut self, watt_hours: f64) -> f64 {
        let full = self.levels[BATTERY] / CAPACITY[BATTERY];
        let taper = if full > 0.95 { 0.55 } else { 1.0 };
        let kept = if watt_hours > 0.0 { watt_hours * 0.96 * taper } else { watt_hours / 0.985 };
        self.shift(BATTERY, kept)
    }

    /// Heats and cools the cabin for an hour; returns the heater's electric Wh.
    fn cabin(&mut self, around: &Around) -> f64 {
        let night = !(7..22).contains(&around.hour_of_day);
        let wanted = match (around.lived_in, around.at_van, night) {
            (false, ..) => 6.0,
            (true, 0, _) => 12.0,
            (true, _, true) => 13.5,
            (true, _, false) => 18.5,
        };
        let loss = LOSS_W_PER_K * (1.0 + 0.025 * (around.sky.wind - 5.0));
        let gain = 85.0 * around.at_van as f64 + 35.0 + 0.45 * around.sun_w_m2;
        let (steps, mut electric) = (6.0, 0.0);
        for _ in 0..6 {
            let was = self.burning;
            self.burning = self.inside_c < wanted + if was { 0.7 } else { -0.6 };
            let mut heat = 0.0;
            if self.burning && self.levels[DIESEL] > 0.2 {
                heat = (850.0 + 700.0 * (wanted + 0.7 - self.inside_c)).clamp(850.0, 2100.0);
                electric += 23.0 / steps + if was { 0.0 } else { 6.5 };
                self.shift(DIESEL, -heat / steps / HEATER_WH_PER_L);
            }
            let net = gain + heat - loss * (self.inside_c - around.sky.outside_c);
            self.inside_c += net / steps / CABIN_WH_PER_K;
            if self.inside_c > 24.0 {
                self.inside_c = 24.0; // a window is opened
            }
        }
        electric
    }
}

/// Shares of the grey tank at which its lamps light.
pub const LAMPS: [f64; 3] = [0.3, 0.6, 0.9];
/// Steps of the gauges, as shares of capacity; 0 where people guess or lamps light.
pub const STEP: [f64; STOCKS] = [0.25, 0.0, 0.0, 0.0, 0.05, 0.125, 0.1, 0.1, 0.05, 0.0];

/// What the gauge of `stock` shows at `level`, as a share of capacity.
pub fn read_gauge(stock: usize, level: f64) -> f64 {
    let share = level / CAPACITY[stock];
    if stock == GREY {
        return LAMPS.iter().rev().find(|&&mark| share >= mark).copied().unwrap_or(0.0);
    }
    (share / STEP[stock]).round() * STEP[stock]
}
