//! How a reading is answered: what a number says of a stock.

use super::drafts::{full_to, level, whole};
use crate::domain::{Draft, Gauge, Moment, Quantity, Stock, Unit};

/// How a reading is answered.
#[derive(Debug, Clone, PartialEq)]
pub enum Scale {
    /// A number says how many of so many equal parts.
    Parts(u32),
    /// A number says how many lamps are lit; each comes on at its share of capacity.
    Lamps(Vec<f64>),
    /// A number says per cent.
    Percent,
    /// A number in the stock's unit.
    Amount {
        /// That unit.
        unit: Unit,
        /// What the stock holds when full.
        most: f64,
    },
}

/// What it is called where no lamp is lit.
pub(in crate::tui) const NONE_LIT: &str = "none";

impl Scale {
    pub(super) fn of(stock: &Stock) -> Scale {
        let measured = matches!(
            stock.unit,
            Unit::Litre | Unit::Kilogram | Unit::WattHour | Unit::KilowattHour
        );
        match &stock.gauge {
            Gauge::Ladder(marks) if marks.len() < 10 => Scale::Lamps(marks.clone()),
            Gauge::Step(step) if (1.0 / step).round() <= 10.0 => {
                Scale::Parts((1.0 / step).round().max(1.0) as u32)
            }
            Gauge::Step(_) | Gauge::Ladder(_) => Scale::Percent,
            // A guess is good to a tenth at best.
            Gauge::None if measured => Scale::Parts(10),
            Gauge::None => Scale::Amount { unit: stock.unit.clone(), most: stock.capacity },
        }
    }

    /// The highest number that says anything.
    fn most(&self) -> f64 {
        match self {
            Scale::Parts(parts) => f64::from(*parts),
            Scale::Lamps(marks) => marks.len() as f64,
            Scale::Percent => 100.0,
            Scale::Amount { most, .. } => *most,
        }
    }

    /// Whether a number says anything here.
    pub(super) fn counts(&self, number: f64) -> bool {
        let lamp = !matches!(self, Scale::Lamps(_)) || number.fract() == 0.0;
        lamp && number <= self.most()
    }

    /// What `number` says of `stock`.
    pub(super) fn reading(&self, stock: &str, number: f64, now: Moment) -> Vec<Draft> {
        let share = match self {
            Scale::Parts(_) | Scale::Percent => number / self.most(),
            Scale::Lamps(marks) => (number as usize).checked_sub(1).map_or(0.0, |lamp| marks[lamp]),
            Scale::Amount { unit, .. } => {
                return level(stock, Quantity::new(whole(number), unit.clone()), now);
            }
        };
        full_to(stock, share, now)
    }
}
