//! What stands around a thing, and the stocks and amounts that it names.

use crate::domain::entry::Event;
use crate::domain::flow::{BaseUse, Driver, Measure, Move};
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::rig::Parts;
use crate::domain::stock::{Gauge, Stock};
use crate::domain::time::Moment;
use crate::domain::unit::Unit;
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::units::{in_stock_unit, is_counted};
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::Word;
use crate::logline::times::moment::Clock;
use chrono::NaiveDate;

/// What stands around a thing: the words, the clock, and the parts of its day.
pub(in crate::logline) struct Scene<'s> {
    pub known: &'s Vocabulary,
    pub clock: &'s Clock,
    pub at: Moment,
    pub date: NaiveDate,
    /// Whether it is told of a day, and of no hour of it.
    pub all_day: bool,
    pub parts: &'s Parts,
}

impl<'s> Scene<'s> {
    /// Around a thing that is said of now.
    pub(in crate::logline) fn now(known: &'s Vocabulary, clock: &'s Clock) -> Scene<'s> {
        let (at, date) = (clock.now, clock.civil.date());
        Scene { known, clock, at, date, all_day: false, parts: known.parts_on(date) }
    }
}

/// What a thing says.
pub(in crate::logline) struct SaidThing {
    pub event: Event,
    pub remark: Option<String>,
}

/// What a thing says, and the small words that belong to it.
pub(in crate::logline) type Meant = (Vec<SaidThing>, &'static str);

impl From<Event> for SaidThing {
    fn from(event: Event) -> SaidThing {
        SaidThing { event, remark: None }
    }
}
/// The stock of that name on the thing's day.
pub(in crate::logline) fn stock_on<'s>(
    name: &str,
    named: &[Word],
    scene: &Scene<'s>,
) -> Result<&'s Stock, Misread> {
    scene.parts.stock(name).map(|(_, stock)| stock).ok_or_else(|| {
        let message = format!("not among the rig's stocks on {}", scene.date);
        Misread::over(named, message)
    })
}

/// An amount of a stock, within 0 and its capacity on the thing's day.
pub(super) fn in_stock(
    stock: &Stock,
    said: Said,
    words: &[Word],
    scene: &Scene,
) -> Result<Quantity, Misread> {
    let name = &stock.name;
    let quantity = match said {
        Said::Bare(amount) => bare(stock, amount, words, scene)?,
        Said::Days(days) => for_all(stock, days, words, scene)?,
        said => said.quantity().unwrap_or(Quantity::new(Amount::ZERO, Unit::Percent)),
    };
    let Some(own) = in_stock_unit(&quantity, stock, scene.parts) else {
        let (unit, said) = (stock.unit.word(), quantity.unit.word());
        let message = format!("{name} is measured in {unit} or %, not in {said}");
        return Err(Misread::over(words, message));
    };
    if quantity.amount < Amount::ZERO {
        return Err(Misread::over(words, "below 0: an amount is 0 or more"));
    }
    if quantity.unit == Unit::Percent && quantity.amount.value() > 100.0 {
        return Err(Misread::over(words, "more than the whole: 0% to 100%"));
    }
    // Converted amounts may pass the brim by a rounding.
    if own > stock.capacity * 1.000_001 {
        let brim = Amount::from_f64(stock.capacity).unwrap_or_default();
        let brim = Quantity::new(brim, stock.unit.clone());
        let message = format!("more than {name} holds: {brim}");
        return Err(Misread::over(words, message));
    }
    Ok(quantity)
}

