//! What an event must not say, whichever way it comes in: typed, imported, or read from a journal.
//!
//! Only what can be judged without a rig. Whether a stock exists, and whether it holds so much, is
//! asked where a line or a row is understood.

use super::entry::{After, Event};
use super::quantity::{Amount, Quantity};
use super::unit::Unit;

/// Most people that live aboard.
pub const MOST_PEOPLE: i64 = 1000;

/// Which part of an event is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EventPart {
    /// The amount.
    Amount,
    /// The unit of the amount.
    Unit,
    /// What a stock ended at.
    After,
    /// The higher temperature of a day.
    High,
}

/// What is wrong with an event.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Which part.
    pub part: EventPart,
    /// What stands there.
    pub found: String,
    /// What would be right.
    pub expected: &'static str,
}

/// The first thing that is wrong with `event`; `None` for what the rest of the program can trust.
pub fn refused(event: &Event) -> Option<Refused> {
    match event {
        Event::Use { count, .. } => not_below_zero(count),
        Event::Spent { amount, .. } => of_stock(amount, EventPart::Amount),
        Event::Level { reading, .. } => of_stock(reading, EventPart::Amount),
        Event::Fill { amount, after: Some(After::Level(left)), .. }
        | Event::Empty { amount, after: Some(left), .. } => moved(amount, Some(left)),
        Event::Fill { amount, .. } | Event::Empty { amount, .. } => moved(amount, None),
        Event::Drive(amount) => not_below_zero(amount)
            .or_else(|| measured(amount, &[Unit::Hour, Unit::Kilometre], "a time or a distance")),
        Event::Charge { amount, .. } => {
            let units = [Unit::Hour, Unit::WattHour, Unit::AmpHour];
            not_below_zero(amount).or_else(|| measured(amount, &units, "a time or an energy"))
        }
        Event::Crew(people) => {
            let fits = *people >= Amount::ZERO && people.milli() <= MOST_PEOPLE * 1000;
            (!fits).then(|| wrong(EventPart::Amount, people, "0 to 1000 people"))
        }
        Event::Outlook(day) => {
            let below = day.low_c.zip(day.high_c).filter(|(low, high)| high < low);
            let below = below.map(|(_, high)| wrong(EventPart::High, high, "at least the low"));
            let silent = || wrong(EventPart::High, "nothing", "a temperature, the sun or cloud");
            below.or_else(|| (!day.says_anything()).then(silent))
        }
        Event::Camp(_) | Event::DayClosed | Event::Note(_) => None,
    }
}

fn moved(amount: &Option<Quantity>, left: Option<&Quantity>) -> Option<Refused> {
    let amount = amount.as_ref().and_then(|amount| of_stock(amount, EventPart::Amount));
    amount.or_else(|| of_stock(left?, EventPart::After))
}

fn not_below_zero(quantity: &Quantity) -> Option<Refused> {
    let below = quantity.amount < Amount::ZERO;
    below.then(|| wrong(EventPart::Amount, quantity, "an amount from 0 up"))
}

fn of_stock(quantity: &Quantity, part: EventPart) -> Option<Refused> {
    let fits = quantity.amount >= Amount::ZERO
        && (quantity.unit != Unit::Percent || quantity.amount.milli() <= 100_000);
    (!fits).then(|| wrong(part, quantity, "an amount from 0 up, and at most 100 %"))
}

/// Whether an amount is in one of `units`, or in one that is a fixed number of them.
fn measured(quantity: &Quantity, units: &[Unit], expected: &'static str) -> Option<Refused> {
    let fits = units.iter().any(|unit| quantity.unit.converts_to(unit));
    (!fits).then(|| wrong(EventPart::Unit, quantity.unit.word(), expected))
}

fn wrong(part: EventPart, found: impl ToString, expected: &'static str) -> Refused {
    Refused { part, found: found.to_string(), expected }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::entry::ChargeSource;

    fn quantity(milli: i64, unit: Unit) -> Quantity {
        Quantity::new(Amount::from_milli(milli).unwrap(), unit)
    }

    /// What `log` and `import` refuse each in their own words.
    #[test]
    fn what_no_way_in_takes() {
        let dishes =
            |milli| Event::Use { activity: "dishes".into(), count: quantity(milli, Unit::Time) };
        let level = |milli, unit| Event::Level {
            stock: "fresh".into(),
            reading: quantity(milli, unit),
            step: None,
        };
        let shore =
            |unit| Event::Charge { source: ChargeSource::Shore, amount: quantity(1000, unit) };
        let people = |milli| Event::Crew(Amount::from_milli(milli).unwrap());
        let rows = [
            (dishes(-1), Some(EventPart::Amount)),
            (dishes(0), None),
            (level(100_000, Unit::Percent), None),
            (level(100_001, Unit::Percent), Some(EventPart::Amount)),
            (level(400_000, Unit::Litre), None),
            (level(-1, Unit::Litre), Some(EventPart::Amount)),
            (
                Event::Fill {
                    stock: "fresh".into(),
                    amount: None,
                    after: Some(After::Level(quantity(-1, Unit::Litre))),
                },
                Some(EventPart::After),
            ),
            (Event::Drive(quantity(5000, Unit::Litre)), Some(EventPart::Unit)),
            (Event::Drive(quantity(5000, Unit::Mile)), None),
            (shore(Unit::AmpHour), None),
            (shore(Unit::Kilometre), Some(EventPart::Unit)),
            (people(1_000_000), None),
            (people(1_001_000), Some(EventPart::Amount)),
            (people(-1000), Some(EventPart::Amount)),
        ];
        for (event, part) in rows {
            assert_eq!(refused(&event).map(|refused| refused.part), part, "{event:?}");
        }
    }
}
