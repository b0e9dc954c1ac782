//! The rig: what stands still. Stocks, activities, base use, electrics, heating, home, crew.
//!
//! Changes of kit are dated, so that what was read on the old tank keeps its meaning: ask
//! [`Rig::parts_on`] for the parts of a day. Values are checked by [`super::fault`] when a rig
//! file is read; this module trusts them.

use super::entry::Event;
use super::flow::{Activity, BaseUse, Measure, Move};
use super::stock::{Direction, Stock};
use super::time::{Moment, Zone};
use super::unit::UnitSystem;
use super::wish::Wish;
use chrono::{NaiveDate, NaiveTime, Weekday};

/// Where the van belongs when no `camp` entry says otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Home {
    /// Name of the place.
    pub place: String,
    /// Degrees north, `[-90, 90]`.
    pub latitude: f64,
    /// Degrees east, `[-180, 180]`.
    pub longitude: f64,
    /// Decides the offset of times that are typed without one; `None` = that of the clock.
    pub zone: Option<Zone>,
    /// What the weather is usually like, used when no outlook reaches that far.
    pub typical: Option<TypicalWeather>,
}

/// A user's idea of usual weather for a place and season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TypicalWeather {
    /// Usual night low in degrees Celsius.
    pub low_c: f64,
    /// Usual day high in degrees Celsius, at least `low_c`.
    pub high_c: f64,
    /// Usual cloud cover, 0 (clear) to 1 (overcast).
    pub cloud: f64,
}

/// A place that the user knows by name.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Place {
    /// Name as `camp` entries write it.
    pub name: String,
    /// Degrees north, `[-90, 90]`.
    pub latitude: f64,
    /// Degrees east, `[-180, 180]`.
    pub longitude: f64,
    /// What it offers, in the words of [`SERVICES`].
    pub services: Vec<String>,
    /// Further stocks of the rig that can be seen to there, by name.
    pub stocks: Vec<String>,
    /// What a visit costs, in the owner's currency; at least 0.
    pub cost: Option<f64>,
    /// What one unit of a stock costs there, in the owner's currency; at least 0.
    pub prices: Vec<(String, f64)>,
    /// Weekdays on which it is closed.
    pub closed: Vec<Weekday>,
    /// When it opens, on days that it does; `None` = at no known hour.
    pub opens: Option<NaiveTime>,
    /// When it closes, later than it opens.
    pub closes: Option<NaiveTime>,
    /// Hours on the road to it, one way, where the owner knows better than the map; above 0.
    pub road_hours: Option<f64>,
    /// Road distance over the distance as the crow flies, where it is unusual; at least 1.
    pub road_factor: Option<f64>,
    /// Hours of hook-up that a stay gives, where that is known; above 0, at most a week.
    pub hook_up_hours: Option<f64>,
    /// Anything else, in the owner's words.
    pub note: String,
}

impl Place {
    /// Whether anything can be seen to there.
    pub fn offers_anything(&self) -> bool {
        !self.services.is_empty() || !self.stocks.is_empty()
    }
}

/// What a place can offer.
pub const SERVICES: &[&str] =
    &["water", "grey", "liquids", "solids", "diesel", "food", "shore", "laundry", "shower"];

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
    /// Electric draw while burning, in W.
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
        let mut fuels: Vec<&str> = Vec::new();
        for source in &self.sources {
            if !fuels.contains(&source.burns.as_str()) {
                fuels.push(&source.burns);
            }
        }
        fuels
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

/// Everything that a change of kit can replace.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Parts {
    /// Stocks, in the order that the file lists them.
    pub stocks: Vec<Stock>,
    /// Activities that people log.
    pub activities: Vec<Activity>,
    /// Flows that nobody logs.
    pub base: Vec<BaseUse>,
    /// Battery, panels, loads.
    pub electrics: Option<Electrics>,
    /// Sources of heat, and insulation.
    pub heating: Option<Heating>,
    /// Hot water.
    pub hot_water: Option<HotWater>,
}