/// So many days of food, for all who are aboard.
fn for_all(
    stock: &Stock,
    days: Amount,
    words: &[Word],
    scene: &Scene,
) -> Result<Quantity, Misread> {
    let Some(a_day) = each_day(stock, scene) else {
        let (name, unit) = (&stock.name, stock.unit.word());
        let message = format!("{name} is measured in {unit} or %, not in days");
        return Err(Misread::over(words, message));
    };
    let amount = |days: f64| Amount::from_f64(days).unwrap_or_default();
    let aboard = scene.known.aboard;
    let all = amount(days.value() * aboard.value() * a_day);
    if all.value() > stock.capacity || all == Amount::ZERO {
        let one = Quantity::new(amount(days.value() * a_day), stock.unit.clone());
        let message = format!(
            "{days} days for {aboard} aboard are {}, and {} holds {}: write `{one}` for one person",
            Quantity::new(all, stock.unit.clone()),
            stock.name,
            stock.capacity
        );
        return Err(Misread::over(words, message).write(one.to_string()));
    }
    Ok(Quantity::new(all, stock.unit.clone()))
}

/// What one person takes of a counted stock in a day, where the rig says it in one place: that is
/// what `clothes for 4 days` goes by. In the stock's unit.
fn each_day(stock: &Stock, scene: &Scene) -> Option<f64> {
    if stock.unit == Unit::PersonDay {
        return Some(1.0);
    }
    let of_it = |base: &&BaseUse| base.moves.iter().any(|one| one.stock == stock.name);
    let uses: Vec<&BaseUse> = scene.parts.base.iter().filter(of_it).collect();
    let [base] = uses[..] else { return None };
    let [Move { measure: Measure::Amount { per_time, .. }, .. }] = &base.moves[..] else {
        return None;
    };
    let counted = is_counted(&stock.unit) && base.per == Driver::PersonDay;
    (counted && *per_time < 0.0).then_some(-per_time)
}

/// Whether a number fits into a small tank whose gauge shows no such share of it.
fn is_off_gauge(stock: &Stock, number: f64) -> bool {
    let Gauge::Step(step) = stock.gauge else { return false };
    let steps = number / 100.0 / step;
    let off = (steps - steps.round()).abs() * step > 0.01;
    off && stock.capacity < 50.0 && number <= stock.capacity && number > 0.0
}

/// How a level of a battery is said.
const EXAMPLE_SHARE: &str = "60%";

/// A number alone: counted things need no unit. Of what is measured it is percent where only that
/// can be, and else what every reading of this stock was in so far.
fn bare(stock: &Stock, amount: Amount, words: &[Word], scene: &Scene) -> Result<Quantity, Misread> {
    let own = Quantity::new(amount, stock.unit.clone());
    if is_counted(&stock.unit) || amount < Amount::ZERO {
        return Ok(own);
    }
    let percent = Quantity::new(amount, Unit::Percent);
    let (number, energy) = (amount.value(), stock.unit.factor_to(&Unit::WattHour, None));
    if number > 100.0 {
        return Ok(own);
    }
    // Nobody reads the last twentieth of a battery in watt-hours.
    let whole = amount.milli() % 1000 == 0;
    if whole && (number > stock.capacity || energy.is_some() && number < 0.05 * stock.capacity) {
        return Ok(percent);
    }
    match scene.known.usual_unit(&stock.name) {
        // Percent are whole ones; `1.89` is rather a price. Of a tank of 23 L, whose gauge shows eighths,
        // 11 may be either.
        Some(Unit::Percent) if amount.milli() % 1000 == 0 && !is_off_gauge(stock, number) => {
            Ok(percent)
        }
        Some(unit) if *unit == stock.unit => Ok(own),
        _ => {
            let message = format!("of what? Write `{percent}` or `{own}`");
            let misread = Misread::over(words, message);
            // 12.8 of a battery of twelve volts is what its meter shows in volts.
            let volts = |volts: f64| (0.8 * volts..1.3 * volts).contains(&number) && !whole;
            if energy.is_some() && scene.parts.volts().is_some_and(volts) {
                let message =
                    format!("volts say too little of what is left: write `{EXAMPLE_SHARE}`");
                return Err(Misread::over(words, message));
            }
            Err(misread.write(percent.to_string()).write(own.to_string()))
        }
    }
}
