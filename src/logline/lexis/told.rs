//! What the journal last told of each stock: in which unit it is read, and within which levels it
//! was; and whether a new reading can be true with no service in between.

use super::units::in_stock_unit;
use crate::domain::{
    Direction, Event, Gauge, Measure, Moment, Parts, Quantity, Standing, Stock, Unit,
};
use std::collections::HashMap;

/// Beyond both gauges' steps, a level has to be off by this share of capacity to be doubted.
const DOUBTED_FROM: f64 = 0.15;

/// What was told of one stock.
#[derive(Debug, Clone, PartialEq, Default)]
pub(in crate::logline) struct Told {
    /// The unit of at least four in five of the readings so far.
    pub unit: Option<Unit>,
    /// The last reading.
    last: Option<Last>,
    /// When the last reading or service was.
    latest: Option<Moment>,
}

impl Told {
    /// Whether a reading or a service was told of a later time.
    pub(in crate::logline) fn was_told_after(&self, at: Moment) -> bool {
        self.latest.is_some_and(|latest| latest > at)
    }
}

/// A reading with the interval that it allows, in the stock's unit.
#[derive(Debug, Clone, PartialEq)]
struct Last {
    at: Moment,
    reading: Quantity,
    low: f64,
    high: f64,
}

/// What the entries that stand at `now` told of each stock; `parts_at` has the parts in place.
pub(in crate::logline) fn told<'p>(
    standing: &[Standing],
    now: Moment,
    parts_at: impl Fn(Moment) -> &'p Parts,
) -> HashMap<String, Told> {
    let mut told: HashMap<String, Told> = HashMap::new();
    let mut units: HashMap<&str, Vec<&Unit>> = HashMap::new();
    for entry in standing.iter().filter(|entry| entry.at <= now) {
        if let Some(stock) = entry.event.stock().filter(|_| entry.is_fact()) {
            told.entry(stock.to_string()).or_default().latest = Some(entry.at);
        }
        match &entry.event {
            Event::Level { stock, reading, .. } => {
                units.entry(stock).or_default().push(&reading.unit);
                let parts = parts_at(entry.at);
                let last = parts.stock(stock).and_then(|(_, known)| {
                    let (low, high) = span(reading, known, parts)?;
                    Some(Last { at: entry.at, reading: reading.clone(), low, high })
                });
                told.entry(stock.clone()).or_default().last = last;
            }
            // After a service the level is another one.
            Event::Fill { stock, .. } | Event::Empty { stock, .. } => {
                told.entry(stock.clone()).or_default().last = None;
            }
            _ => {}
        }
    }
    for (stock, units) in units {
        let so = |unit: &Unit| units.iter().filter(|other| **other == unit).count();
        let usual = units.iter().find(|unit| so(unit) * 5 >= units.len() * 4);
        if let (Some(unit), Some(told)) = (usual, told.get_mut(stock)) {
            told.unit = Some((*unit).clone());
        }
    }
    told
}

/// The levels that a reading allows, in the stock's unit.
fn span(reading: &Quantity, stock: &Stock, parts: &Parts) -> Option<(f64, f64)> {
    let value = in_stock_unit(reading, stock, parts)?;
    let by_gauge = reading.unit == Unit::Percent;
    let (below, above) = match &stock.gauge {
        Gauge::Step(step) if by_gauge => (step / 2.0, step / 2.0),
        Gauge::Ladder(_) if by_gauge => (0.0, 0.35),
        _ => (0.05, 0.05),
    };
    Some((value - below * stock.capacity, value + above * stock.capacity))
}

/// The reading before, when the new one cannot be true unless a fill, or an emptying, was
/// forgotten in between. Never for a stock that anything but people refills.
pub(in crate::logline) fn doubted(
    told: Option<&Told>,
    reading: &Quantity,
    stock: &Stock,
    parts: &Parts,
    at: Moment,
) -> Option<(Quantity, Moment)> {
    let last = told?.last.as_ref().filter(|last| last.at < at)?;
    if moves_both_ways(stock, parts) {
        return None;
    }
    let (low, high) = span(reading, stock, parts)?;
    let off = DOUBTED_FROM * stock.capacity;
    let doubted = match stock.runs {
        Direction::Down => low > last.high + off,
        Direction::Up => high < last.low - off,
    };
    doubted.then(|| (last.reading.clone(), last.at))
}

/// Whether something besides a service moves the stock against its direction: the sun, an engine,
/// a rain catch, a new camp.
pub(in crate::logline) fn moves_both_ways(stock: &Stock, parts: &Parts) -> bool {
    let battery = parts.is_store(&stock.name);
    let against = |measure: &Measure| match measure {
        Measure::Amount { per_time, .. } => match stock.runs {
            Direction::Down => *per_time > 0.0,
            Direction::Up => *per_time < 0.0,
        },
        Measure::ShareOf { .. } => stock.runs == Direction::Down,
    };
    let moves = parts.activities.iter().flat_map(|activity| &activity.moves);
    let moves = moves.chain(parts.base.iter().flat_map(|base| &base.moves));
    battery
        || stock.reset_by_camp
        || moves.into_iter().any(|m| m.stock == stock.name && against(&m.measure))
}