/// A dated change of kit: from that day on, these parts replace those of the same name.
#[derive(Debug, Clone, PartialEq)]
pub struct KitChange {
    /// First day on which it holds.
    pub from: NaiveDate,
    /// What was done, in the owner's words.
    pub note: String,
    /// Parts that replace or join the earlier ones.
    pub parts: Parts,
    /// Names of stocks, activities or base uses that are gone.
    pub removed: Vec<String>,
}

/// A van, its kit and its crew.
#[derive(Debug, Clone, PartialEq)]
pub struct Rig {
    /// What the crew calls the van.
    pub van: String,
    /// People aboard when no `crew` entry says otherwise.
    pub crew: f64,
    /// Where it belongs.
    pub home: Home,
    /// Which units to show.
    pub show: UnitSystem,
    /// The evening that a demo folder pretends is now.
    pub evening: Option<Moment>,
    /// The parts it began with.
    pub parts: Parts,
    /// Later changes of kit, by date.
    pub changes: Vec<KitChange>,
    /// Places known by name.
    pub places: Vec<Place>,
    /// What the crew looks at first among trips with as few stops.
    pub prefer: Vec<Wish>,
}

impl Rig {
    /// The known place of this name, however it is written.
    pub fn place_named(&self, name: &str) -> Option<&Place> {
        self.places.iter().find(|place| place.name.eq_ignore_ascii_case(name))
    }

    /// The parts in place on `date`: the first ones with every change up to that day laid over.
    pub fn parts_on(&self, date: NaiveDate) -> Parts {
        let mut parts = self.parts.clone();
        let mut changes: Vec<&KitChange> = self.changes.iter().filter(|c| c.from <= date).collect();
        changes.sort_by_key(|c| c.from);
        for change in changes {
            lay_over(&mut parts, change);
        }
        parts
    }

    /// The days, in order, on which what `of` says of the parts changes: a change that only states the
    /// same again is none.
    pub fn days_changed<T: PartialEq>(&self, of: impl Fn(&Parts) -> T) -> Vec<NaiveDate> {
        let mut days: Vec<NaiveDate> = self.changes.iter().map(|change| change.from).collect();
        days.sort_unstable();
        days.dedup();
        let mut before = of(&self.parts);
        days.retain(|day| {
            let then = of(&self.parts_on(*day));
            let differs = then != before;
            before = then;
            differs
        });
        days
    }

    /// The zone in which times without an offset are meant; `now` lends its offset to a rig
    /// that names none.
    pub fn zone(&self, now: Moment) -> Zone {
        self.home.zone.unwrap_or(Zone::Fixed(*now.offset()))
    }

    /// The moment that counts as now: one that is asked for, else a demo's own evening, else the
    /// clock. Written in the van's own offset, so that weekdays and clock times are the crew's.
    pub fn now(&self, asked: Option<Moment>, clock: Moment) -> Moment {
        let moment = asked.or(self.evening).unwrap_or(clock);
        self.zone(moment).here(moment)
    }
}

impl Parts {
    /// The stock of that name, with its index.
    pub fn stock(&self, name: &str) -> Option<(usize, &Stock)> {
        self.stocks.iter().enumerate().find(|(_, stock)| stock.name == name)
    }

    /// The activity of that name, with its index.
    pub fn activity(&self, name: &str) -> Option<(usize, &Activity)> {
        self.activities.iter().enumerate().find(|(_, activity)| activity.name == name)
    }

