//! Readings: a level, with the resolution that its words show or state.

use super::bag::Bag;
use super::scene::{Scene, in_stock};
use crate::domain::{Amount, Event, Gauge, Quantity, Stock, Unit};
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::units::is_counted;
use crate::logline::lexis::word::Word;
use crate::logline::tokens::item::Is;

/// An example of a level in the stock's own unit.
pub(in crate::logline) fn half(stock: &Stock) -> String {
    let half = Amount::from_f64((stock.capacity / 2.0).round()).unwrap_or_default();
    Quantity::new(half, stock.unit.clone()).to_string()
}

/// A reading, with the resolution that its words show or state.
pub(in crate::logline) fn level(
    stock: &Stock,
    said: Said,
    words: &[Word],
    bag: &Bag,
    scene: &Scene,
) -> Result<Event, Misread> {
    let parts = match (&said, &stock.gauge) {
        // With no gauge, "3/4" is a guess to the quarter; "half" is one as well.
        (Said::Share { parts: 2, .. }, Gauge::None) => Some(4),
        (Said::Share { parts, .. }, Gauge::None) if *parts > 1 => Some(*parts),
        _ => None,
    };
    let last = words.last().map_or(0, |w| w.end);
    let unit = bag.strays.iter().find(|item| item.start() <= last + 1 && item.start() >= last);
    if let (Said::Bare(_), Some(unit), false) = (&said, unit, is_counted(&stock.unit)) {
        let (name, own) = (&stock.name, stock.unit.word());
        let message = format!("no unit that {name} is read in: write {own} or %");
        return Err(Misread::at(&unit.words[0], message));
    }
    let times = bag.has_mark("x times") || words.iter().any(|w| is_of("often", w.text));
    let often = match &said {
        Said::Bare(_) => times,
        Said::Quantity(said) => said.unit == Unit::Time,
        _ => false,
    };
    if often && !is_counted(&stock.unit) {
        let message = format!("so often is no level of {}: write it in %", stock.name);
        return Err(Misread::over(words, message));
    }
    let said = if bag.has_mark("lamps") { lit(stock, said, words)? } else { said };
    let reading = in_stock(stock, said, words, scene)?;
    let stated = bag.items.iter().find_map(|item| match item.is {
        Is::Step(step) => Some(step),
        _ => None,
    });
    let step = stated.or(parts.map(|parts| 1.0 / parts as f64));
    Ok(Event::Level { stock: stock.name.clone(), reading, step })
}

/// The level of so many lamps, or bars, of a gauge: `2 lamps`, `2 of 3 lights`.
fn lit(stock: &Stock, said: Said, words: &[Word]) -> Result<Said, Misread> {
    let (count, of) = match said {
        Said::Bare(count) => (count.value(), None),
        Said::Share { percent, parts } => {
            ((percent.value() / 100.0 * parts as f64).round(), Some(parts))
        }
        _ => return Ok(said),
    };
    let name = &stock.name;
    let marks: Vec<f64> = match &stock.gauge {
        Gauge::Ladder(marks) => marks.clone(),
        Gauge::Step(step) => {
            (1..=(1.0 / step).round() as u32).map(|n| f64::from(n) * step).collect()
        }
        Gauge::None => {
            let message = format!("{name} has no gauge with lamps: write its level in %");
            return Err(Misread::over(words, message));
        }
    };
    let lamps = marks.len();
    if count.fract() != 0.0 || count > lamps as f64 || of.is_some_and(|of| of as usize != lamps) {
        return Err(Misread::over(
            words,
            format!("{name} has {lamps} lamps: 0 to {lamps} are lit"),
        ));
    }
    let share = (count as usize).checked_sub(1).map_or(0.0, |lamp| marks[lamp]);
    let percent = Amount::from_f64((share * 100.0).min(100.0)).unwrap_or_default();
    Ok(Said::Quantity(Quantity::new(percent, Unit::Percent)))
}
