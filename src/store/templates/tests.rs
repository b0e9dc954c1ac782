use super::*;
use crate::domain::flow::{Measure, Move};
use crate::domain::rig::{Parts, Rig};
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
