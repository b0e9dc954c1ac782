//! Rhythms: how much of a day's base use falls into each of its hours.
//!
//! Shares by clock hour of households in the United States: House Simulation Protocols of Building
//! America (NREL, 2010), read in open building-simulation code that carries these schedules, the
//! report itself from memory. People in vans keep other hours: a start, which a rig file may overrule.
//! That code's hot water counts showers, which a journal tells apart: tried for what is drunk and
//! washed with, it called sound tanks leaking more often than waking hours do.

use super::driver::{lateness, person_hour_share};
use crate::domain::{BaseUse, Driver, Measure, Move, Stock, Unit};

/// Cooking range: meals.
const MEALS: [f64; 24] = [
    0.007, 0.007, 0.004, 0.004, 0.007, 0.011, 0.025, 0.042, 0.046, 0.048, 0.042, 0.05, 0.057,
    0.046, 0.057, 0.044, 0.092, 0.15, 0.117, 0.06, 0.035, 0.025, 0.016, 0.011,
];

/// Lights and small appliances.
const LIGHTS: [f64; 24] = [
    0.008, 0.008, 0.008, 0.008, 0.024, 0.05, 0.056, 0.05, 0.022, 0.015, 0.015, 0.015, 0.015, 0.015,
    0.026, 0.015, 0.056, 0.078, 0.105, 0.126, 0.128, 0.088, 0.049, 0.02,
];

/// What bodies give. Of a day's urine a fifth (the young) to a third (over 65) is made at night, the
/// first of the morning counted in (standardisation of terminology in nocturia, International
/// Continence Society, 2002; from memory): here a quarter is passed from eleven at night to eight in
/// the morning, two fifths of that at once on waking, and the rest of the day has the same each hour.
const BODY: [f64; 24] = {
    let mut shares = [0.75 / 15.0; 24];
    let mut hour = 0;
    while hour < 24 {
        if hour < 7 || hour == 23 {
            shares[hour] = 0.15 / 8.0;
        }
        hour += 1;
    }
    shares[7] = 0.1;
    shares
};

/// How one day's base use falls into its hours, and whether it goes by the people aboard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rhythm {
    /// Whether each person aboard has it, rather than the van.
    pub per_person: bool,
    /// Share of the day in each civil hour; 1 together.
    shares: [f64; 24],
    /// Mean of the hours' [`lateness`].
    middle: f64,
}

impl Rhythm {
    /// Once a day, whoever is aboard, at all hours alike.
    pub(super) fn even() -> Rhythm {
        Rhythm::with(false, [1.0; 24])
    }

    /// With such weights of the hours, of which one is above 0.
    fn with(per_person: bool, weights: [f64; 24]) -> Rhythm {
        let sum: f64 = weights.iter().sum();
        let shares = weights.map(|weight| weight / sum);
        let middle = shares.iter().enumerate().map(|(hour, share)| share * lateness(hour)).sum();
        Rhythm { per_person, shares, middle }
    }

    /// Of a base use that goes by the person or by the day; `stock` finds the stocks that it moves,
    /// and `electric` says which one stores electricity. `None` for what drives and charges bring.
    ///
    /// Where the rig file names no hours: what feeds on electricity alone follows lights, what is
    /// counted in person-days follows meals, what people give without taking of anything their
    /// bodies, all else that people do their waking hours, and what the van does by itself is even.
    pub(super) fn of<'a>(
        base: &BaseUse,
        electric: Option<&str>,
        stock: impl Fn(&str) -> Option<&'a Stock>,
    ) -> Option<Rhythm> {
        let per_person = match base.per {
            Driver::PersonDay => true,
            Driver::Day => false,
            _ => return None,
        };
        let moved = || base.moves.iter().filter_map(|step| stock(&step.stock));
        let weights = match (named(&base.hours), per_person) {
            (Some(weights), _) => weights,
            _ if moved().all(|stock| Some(stock.name.as_str()) == electric) => LIGHTS,
            (None, false) => return Some(Rhythm::even()),
            _ if moved().any(|stock| stock.unit == Unit::PersonDay) => MEALS,
            (None, true) if base.moves.iter().all(is_given) => BODY,
            (None, true) => std::array::from_fn(person_hour_share),
        };
        Some(Rhythm::with(per_person, weights))
    }

    /// By what share an hour has more of it for each unit that people do everything later: the log
    /// odds of an hour against another grow with their [`lateness`]. 0 for what the van does itself.
    pub fn later(&self, hour: usize) -> f64 {
        if self.per_person { lateness(hour) - self.middle } else { 0.0 }
    }

    /// Person-days, or days, that fall in a civil hour with so many people aboard.
    pub fn in_hour(&self, hour: usize, aboard: f64) -> f64 {
        self.shares[hour % 24] * if self.per_person { aboard } else { 1.0 }
    }
}

/// Whether it brings something that comes from no stock.
fn is_given(step: &Move) -> bool {
    matches!(step.measure, Measure::Amount { per_time, .. } if per_time > 0.0)
}

/// Weights by the hour; none where no hour has any.
fn named(hours: &[(u8, f64)]) -> Option<[f64; 24]> {
    let mut weights = [0.0; 24];
    for (hour, weight) in hours {
        weights[usize::from(*hour) % 24] += weight;
    }
    (weights.iter().sum::<f64>() > 0.0).then_some(weights)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_shares_are_of_a_whole_day() {
        for shares in [MEALS, LIGHTS] {
            // Printed to a thousandth each.
            assert!((shares.iter().sum::<f64>() - 1.0).abs() < 0.012);
        }
    }

    /// Between the fifth of the young and the third of the old, the first of the morning counted in.
    #[test]
    fn a_quarter_of_a_days_urine_is_of_the_night() {
        let night = (0..8).chain([23]).map(|hour| BODY[hour]).sum::<f64>();
        assert!((night - 0.25).abs() < 1e-12 && (BODY.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        let step = |per_time| Move {
            stock: "liquids".into(),
            measure: Measure::Amount { per_time, spread: 0.3 },
            warmed_to_c: None,
            through_inverter: false,
        };
        assert!(is_given(&step(1.2)) && !is_given(&step(-2.0)));
    }
}
