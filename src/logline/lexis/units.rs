//! Amounts in the units of stocks and activities.

use crate::domain::flow::Per;
use crate::domain::{Activity, Parts, Quantity, Stock, Unit};

/// `quantity` in the unit of `stock`; `None` across dimensions.
pub(crate) fn in_stock_unit(quantity: &Quantity, stock: &Stock, parts: &Parts) -> Option<f64> {
    match quantity.unit {
        Unit::Percent => Some(quantity.amount.value() / 100.0 * stock.capacity),
        _ => Some(quantity.amount.value() * quantity.unit.factor_to(&stock.unit, parts.volts())?),
    }
}

/// Whether a bare number of this unit needs no unit word: things that are counted, not measured.
pub(crate) fn is_counted(unit: &Unit) -> bool {
    matches!(unit, Unit::Time | Unit::Use | Unit::PersonDay | Unit::Night | Unit::Person)
        || matches!(unit, Unit::Own(_))
}

/// `said` as a count of `activity`; `None` across dimensions. Times and uses are both counts, so
/// either word stands for the one that the activity is counted in.
pub(crate) fn in_activity_unit(
    said: Quantity,
    activity: &Activity,
    volts: Option<f64>,
) -> Option<Quantity> {
    let people = said.unit == Unit::Person && activity.per == Per::Person;
    if (said.unit == Unit::Time || people) && is_counted(&activity.counted_in)
        || said.unit == Unit::Use && activity.counted_in == Unit::Time
    {
        return Some(Quantity::new(said.amount, activity.counted_in.clone()));
    }
    said.unit.factor_to(&activity.counted_in, volts).map(|_| said)
}
