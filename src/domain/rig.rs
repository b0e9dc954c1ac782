//! The rig: what stands still. Stocks, activities, base use, electrics, heating, home, crew.
//!
//! Changes of kit are dated, so that what was read on the old tank keeps its meaning: ask
//! [`Rig::parts_on`] for the parts of a day. Values are checked by [`super::fault`] when a rig
//! file is read; this module trusts them.

use super::electrics::Electrics;
use super::entry::Event;
use super::flow::{Activity, BaseUse, Measure, Move};
use super::heating::{HeatSource, Heating, HotWater, Lit};
use super::place::{Home, Place};
use super::stock::{Direction, Stock};
use super::time::{Moment, Zone};
use super::unit::UnitSystem;
use super::wish::Wish;
use chrono::NaiveDate;

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
    /// it comes before one, lit at any hour, that burns another and gives all the heat that is
    /// wanted, `most_w` at the most. `None` where nothing stands in, or where it serves for more than
    /// warmth. A stock with such another forces no stop.
    pub fn stood_in_by(&self, stock: &str, most_w: f64) -> Option<&str> {
        let sources = self.heating.as_ref().map_or(&[][..], |heating| &heating.sources);
        let after = |at: usize| {
            let enough = |other: &&HeatSource| {
                let other_fuel = other.burns != stock && other.lit == Lit::AtAnyHour;
                other_fuel && other.output_w >= most_w
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
