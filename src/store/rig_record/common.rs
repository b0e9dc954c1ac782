//! What several parts of a rig file are read with.

use super::super::{block::Block, fault_words::nearest};
use crate::domain::{Unit, UnitSystem};

/// A known unit, or the owner's own word for one.
pub(super) fn unit(block: &mut Block, field: &'static str, show: UnitSystem) -> Option<Unit> {
    let word = block.text_maybe(field)?;
    if let Some(known) = Unit::from_word(&word, show) {
        return Some(known);
    }
    // "Liter" or "KWH" is a slip, not a unit of the owner's own.
    let slip = Unit::known_words().find(|known| known.to_lowercase() == word.to_lowercase());
    let near = nearest(&word, Unit::known_words().filter(|known| known.len() > 3));
    match slip.or(near.filter(|_| word.len() > 4)) {
        Some(near) => {
            block.wrong(field, word, format!("\"{near}\", or quite another word"));
            None
        }
        None => Some(Unit::Own(word)),
    }
}

/// A number as an hour of the day.
pub(super) fn whole_hour(number: f64) -> Option<u8> {
    let fits = (0.0..24.0).contains(&number) && number.fract() == 0.0;
    fits.then_some(number as u8)
}
