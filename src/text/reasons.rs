//! What lies behind a stock's dates, in words.

use super::{counted, percent};
use crate::domain::{Estimate, Per};
use crate::forecast::LearnedValue;
use crate::forecast::answer::Lesson;
use crate::forecast::why::{DaysLearned, Unknown};
use crate::mechanism::coefficient::Meaning;
use crate::mechanism::held::Moves;

/// A spread that is no narrower than this share of what was assumed has learned nothing. Our own
/// rule, no source.
const LEARNED: f64 = 0.9;

/// What moves a stock: "showers", "heating".
pub fn moves(what: &Moves) -> &str {
    match what {
        Moves::Named(name) => name,
        Moves::Heating => "heating",
        Moves::Sun => "sun on the panels",
        Moves::AlwaysOn => "what is always on, such as a fridge or a fan",
        Moves::Charge => "charge from outside",
        Moves::Lost => "spilled or given away",
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
        Meaning::Fridge => "fridge draw at room temperature".to_string(),
        Meaning::Standing => "standing draw".to_string(),
        Meaning::HeatLoss => "heat loss".to_string(),
        Meaning::Heater => "heater draw".to_string(),
        Meaning::Tending => "how high the fire is kept".to_string(),
    }
}

/// What the journal taught: "fresh per shower", "showers per person-day".
pub fn lesson(what: &Lesson) -> String {
    match what {
        Lesson::Coefficient(what) => coefficient(what),
        Lesson::Habit { plural, per: Per::Person } => format!("{plural} per person-day"),
        Lesson::Habit { plural, per: Per::Van } => format!("{plural} per day"),
    }
}

/// What it was learned from: "11 logged, 9 readings".
pub fn evidence(learned: &LearnedValue) -> String {
    let readings = counted(learned.readings, "reading");
    match (learned.occurrences, learned.readings) {
        (times, 0) if times < 0.5 => "nothing logged yet".to_string(),
        (times, 0) => format!("{times:.0} logged"),
        (times, _) if times < 0.5 => readings,
        (times, _) => format!("{times:.0} logged, {readings}"),
    }
}

/// What was learned of days and of writing, a line each, beside what was assumed: "days on which
/// all are out: 12 % ±4 (assumed 3 % ±3), from 34 days of journal".
pub fn days(days: &DaysLearned) -> Vec<String> {
    let share = |e: Estimate| format!("{} ±{:.0}", percent(e.mean), 100.0 * e.sd);
    let both = |[assumed, learned]: [Estimate; 2]| {
        format!("{} (assumed {})", share(learned), share(assumed))
    };
    let [assumed, learned] = days.day_to_day;
    let mut lines = vec![
        format!(
            "all are out on {} of days, from {} of journal",
            both(days.out),
            counted(days.counted, "day")
        ),
        format!("of all that is used or lost {} is never written down", both(days.unwritten)),
        format!(
            "base use differs by {} from day to day (assumed {})",
            percent(learned),
            percent(assumed)
        ),
    ];
    let [assumed, learned] = days.later_h;
    let way = if learned.mean < 0.0 { "earlier" } else { "later" };
    // Where nothing parts a day, nothing is learned of its hours.
    if learned.mean.abs() >= 0.05 || learned.sd < LEARNED * assumed.sd {
        lines.push(format!(
            "things are done {:.1} ±{:.1} h {way} in the day than the rig says (assumed 0 ±{:.1})",
            learned.mean.abs(),
            learned.sd,
            assumed.sd
        ));
    }
    // People compare how far counts are off, not the squares.
    if let Some([least, most]) = days.regular.map(|both| both.map(f64::sqrt)) {
        let range = match (format!("{least:.1}"), format!("{most:.1}")) {
            (least, most) if least == most => least,
            (least, most) => format!("{least} to {most}"),
        };
        lines
            .push(format!("counted uses differ from day to day {range} times as far as by chance"));
    }
    lines
}
