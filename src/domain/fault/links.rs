//! Parts that name other parts: every name must lead somewhere, on every day of the rig.

use super::finding::{Fault, Path, note, written};
use crate::domain::flow::{Measure, Move};
use crate::domain::heating::Heating;
use crate::domain::rig::{Parts, Rig};
use crate::domain::stock::{Direction, Stock};
use crate::domain::unit::Unit;

/// A part of a rig by list and name, as changes replace parts by name.
type Owner = (&'static str, String);

/// The part that a fault belongs to, and the fault, whose path starts within that part.
type Loose = (Owner, Fault);

pub(super) fn check(rig: &Rig, faults: &mut Vec<Fault>) {
    for (owner, fault) in in_parts(&rig.parts) {
        let path = place(&rig.parts, &owner, Path::root());
        faults.push(moved(fault, path.unwrap_or_default()));
    }
    let mut order: Vec<usize> = (0..rig.changes.len()).collect();
    order.sort_by_key(|i| rig.changes[*i].from);
    let mut known = in_parts(&rig.parts);
    for i in order {
        let change = &rig.changes[i];
        let path = Path::root().field("changes").item(i);
        let now = in_parts(&rig.parts_on(change.from));
        for loose in &now {
            match place(&change.parts, &loose.0, path.clone()) {
                Some(inside) => faults.push(moved(loose.1.clone(), inside)),
                None if known.contains(loose) => {}
                None => left_behind(loose, &path, faults),
            }
        }
        known = now;
    }
    meanings_stay(rig, faults);
    removed_exist(rig, faults);
}

/// A part that is not in the change itself, and that the change leaves without what it needs.
fn left_behind(((section, name), fault): &Loose, change: &Path, faults: &mut Vec<Fault>) {
    let whose = match name.is_empty() {
        true => (*section).to_owned(),
        false => format!("\"{name}\" in {section}"),
    };
    let found = format!("a change after which {whose} still has {}", fault.found);
    note(faults, change.field("removed"), found, format!("there {}", fault.expected));
}

fn moved(fault: Fault, start: Path) -> Fault {
    let path = fault.path.steps().iter().fold(start, |path, step| path.with(*step));
    Fault { path, ..fault }
}

/// Where the owner stands in `parts`, if it is there.
fn place(parts: &Parts, (section, name): &Owner, start: Path) -> Option<Path> {
    let named = |at: Option<usize>| at.map(|i| start.field(section).item(i));
    let block = |there: bool| there.then(|| start.field(section));
    match *section {
        "stocks" => named(parts.stocks.iter().position(|s| s.name == *name)),
        "activities" => named(parts.activities.iter().position(|a| a.name == *name)),
        "base" => named(parts.base.iter().position(|b| b.name == *name)),
        "electrics" => block(parts.electrics.is_some()),
        "heating" => block(parts.heating.is_some()),
        _ => block(parts.hot_water.is_some()),
    }
}

fn in_parts(parts: &Parts) -> Vec<Loose> {
    let mut all = Vec::new();
    let mut keep = |section, name: &str, found: Vec<Fault>| {
        all.extend(found.into_iter().map(|fault| ((section, name.to_owned()), fault)));
    };
    for stock in parts.stocks.iter().filter(|s| s.lift_wh > 0.0 && parts.electrics.is_none()) {
        let mut faults = Vec::new();
        let expected = "0, or an electrics block that says which battery drives the pump";
        note(&mut faults, Path::root().field("lift_wh"), stock.lift_wh, expected);
        keep("stocks", &stock.name, faults);
    }
    for activity in &parts.activities {
        keep("activities", &activity.name, moves(&activity.moves, parts));
    }
    for base in &parts.base {
        keep("base", &base.name, moves(&base.moves, parts));
    }
    if let Some(electrics) = &parts.electrics {
        keep("electrics", "", store(&electrics.store, parts));
    }
    if let Some(heating) = &parts.heating {
        keep("heating", "", sources(heating, parts));
    }
    if let Some(water) = &parts.hot_water {
        keep("hot_water", "", burnt(&water.from, "from", parts));
    }
    all
}

fn store(name: &str, parts: &Parts) -> Vec<Fault> {
    let mut faults = burnt(name, "store", parts);
    if let Some((_, stock)) = parts.stock(name)
        && stock.unit != Unit::WattHour
    {
        let found = format!("\"{name}\", which is in {}", stock.unit.word());
        note(&mut faults, Path::root().field("store"), found, "a stock in Wh, kWh or Ah");
    }
    faults
}

/// Names of the sources of heat, which no two share, and what they burn.
fn sources(heating: &Heating, parts: &Parts) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (i, source) in heating.sources.iter().enumerate() {
        let path = Path::root().field("sources").item(i);
        let own = burnt(&source.burns, "burns", parts);
        faults.extend(own.into_iter().map(|fault| moved(fault, path.clone())));
        if heating.sources[..i].iter().any(|before| before.name == source.name) {
            let expected = "a name that no other source of heat has";
            note(&mut faults, path.field("name"), format!("\"{}\"", source.name), expected);
        }
    }
    faults
}

/// A stock that something draws from: it must be there, and run down.
fn burnt(name: &str, field: &'static str, parts: &Parts) -> Vec<Fault> {
    let mut faults = Vec::new();
    let path = Path::root().field(field);
    match parts.stock(name) {
        None => note(&mut faults, path, format!("\"{name}\""), a_stock(parts)),
        Some((_, stock)) if stock.runs == Direction::Up => {
            note(&mut faults, path, format!("\"{name}\""), "a stock that runs down");
        }
        Some(_) => {}
    }
    faults
}

