//! Activities and base uses: what takes from stocks and gives to them.

use super::super::block::Block;
use super::super::range::{LARGEST, Range, SMALLEST};
use super::common::{unit, whole_hour};
use crate::domain::{Activity, BaseUse, Driver, Measure, Move, Per, Unit, UnitSystem};

/// Kilometres in a statute mile (exact).
const KM_PER_MILE: f64 = 1.609_344;

/// Reads one activity.
pub(super) fn activity(block: &mut Block, show: UnitSystem) -> Activity {
    let name = block.text_needed("name", "a name in \"double quotes\"");
    Activity {
        plural: block.text_maybe("plural").unwrap_or_else(|| plural(&name)),
        name,
        also: block.texts("also"),
        counted_in: unit(block, "counted_in", show).unwrap_or(Unit::Time),
        usual_per_day: block.number_or("usual", 0.0, Range::UpTo(1000.0)),
        usual_spread: block.number_or("usual_spread", 0.5, Range::SPREAD),
        per: block.choice_or("per", &[("person", Per::Person), ("van", Per::Van)], Per::Van),
        hours: hours(block),
        moves: moves(block),
    }
}

fn plural(name: &str) -> String {
    if name.ends_with('s') { name.to_owned() } else { format!("{name}s") }
}

/// Hours of the day with weights. A wrong hour stays out, as it was noted.
fn hours(block: &mut Block) -> Vec<(u8, f64)> {
    let hours = block.each("hours", |value| {
        let [hour, weight] = value.node.members() else {
            value.not("an hour and its weight, such as (21, 2.0)");
            return None;
        };
        let hour = value.part(&hour.value);
        let (number, weight) = (hour.number(), value.part(&weight.value).number()?);
        let whole = whole_hour(number?);
        if whole.is_none() {
            hour.not("a whole hour from 0 to 23");
        }
        Some((whole?, weight))
    });
    let bad = |(_, weight): &(u8, f64)| Range::FromZero.expected(*weight).is_some();
    let all = hours.iter().map(|(_, weight)| weight).sum::<f64>();
    if hours.iter().any(bad) || !hours.is_empty() && all <= 0.0 {
        block.wrong("hours", "a bad weight", "weights from 0 up, not all 0");
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
pub(super) fn base_use(block: &mut Block) -> BaseUse {
    let name = block.text_needed("name", "a name in \"double quotes\"");
    let (per, factor) = block.choice_needed("per", DRIVERS).unwrap_or((Driver::Day, 1.0));
    let hours = hours(block);
    // What runs or is driven now and then has the hours that are told of it.
    if !hours.is_empty() && !matches!(per, Driver::PersonDay | Driver::Day) {
        let expected = "no hours, or per: person_day or per: day";
        block.wrong("hours", "hours of a drive or a charge", expected);
    }
    let mut moves = moves(block);
    for one in &mut moves {
        if let Measure::Amount { per_time, .. } = &mut one.measure {
            *per_time *= factor;
        }
    }
    BaseUse { name, per, hours, moves }
}

/// What is taken, then what is given.
fn moves(block: &mut Block) -> Vec<Move> {
    let (taken, given) = (block.structs("takes", take), block.structs("gives", give));
    [taken, given].concat()
}

const STOCK_NAME: &str = "the name of a stock in \"double quotes\"";

fn take(block: &mut Block) -> Move {
    Move {
        stock: block.text_needed("stock", STOCK_NAME),
        measure: Measure::Amount {
            per_time: -amount(block),
            spread: block.number_or("spread", 0.0, Range::SPREAD),
        },
        warmed_to_c: block.number_maybe("warmed_to", Range::UpTo(100.0)),
        through_inverter: block.flag("through_inverter"),
    }
}

fn give(block: &mut Block) -> Move {
    let stock = block.text_needed("stock", STOCK_NAME);
    let shared = block.get("share").is_some() || block.get("of").is_some();
    let most = if shared { Range::UpTo(0.5) } else { Range::SPREAD };
    let spread = block.number_or("spread", 0.0, most);
    let measure = if shared {
        if block.get("amount").is_some() {
            block.wrong("amount", "", "an amount, or a share of a stock, not both");
        }
        let share = block.number_needed("share", Range::UpTo(1.0));
        Measure::ShareOf { stock: block.text_needed("of", STOCK_NAME), share, spread }
    } else {
        Measure::Amount { per_time: amount(block), spread }
    };
    Move { stock, measure, warmed_to_c: None, through_inverter: false }
}

const AMOUNT: Range =
    Range::Within(SMALLEST, LARGEST, "a number above 0 (takes and gives say which way it goes)");

/// An amount above 0; the list that it stands in says which way it goes.
fn amount(block: &mut Block) -> f64 {
    let amount = block.number_needed("amount", AMOUNT);
    if amount > 0.0 { amount } else { f64::NAN }
}
