use super::*;
use crate::domain::flow::{Driver, Measure, Move, Per};
use crate::domain::rig::{Parts, Rig};
use crate::domain::stock::Direction;
use crate::store::reference::{self, Reference, SpreadOf};
use crate::store::rig_file::parse;
use std::path::Path;

fn rig(template: &Template) -> Rig {
    parse(template.text, Path::new(template.name)).unwrap_or_else(|faults| {
        panic!("{}", faults.iter().map(|f| format!("{f}\n")).collect::<String>())
    })
}

/// Every coefficient of a move that has a row in the reference: owner, stock, key of the row.
const PRIORS: &[(&str, &str, &str)] = &[
    ("shower", "fresh", "shower water"),
    ("shower", "grey", "washing water drained"),
    ("dishes", "fresh", "wash-up water"),
    ("dishes", "grey", "washing water drained"),
    ("drinking and washing", "fresh", "base water"),
    ("drinking and washing", "grey", "base water drained"),
    ("toilet liquids", "liquids", "urine at the van"),
    ("flushing", "fresh", "flush water"),
    ("flushing", "black", "black waste at the van"),
    ("eating", "food", "food"),
    ("cooked meal", "battery", "electric meal"),
    ("cooked meal", "gas", "gas meal"),
    ("kettle", "battery", "electric kettle"),
    ("kettle", "gas", "gas kettle"),
    ("work", "battery", "laptop"),
    ("phones", "battery", "phone"),
    ("lights", "battery", "lights"),
];

/// What each van has its own figure for: engines, chargers, generators; and what is exact.
const OWN: &[&str] = &["alternator", "engine", "shore power", "generator", "toilet solids"];

fn row(key: &str) -> Reference {
    reference::find(key).unwrap_or_else(|| panic!("no reference for {key}"))
}

/// Whether `value` stands within one spread of a row.
fn allows(row: &Reference, value: f64) -> bool {
    const ROUNDING: f64 = 1e-9;
    let off = match row.of {
        SpreadOf::Log => (value / row.value).ln().abs(),
        SpreadOf::Value => (value - row.value).abs(),
    };
    off <= row.spread + ROUNDING
}

fn within(template: &Template, key: &str, value: f64) {
    let row = row(key);
    let (name, wanted, spread) = (template.name, row.value, row.spread);
    assert!(allows(&row, value), "{name}: {key} is {value}, reference {wanted} +- {spread}");
}

fn owners(parts: &Parts) -> impl Iterator<Item = (&str, &[Move])> {
    let activities = parts.activities.iter().map(|a| (a.name.as_str(), a.moves.as_slice()));
    activities.chain(parts.base.iter().map(|b| (b.name.as_str(), b.moves.as_slice())))
}

#[test]
fn priors_stand_within_the_spread_of_the_reference() {
    for template in TEMPLATES {
        let parts = rig(template).parts;
        for (owner, moves) in owners(&parts).filter(|(owner, _)| !OWN.contains(owner)) {
            for one in moves {
                let known = PRIORS.iter().find(|(o, s, _)| *o == owner && *s == one.stock);
                let (_, _, key) = known.unwrap_or_else(|| panic!("{owner} moves {}", one.stock));
                match one.measure {
                    Measure::Amount { per_time, .. } => within(template, key, per_time.abs()),
                    // What is flushed arrives whole; nothing to compare.
                    Measure::ShareOf { share: 1.0, .. } => {}
                    Measure::ShareOf { share, .. } => within(template, key, share),
                }
            }
        }
        if let Some((_, solids)) = parts.activity("toilet solids") {
            within(template, "solids uses at the van", solids.usual_per_day);
        }
        kit_is_within(template, &parts);
    }
}

