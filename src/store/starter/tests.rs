use super::*;
use crate::domain::{Rig, UnitSystem};
use crate::store::rig_edit::quoted;
use crate::store::rig_file::parse;
use crate::store::templates::TEMPLATES;
use crate::store::templates::find;
use proptest::prelude::*;
use std::path::Path;

fn read(text: &str) -> Rig {
    parse(text, Path::new("rig.ron")).unwrap_or_else(|faults| {
        panic!("{}{text}", faults.iter().map(|f| format!("{f}\n")).collect::<String>())
    })
}

fn capacity(rig: &Rig, stock: &str) -> f64 {
    rig.parts.stock(stock).unwrap().1.capacity
}

fn answers<const N: usize>(of: [(&str, String); N]) -> Answers {
    of.map(|(place, answer)| (place.to_string(), answer)).into()
}

/// Lines of which nothing but the value may differ.
fn comments(text: &str) -> Vec<&str> {
    text.lines().filter_map(|line| line.find("//").map(|at| &line[at..])).collect()
}

#[test]
fn no_answers_give_the_template_itself() {
    for template in TEMPLATES {
        assert_eq!(fill_template(template.text, &Answers::new()).as_deref(), Ok(template.text));
    }
}

#[test]
fn answers_arrive_in_the_rig() {
    let answers = answers([
        ("van", quoted("The \"Barge\" \\ two")),
        ("crew", "3".to_owned()),
        ("home/place", quoted("Salt pans")),
        ("home/latitude", "37.1".to_owned()),
        ("home/longitude", "-8.2".to_owned()),
        ("home/zone", quoted("Europe/Lisbon")),
        ("stocks/fresh/capacity", "45".to_owned()),
        ("stocks/grey/capacity", "30".to_owned()),
        ("stocks/black/capacity", "12.5".to_owned()),
        ("stocks/battery/capacity", "1280".to_owned()),
        ("stocks/diesel/capacity", "90".to_owned()),
        (PANELS, "175".to_owned()),
        ("show", "us".to_owned()),
    ]);
    let rig = read(&fill_template(find("black-tank").unwrap().text, &answers).unwrap());
    assert_eq!((rig.van.as_str(), rig.crew), ("The \"Barge\" \\ two", 3.0));
    assert_eq!((rig.home.place.as_str(), rig.home.latitude), ("Salt pans", 37.1));
    assert_eq!(rig.show, UnitSystem::Us);
    let sizes = ["fresh", "grey", "black", "battery", "diesel"].map(|name| capacity(&rig, name));
    assert_eq!(sizes, [45.0, 30.0, 12.5, 1280.0, 90.0]);
    // Scaled, 8 of 150 L would be 2.4; three people drink 7.2 L a day.
    assert_eq!(rig.parts.stock("fresh").unwrap().1.margin, 7.2);
    assert_eq!(rig.parts.stock("battery").unwrap().1.margin, 128.0);
    assert_eq!(rig.parts.electrics.unwrap().panels[0].rated_w, 175.0);
}

#[test]
fn panels_come_and_go() {
    let with = |name: &str, watts: f64| {
        let answers = answers([(PANELS, watts.to_string())]);
        let text = fill_template(find(name).unwrap().text, &answers).unwrap();
        read(&text).parts.electrics.unwrap().panels
    };
    assert_eq!(with("no-solar", 120.0)[0].rated_w, 120.0);
    assert!(with("no-solar", 0.0).is_empty());
    assert!(with("family", 0.0).is_empty());
}

#[test]
fn an_impossible_answer_is_named_by_its_line() {
    let fresh = "stocks/fresh/capacity";
    for (place, value) in [(fresh, f64::NAN), (fresh, -3.0), ("crew", f64::INFINITY)] {
        let answers = answers([(place, value.to_string())]);
        let text = fill_template(TEMPLATES[0].text, &answers).unwrap();
        assert!(parse(&text, Path::new("rig.ron")).is_err());
    }
}

fn maybe(low: f64, high: f64) -> impl Strategy<Value = Option<f64>> {
    let tenths = (low * 10.0) as u32..(high * 10.0) as u32;
    proptest::option::of(tenths.prop_map(|n| f64::from(n) / 10.0))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn any_possible_answers_give_a_sound_rig_with_its_comments(
        which in 0..4usize,
        van in proptest::option::of("[a-zA-Z\"\\\\/ é]{1,20}".prop_filter("blank", |v| !v.trim().is_empty())),
        crew in proptest::option::of(1..12u8),
        fresh_l in maybe(1.0, 600.0),
        grey_l in maybe(1.0, 600.0),
        liquids_l in maybe(1.0, 100.0),
        battery_wh in maybe(100.0, 40_000.0),
        panel_w in maybe(0.0, 3000.0),
        fuel_tank_l in maybe(1.0, 300.0),
    ) {
        let template = &TEMPLATES[which];
        let is_black = template.name == "black-tank";
        let liquids = if is_black { "stocks/black/capacity" } else { "stocks/liquids/capacity" };
        let has_no_van = van.is_none();
        let all = [
            ("van", van.map(|van| quoted(&van))),
            ("crew", crew.map(|crew| crew.to_string())),
            ("stocks/fresh/capacity", fresh_l.map(|n| n.to_string())),
            ("stocks/grey/capacity", grey_l.map(|n| n.to_string())),
            (liquids, liquids_l.map(|n| n.to_string())),
            ("stocks/battery/capacity", battery_wh.map(|n| n.to_string())),
            (PANELS, panel_w.map(|n| n.to_string())),
            ("stocks/diesel/capacity", fuel_tank_l.map(|n| n.to_string())),
        ];
        let known = all.into_iter().filter_map(|(place, value)| Some((place.to_string(), value?)));
        let text = fill_template(template.text, &known.collect()).unwrap();
        let rig = read(&text);
        if let Some(litres) = fresh_l {
            prop_assert_eq!(capacity(&rig, "fresh"), litres);
        }
        if has_no_van {
            prop_assert_eq!(comments(&text), comments(template.text));
        }
        prop_assert_eq!(rig.parts.activities, read(template.text).parts.activities);
    }
}
