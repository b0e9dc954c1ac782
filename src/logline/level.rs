//! Readings: a level, with the resolution that its words show or state.

use super::amounts::{self, Said};
use super::misread::Misread;
use super::reader::{Reader, Scene, in_stock};
use super::units::is_counted;
use super::word::{Kind, Word};
use crate::domain::entry::Event;
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::stock::{Gauge, Stock};

/// An example of a level in the stock's own unit.
pub(super) fn half(stock: &Stock) -> String {
    let half = Amount::from_f64((stock.capacity / 2.0).round()).unwrap_or_default();
    Quantity::new(half, stock.unit.clone()).to_string()
}

/// A reading, with the resolution that its words show or state.
pub(super) fn level(
    stock: &Stock,
    said: Said,
    words: &[Word],
    reader: &mut Reader,
    scene: &Scene,
) -> Result<Event, Misread> {
    let parts = match (&said, &stock.gauge) {
        // With no gauge, "3/4" is a guess to the quarter; "half" is one as well.
        (Said::Share { parts: 2, .. }, Gauge::None) => Some(4),
        (Said::Share { parts, .. }, Gauge::None) if *parts > 1 => Some(*parts),
        _ => None,
    };
    let unit = reader.peek().filter(|w| w.kind == Kind::Plain && !w.is("in") && !w.is_numeric());
    let named =
        |w: &&Word| Reader { words: std::slice::from_ref(*w), at: 0 }.name(scene.known).is_none();
    let unit = unit.filter(named);
    if let (Said::Bare(_), Some(word), false) = (&said, unit, is_counted(&stock.unit)) {
        let (name, unit) = (&stock.name, stock.unit.word());
        if let (true, [.., over], Some(whole)) = (word.is("of"), words, reader.rest().get(1)) {
            let share = format!("{name} {}/{}", over.low, whole.low);
            let message = format!("a share of the whole? Write `{share}`");
            return Err(Misread::at(word, message).write_piece(share));
        }
        let message = format!("no unit that {name} is read in: write {unit} or %");
        return Err(Misread::at(word, message));
    }
    let reading = in_stock(stock, said, words, scene)?;
    let step = match stated_step(reader)? {
        Some(step) => Some(step),
        None => parts.map(|parts| 1.0 / parts as f64),
    };
    Ok(Event::Level { stock: stock.name.clone(), reading, step })
}

/// Into how many parts a gauge is read, by the word for such a part.
const STEPS: [(&str, i64); 7] = [
    ("halves", 2),
    ("thirds", 3),
    ("quarters", 4),
    ("fifths", 5),
    ("sixths", 6),
    ("eighths", 8),
    ("tenths", 10),
];

fn parts_word(word: &str) -> Option<i64> {
    STEPS.iter().find(|(name, _)| *name == word).map(|(_, parts)| *parts)
}

/// How a step is said behind `in`: `quarters`, or `steps of 7%`.
pub(super) fn step_words(step: f64) -> String {
    match STEPS.iter().find(|(_, parts)| step == 1.0 / *parts as f64) {
        Some((parts, _)) => format!("in {parts}"),
        None => {
            let percent = Amount::from_f64(step * 100.0).unwrap_or_default();
            format!("in steps of {percent}%")
        }
    }
}

/// `in quarters`, `in steps of 5%`.
fn stated_step(reader: &mut Reader) -> Result<Option<f64>, Misread> {
    let from = reader.at;
    if !reader.take(&["in"]) {
        return Ok(None);
    }
    let message = "the gauge's step: write `in quarters` or `in steps of 5%`";
    if reader.take(&["steps"]) && reader.take(&["of"]) {
        let number = reader.peek().filter(|w| w.is_numeric());
        let percent = amounts::number(number.ok_or_else(|| reader.missing(message))?)?;
        reader.at += 1;
        if !reader.take(&["%", "percent"]) {
            return Err(reader.missing(message));
        }
        let most = Amount::from_milli(100_000).unwrap_or_default();
        if percent <= Amount::ZERO || percent > most {
            return Err(Misread::over(reader.since(from), "a step is above 0% and at most 100%"));
        }
        return Ok(Some(percent.value() / 100.0));
    }
    let parts = reader.peek().filter(|w| w.low.ends_with('s'));
    let Some(parts) = parts.and_then(|w| parts_word(&w.low)) else {
        return Err(reader.missing(message));
    };
    reader.at += 1;
    Ok(Some(1.0 / parts as f64))
}
