use super::*;
use crate::domain::electrics::Electrics;
use crate::domain::flow::{BaseUse, Driver, Measure, Move};
use crate::domain::heating::HotWater;
use crate::domain::place::{Home, Place};
use crate::domain::rig::{KitChange, Parts};
use crate::domain::stock::{Direction, Stock};
use crate::domain::unit::{Unit, UnitSystem};
use chrono::NaiveDate;

fn stock(name: &str, runs: Direction) -> Stock {
    Stock { margin: 2.0, ..Stock::plain(name, runs, Unit::Litre, 40.0) }
}

fn rig() -> Rig {
    let drawn = Move {
        stock: "fresh".to_owned(),
        measure: Measure::Amount { per_time: -2.0, spread: 0.2 },
        warmed_to_c: None,
        through_inverter: false,
    };
    let drained = Move {
        stock: "grey".to_owned(),
        measure: Measure::ShareOf { stock: "fresh".to_owned(), share: 0.9, spread: 0.02 },
        ..drawn.clone()
    };
    let base = BaseUse {
        name: "washing".to_owned(),
        per: Driver::PersonDay,
        hours: Vec::new(),
        moves: vec![drawn, drained],
    };
    let parts = Parts {
        stocks: vec![stock("fresh", Direction::Down), stock("grey", Direction::Up)],
        base: vec![base],
        ..Parts::default()
    };
    Rig {
        van: "Snipe".to_owned(),
        crew: 1.0,
        home: Home {
            place: "Brook".to_owned(),
            latitude: 44.0,
            longitude: 3.0,
            zone: None,
            typical: None,
        },
        show: UnitSystem::Metric,
        evening: None,
        parts,
        changes: Vec::new(),
        places: vec![Place::default()],
        prefer: vec![],
    }
}

fn change(day: u32, parts: Parts, removed: &[&str]) -> KitChange {
    KitChange {
        from: NaiveDate::from_ymd_opt(2026, 5, day).unwrap(),
        note: String::new(),
        parts,
        removed: removed.iter().map(|name| (*name).to_owned()).collect(),
    }
}

#[test]
fn a_sound_rig_has_no_faults() {
    assert_eq!(check(&rig()), Vec::new());
}

/// A tank goes and later comes back: only the time in between is faulty, and it is told once,
/// at the change that caused it.
#[test]
fn what_a_change_leaves_dangling_is_told_at_that_change() {
    let mut rig = rig();
    let back = Parts { stocks: vec![stock("grey", Direction::Up)], ..Parts::default() };
    rig.changes = vec![
        change(20, back, &[]),
        change(3, Parts::default(), &["grey"]),
        change(9, Parts { electrics: None, ..Parts::default() }, &[]),
    ];
    let faults = check(&rig);
    assert_eq!(faults.len(), 1, "{faults:?}");
    assert_eq!(faults[0].path, Path::root().field("changes").item(1).field("removed"));
}

#[test]
fn electricity_is_stored_in_watt_hours() {
    let mut rig = rig();
    let electrics = |store: &str| Electrics {
        store: store.to_owned(),
        volts: 12.0,
        chemistry: crate::domain::electrics::Chemistry::LeadAcid,
        charge_efficiency: 0.8,
        discharge_efficiency: 0.9,
        no_charge_below_c: None,
        charge_limit_w: None,
        peukert: 1.0,
        rated_hours: 20.0,
        panels: Vec::new(),
        inverter: None,
        fridge: None,
        standing_w: 3.0,
        standing_spread: 0.4,
    };
    for (store, unit, sound) in [
        ("fresh", Unit::Litre, false),
        ("fresh", Unit::WattHour, true),
        ("grey", Unit::WattHour, false),
        ("nothing", Unit::WattHour, false),
    ] {
        rig.parts.base.clear();
        rig.parts.stocks.iter_mut().for_each(|s| s.unit = unit.clone());
        rig.parts.electrics = Some(electrics(store));
        assert_eq!(check(&rig).is_empty(), sound, "{store} in {unit:?}");
    }
}

/// All that is kept of a tank may be what cannot be drawn from it, and no more than that.
#[test]
fn dregs_are_within_what_is_kept() {
    for (dregs, sound) in [(1.9, true), (2.0, true), (2.1, false)] {
        let mut rig = rig();
        rig.parts.stocks[0].dregs = dregs;
        assert_eq!(check(&rig).is_empty(), sound, "{dregs} of 2 L");
    }
}

/// Water of 8 C is not warmed to 8 C, nor to less.
#[test]
fn warm_water_is_warmer_than_cold_water() {
    for (warmed_to_c, sound) in [(7.0, false), (8.0, false), (9.0, true)] {
        let mut rig = rig();
        let water =
            HotWater { from: "fresh".to_owned(), wh_per_unit: 1.0, efficiency: 0.8, cold_c: 8.0 };
        rig.parts.hot_water = Some(water);
        rig.parts.base[0].moves[0].warmed_to_c = Some(warmed_to_c);
        let path = Path::root().field("base").item(0).field("moves").item(0).field("warmed_to");
        let told = check(&rig).into_iter().any(|fault| fault.path == path);
        assert_eq!(told, !sound, "{warmed_to_c} C");
    }
}
