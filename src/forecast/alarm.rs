//! What a crew is told when something seems wrong: what is seen, since when, how much a day,
//! what it may be (a forgotten entry first), and what to look at.

use super::answer::Notice;
use crate::belief::Beliefs;
use crate::belief::watch::Unexplained;
use crate::domain::stock::Direction;
use crate::mechanism::climate::heater_fuel;

/// The notice of a change that nothing explains.
pub fn notice(beliefs: &Beliefs, change: &Unexplained) -> Notice {
    let mechanism = &beliefs.mechanism;
    let stock = &mechanism.stocks()[change.stock];
    let name = &stock.name;
    let since = change.since.format("%-d %B");
    let much = format!(
        "about {} {} a day",
        rounded(change.per_day.mean.abs(), stock.capacity),
        stock.unit.word()
    );
    let battery = mechanism.electric == Some(change.stock);
    let fuel = heater_fuel(mechanism) == Some(change.stock);
    let text = if change.stuck {
        format!(
            "{name} has read the same since {since} ({} readings) while {much} should have moved \
             it: a service not written down, or a gauge that sticks. Check it by another way",
            change.readings
        )
    } else {
        let (seen, may_be) = match (stock.runs, change.per_day.mean < 0.0) {
            (Direction::Down, true) if battery => (
                "lost, more than its loads and the sun explain",
                "a load left on and not written down, snow, shade or dirt on the panels, or a \
                 draw that never rests. Look at the panels, then switch loads off one by one",
            ),
            (Direction::Down, true) if fuel => (
                "burnt, more than heat and hot water explain",
                "a heater that ran longer than usual, a window left open, or a leak. Smell along \
                 the fuel line",
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
    Notice { stock: Some(name.clone()), text }
}

/// With one decimal where the whole is small.
fn rounded(value: f64, capacity: f64) -> String {
    if capacity < 60.0 { format!("{value:.1}") } else { format!("{value:.0}") }
}
