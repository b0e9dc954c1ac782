use super::*;
use crate::domain::flow::{Driver, Measure};
use crate::domain::rig::Rig;
use crate::domain::stock::Gauge;
use crate::domain::unit::Unit;
use chrono::NaiveDate;
use proptest::prelude::*;
use ron::extensions::Extensions;
use serde::de::IgnoredAny;

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
    let electrics = parts.electrics.as_ref().unwrap();
    assert_eq!((electrics.peukert, electrics.rated_hours), (1.05, 5.0));
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

/// The `ron` crate is the judge of what is RON.
fn is_ron(text: &str) -> bool {
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    options.from_str::<IgnoredAny>(text).is_ok()
}

#[test]
fn editors_may_put_a_mark_first_and_end_lines_their_way() {
    let plain = read(FULL);
    assert_eq!(read(&format!("\u{feff}{FULL}")), plain);
    assert_eq!(read(&FULL.replace('\n', "\r\n")), plain);
    let attribute = format!("#![enable(implicit_some)]\n{FULL}");
    assert_eq!(read(&attribute), plain);
    assert_eq!(read(&FULL.replace("capacity: 92", "capacity: Some(92)")), plain);
}

#[test]
fn a_file_that_cannot_be_a_rig_is_refused_at_once() {
    let refused = |text: &str| parse(text, FilePath::new("rig.ron")).unwrap_err();
    assert_eq!(refused(&"(".repeat(100_000)).len(), 1);
    assert_eq!(refused(&"a(".repeat(100_000)).len(), 1);
    assert_eq!(refused(&"/*".repeat(100_000)).len(), 1);
    assert_eq!(refused(&" ".repeat(LARGEST_BYTES + 1))[0].found, "1048577 bytes");
}

#[test]
fn a_later_form_is_called_newer_even_if_it_cannot_be_scanned() {
    for text in ["(format: 9, stocks: {})", "// hi\n( format : 2 // new\n, <<< )"] {
        let faults = parse(text, FilePath::new("rig.ron")).unwrap_err();
        assert_eq!(faults[0].kind, FaultKind::Newer, "{text}");
    }
    for text in ["(format: 1, stocks: {})", "(crew: 2, <<< )"] {
        let faults = parse(text, FilePath::new("rig.ron")).unwrap_err();
        assert_eq!(faults[0].kind, FaultKind::Mistake, "{text}");
    }
}

/// What a stock lacks hides what is wrong within that field, and nothing of another stock.
#[test]
fn what_is_missing_hides_no_other_mistake() {
    let text = FULL.replacen("capacity:", "capacty:", 1).replacen("amount: 7", "amount: \"x\"", 1);
    let faults = parse(&text, FilePath::new("rig.ron")).unwrap_err();
    let fields: Vec<&str> = faults.iter().map(|fault| fault.field.as_str()).collect();
    assert!(fields.iter().any(|field| field.contains("\"fresh\"")), "{fields:?}");
    assert!(fields.iter().any(|field| field.contains("shower")), "{fields:?}");
}

/// A stray sign in front of a bracket is no tag of it; the crate `ron` refuses it, too.
#[test]
fn a_sign_is_no_tag() {
    for text in ["-(format: 1)", "(format: 1, crew: .5(2))", "4(format: 1)"] {
        assert!(!is_ron(text), "{text}");
        assert!(scan(text).is_err(), "{text}");
    }
}

#[test]
fn columns_count_characters() {
    let text = FULL.replace("van: \"Dunlin\",", "van: \"Dünlin\", collör: 2,");
    let faults = parse(&text, FilePath::new("rig.ron")).unwrap_err();
    assert_eq!((faults[0].line, faults[0].column), (4, 20));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]
    /// One slip of a finger: no panic, and whatever is still accepted is RON.
    #[test]
    fn one_slip_of_a_finger(at in 0..FULL.len(), slip in "[()\\[\\]{}\",:./*a0\\-é \n]?", cut in 0..3usize) {
        prop_assume!(FULL.is_ascii());
        let end = (at + cut).min(FULL.len());
        let text = format!("{}{slip}{}", &FULL[..at], &FULL[end..]);
        match parse(&text, FilePath::new("rig.ron")) {
            Ok(_) => prop_assert!(is_ron(&text), "accepted, but no RON: {text}"),
            Err(faults) => prop_assert!(!faults.is_empty()),
        }
    }
}
