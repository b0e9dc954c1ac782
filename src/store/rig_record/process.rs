//! Activities and base uses: what takes from stocks and gives to them.

use super::super::reader::{Block, Reader};
use super::super::ron_text::Node;
use super::common::{unit, whole_hour};
use crate::domain::fault::Path;
use crate::domain::flow::{Activity, BaseUse, Driver, Measure, Move, Per};
use crate::domain::unit::{Unit, UnitSystem};

/// Kilometres in a statute mile (exact).
const KM_PER_MILE: f64 = 1.609_344;

/// Reads one activity.
pub(super) fn activity(
    node: &Node,
    path: Path,
    show: UnitSystem,
    reader: &mut Reader,
) -> Option<Activity> {
    let mut block = Block::open(node, path, reader)?;
    let name = block.text_needed("name", "a name in \"double quotes\"", reader);
    let activity = Activity {
        plural: block.text_maybe("plural", reader).unwrap_or_else(|| plural(&name)),
        name,
        also: block.texts("also", reader),
        counted_in: unit(&mut block, "counted_in", show, reader).unwrap_or(Unit::Time),
        usual_per_day: block.number_or("usual", 0.0, reader),
        usual_spread: block.number_or("usual_spread", 0.5, reader),
        per: block.choice_or(
            "per",
            &[("person", Per::Person), ("van", Per::Van)],
            Per::Van,
            reader,
        ),
        hours: hours(&mut block, reader),
        moves: moves(&mut block, reader),
    };
    block.close(reader);
    Some(activity)
}

fn plural(name: &str) -> String {
    if name.ends_with('s') { name.to_owned() } else { format!("{name}s") }
}

/// Hours of the day with weights. A wrong hour stays out, as it was noted.
fn hours(block: &mut Block, reader: &mut Reader) -> Vec<(u8, f64)> {
    let mut hours = Vec::new();
    for (node, path) in block.list("hours", reader) {
        let [hour, weight] = node.members() else {
            reader.not(node, &path, "an hour and its weight, such as (21, 2.0)");
            continue;
        };
        let pair = (reader.number(&hour.value, &path), reader.number(&weight.value, &path));
        let (Some(number), Some(weight)) = pair else { continue };
        match whole_hour(number) {
            Some(hour) => hours.push((hour, weight)),
            None => reader.not(&hour.value, &path, "a whole hour from 0 to 23"),
        }
    }
    hours
}

const DRIVERS: &[(&str, (Driver, f64))] = &[
    ("person_day", (Driver::PersonDay, 1.0)),
    ("day", (Driver::Day, 1.0)),
    ("drive_hour", (Driver::DriveHour, 1.0)),
    ("drive_km", (Driver::DriveKm, 1.0)),
    ("drive_mile", (Driver::DriveKm, 1.0 / KM_PER_MILE)),
    ("generator_hour", (Driver::GeneratorHour, 1.0)),
    ("shore_hour", (Driver::ShoreHour, 1.0)),
];

/// Reads one base use.
pub(super) fn base_use(node: &Node, path: Path, reader: &mut Reader) -> Option<BaseUse> {
    let mut block = Block::open(node, path, reader)?;
    let name = block.text_needed("name", "a name in \"double quotes\"", reader);
    let driver = block.choice_needed("per", DRIVERS, reader);
    let hours = hours(&mut block, reader);
    let mut moves = moves(&mut block, reader);
    block.close(reader);
    let (per, factor) = driver.unwrap_or((Driver::Day, 1.0));
    for one in &mut moves {
        if let Measure::Amount { per_time, .. } = &mut one.measure {
            *per_time *= factor;
        }
    }
    Some(BaseUse { name, per, hours, moves })
}

/// What is taken, then what is given.
fn moves(block: &mut Block, reader: &mut Reader) -> Vec<Move> {
    let mut moves = Vec::new();
    for (node, path) in block.list("takes", reader) {
        moves.push(take(node, path, reader));
    }
    for (node, path) in block.list("gives", reader) {
        moves.push(give(node, path, reader));
    }
    moves
}

const STOCK_NAME: &str = "the name of a stock in \"double quotes\"";

fn take(node: &Node, path: Path, reader: &mut Reader) -> Move {
    let Some(mut block) = Block::open(node, path, reader) else { return nothing() };
    let taken = Move {
        stock: block.text_needed("stock", STOCK_NAME, reader),
        measure: Measure::Amount {
            per_time: -amount(&mut block, reader),
            spread: block.number_or("spread", 0.0, reader),
        },
        warmed_to_c: block.number_maybe("warmed_to", reader),
        through_inverter: block.flag("through_inverter", reader),
    };
    block.close(reader);
    taken
}

fn give(node: &Node, path: Path, reader: &mut Reader) -> Move {
    let Some(mut block) = Block::open(node, path, reader) else { return nothing() };
    let stock = block.text_needed("stock", STOCK_NAME, reader);
    let shared = block.get("share", reader).is_some() || block.get("of", reader).is_some();
    let spread = block.number_or("spread", 0.0, reader);
    let measure = if shared {
        if block.get("amount", reader).is_some() {
            reader.wrong(&block.path("amount"), "", "an amount, or a share of a stock, not both");
        }
        let share = block.number_needed("share", reader);
        Measure::ShareOf { stock: block.text_needed("of", STOCK_NAME, reader), share, spread }
    } else {
        Measure::Amount { per_time: amount(&mut block, reader), spread }
    };
    block.close(reader);
    Move { stock, measure, warmed_to_c: None, through_inverter: false }
}

/// An amount above 0; the list that it stands in says which way it goes.
fn amount(block: &mut Block, reader: &mut Reader) -> f64 {
    let amount = block.number_needed("amount", reader);
    if amount <= 0.0 {
        let expected = "a number above 0 (takes and gives say which way it goes)";
        reader.wrong(&block.path("amount"), amount.to_string(), expected);
        return f64::NAN;
    }
    amount
}

fn nothing() -> Move {
    let measure = Measure::Amount { per_time: f64::NAN, spread: f64::NAN };
    Move { stock: String::new(), measure, warmed_to_c: None, through_inverter: false }
}
