//! What lies behind a stock's dates, in words.

use crate::forecast::why::{Moves, Unknown};

/// What moves a stock: "showers", "heating".
pub fn moves(what: &Moves) -> &str {
    match what {
        Moves::Named(name) => name,
        Moves::Heating => "heating",
        Moves::Sun => "sun on the panels",
        Moves::Loads => "what is always on, such as a fridge or a fan",
    }
}

/// What makes a date unsure: "the level now", "how often: showers".
pub fn unknown(what: &Unknown) -> String {
    match what {
        Unknown::Level => "the level now".to_string(),
        Unknown::Coefficient(name) => name.clone(),
        Unknown::HowOften(plural) => format!("how often: {plural}"),
    }
}
