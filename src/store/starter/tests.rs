use super::*;
use crate::domain::rig::Rig;
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

/// Lines of which nothing but the value may differ.
fn comments(text: &str) -> Vec<&str> {
    text.lines().filter_map(|line| line.find("//").map(|at| &line[at..])).collect()
}

#[test]
fn no_answers_give_the_template_itself() {
    for template in TEMPLATES {
        assert_eq!(
            fill_template(&Answers { template, ..Answers::default() }).as_deref(),
            Ok(template.text)
        );
    }
}

#[test]
fn answers_arrive_in_the_rig() {
    let answers = Answers {
        van: Some("The \"Barge\" \\ two".to_owned()),
        crew: Some(3.0),
        home: Some(("Salt pans".to_owned(), 37.1, -8.2)),
        zone: Some("Europe/Lisbon".to_owned()),
        fresh_l: Some(45.0),
        grey_l: Some(30.0),
        liquids_l: Some(12.5),
        battery_wh: Some(1280.0),
        panel_w: Some(175.0),
        fuel_tank_l: Some(90.0),
        show: Some(UnitSystem::Us),
        template: find("black-tank").unwrap(),
    };
    let rig = read(&fill_template(&answers).unwrap());
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
    let with = |name: &str, watts| {
        let answers =
            Answers { panel_w: Some(watts), template: find(name).unwrap(), ..Answers::default() };
        read(&fill_template(&answers).unwrap()).parts.electrics.unwrap().panels
    };
    assert_eq!(with("no-solar", 120.0)[0].rated_w, 120.0);
    assert!(with("no-solar", 0.0).is_empty());
    assert!(with("family", 0.0).is_empty());
}

#[test]
fn an_impossible_answer_is_named_by_its_line() {
    for (fresh_l, crew) in [(Some(f64::NAN), None), (Some(-3.0), None), (None, Some(f64::INFINITY))]
    {
        let answers = Answers { fresh_l, crew, ..Answers::default() };
        assert!(parse(&fill_template(&answers).unwrap(), Path::new("rig.ron")).is_err());
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
        let crew = crew.map(f64::from);
        let answers = Answers {
            van, crew, fresh_l, grey_l, liquids_l, battery_wh, panel_w, fuel_tank_l,
            template, ..Answers::default()
        };
        let text = fill_template(&answers).unwrap();
        let rig = read(&text);
        if let Some(litres) = fresh_l {
            prop_assert_eq!(capacity(&rig, "fresh"), litres);
        }
        if answers.van.is_none() {
            prop_assert_eq!(comments(&text), comments(template.text));
        }
        prop_assert_eq!(rig.parts.activities, read(template.text).parts.activities);
    }
}