fn kit_is_within(template: &Template, parts: &Parts) {
    let electrics = parts.electrics.as_ref().unwrap();
    let round_trip = match electrics.chemistry {
        crate::domain::electrics::Chemistry::Lithium => "lithium round trip",
        crate::domain::electrics::Chemistry::LeadAcid => "lead-acid round trip",
    };
    within(template, round_trip, electrics.charge_efficiency * electrics.discharge_efficiency);
    within(template, "standing draw", electrics.standing_w);
    let fridge = electrics.fridge.unwrap();
    within(template, "fridge", fridge.mean_w);
    within(template, "fridge per kelvin", fridge.per_kelvin);
    let inverter = electrics.inverter.unwrap();
    within(template, "inverter idle", inverter.idle_w);
    within(template, "inverter efficiency", inverter.efficiency);
    for panel in &electrics.panels {
        within(template, "panel factor", panel.factor);
        within(template, "panel per kelvin", panel.per_kelvin);
    }
    let heating = parts.heating.as_ref().unwrap();
    within(template, "van losses", heating.ua_w_per_k);
    within(template, "person heat", heating.person_w);
    let water = parts.hot_water.as_ref().unwrap();
    within(template, "water heater efficiency", water.efficiency);
    let heat = |stock: &str| if stock == "gas" { "gas heat" } else { "diesel heat" };
    assert!(!heating.sources.is_empty(), "{}", template.name);
    for source in &heating.sources {
        within(template, "heater efficiency", source.efficiency);
        within(template, "heater fan", source.fan_w);
        if source.start_wh > 0.0 {
            within(template, "heater start", source.start_wh);
        }
        within(template, heat(&source.burns), source.wh_per_unit);
    }
    within(template, heat(&water.from), water.wh_per_unit);
    within(template, "water pump", parts.stock("fresh").unwrap().1.lift_wh);
}

/// Mean change of a stock on a day at camp in its unit, from habits and base use alone:
/// arithmetic that knows no sun, no cold and no pump.
fn usual_change_per_day(rig: &Rig, stock: &str) -> f64 {
    let crew = rig.crew;
    let times = |per: Per, usual: f64| if per == Per::Person { usual * crew } else { usual };
    let activities = rig.parts.activities.iter().map(|a| (times(a.per, a.usual_per_day), &a.moves));
    let base = rig.parts.base.iter().filter_map(|b| match b.per {
        Driver::PersonDay => Some((crew, &b.moves)),
        Driver::Day => Some((1.0, &b.moves)),
        _ => None,
    });
    activities.chain(base).map(|(times, moves)| times * change(moves, stock)).sum()
}

fn change(moves: &[Move], stock: &str) -> f64 {
    let amounts = |name: &str| -> f64 {
        let of = moves.iter().filter(|m| m.stock == name);
        of.filter_map(|m| match m.measure {
            Measure::Amount { per_time, .. } => Some(per_time),
            Measure::ShareOf { .. } => None,
        })
        .sum()
    };
    let shares = moves.iter().filter(|m| m.stock == stock).filter_map(|m| match &m.measure {
        Measure::ShareOf { stock, share, .. } => Some(-amounts(stock) * share),
        Measure::Amount { .. } => None,
    });
    amounts(stock) + shares.sum::<f64>()
}

/// Days from a full service to the limit.
fn days(rig: &Rig, name: &str) -> f64 {
    let (_, stock) = rig.parts.stock(name).unwrap();
    let room = (stock.limit() - stock.serviced_level()).abs();
    let mut change = usual_change_per_day(rig, name);
    if name == "battery" {
        let kit = rig.parts.electrics.as_ref().unwrap();
        // 4 kWh/m2 on a flat panel is a fair day of spring; heat takes a tenth.
        let sun: f64 = kit.panels.iter().map(|p| 4.0 * p.rated_w * p.factor * 0.9).sum();
        change += sun - 24.0 * (kit.standing_w + kit.fridge.map_or(0.0, |f| f.mean_w));
    }
    let right_way = match stock.runs {
        Direction::Down => change < 0.0,
        Direction::Up => change > 0.0,
    };
    if right_way { room / change.abs() } else { f64::INFINITY }
}

/// Each template is there to show another stock that binds, in mild weather.
#[test]
fn each_template_binds_on_a_stock_of_its_own() {
    for (name, binding) in [
        ("two-berth", "liquids"),
        ("family", "fresh"),
        ("no-solar", "battery"),
        ("black-tank", "black"),
    ] {
        let rig = rig(find(name).unwrap());
        let mut all: Vec<(f64, &str)> =
            rig.parts.stocks.iter().map(|s| (days(&rig, &s.name), s.name.as_str())).collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert_eq!(all[0].1, binding, "{name}: {all:?}");
        assert!(all[1].0 / all[0].0 > 1.05, "{name}: too close to call, {all:?}");
        assert!((1.0..7.0).contains(&all[0].0), "{name}: {all:?}");
    }
}

