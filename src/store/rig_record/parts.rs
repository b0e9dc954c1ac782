//! Stocks, electrics, heating and hot water.

use super::super::reader::{Block, Reader, nearest};
use super::super::ron_text::{Node, Shape};
use super::process::{activity, base_use, whole_hour};
use crate::domain::fault::Path;
use crate::domain::flow::{Measure, Move};
use crate::domain::rig::{
    Chemistry, Electrics, Fridge, Heating, HotWater, Inverter, Panel, Parts, Rig,
};
use crate::domain::stock::{Direction, Gauge, Stock};
use crate::domain::unit::{Unit, UnitSystem};

/// Starting values for what a rig file leaves out. Sources and spreads: `assets/reference.ron`,
/// whose rows a test compares with these.
pub(crate) mod start {
    pub(crate) const PANEL_FACTOR: f64 = 0.80;
    pub(crate) const PANEL_FACTOR_SPREAD: f64 = 0.12;
    pub(crate) const PANEL_PER_KELVIN: f64 = -0.0035;
    pub(crate) const INVERTER_EFFICIENCY: f64 = 0.90;
    pub(crate) const INVERTER_IDLE_W: f64 = 10.0;
    pub(crate) const FRIDGE_W: f64 = 22.0;
    pub(crate) const FRIDGE_PER_KELVIN: f64 = 0.04;
    pub(crate) const FRIDGE_SPREAD: f64 = 0.35;
    pub(crate) const STANDING_W: f64 = 5.0;
    pub(crate) const STANDING_SPREAD: f64 = 0.5;
    pub(crate) const HEATER_EFFICIENCY: f64 = 0.80;
    pub(crate) const HEATER_FAN_W: f64 = 25.0;
    pub(crate) const HEATER_START_WH: f64 = 6.0;
    pub(crate) const UA_W_PER_K: f64 = 28.0;
    pub(crate) const UA_SPREAD: f64 = 0.3;
    pub(crate) const PERSON_W: f64 = 100.0;
    /// Charging and discharging; their product is the round trip.
    pub(crate) const LITHIUM: (f64, f64) = (0.97, 0.98);
    pub(crate) const LEAD_ACID: (f64, f64) = (0.80, 0.94);
    pub(crate) const LITHIUM_VOLTS: f64 = 12.8;
    pub(crate) const LEAD_ACID_VOLTS: f64 = 12.0;
}

/// All parts that a rig or a change of it names.
pub(super) fn read(block: &mut Block, show: UnitSystem, reader: &mut Reader) -> Parts {
    let stocks = block.list("stocks", reader);
    let activities = block.list("activities", reader);
    let base = block.list("base", reader);
    Parts {
        stocks: stocks.into_iter().filter_map(|(n, p)| stock(n, p, show, reader)).collect(),
        activities: activities
            .into_iter()
            .filter_map(|(n, p)| activity(n, p, show, reader))
            .collect(),
        base: base.into_iter().filter_map(|(n, p)| base_use(n, p, reader)).collect(),
        electrics: part(block, "electrics", electrics, reader),
        heating: part(block, "heating", heating, reader),
        hot_water: part(block, "hot_water", hot_water, reader),
    }
}

fn part<T>(
    block: &mut Block,
    field: &'static str,
    read: impl Fn(&mut Block, &mut Reader) -> T,
    reader: &mut Reader,
) -> Option<T> {
    let node = block.get(field, reader)?;
    let mut inner = Block::open(node, block.path(field), reader)?;
    let value = read(&mut inner, reader);
    inner.close(reader);
    Some(value)
}

const DIRECTIONS: &[(&str, Direction)] = &[("down", Direction::Down), ("up", Direction::Up)];

fn stock(node: &Node, path: Path, show: UnitSystem, reader: &mut Reader) -> Option<Stock> {
    let mut block = Block::open(node, path, reader)?;
    let runs = block.choice_needed("runs", DIRECTIONS, reader);
    let name = block.text_needed("name", "a name in \"double quotes\"", reader);
    let stock = Stock {
        name,
        also: block.texts("also", reader),
        runs: runs.unwrap_or(Direction::Down),
        unit: unit_needed(&mut block, show, reader),
        capacity: block.number_needed("capacity", reader),
        margin: margin(&mut block, runs, reader),
        gauge: gauge(&mut block, reader),
        dregs: block.number_or("dregs", 0.0, reader),
        lift_wh: block.number_or("lift_wh", 0.0, reader),
        reset_by_camp: block.flag_or("reset_by_camp", false, reader),
        freezes_below_c: block.number_maybe("freezes_below_c", reader),
    };
    block.close(reader);
    Some(stock)
}