    /// The stock that an event fills or empties as a service does, by name: what is spilled of one that
    /// runs down serves nobody.
    pub fn serviced<'e>(&self, event: &'e Event) -> Option<&'e str> {
        let runs = |name: &str| self.stock(name).map(|(_, stock)| stock.runs);
        match event {
            Event::Fill { stock, .. } => Some(stock),
            Event::Empty { stock, .. } => {
                Some(stock.as_str()).filter(|name| runs(name) != Some(Direction::Down))
            }
            _ => None,
        }
    }

    /// Whether the stock of that name stores electricity.
    pub fn is_store(&self, stock: &str) -> bool {
        self.electrics.as_ref().is_some_and(|electrics| electrics.store == stock)
    }

    /// Names of the stocks that warm the van, each once, in the order of use.
    pub fn heat_fuels(&self) -> Vec<&str> {
        self.heating.as_ref().map_or(Vec::new(), Heating::fuels)
    }

    /// Whether a source of heat is tended that burns more than is wanted at its lowest.
    pub fn tends_a_fire(&self) -> bool {
        let tended = |source: &HeatSource| source.lit == Lit::ByDay && source.lowest_w > 0.0;
        self.heating.as_ref().is_some_and(|heating| heating.sources.iter().any(tended))
    }

    /// Whether the van is warmed with the stock of that name.
    pub fn is_warmed_by(&self, stock: &str) -> bool {
        self.heat_fuels().contains(&stock)
    }

    /// The stock that the van is warmed with when that one is at its limit: every source that burns
    /// it comes before one of as much heat, lit at any hour, that burns another. `None` where nothing
    /// stands in, or where it serves for more than warmth. A stock with such another forces no stop.
    pub fn stood_in_by(&self, stock: &str) -> Option<&str> {
        let sources = self.heating.as_ref().map_or(&[][..], |heating| &heating.sources);
        let after = |at: usize| {
            let enough = |other: &&HeatSource| {
                let other_fuel = other.burns != stock && other.lit == Lit::AtAnyHour;
                other_fuel && other.output_w >= sources[at].output_w
            };
            sources[at + 1..].iter().find(enough).map(|other| other.burns.as_str())
        };
        let burn = (0..sources.len()).filter(|at| sources[*at].burns == stock);
        let others: Option<Vec<&str>> = burn.map(after).collect();
        others?.first().copied().filter(|_| !self.takes_besides_warmth(stock))
    }

    /// Whether anything but the warmth of the van draws from the stock of that name.
    fn takes_besides_warmth(&self, stock: &str) -> bool {
        let taken = |one: &Move| {
            let away = matches!(one.measure, Measure::Amount { per_time, .. } if per_time < 0.0);
            one.stock == stock && away
        };
        let done = self.activities.iter().flat_map(|activity| &activity.moves);
        let moves = done.chain(self.base.iter().flat_map(|base| &base.moves));
        moves.into_iter().any(taken)
            || self.hot_water.as_ref().is_some_and(|water| water.from == stock)
            || self.electrics.as_ref().is_some_and(|electrics| electrics.store == stock)
    }

    /// Whether the van or its water is warmed with the stock of that name.
    pub fn heats_with(&self, stock: &str) -> bool {
        self.is_warmed_by(stock) || self.hot_water.as_ref().is_some_and(|w| w.from == stock)
    }

    /// Nominal voltage, when there is a battery.
    pub fn volts(&self) -> Option<f64> {
        self.electrics.as_ref().map(|e| e.volts)
    }
}

fn lay_over(parts: &mut Parts, change: &KitChange) {
    let gone = |name: &String| change.removed.contains(name);
    parts.stocks.retain(|s| !gone(&s.name));
    parts.activities.retain(|a| !gone(&a.name));
    parts.base.retain(|b| !gone(&b.name));
    replace(&mut parts.stocks, &change.parts.stocks, |s| &s.name);
    replace(&mut parts.activities, &change.parts.activities, |a| &a.name);
    replace(&mut parts.base, &change.parts.base, |b| &b.name);
    parts.electrics = change.parts.electrics.clone().or(parts.electrics.take());
    parts.heating = change.parts.heating.clone().or(parts.heating.take());
    parts.hot_water = change.parts.hot_water.clone().or(parts.hot_water.take());
}

fn replace<T: Clone>(old: &mut Vec<T>, new: &[T], name: impl Fn(&T) -> &String) {
    for item in new {
        match old.iter_mut().find(|known| name(known) == name(item)) {
            Some(known) => *known = item.clone(),
            None => old.push(item.clone()),
        }
    }
}
