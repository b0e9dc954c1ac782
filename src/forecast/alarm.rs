//! What a crew is told when something seems wrong: what is seen, since when, how much a day,
//! what it may be (a forgotten entry first), and what to look at.

use super::answer::{Alarm, Notice};
use crate::belief::Beliefs;
use crate::belief::watch::{Cause, Unexplained};
use crate::domain::stock::{Direction, Stock};
use crate::mechanism::climate::heater_fuel;

/// The notice of a change that nothing explains.
pub fn notice(beliefs: &Beliefs, change: &Unexplained) -> Notice {
    let mechanism = &beliefs.mechanism;
    let stock = &mechanism.stocks()[change.stock];
    let name = &stock.name;
    let since = change.since.format("%-d %B");
    let much = much(change, stock);
    let battery = mechanism.electric == Some(change.stock);
    let fuel = heater_fuel(mechanism) == Some(change.stock);
    let text = if change.stuck {
        format!(
            "{name} has read the same {} times since {since}, although what was written down should \
             have moved it: a gauge that sticks, or readings copied from the last. Check it by \
             another way; the dates here still trust it",
            change.readings
        )
    } else {
        let (seen, may_be) = match (stock.runs, change.per_day.mean < 0.0) {
            (Direction::Down, true) if battery => of_battery(change.cause),
            (Direction::Down, true) if fuel => (
                "burnt, more than heat and hot water explain",
                "a heater that ran longer than usual, a window left open, or a leak. Smell along \
                 the fuel line; if there is any smell, air the van and light nothing",
            ),
            (Direction::Down, true) => (
                "gone, more than was written down",
                "a forgotten entry, guests, or a leak. Look under the tank and listen for the pump",
            ),
            (Direction::Down, false) => (
                "less used than was written down",
                "a fill not written down, a use logged twice, or a gauge that sticks. Check the \
                 journal, then the gauge",
            ),
            (Direction::Up, false) => (
                "less arrived than was written down",
                "a dump not written down, water that went elsewhere, or a leak under the van. \
                 Look under the tank",
            ),
            (Direction::Up, true) => (
                "more arrived than was written down",
                "a forgotten entry, guests, or a gauge that sticks. Check the journal",
            ),
        };
        format!("{name}: since about {since}, {much} {seen}. It may be {may_be}")
    };
    let alarm = Alarm {
        since: change.since,
        per_day: change.per_day,
        readings: change.readings,
        stuck: change.stuck,
        cause: change.cause,
    };
    Notice { stock: Some(name.clone()), text, alarm: Some(alarm) }
}

/// What is seen of a battery that falls, and what it may be.
fn of_battery(cause: Option<Cause>) -> (&'static str, &'static str) {
    match cause {
        Some(Cause::Draw) => (
            "drawn, more than its loads explain, with and without sun",
            "a load left on and not written down, or a draw that never rests. Switch loads off one \
             by one; work on the wiring is for licensed practice",
        ),
        Some(Cause::Panels) => (
            "missing from the panels, most of it on bright days",
            "snow, shade or dirt on the panels, or one that has failed. Look at the panels; work \
             on the wiring is for licensed practice",
        ),
        Some(Cause::Either) | None => (
            "lost, more than its loads and the sun explain",
            "a load left on and not written down, or a draw that never rests; or else snow, shade \
             or dirt on the panels: the readings do not tell yet. Look at the panels, then switch \
             loads off one by one; work on the wiring is for licensed practice",
        ),
    }
}

/// "2 to 5 L a day": a standard error to either side.
fn much(change: &Unexplained, stock: &Stock) -> String {
    let (size, sd) = (change.per_day.mean.abs(), change.per_day.sd);
    let least = (size - sd).max(0.25 * size);
    let (low, high) = (rounded(least, stock.capacity), rounded(size + sd, stock.capacity));
    match low == high {
        true => format!("about {low} {} a day", stock.unit.word_for(&low)),
        false => format!("about {low} to {high} {} a day", stock.unit.word()),
    }
}

/// With one decimal where the whole is small.
fn rounded(value: f64, capacity: f64) -> String {
    if capacity < 60.0 { format!("{value:.1}") } else { format!("{value:.0}") }
}