/// `keep` of a draining stock, `headroom` of a filling one.
fn margin(block: &mut Block, runs: Option<Direction>, reader: &mut Reader) -> f64 {
    let keep = block.number_maybe("keep", reader);
    let headroom = block.number_maybe("headroom", reader);
    let (right, wrong) = match runs {
        Some(Direction::Down) => (keep, headroom.map(|found| ("headroom", found))),
        Some(Direction::Up) => (headroom, keep.map(|found| ("keep", found))),
        None => (keep.or(headroom), None),
    };
    match wrong {
        Some(("keep", found)) => {
            let expected = "headroom instead (keep belongs to a stock that runs down)";
            reader.wrong(&block.path("keep"), found.to_string(), expected);
        }
        Some((_, found)) => {
            let expected = "keep instead (headroom belongs to a stock that runs up)";
            reader.wrong(&block.path("headroom"), found.to_string(), expected);
        }
        None => {}
    }
    right.unwrap_or(0.0)
}

fn gauge(block: &mut Block, reader: &mut Reader) -> Gauge {
    let path = block.path("gauge");
    let Some(node) = block.get("gauge", reader) else { return Gauge::None };
    let tagged = match &node.shape {
        Shape::Group { tag, members } => match members.as_slice() {
            [one] => Some((&reader.text[tag.clone()], &one.value)),
            _ => None,
        },
        _ => None,
    };
    match tagged {
        Some(("step", value)) => Gauge::Step(reader.number(value, &path).unwrap_or(f64::NAN)),
        Some(("ladder", value)) => {
            let marks = reader.items(value, &path).iter();
            Gauge::Ladder(marks.map(|n| reader.number(n, &path).unwrap_or(f64::NAN)).collect())
        }
        _ if node.slice(reader.text) == "none" => Gauge::None,
        _ => {
            reader.not(node, &path, "none, step(0.25) or ladder([0.33, 0.66, 1.0])");
            Gauge::None
        }
    }
}

fn unit_needed(block: &mut Block, show: UnitSystem, reader: &mut Reader) -> Unit {
    block.need("unit", "a unit such as \"L\" or \"Wh\"", reader);
    unit(block, "unit", show, reader).unwrap_or(Unit::Use)
}

/// A known unit, or the owner's own word for one.
pub(super) fn unit(
    block: &mut Block,
    field: &'static str,
    show: UnitSystem,
    reader: &mut Reader,
) -> Option<Unit> {
    let word = block.text_maybe(field, reader)?;
    if let Some(known) = Unit::from_word(&word, show) {
        return Some(known);
    }
    // "Liter" or "KWH" is a slip, not a unit of the owner's own.
    let slip = Unit::known_words().find(|known| known.to_lowercase() == word.to_lowercase());
    let near = nearest(&word, Unit::known_words().filter(|known| known.len() > 3));
    match slip.or(near.filter(|_| word.len() > 4)) {
        Some(near) => {
            reader.wrong(&block.path(field), word, format!("\"{near}\", or quite another word"));
            None
        }
        None => Some(Unit::Own(word)),
    }
}

const CHEMISTRIES: &[(&str, Chemistry)] =
    &[("lithium", Chemistry::Lithium), ("lead_acid", Chemistry::LeadAcid)];

fn electrics(block: &mut Block, reader: &mut Reader) -> Electrics {
    let chemistry = block.choice_or("chemistry", CHEMISTRIES, Chemistry::Lithium, reader);
    let ((charge, discharge), volts, cold) = match chemistry {
        Chemistry::Lithium => (start::LITHIUM, start::LITHIUM_VOLTS, Some(0.0)),
        Chemistry::LeadAcid => (start::LEAD_ACID, start::LEAD_ACID_VOLTS, None),
    };
    Electrics {
        store: block.text_needed("store", "the name of the battery's stock", reader),
        volts: block.number_or("volts", volts, reader),
        chemistry,
        charge_efficiency: block.number_or("charge_efficiency", charge, reader),
        discharge_efficiency: block.number_or("discharge_efficiency", discharge, reader),
        no_charge_below_c: block.number_maybe("no_charge_below_c", reader).or(cold),
        charge_limit_w: block.number_maybe("charge_limit_w", reader),
        panels: block
            .list("panels", reader)
            .into_iter()
            .filter_map(|(node, path)| panel(node, path, reader))
            .collect(),
        inverter: part(block, "inverter", inverter, reader),
        fridge: part(block, "fridge", fridge, reader),
        standing_w: block.number_or("standing_w", start::STANDING_W, reader),
        standing_spread: block.number_or("standing_spread", start::STANDING_SPREAD, reader),
    }
}

