//! `init` on a terminal: twenty-four questions at most, each with an answer to take by Enter.

use crate::place::Place;
use crate::screen::Screen;

/// Runs `init` on a pseudo terminal with these lines typed; the screen's text and exit code.
fn typed(place: &Place, lines: &[&str]) -> (String, u32) {
    let zone = ("TZ", "Pacific/Auckland".into());
    // So many rows that none is lost.
    let mut screen =
        Screen::open((200, 100), &["init"], &[&place.surroundings()[..], &[zone]].concat());
    lines.iter().for_each(|line| screen.types(&format!("{line}\r")));
    screen.ends()
}

fn questions(screen: &str) -> usize {
    screen.matches("]: ").count()
}

#[test]
fn enter_each_time_is_a_rig_that_checks_clean() {
    for template in ["two-berth", "family", "no-solar", "black-tank"] {
        let place = Place::bare();
        let mut lines = vec![template];
        lines.resize(24, "");
        let (screen, code) = typed(&place, &lines);
        assert_eq!(code, 0, "{screen}");
        assert!((8..=24).contains(&questions(&screen)), "{screen}");
        let check = place.run(&["check"]);
        assert_eq!(check.code, 0, "{check:?}");
        let next = place.run(&["next"]);
        assert_eq!(next.code, 0, "{next:?}");
    }
}

#[test]
fn answers_find_their_place_and_comments_stay() {
    let place = Place::bare();
    let answers = [
        "two-berth",
        "Quillfin",
        "3",
        "us",
        "Hidden Cove",
        "-41.2, 174.1",
        "",
        "52 F to 64 F",
        "25 gal",
        "3 lamps",
        "60",
        "percent",
        "separating",
        "9 L",
        "30",
        "not at all",
        "lead acid",
        "200 Ah",
        "330 watts",
        "wood and diesel",
        "gas",
        "24 lb",
        "20 gal",
        "40 kg",
        "",
    ];
    let (screen, code) = typed(&place, &answers);
    assert_eq!(code, 0, "{screen}");
    let rig = std::fs::read_to_string(place.data().join("rig.ron")).unwrap();
    for (wanted, why) in [
        ("van: \"Quillfin\"", "the name"),
        ("crew: 3", "the crew"),
        ("show: us", "the units"),
        ("place: \"Hidden Cove\"", "the place"),
        ("longitude: 174.1", "where it is"),
        ("zone: \"Pacific/Auckland\"", "the machine's zone, as the van stands elsewhere"),
        ("capacity: 94.635", "25 US gallons in the file's own litres"),
        ("capacity: 227.125", "60 of the units that the crew asked for, gallons"),
        ("gauge: ladder([0.33, 0.67, 1])", "three lamps, evenly spaced"),
        ("gauge: step(0.01)", "a display in per cent"),
        ("rated_w: 330", "the panels"),
        ("burns: \"wood\"", "what heats first"),
        ("name: \"wood\"", "and what holds it"),
        ("capacity: 40)", "how much of it"),
        ("unit: \"uses\", capacity: 30", "how often the solids container is used"),
        ("capacity: 2400, keep: 1200", "200 Ah of lead at 12 V, half of it kept"),
        ("chemistry: lead_acid", "what it is"),
        ("capacity: 75.708", "20 US gallons of diesel"),
        ("capacity: 10.886", "24 pounds of gas in kilograms"),
        ("low_c: 11.11", "52 F, the usual low, in the file's own degrees"),
        ("// What runs down", "comments stay"),
    ] {
        assert!(rig.contains(wanted), "{why}: {wanted} in {rig}");
    }
    assert_eq!(place.run(&["check"]).code, 0);
}

#[test]
fn a_wrong_answer_is_asked_again() {
    let place = Place::bare();
    let mut lines = vec!["castle", "two-berth", "", "many", "0", "2"];
    lines.resize(27, "");
    let (screen, code) = typed(&place, &lines);
    assert_eq!(code, 0, "{screen}");
    assert!(screen.contains("found \"castle\", expected one of the names above"), "{screen}");
    assert!(screen.contains("found \"0\", expected a number from 0.5"), "{screen}");
    assert!(screen.contains("found \"many\", expected a number from 0.5 to 50"), "{screen}");
}

#[test]
fn leaving_the_questions_writes_nothing() {
    let place = Place::bare();
    let (screen, code) = typed(&place, &["family", "\u{4}"]);
    assert_eq!(code, 2, "{screen}");
    assert!(screen.contains("Nothing was written."), "{screen}");
    assert!(!place.data().join("rig.ron").exists());
}
