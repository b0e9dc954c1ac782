//! A level in words, with no spread that cannot be: none beyond empty or full, none of zero, and
//! no number at all where next to nothing is known.

use crate::domain::{Unit, UnitSystem};
use crate::forecast::{Evening, StockForecast};
use crate::text::quantity::{amount, is_energy, share_full};
use crate::text::{Spread, Urgency, percent, quantity};
use crate::tui::State;

/// A level with a spread of more than this share of capacity is never told without it.
const UNKNOWN: f64 = 0.25;
/// The same of a stock that nobody has read: what a rig file begins with is no reading.
const GUESSED: f64 = 0.1;
/// So much past empty or full, as a share of capacity, is put down to rounding.
const SLACK: f64 = 0.02;

/// Wordings, longest first: "31 ±5 of 70 L", "31 of 70 L", "44 %"; "0 to 9 of 70 L" where the
/// spread reaches past empty or full; "not read yet" where it says nothing.
pub fn wordings(state: &State, stock: &StockForecast) -> Vec<String> {
    let wordings = match &state.evening.answer {
        Some(evening) if is_guessed(evening, stock) => {
            vec!["not read yet".to_string(), "unread".to_string(), "?".to_string()]
        }
        _ if !stock.level.mean.is_finite() => vec!["unknown".to_string(), "?".to_string()],
        // A number alone would look as if it were known.
        _ if !is_known(stock, UNKNOWN) => {
            let mean = quantity::level(stock, state.units(), Spread::LeftOut);
            vec![with_spread(stock, state.units(), &mean), "unsure".to_string(), "?".to_string()]
        }
        _ => {
            let mean = quantity::level(stock, state.units(), Spread::LeftOut);
            vec![with_spread(stock, state.units(), &mean), mean, share_full(stock)]
        }
    };
    wordings.iter().map(|text| state.look.plain(text)).collect()
}

/// The level in five columns: "44 %", or "?".
pub fn share(state: &State, stock: &StockForecast) -> String {
    wordings(state, stock).pop().unwrap_or_default()
}

/// Sign and word for how pressing a stock is, five columns at most; one that nobody has read in six
/// weeks is not called ok, nor soon where all that is known of it is a guess. Nights at one camp are
/// counted, and need no reading.
pub fn urgency(state: &State, stock: &StockForecast) -> (Urgency, &'static str) {
    let (urgency, evening) = (Urgency::of(stock), state.evening.answer.as_ref());
    let read = evening.is_some_and(|evening| was_read(evening, stock));
    let guessed = evening.is_some_and(|evening| is_guessed(evening, stock));
    match urgency {
        Urgency::Fine if !read && stock.unit != Unit::Night => (Urgency::Soon, UNREAD),
        Urgency::Soon if guessed => (Urgency::Soon, UNREAD),
        _ => (urgency, urgency.word()),
    }
}

/// In place of "ok": nobody has read it, so nobody knows.
pub(in crate::tui) const UNREAD: &str = "?read";

/// Whether nobody has read it, and next to nothing else tells of it.
fn is_guessed(evening: &Evening, stock: &StockForecast) -> bool {
    !is_known(stock, GUESSED) && !was_read(evening, stock)
}

/// Whether the level is known to a share of what the stock holds.
fn is_known(stock: &StockForecast, share: f64) -> bool {
    stock.level.mean.is_finite() && stock.level.sd <= share * stock.capacity
}

/// Whether anybody read, filled or emptied it in the last six weeks.
fn was_read(evening: &Evening, stock: &StockForecast) -> bool {
    !evening.readings(&stock.name).is_empty()
}

fn with_spread(stock: &StockForecast, units: UnitSystem, mean: &str) -> String {
    let (low, high) = (stock.level.mean - stock.level.sd, stock.level.mean + stock.level.sd);
    let slack = SLACK * stock.capacity;
    if low >= -slack && high <= stock.capacity + slack {
        return quantity::level(stock, units, Spread::Shown);
    }
    let number = |level: f64| {
        let level = level.clamp(0.0, stock.capacity);
        let text = match is_energy(&stock.unit) {
            true => percent(level / stock.capacity),
            false => amount(level, stock.capacity, &stock.unit, units),
        };
        text.split(' ').next().unwrap_or_default().to_string()
    };
    let of_whole = mean.split_once(' ').map_or("", |(_, rest)| rest);
    format!("{} to {} {of_whole}", number(low), number(high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Estimate;
    use crate::tui::fixture;
    use crate::tui::theme::Theme;

    /// `(index of the stock, mean, spread, wordings)`; 0 is fresh of 90 L, 5 the
    /// battery, 7 gas of 5 kg, which nobody has read.
    #[test]
    fn no_spread_exceeds_what_is_possible() {
        let rows = [
            (0, 52.0, 3.1, "52 ±4 of 90 L|52 of 90 L|58 %"),
            (0, 52.0, 0.0, "52 of 90 L|52 of 90 L|58 %"),
            (0, 8.0, 20.0, "0 to 28 of 90 L|8 of 90 L|9 %"),
            (0, 85.0, 12.0, "73 to 90 of 90 L|85 of 90 L|94 %"),
            (0, 19.0, 31.0, "0 to 50 of 90 L|unsure|?"),
            (0, 45.0, 25.0, "45 ±25 of 90 L|unsure|?"),
            (0, f64::NAN, f64::NAN, "unknown|?"),
            (5, 128.0, 512.0, "0 to 25 %|5 %|5 %"),
            (7, 2.0, 2.0, "not read yet|unread|?"),
            (7, 3.0, 1.2, "not read yet|unread|?"),
            (7, f64::NAN, f64::NAN, "not read yet|unread|?"),
        ];
        let state = fixture::state(Theme::default());
        for (index, mean, sd, expected) in rows {
            let mut stock = fixture::evening().forecast.stocks[index].clone();
            stock.level = Estimate { mean, sd };
            assert_eq!(wordings(&state, &stock).join("|"), expected);
        }
        let told = |sd, unit, units| quantity::learned(Estimate { mean: 2.0, sd }, unit, units);
        assert_eq!(told(0.001, "L", UnitSystem::Metric), "2.00 L");
        assert_eq!(told(0.0, "", UnitSystem::Metric), "2.00");
        // 2 L are 0.528 US gallons of 3.785 L (from memory), by hand.
        assert_eq!(told(0.4, "L per day", UnitSystem::Us), "0.53 ±0.11 gal per day");
    }
}