fn panel(node: &Node, path: Path, reader: &mut Reader) -> Option<Panel> {
    let mut block = Block::open(node, path, reader)?;
    let panel = Panel {
        rated_w: block.number_needed("rated_w", reader),
        tilt_deg: block.number_or("tilt", 0.0, reader),
        facing_deg: block.number_or("facing", 180.0, reader),
        factor: block.number_or("factor", start::PANEL_FACTOR, reader),
        factor_spread: block.number_or("factor_spread", start::PANEL_FACTOR_SPREAD, reader),
        per_kelvin: block.number_or("per_kelvin", start::PANEL_PER_KELVIN, reader),
    };
    block.close(reader);
    Some(panel)
}

fn inverter(block: &mut Block, reader: &mut Reader) -> Inverter {
    Inverter {
        efficiency: block.number_or("efficiency", start::INVERTER_EFFICIENCY, reader),
        idle_w: block.number_or("idle_w", start::INVERTER_IDLE_W, reader),
        always_on: block.flag_or("always_on", false, reader),
    }
}

fn fridge(block: &mut Block, reader: &mut Reader) -> Fridge {
    Fridge {
        mean_w: block.number_or("mean_w", start::FRIDGE_W, reader),
        per_kelvin: block.number_or("per_kelvin", start::FRIDGE_PER_KELVIN, reader),
        spread: block.number_or("spread", start::FRIDGE_SPREAD, reader),
    }
}

/// What one unit holds has no default: it is 10025 Wh in a litre of diesel, 1 in a battery.
fn heating(block: &mut Block, reader: &mut Reader) -> Heating {
    let burns = block.text_maybe("burns", reader);
    let burning = burns.is_some();
    let wh_per_unit = if burning {
        block.number_needed("wh_per_unit", reader)
    } else {
        block.number_or("wh_per_unit", 1.0, reader)
    };
    Heating {
        burns,
        wh_per_unit,
        efficiency: block.number_or("efficiency", start::HEATER_EFFICIENCY, reader),
        output_w: block.number_or("output_w", 2000.0, reader),
        lowest_w: block.number_or("lowest_w", 0.0, reader),
        fan_w: block.number_or("fan_w", if burning { start::HEATER_FAN_W } else { 0.0 }, reader),
        start_wh: block.number_or(
            "start_wh",
            if burning { start::HEATER_START_WH } else { 0.0 },
            reader,
        ),
        ua_w_per_k: block.number_or("ua_w_per_k", start::UA_W_PER_K, reader),
        ua_spread: block.number_or("ua_spread", start::UA_SPREAD, reader),
        day_c: block.number_or("day_c", 19.0, reader),
        night_c: block.number_or("night_c", 14.0, reader),
        night_from: hour(block, "night_from", 22, reader),
        night_to: hour(block, "night_to", 7, reader),
        person_w: block.number_or("person_w", start::PERSON_W, reader),
        sun_gain_m2: block.number_or("sun_gain_m2", 0.4, reader),
    }
}

fn hour(block: &mut Block, field: &'static str, default: u8, reader: &mut Reader) -> u8 {
    let Some(number) = block.number_maybe(field, reader) else { return default };
    whole_hour(number).unwrap_or_else(|| {
        reader.wrong(&block.path(field), number.to_string(), "a whole hour from 0 to 23");
        default
    })
}

fn hot_water(block: &mut Block, reader: &mut Reader) -> HotWater {
    HotWater {
        from: block.text_needed("from", "the name of the stock that gives the heat", reader),
        wh_per_unit: block.number_needed("wh_per_unit", reader),
        efficiency: block.number_or("efficiency", 0.75, reader),
        cold_c: block.number_or("cold_c", 12.0, reader),
    }
}

/// Writes the battery in watt-hours, whatever unit the file used: its stock and every move of
/// it. Each change of kit may name the battery in a unit of its own.
pub(super) fn store_in_watt_hours(rig: &mut Rig) {
    let dates: Vec<_> = rig.changes.iter().map(|change| change.from).collect();
    let written: Vec<Parts> = dates.iter().map(|date| rig.parts_on(*date)).collect();
    let first = rig.parts.clone();
    to_watt_hours(&mut rig.parts, &first);
    for (change, whole) in rig.changes.iter_mut().zip(&written) {
        to_watt_hours(&mut change.parts, whole);
    }
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
        stock.dregs *= factor;
        stock.lift_wh /= factor;
    }
    let activities = parts.activities.iter_mut().map(|a| &mut a.moves);
    let base = parts.base.iter_mut().map(|b| &mut b.moves);
    for one in activities.chain(base).flatten().filter(|m| m.stock == store) {
        scale(one, factor);
    }
    if let Some(heating) = &mut parts.heating
        && heating.burns.as_ref() == Some(&store)
    {
        heating.wh_per_unit /= factor;
    }
    if let Some(water) = &mut parts.hot_water
        && water.from == store
    {
        water.wh_per_unit /= factor;
    }
}

fn scale(one: &mut Move, factor: f64) {
    if let Measure::Amount { per_time, .. } = &mut one.measure {
        *per_time *= factor;
    }
}