fn a_stock(parts: &Parts) -> String {
    let names: Vec<&str> = parts.stocks.iter().map(|s| s.name.as_str()).collect();
    format!("one of the stocks {}", names.join(", "))
}

fn moves(moves: &[Move], parts: &Parts) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (i, one) in moves.iter().enumerate() {
        let path = Path::root().field("moves").item(i);
        let Some((_, stock)) = parts.stock(&one.stock) else {
            let found = format!("\"{}\"", one.stock);
            note(&mut faults, path.field("stock"), found, a_stock(parts));
            continue;
        };
        if let Measure::ShareOf { stock: source, .. } = &one.measure
            && let Some(expected) = share(source, stock, moves, parts)
        {
            note(&mut faults, path.field("of"), format!("\"{source}\""), expected);
        }
        helpers(one, stock, parts, &path, &mut faults);
    }
    sums(moves, &mut faults);
    faults
}

fn takes(moves: &[Move]) -> impl Iterator<Item = &str> {
    let taken = |m: &&Move| matches!(m.measure, Measure::Amount { per_time, .. } if per_time < 0.0);
    moves.iter().filter(taken).map(|m| m.stock.as_str())
}

/// What the source of a share should have been, where it cannot be that.
fn share(source: &str, target: &Stock, moves: &[Move], parts: &Parts) -> Option<String> {
    if !takes(moves).any(|taken| taken == source) {
        return Some(match takes(moves).collect::<Vec<_>>().join(" or ") {
            none if none.is_empty() => "a stock that it takes from (it takes nothing)".to_owned(),
            names => format!("a stock that it takes from: {names}"),
        });
    }
    if source == target.name {
        return Some("another stock than the one that it goes to".to_owned());
    }
    let (_, from) = parts.stock(source)?;
    let (a, b) = (from.unit.word(), target.unit.word());
    (from.unit != target.unit)
        .then(|| format!("stocks in one unit (here {source} in {a}, {} in {b})", target.name))
}

/// Heat and mains electricity need the kit that makes them.
fn helpers(one: &Move, stock: &Stock, parts: &Parts, path: &Path, faults: &mut Vec<Fault>) {
    if let Some(warm) = one.warmed_to_c {
        let path = path.field("warmed_to");
        match &parts.hot_water {
            None => note(faults, path, warm, "nothing, or a hot_water block that heats it"),
            Some(_) if stock.unit.factor_to(&Unit::Litre, None).is_none() => {
                note(faults, path, warm, "nothing (only a volume of water can be heated)");
            }
            Some(water) if warm <= water.cold_c => {
                note(faults, path, warm, format!("more than cold_c, which is {}", water.cold_c));
            }
            Some(_) => {}
        }
    }
    if one.through_inverter {
        let path = path.field("through_inverter");
        match &parts.electrics {
            Some(kit) if kit.store != stock.name => {
                note(faults, path, "true", format!("false (the inverter is on {})", kit.store));
            }
            Some(kit) if kit.inverter.is_some() => {}
            _ => note(faults, path, "true", "false, or an inverter in the electrics block"),
        }
    }
}

/// Shares of the same draw come to at most the whole of it.
fn sums(moves: &[Move], faults: &mut Vec<Fault>) {
    for (i, one) in moves.iter().enumerate() {
        let Measure::ShareOf { stock, share, .. } = &one.measure else { continue };
        let earlier = moves[..i].iter().filter_map(|m| match &m.measure {
            Measure::ShareOf { stock: other, share, .. } if other == stock => Some(*share),
            _ => None,
        });
        let before: f64 = earlier.sum();
        if before > 0.0 && before + share > 1.0 + 1e-9 {
            let path = Path::root().field("moves").item(i).field("share");
            let expected = format!("at most {:.3}, the rest of {stock}", (1.0 - before).max(0.0));
            note(faults, path, share, expected);
        }
    }
}

/// A stock that changes its unit or direction would change the meaning of old readings.
fn meanings_stay(rig: &Rig, faults: &mut Vec<Fault>) {
    let mut first: Vec<&Stock> = Vec::new();
    for (path, parts) in written(rig) {
        for (i, stock) in parts.stocks.iter().enumerate() {
            let path = path.field("stocks").item(i);
            let Some(known) = first.iter().find(|known| known.name == stock.name) else {
                first.push(stock);
                continue;
            };
            if path.steps().len() < 4 {
                continue;
            }
            if known.unit != stock.unit {
                let unit = known.unit.word();
                let expected = format!("\"{unit}\" as before, or another name for the new stock");
                note(faults, path.field("unit"), stock.unit.word(), expected);
            }
            if known.runs != stock.runs {
                let expected = "the direction as before, or another name for the new stock";
                note(faults, path.field("runs"), "another direction", expected);
            }
        }
    }
}

fn removed_exist(rig: &Rig, faults: &mut Vec<Fault>) {
    for (i, change) in rig.changes.iter().enumerate() {
        let earlier = rig.changes.iter().filter(|c| c.from <= change.from).map(|c| &c.parts);
        let all: Vec<&Parts> = std::iter::once(&rig.parts).chain(earlier).collect();
        for (j, name) in change.removed.iter().enumerate() {
            let there = all.iter().any(|parts| {
                parts.stock(name).is_some()
                    || parts.activity(name).is_some()
                    || parts.base.iter().any(|b| b.name == *name)
            });
            if !there {
                let path = Path::root().field("changes").item(i).field("removed").item(j);
                let expected = "the name of a stock, activity or base use of this rig";
                note(faults, path, format!("\"{name}\""), expected);
            }
        }
    }
}
