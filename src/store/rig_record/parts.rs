//! The parts that a rig or a change of it lists; here above all the stocks.

use super::super::{block::Block, range::Range, value::Value};
use super::common::unit;
use super::electrics::{electrics, heating, hot_water, start};
use super::process::{activity, base_use};
use crate::domain::{Chemistry, Direction, Gauge, Measure, Parts, Rig, Stock, Unit, UnitSystem};

/// All parts that a rig or a change of it names, and the names of the stocks of which the file
/// does not say what is kept back.
pub(super) fn read(block: &mut Block, show: UnitSystem) -> (Parts, Vec<String>) {
    let mut margin_open = Vec::new();
    let parts = Parts {
        stocks: block.structs("stocks", |block| stock(block, show, &mut margin_open)),
        activities: block.structs("activities", |block| activity(block, show)),
        base: block.structs("base", base_use),
        electrics: block.part("electrics", electrics),
        heating: block.part("heating", heating),
        hot_water: block.part("hot_water", hot_water),
    };
    (parts, margin_open)
}

const DIRECTIONS: &[(&str, Direction)] = &[("down", Direction::Down), ("up", Direction::Up)];

/// A stock; its name is added to `margin_open` where the file does not say what is kept of it.
fn stock(block: &mut Block, show: UnitSystem, margin_open: &mut Vec<String>) -> Stock {
    let runs = block.choice_needed("runs", DIRECTIONS);
    let name = block.text_needed("name", "a name in \"double quotes\"");
    let unsaid = name.clone();
    Stock {
        name,
        also: block.texts("also"),
        runs: runs.unwrap_or(Direction::Down),
        unit: unit_needed(block, show),
        capacity: block.number_needed("capacity", Range::AboveZero),
        margin: margin(block, runs).unwrap_or_else(|| {
            margin_open.push(unsaid);
            0.0
        }),
        spare: block.number_or("spare", 0.0, Range::FromZero),
        gauge: gauge(block),
        dregs: block.number_or("dregs", 0.0, Range::FromZero),
        lift_wh: block.number_or("lift_wh", 0.0, Range::FromZero),
        reset_by_camp: block.flag("reset_by_camp"),
        freezes_below_c: block.number_maybe("freezes_below_c", Range::Between(-60.0, 60.0)),
    }
}

/// `keep` of a draining stock, `headroom` of a filling one.
fn margin(block: &mut Block, runs: Option<Direction>) -> Option<f64> {
    let keep = block.number_maybe("keep", Range::FromZero);
    let headroom = block.number_maybe("headroom", Range::FromZero);
    let (right, wrong) = match runs {
        Some(Direction::Down) => (keep, headroom.map(|found| ("headroom", found, "keep", "up"))),
        Some(Direction::Up) => (headroom, keep.map(|found| ("keep", found, "headroom", "down"))),
        None => (keep.or(headroom), None),
    };
    if let Some((field, found, instead, way)) = wrong {
        let expected = format!("{instead} instead ({field} belongs to a stock that runs {way})");
        block.wrong(field, found.to_string(), expected);
    }
    right
}

/// No gauge tells a smaller share of a stock apart (common practice, no source).
const FINEST_GAUGE: f64 = 1e-4;

