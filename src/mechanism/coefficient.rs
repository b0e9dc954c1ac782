//! Coefficients: the numbers that say how much flows, with what is believed about them before
//! any journal.

use super::driver::Source;
use super::practice::LEAST_OF_RATED;
use crate::domain::Estimate;

/// What kind of number a coefficient is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Nature {
    /// Positive; `spread` is the standard deviation of its logarithm.
    Positive {
        /// Log standard deviation, at least 0.
        spread: f64,
    },
    /// Between 0 and 1; `spread` is its standard deviation.
    Share {
        /// Standard deviation, at least 0.
        spread: f64,
    },
}

/// Which number of a rig a coefficient is. It stays the same when a rig changes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Meaning {
    /// What one occurrence or unit of a process takes of a stock or gives to it.
    Amount {
        /// Name of the stock.
        stock: String,
        /// Name of the activity or base use.
        process: String,
    },
    /// The share of what a process takes that reaches another stock.
    Share {
        /// Name of the activity or base use.
        process: String,
        /// Name of the stock that the share reaches.
        stock: String,
    },
    /// What nothing explains of a stock's change.
    Unexplained {
        /// Name of the stock.
        stock: String,
    },
    /// Real to rated power of the panels.
    Panels,
    /// Mean draw of the fridge at 20 C.
    Fridge,
    /// Draw that never rests.
    Standing,
    /// What the van loses for each kelvin.
    HeatLoss,
    /// Draw of the sources of heat while they burn.
    Heater,
    /// What tended fires burn beyond what is wanted, over what the rig's numbers say.
    Tending,
}

/// An uncertain number that flows depend on.
#[derive(Debug, Clone, PartialEq)]
pub struct Coefficient {
    /// Which number of the rig it is.
    pub what: Meaning,
    /// Unit in words, empty for a pure number.
    pub unit: String,
    /// What drives the flows that it scales.
    pub source: Source,
    /// What the rig file says.
    pub mean: f64,
    /// What kind of number it is, and how sure the rig file is of it.
    pub nature: Nature,
    /// Whether it moves the electric store and nothing else.
    pub electric_only: bool,
}

impl Coefficient {
    pub(crate) fn new(
        what: Meaning,
        unit: String,
        source: Source,
        mean: f64,
        nature: Nature,
    ) -> Coefficient {
        Coefficient { what, unit, source, mean, nature, electric_only: false }
    }

    /// Standard deviation before any evidence, in the coefficient's unit.
    pub fn sd(&self) -> f64 {
        match self.nature {
            Nature::Positive { spread } => self.mean * spread,
            Nature::Share { spread } => spread,
        }
    }

    /// Mean and standard deviation before any evidence. A positive number is as likely twice as half
    /// of what the rig file says, so its mean lies a little higher: that of a log-normal law,
    /// `value exp(spread^2 / 2)`.
    pub fn prior(&self) -> Estimate {
        match self.nature {
            Nature::Positive { spread } => {
                let squares = (spread * spread).exp();
                let mean = self.mean * squares.sqrt();
                Estimate { mean, sd: mean * (squares - 1.0).sqrt() }
            }
            Nature::Share { spread } => Estimate { mean: self.mean, sd: spread },
        }
    }

    /// `value` brought back to where it makes sense: positive ones at least a tenth of what the
    /// rig file says, shares within 0 and 1.
    pub fn sensible(&self, value: f64) -> f64 {
        match self.nature {
            Nature::Positive { .. } => value.max(LEAST_OF_RATED * self.mean),
            Nature::Share { .. } => value.clamp(0.0, 1.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A log-normal law of median 8: means and standard deviations computed with scipy 1.17.1
    /// (`scipy.stats.lognorm(s=spread, scale=8)`).
    #[test]
    fn a_positive_number_starts_at_the_mean_of_its_law() {
        for (spread, mean, sd) in [(0.4, 8.666_297, 3.609_914), (0.25, 8.253_947, 2.096_153)] {
            let nature = Nature::Positive { spread };
            let source = Source::Climate;
            let prior = Coefficient::new(Meaning::Heater, "L".into(), source, 8.0, nature).prior();
            assert!((prior.mean - mean).abs() < 1e-5, "{prior:?}");
            assert!((prior.sd - sd).abs() < 1e-5, "{prior:?}");
        }
    }
}
