//! An offer that would leave next to nothing in a stock, of a line that tells what was taken from it:
//! `washed nappies, 6 litres of water` sets no level.

use crate::domain::{Direction, Event, Moment, Parts, Quantity, Unit};
use crate::logline::lexis::listed::{is_of, lows};
use crate::logline::lexis::misread::Understood;

/// Of a stock's capacity, more than is taken from it at once. Common practice, no source.
const AT_ONCE: f64 = 0.3;

/// What was rather meant than a level, as far as an offer says one that nobody read: whole lines,
/// nearest first. None where the line tells of no taking, or of a reading.
pub(super) fn rather(
    line: &str,
    (offer, said): (&str, &[Understood]),
    parts: &Parts,
    now: Moment,
) -> Vec<String> {
    let is = |row: &str| lows(line).iter().any(|word| is_of(row, word));
    if !is("taking") || is("seen") {
        return Vec::new();
    }
    let taken = said.iter().find_map(|said| match &said.event {
        Event::Level { stock, reading, .. } if said.at <= now => taken(stock, reading, parts),
        _ => None,
    });
    let Some((stock, amount)) = taken else { return Vec::new() };
    // `washed dishes with 6 L of water` tells of dishes.
    let use_of = said.iter().any(|said| matches!(said.event, Event::Use { .. }));
    let alone = offer.replacen(&format!("{stock} {amount}"), "", 1);
    let alone = use_of.then(|| alone.trim_matches([' ', ',']).to_string());
    let all = [format!("used {stock} {amount} in all"), format!("lost {stock} {amount}")];
    alone.into_iter().chain(all).collect()
}

/// The stock and the amount, where it is a small part of one that runs down.
fn taken(stock: &str, reading: &Quantity, parts: &Parts) -> Option<(String, String)> {
    let (_, known) = parts.stock(stock)?;
    let factor = reading.unit.factor_to(&known.unit, None)?;
    let share = reading.amount.value() * factor / known.capacity;
    // Clothes that were washed are there again.
    let poured = matches!(known.unit, Unit::Litre | Unit::Kilogram);
    let down = known.runs == Direction::Down && poured;
    (down && share < AT_ONCE).then(|| (stock.to_string(), reading.to_string()))
}
