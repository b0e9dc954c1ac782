//! What an interval of time holds of everything that moves stocks, and what that comes to, cause by
//! cause. What was used and what will be is told by the same sums.

use super::Mechanism;
use super::climate::{HourFlows, Kit};
use super::coefficient::Meaning;
use super::driver::{Exposure, Source};

/// What moves a stock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Moves {
    /// An activity's plural, or a base use, by its name in the rig file.
    Named(String),
    /// Sources of heat, of what they burn.
    Heating,
    /// The sun, of what a battery stores.
    Sun,
    /// Fridge, heaters' fans and standing draw, of what a battery gives.
    AlwaysOn,
    /// Shore power or a generator whose energy was told, of what a battery stores.
    Charge,
    /// What was spilled, given away or let out, as it was told.
    Lost,
}

/// How much one thing moves a stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// What it is.
    pub what: Moves,
    /// Change in the stock's unit, negative where it takes.
    pub amount: f64,
}

/// What an interval holds. Intervals add up.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// How much of every linear source.
    pub exposure: Exposure,
    /// Charge from outside that was told as energy, in Wh at the battery.
    pub charged_wh: f64,
    /// Of each stock, in its unit, what was spilled, given away or let out.
    pub lost: Vec<f64>,
    /// Units burnt of each stock that warms the van.
    burnt: Vec<f64>,
    /// What light was worth to the battery if it had room for all of it, in Wh at the cells.
    light_wh: f64,
    /// What fridge, heaters and standing draws took, in Wh at the cells.
    load_wh: f64,
}

impl Held {
    /// Nothing.
    pub fn none(mechanism: &Mechanism) -> Held {
        let exposure = mechanism.unexposed();
        let burnt = vec![0.0; mechanism.parts.heat_fuels().len()];
        let lost = vec![0.0; mechanism.stocks().len()];
        Held { exposure, charged_wh: 0.0, lost, burnt, light_wh: 0.0, load_wh: 0.0 }
    }

    /// Adds sun and cold of a part `[0, 1]` of an hour; `home` is the share of it in which somebody was
    /// at home and heated.
    pub fn add_climate(
        &mut self,
        kit: &Kit<f64>,
        (flows, burnt): (&HourFlows<f64>, &[f64]),
        (part, home): (f64, f64),
    ) {
        for (sum, units) in self.burnt.iter_mut().zip(burnt) {
            *sum += part * (units * home);
        }
        self.light_wh += part * kit.light_wh(flows);
        self.load_wh += part * flows.load_wh;
    }
}

/// What an interval moves the stock of that index by, cause by cause, the largest first; `value` is
/// a coefficient's by its index. Empty and full do not stop it.
pub fn moved(
    mechanism: &Mechanism,
    held: &Held,
    value: impl Fn(usize) -> f64,
    stock: usize,
) -> Vec<Moved> {
    let mut all: Vec<Moved> = Vec::new();
    let mut add = |what: Moves, amount: f64| match all.iter_mut().find(|m| m.what == what) {
        Some(known) => known.amount += amount,
        None => all.push(Moved { what, amount }),
    };
    for flow in mechanism.flows.iter().filter(|flow| flow.stock == stock) {
        let each = flow.scale * value(flow.coefficient) * flow.share.map_or(1.0, &value);
        let name = match flow.source {
            Source::Activity(activity) => mechanism.parts.activities[activity].plural.clone(),
            Source::Base(_) | Source::Driver(_) => {
                base_name(&mechanism.coefficients[flow.coefficient].what)
            }
            Source::Climate => continue,
        };
        add(Moves::Named(name), each * held.exposure.of(flow.source));
    }
    for (fuel, burnt) in mechanism.heat_fuels().into_iter().zip(&held.burnt) {
        if fuel == Some(stock) {
            add(Moves::Heating, -burnt);
        }
    }
    add(Moves::Lost, -held.lost[stock]);
    if mechanism.electric == Some(stock) {
        add(Moves::Sun, held.light_wh);
        add(Moves::AlwaysOn, -held.load_wh);
        add(Moves::Charge, held.charged_wh);
    }
    all.retain(|moved| moved.amount.abs() > 1e-9);
    all.sort_by(|a, b| b.amount.abs().total_cmp(&a.amount.abs()));
    all
}

/// The base use that owns a coefficient, or else the stock that it moves.
fn base_name(what: &Meaning) -> String {
    match what {
        Meaning::Amount { process, .. } | Meaning::Share { process, .. } => process.clone(),
        Meaning::Unexplained { stock } => stock.clone(),
        _ => String::new(),
    }
}
