use super::*;
use crate::domain::flow::{Driver, Measure};
use crate::domain::rig::Rig;
use crate::domain::stock::Gauge;
use crate::domain::unit::Unit;
use chrono::NaiveDate;

const FULL: &str = include_str!("../../../tests/fixtures/rig/full.ron");

fn read(text: &str) -> Rig {
    parse(text, FilePath::new("rig.ron")).unwrap_or_else(|faults| {
        panic!("{}", faults.iter().map(|f| format!("{f}\n")).collect::<String>())
    })
}

fn taken(one: &crate::domain::flow::Move) -> f64 {
    match one.measure {
        Measure::Amount { per_time, .. } => per_time,
        Measure::ShareOf { .. } => f64::NAN,
    }
}

#[test]
fn a_full_rig_reads() {
    let rig = read(FULL);
    let parts = &rig.parts;
    assert_eq!((rig.van.as_str(), rig.crew), ("Dunlin", 3.0));
    let (_, fresh) = parts.stock("fresh").unwrap();
    assert_eq!((fresh.margin, fresh.dregs, fresh.freezes_below_c), (8.0, 1.5, Some(-4.0)));
    let (_, grey) = parts.stock("grey").unwrap();
    assert_eq!((grey.limit(), &grey.gauge), (72.0, &Gauge::Ladder(vec![0.33, 0.66, 1.0])));
    assert_eq!(parts.stock("liquids").unwrap().1.unit, Unit::ImperialGallon);
    let (_, shower) = parts.activity("shower").unwrap();
    assert_eq!(shower.hours, vec![(8, 1.0), (20, 2.5)]);
    assert_eq!(shower.moves[0].warmed_to_c, Some(39.0));
    assert_eq!(taken(&shower.moves[0]), -7.0);
    assert_eq!(parts.activity("cooked meal").unwrap().1.plural, "cooked meals");
    assert_eq!(parts.heating.as_ref().unwrap().night_from, 23);
}

/// 250 Ah at 12.8 V nominal are 3200 Wh; 0.16 L a mile are 0.16 / 1.609344 L a kilometre.
#[test]
fn the_battery_is_in_watt_hours_whatever_the_file_says() {
    let rig = read(FULL);
    let (_, battery) = rig.parts.stock("battery").unwrap();
    assert_eq!((&battery.unit, battery.capacity, battery.margin), (&Unit::WattHour, 3200.0, 320.0));
    let meal = rig.parts.activity("cooked meal").unwrap().1;
    assert_eq!(taken(&meal.moves[0]), -30.0 * 12.8);
    let engine = &rig.parts.base[1];
    assert_eq!(engine.per, Driver::DriveKm);
    assert!((taken(&engine.moves[0]) + 0.16 / 1.609_344).abs() < 1e-12);
    let later = rig.parts_on(NaiveDate::from_ymd_opt(2026, 8, 1).unwrap());
    assert_eq!(later.stock("battery").unwrap().1.capacity, 6400.0);
    assert_eq!(taken(&later.activity("kettle").unwrap().1.moves[0]), -115.0);
    assert_eq!(taken(&later.activity("cooked meal").unwrap().1.moves[0]), -30.0 * 12.8);
    assert!(later.stock("nights here").is_none());
}