/// A week at -10 degrees: the heater's small tank goes before the black one.
#[test]
fn cold_moves_the_binding_stock_of_the_black_tank_van_to_diesel() {
    let rig = rig(find("black-tank").unwrap());
    let heating = rig.parts.heating.as_ref().unwrap();
    let inside = (15.0 * heating.day_c + 9.0 * heating.night_c) / 24.0;
    let gains = 2.0 * heating.person_w + 30.0;
    let watts = heating.ua_w_per_k * (inside + 10.0) - gains;
    let heater = &heating.sources[0];
    let litres_a_day = 24.0 * watts / heater.efficiency / heater.wh_per_unit;
    let (_, tank) = rig.parts.stock("diesel").unwrap();
    let diesel_days = (tank.capacity - tank.margin) / litres_a_day;
    assert!(diesel_days < days(&rig, "black"), "{diesel_days}");
}

#[test]
fn every_template_is_told_apart_and_full_of_comments() {
    for template in TEMPLATES {
        assert_eq!(find(template.name), Some(template));
        let comments = template.text.lines().filter(|l| l.contains("//")).count();
        assert!(comments >= 20, "{} has {comments}", template.name);
        // What a person uncomments has to read as well.
        let open: String = template.text.lines().map(uncommented).collect();
        if let Err(faults) = parse(&open, Path::new(template.name)) {
            let all: String = faults.iter().map(|f| format!("{f}\n")).collect();
            panic!("{} with its examples:\n{all}\n{open}", template.name);
        }
    }
}

/// A line of an example that stands in a comment, as its reader would switch it on.
fn uncommented(line: &str) -> String {
    let body = line.trim_start();
    let example = body.strip_prefix("// ").filter(|rest| {
        let rest = rest.trim_start();
        rest.starts_with('(')
            || rest.starts_with("changes:")
            || rest.starts_with(']')
            || rest.starts_with("stocks:")
            || rest.starts_with("electrics:")
    });
    format!("{}\n", example.unwrap_or(line))
}

#[test]
fn the_reference_is_complete() {
    let rows = reference::rows();
    for (i, row) in rows.iter().enumerate() {
        assert!(rows[..i].iter().all(|known| known.key != row.key), "{} twice", row.key);
        assert!(row.value.is_finite() && row.spread > 0.0, "{}", row.key);
        assert!(!row.source.is_empty() && !row.status.is_empty() && !row.unit.is_empty());
    }
}

#[test]
fn what_a_file_leaves_out_gets_the_reference_value() {
    use crate::store::rig_record::start;
    let heating = crate::domain::heating::Heating::default();
    let heater = crate::domain::heating::HeatSource::default();
    for (key, value) in [
        ("panel factor", start::PANEL_FACTOR),
        ("panel per kelvin", start::PANEL_PER_KELVIN),
        ("inverter efficiency", start::INVERTER_EFFICIENCY),
        ("inverter idle", start::INVERTER_IDLE_W),
        ("fridge", start::FRIDGE_W),
        ("fridge per kelvin", start::FRIDGE_PER_KELVIN),
        ("standing draw", start::STANDING_W),
        ("heater efficiency", heater.efficiency),
        ("water heater efficiency", start::WATER_HEATER_EFFICIENCY),
        ("heater fan", heater.fan_w),
        ("heater start", heater.start_wh),
        ("van losses", heating.ua_w_per_k),
        ("person heat", heating.person_w),
    ] {
        assert_eq!(row(key).value, value, "{key}");
    }
    for (key, spread) in [
        ("panel factor", start::PANEL_FACTOR_SPREAD),
        ("fridge", start::FRIDGE_SPREAD),
        ("standing draw", start::STANDING_SPREAD),
        ("heater fan", heater.draw_spread),
        ("van losses", heating.ua_spread),
    ] {
        assert_eq!(row(key).spread, spread, "{key}");
    }
    for (key, (charge, discharge)) in
        [("lithium round trip", start::LITHIUM), ("lead-acid round trip", start::LEAD_ACID)]
    {
        assert!((row(key).value - charge * discharge).abs() < 0.005, "{key}");
    }
}
