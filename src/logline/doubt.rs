//! Readings that cannot be true unless a fill, or an emptying, was forgotten: asked back.

use super::misread::{Misread, Understood};
use super::told;
use super::units::in_stock_unit;
use super::vocabulary::Vocabulary;
use crate::domain::{Direction, Event, Quantity, Unit};

/// The question about one thing of a line, if it is such a reading. A remark with the reading says
/// that it was looked at twice, and a service of the stock in the same line explains it.
pub(super) fn of(line: &[Understood], index: usize, known: &Vocabulary) -> Option<Misread> {
    let said = &line[index];
    let Event::Level { stock: name, reading, .. } = &said.event else { return None };
    let served = line.iter().any(|other| match &other.event {
        Event::Fill { stock, .. } | Event::Empty { stock, .. } => stock == name,
        _ => false,
    });
    if served || said.note.is_some() {
        return None;
    }
    let parts = known.parts_on(known.zone.date(said.at));
    let (_, stock) = parts.stock(name)?;
    let (before, when) = told::doubted(known.told.get(name), reading, stock, parts, said.at)?;
    let days = (known.zone.date(said.at) - known.zone.date(when)).num_days();
    let day = match days {
        0 => "earlier that day".to_string(),
        1 => "the day before".to_string(),
        _ => known.zone.here(when).format("on %-d %B").to_string(),
    };
    let (verb, service, whole) = match stock.runs {
        Direction::Down => ("filled", "fill", 100.0),
        Direction::Up => ("emptied", "emptying", 0.0),
    };
    let all = reading.unit == Unit::Percent && reading.amount.value() == whole;
    let told = match all {
        true => format!("{verb} {name}"),
        false => format!("{verb} {name} to {}", short(reading)),
    };
    let kept = format!("{name} {} (no {service})", short(reading));
    let message = format!(
        "{name} was {} {day}, and no {service} is written since: write `{told}`, or `{kept}`",
        short(&before),
    );
    Some(Misread::new(0, 0, "", message).write(told).write(kept))
}

fn short(reading: &Quantity) -> String {
    reading.to_string()
}

/// Whether two things of a line are readings of one stock at one time that differ.
pub(super) fn differ(one: &Understood, other: &Understood) -> bool {
    match (&one.event, &other.event) {
        (
            Event::Level { stock, reading, .. },
            Event::Level { stock: again, reading: second, .. },
        ) => one.at == other.at && stock == again && reading != second,
        _ => false,
    }
}

/// `diesel 50 L, filled diesel 40 L` in a tank of 55 L: the level is the one after the fill. Which
/// thing told it, both in one, and why; of the last thing of these.
pub(super) fn overflows(
    line: &[Understood],
    known: &Vocabulary,
) -> Option<(usize, String, String)> {
    let (said, before) = line.split_last()?;
    let Event::Fill { stock: name, amount: Some(amount), after: None } = &said.event else {
        return None;
    };
    let Event::Level { stock: read, reading, .. } = &before.last()?.event else { return None };
    let parts = known.parts_on(known.zone.date(said.at));
    let (_, stock) = parts.stock(name).filter(|_| read == name)?;
    let all = in_stock_unit(amount, stock, parts)? + in_stock_unit(reading, stock, parts)?;
    let told = format!("filled {name} {amount} to {reading}");
    let message = format!(
        "more than {name} holds with that: was {reading} read after the fill? Write `{told}`"
    );
    (all > stock.capacity * 1.05).then(|| (before.len() - 1, told, message))
}