fn gauge(block: &mut Block) -> Gauge {
    let Some(gauge) = block.get("gauge") else { return Gauge::None };
    let number = |value: Value| value.number().unwrap_or(f64::NAN);
    let can_show = |share: &f64| (FINEST_GAUGE..=1.0).contains(share);
    match gauge.tagged() {
        Some(("step", value)) => {
            let step = number(value);
            if !can_show(&step) {
                let expected = "step(…) of a share above 0 and at most 1: quarters are 0.25";
                block.wrong("gauge", format!("step({step})"), expected);
            }
            Gauge::Step(step)
        }
        Some(("ladder", value)) => {
            let marks = value.items().into_iter();
            let marks: Vec<f64> = marks.map(|mark| number(gauge.part(mark.node))).collect();
            if marks.is_empty() || !marks.iter().all(can_show) || !marks.is_sorted_by(|a, b| a < b)
            {
                let found = marks.iter().map(f64::to_string).collect::<Vec<_>>().join(", ");
                let expected = "ladder([…]) of rising shares above 0 and at most 1";
                block.wrong("gauge", format!("ladder([{found}])"), expected);
            }
            Gauge::Ladder(marks)
        }
        _ if gauge.text() == "none" => Gauge::None,
        _ => {
            gauge.not("none, step(0.25) or ladder([0.33, 0.66, 1.0])");
            Gauge::None
        }
    }
}

fn unit_needed(block: &mut Block, show: UnitSystem) -> Unit {
    block.need("unit", "a unit such as \"L\" or \"Wh\"");
    unit(block, "unit", show).unwrap_or(Unit::Use)
}

/// Keeps half of a lead-acid battery where the file does not say how much: deeper discharge wears
/// it out soon (common practice). `margin_open` names the stocks whose margin was left open, in
/// the first parts and then in each change.
pub(super) fn keep_half_of_lead_acid(rig: &mut Rig, margin_open: &[Vec<String>]) {
    for ((parts, whole), open) in written(rig).zip(margin_open) {
        let kit = whole.electrics.filter(|kit| kit.chemistry == Chemistry::LeadAcid);
        let Some(kit) = kit.filter(|kit| open.contains(&kit.store)) else { continue };
        for stock in parts.stocks.iter_mut().filter(|s| s.name == kit.store) {
            stock.margin = start::LEAD_ACID_KEPT * stock.capacity;
        }
    }
}

/// Writes the battery in watt-hours, whatever unit the file used: its stock and every move of
/// it. Each change of kit may name the battery in a unit of its own.
pub(super) fn store_in_watt_hours(rig: &mut Rig) {
    written(rig).for_each(|(parts, whole)| to_watt_hours(parts, &whole));
}

/// The parts that the rig began with, then those of each change, each with all that is in place then.
fn written(rig: &mut Rig) -> impl Iterator<Item = (&mut Parts, Parts)> {
    let changed = rig.changes.iter().map(|change| rig.parts_on(change.from));
    let whole: Vec<Parts> = std::iter::once(rig.parts.clone()).chain(changed).collect();
    let changes = rig.changes.iter_mut().map(|change| &mut change.parts);
    std::iter::once(&mut rig.parts).chain(changes).zip(whole)
}

fn to_watt_hours(parts: &mut Parts, whole: &Parts) {
    let Some(electrics) = &whole.electrics else { return };
    let store = electrics.store.clone();
    let Some((_, battery)) = whole.stock(&store) else { return };
    let factor = battery.unit.factor_to(&Unit::WattHour, Some(electrics.volts));
    let Some(factor) = factor.filter(|f| *f > 0.0 && *f != 1.0) else { return };
    for stock in parts.stocks.iter_mut().filter(|s| s.name == store) {
        stock.unit = Unit::WattHour;
        stock.capacity *= factor;
        stock.margin *= factor;
        stock.spare *= factor;
        stock.dregs *= factor;
        stock.lift_wh /= factor;
    }
    let activities = parts.activities.iter_mut().map(|a| &mut a.moves);
    let base = parts.base.iter_mut().map(|b| &mut b.moves);
    for one in activities.chain(base).flatten().filter(|m| m.stock == store) {
        if let Measure::Amount { per_time, .. } = &mut one.measure {
            *per_time *= factor;
        }
    }
    let sources = parts.heating.iter_mut().flat_map(|heating| &mut heating.sources);
    for source in sources.filter(|source| source.burns == store) {
        source.wh_per_unit /= factor;
    }
    if let Some(water) = &mut parts.hot_water
        && water.from == store
    {
        water.wh_per_unit /= factor;
    }
}
