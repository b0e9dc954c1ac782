//! Readings that cannot be true unless a fill, or an emptying, was forgotten: asked back.

use crate::domain::journal::PLANNED_STOP;
use crate::domain::{Amount, Direction, Event, Moment, Quantity, Unit};
use crate::logline::lexis::misread::{Misread, Understood};
use crate::logline::lexis::told;
use crate::logline::lexis::units::in_stock_unit;
use crate::logline::lexis::vocabulary::Vocabulary;
use chrono::Duration;

/// An amount that goes in is doubted beyond what fits by more than so many standard deviations of the
/// level, and this share of capacity, since amounts are told in round numbers.
const FITS_SDS: f64 = 2.0;
const FITS_SHARE: f64 = 0.02;

/// The question about one thing of a line, if it is such a reading. A remark with the reading says
/// that it was looked at twice, and a service of the stock in the same line explains it.
pub(in crate::logline) fn of(
    line: &[Understood],
    index: usize,
    (known, now): (&Vocabulary, Moment),
) -> Option<Misread> {
    if let Some(misread) = overfull(line, index, (known, now)) {
        return Some(misread);
    }
    let said = &line[index];
    let Event::Level { stock: name, reading, .. } = &said.event else { return None };
    let served = line.iter().any(|other| match &other.event {
        Event::Fill { stock, .. } | Event::Empty { stock, .. } => stock == name,
        _ => false,
    });
    if served || said.note.is_some() {
        return None;
    }
    let parts = known.parts_at(said.at);
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

/// `filled fresh 150 L` where about 50 L fit: it was to the brim, or the level was another.
fn overfull(
    line: &[Understood],
    index: usize,
    (known, now): (&Vocabulary, Moment),
) -> Option<Misread> {
    let said = &line[index];
    let Event::Fill { stock: name, amount: Some(amount), after: None } = &said.event else {
        return None;
    };
    let others = line.iter().enumerate().filter(|(at, _)| *at != index);
    let told = others.filter_map(|(_, other)| other.event.stock()).any(|other| other == name);
    let parts = known.parts_at(said.at);
    let (_, stock) = parts.stock(name)?;
    // What is believed is of now: before, it held as much or more, but for what was told of it since.
    let before = said.at < now - Duration::hours(1);
    // A remark says that it was looked at twice; that of a plan was written before.
    let remark = said.note.as_deref().is_some_and(|note| !note.starts_with(PLANNED_STOP));
    let told_since = || known.told.get(name).is_some_and(|own| own.was_told_after(said.at));
    if told || remark || before && (told::moves_both_ways(stock, parts) || told_since()) {
        return None;
    }
    let level = known.level_of(name)?;
    let fits = stock.capacity - level.mean;
    let added = in_stock_unit(amount, stock, parts)?;
    if added <= fits + FITS_SDS * level.sd + FITS_SHARE * stock.capacity {
        return None;
    }
    let held = Quantity::new(Amount::from_f64(level.mean.round()).ok()?, stock.unit.clone());
    let (full, kept) = (format!("filled {name}"), format!("filled {name} {amount} to 100%"));
    let message = format!("more than fits: {name} held about {held}. Write `{full}` or `{kept}`");
    Some(Misread::new(0, 0, "", message).write(full).write(kept))
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
    let parts = known.parts_at(said.at);
    let (_, stock) = parts.stock(name).filter(|_| read == name)?;
    let all = in_stock_unit(amount, stock, parts)? + in_stock_unit(reading, stock, parts)?;
    let told = format!("filled {name} {amount} to {reading}");
    let message = format!(
        "more than {name} holds with that: was {reading} read after the fill? Write `{told}`"
    );
    (all > stock.capacity * 1.05).then(|| (before.len() - 1, told, message))
}
