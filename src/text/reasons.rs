//! What lies behind a stock's dates, in words.

use crate::forecast::answer::{Lesson, Per};
use crate::forecast::why::Unknown;
use crate::mechanism::coefficient::Meaning;
use crate::mechanism::held::Moves;

/// What moves a stock: "showers", "heating".
pub fn moves(what: &Moves) -> &str {
    match what {
        Moves::Named(name) => name,
        Moves::Heating => "heating",
        Moves::Sun => "sun on the panels",
        Moves::AlwaysOn => "what is always on, such as a fridge or a fan",
        Moves::Charge => "charge from outside",
    }
}

/// What makes a date unsure: "the level now", "how often: showers".
pub fn unknown(what: &Unknown) -> String {
    match what {
        Unknown::Level => "the level now".to_string(),
        Unknown::Coefficient(what) => coefficient(what),
        Unknown::HowOften(plural) => format!("how often: {plural}"),
    }
}

/// Which number of the rig it is: "fresh per shower", "panel factor".
pub fn coefficient(what: &Meaning) -> String {
    match what {
        Meaning::Amount { stock, process } => format!("{stock} per {process}"),
        Meaning::Share { process, stock } => format!("share of {process} reaching {stock}"),
        Meaning::Unexplained { stock } => format!("{stock} unexplained"),
        Meaning::Panels => "panel factor".to_string(),
        Meaning::Fridge => "fridge draw at 20 C".to_string(),
        Meaning::Standing => "standing draw".to_string(),
        Meaning::HeatLoss => "heat loss".to_string(),
        Meaning::Heater => "heater draw".to_string(),
    }
}

/// What the journal taught: "fresh per shower", "showers per person-day".
pub fn lesson(what: &Lesson) -> String {
    match what {
        Lesson::Coefficient(what) => coefficient(what),
        Lesson::Habit { plural, per: Per::PersonDay } => format!("{plural} per person-day"),
        Lesson::Habit { plural, per: Per::Day } => format!("{plural} per day"),
    }
}
