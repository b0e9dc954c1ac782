//! Changes that a crew can make, as data: what they do to beliefs and scene before the lives
//! are run. A change knows nothing about what it buys.

use crate::belief::Beliefs;
use crate::domain::{Direction, Driver};
use crate::forecast::scene::{self, Scene};
use crate::mechanism::Flow;
use crate::mechanism::climate::Kit;
use crate::mechanism::driver::Source;

/// One change. Indices are those of the rig's parts in place.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// An activity happens this many times as often; at least 0.
    Rate {
        /// Index of the activity.
        activity: usize,
        /// Factor on its habit.
        factor: f64,
    },
    /// Each occurrence of an activity is this much of what it was; above 0.
    Size {
        /// Index of the activity.
        activity: usize,
        /// Factor on one occurrence.
        factor: f64,
    },
    /// An activity takes this much of what it took from one stock (cooking elsewhere).
    Takes {
        /// Index of the activity.
        activity: usize,
        /// Index of the stock.
        stock: usize,
        /// Factor on what moves, at least 0.
        factor: f64,
    },
    /// What an activity took from one stock, it takes from another (cooking on gas).
    Instead {
        /// Index of the activity.
        activity: usize,
        /// Index of the stock that is spared.
        spared: usize,
        /// Index of the stock that is used.
        used: usize,
        /// Units of the used stock per unit of the spared one, above 0.
        ratio: f64,
        /// Share of the occurrences, `(0, 1]`.
        share: f64,
    },
    /// The wanted temperature inside is this much higher (negative: lower), in K.
    Warmth(f64),
    /// So much more of a driver at that hour of the scene (a drive, a generator hour).
    Run {
        /// Which driver.
        driver: Driver,
        /// Index of the hour.
        hour: usize,
        /// How much, in what the driver is counted in (hours, km).
        amount: f64,
    },
    /// The van moves to another camp in that hour of the scene.
    Move {
        /// Index of the hour.
        hour: usize,
    },
    /// So much more is carried: a full jerrycan of what runs down, an empty container for what
    /// fills up. In the stock's unit, above 0.
    Carry {
        /// Index of the stock.
        stock: usize,
        /// How much.
        amount: f64,
    },
}

impl Change {
    /// Makes the change.
    pub fn apply(&self, beliefs: &mut Beliefs, scene: &mut Scene) {
        match *self {
            Change::Rate { activity, factor } => {
                // Not quite none: every life keeps drawing the same numbers for what follows.
                beliefs.habits[activity].multiply(factor.max(1e-9));
            }
            Change::Size { activity, factor } => beliefs.habits[activity].size *= factor,
            Change::Takes { activity, stock, factor } => {
                flows(beliefs, activity, stock).for_each(|flow| flow.scale *= factor);
            }
            Change::Instead { activity, spared, used, ratio, share } => {
                let mut moved: Vec<Flow> = Vec::new();
                for flow in flows(beliefs, activity, spared) {
                    let scale = flow.scale * share * ratio;
                    moved.push(Flow { stock: used, scale, ..*flow });
                    flow.scale *= 1.0 - share;
                }
                beliefs.mechanism.flows.extend(moved);
            }
            Change::Warmth(kelvin) => {
                if let Some(heating) = &mut beliefs.mechanism.parts.heating {
                    heating.day_c += kelvin;
                    heating.night_c += kelvin;
                }
                scene.kit = Kit::of(&beliefs.mechanism);
            }
            Change::Run { driver, hour, amount } if driver.is_by_the_hour() => {
                scene::run(&mut scene.hours, hour as f64, driver, amount);
            }
            Change::Run { driver, hour, amount } => {
                if let Some(hour) = scene.hours.get_mut(hour) {
                    hour.planned.push((Source::Driver(driver), amount));
                }
            }
            Change::Move { hour } => {
                if let Some(hour) = scene.hours.get_mut(hour) {
                    hour.moves_camp = true;
                }
            }
            Change::Carry { stock, amount } => {
                beliefs.mechanism.parts.stocks[stock].capacity += amount;
            }
        }
    }

    /// What it adds to a level when the stretch begins: `(stock, amount)`.
    pub fn adds(&self, beliefs: &Beliefs) -> Option<(usize, f64)> {
        let Change::Carry { stock, amount } = *self else { return None };
        let goes_down = beliefs.mechanism.stocks()[stock].runs == Direction::Down;
        goes_down.then_some((stock, amount))
    }

    /// Stocks that it can help.
    pub fn spares(&self, beliefs: &Beliefs) -> Vec<usize> {
        let mechanism = &beliefs.mechanism;
        let moved = |source: Source| {
            mechanism.flows.iter().filter(move |flow| flow.source == source).map(|flow| flow.stock)
        };
        match *self {
            Change::Rate { activity, .. } | Change::Size { activity, .. } => {
                moved(Source::Activity(activity)).collect()
            }
            Change::Takes { stock, .. } | Change::Carry { stock, .. } => vec![stock],
            Change::Instead { spared, .. } => vec![spared],
            Change::Warmth(_) => {
                let loss = mechanism.factors.heat_loss;
                loss.map(|index| mechanism.stocks_moved_by(index)).unwrap_or_default()
            }
            Change::Run { driver, .. } => moved(Source::Driver(driver)).collect(),
            Change::Move { .. } => (0..mechanism.stocks().len())
                .filter(|s| mechanism.stocks()[*s].reset_by_camp)
                .collect(),
        }
    }
}

fn flows(beliefs: &mut Beliefs, activity: usize, stock: usize) -> impl Iterator<Item = &mut Flow> {
    let source = Source::Activity(activity);
    let flows = beliefs.mechanism.flows.iter_mut();
    flows.filter(move |flow| flow.source == source && flow.stock == stock)
}
