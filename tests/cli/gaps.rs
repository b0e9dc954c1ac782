//! What an answer lacks is said beside it: unread lines, stocks never read, times that are past.

use crate::place::{EVENING, LATER, Place};
use unicode_width::UnicodeWidthStr;

const NOON: &str = "--at=2026-07-01T12:05:00+02:00";

/// The one file that this device writes.
fn own_file(place: &Place) -> std::path::PathBuf {
    let mut files = place.files();
    files.retain(|(path, _)| path.parent().unwrap().ends_with("journal"));
    assert_eq!(files.len(), 1);
    files.remove(0).0
}

#[test]
fn skipped_lines_are_said_beside_every_answer() {
    let demo = Place::demo();
    let path = demo.data().join("journal/phone.ron");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replacen("Oarlock Bay", "Oarlock Bya", 1)).unwrap();
    for arguments in [vec!["next"], vec!["forecast"], vec!["why", "fresh"], vec!["hindsight"]] {
        let run = demo.run(&arguments);
        assert_eq!(run.code, 0, "{run:?}");
        let said = "1 line of the journal could not be read: waystock check";
        assert!(run.err.lines().any(|line| line == said), "{arguments:?}: {run:?}");
    }
}

#[test]
fn a_torn_end_of_the_own_file_is_a_fault() {
    let place = Place::fresh("two-berth");
    place.done(&["log", "dishes"]);
    place.done(&["log", "2 showers"]);
    let file = own_file(&place);
    let bytes = std::fs::read(&file).unwrap();
    std::fs::write(&file, &bytes[..bytes.len() - 20]).unwrap();
    let check = place.run(&["check"]);
    assert_eq!(check.code, 1, "{check:?}");
    assert!(!check.out.contains("still arriving"), "{check:?}");
    let next = place.run(&["next"]);
    assert_eq!(next.code, 0);
    assert!(next.err.contains("an entry that this device saved is no longer"), "{next:?}");
    assert!(next.err.contains("newest records of this device"), "{next:?}");
    // Under its new name, the device still knows the torn file for its own.
    assert_eq!(place.run(&["log", "dishes"]).code, 0);
    let check = place.run(&["check"]);
    assert_eq!(check.code, 1, "{check:?}");
    assert!(!check.out.contains("still arriving"), "{check:?}");
}

#[test]
fn stocks_that_were_never_read_are_named() {
    let place = Place::fresh("two-berth");
    let told = place.run(&["next", NOON]).err;
    assert!(told.starts_with("never read: fresh, grey,"), "{told}");
    place.done(&["log", "fresh 60%, filled diesel to full, emptied grey", NOON]);
    let told = place.run(&["next", NOON]).err;
    for name in ["fresh", "diesel", "grey"] {
        assert!(!told.contains(name), "{told}");
    }
    assert!(told.contains("battery"), "{told}");
    assert!(!told.contains("nights"), "nights count themselves: {told}");
}

#[test]
fn the_hint_of_init_can_be_typed_as_it_stands() {
    for template in ["two-berth", "family", "no-solar", "black-tank"] {
        let place = Place::bare();
        let made = place.done(&["init", "--from-template", template]);
        let hint = made.lines().find_map(|line| line.strip_prefix("waystock log ")).unwrap();
        place.done(&["log", hint]);
        assert_eq!(place.run(&["next"]).err, "", "{template}: every stock is read");
    }
}

#[test]
fn no_deadline_is_past() {
    let place = Place::fresh("two-berth");
    let hint = "fresh 12%, battery 13%, grey 90%, liquids 92%";
    place.done(&["log", hint, NOON]);
    for arguments in [vec!["next"], vec!["forecast"], vec!["why", "battery"]] {
        let out = place.run(&[arguments.as_slice(), &[NOON]].concat()).out;
        for past in ["1 Jul 11:", "1 Jul 12:00", "1 July, 11:", "until Wed 1 Jul 12:00"] {
            assert!(!out.contains(past), "{arguments:?}: {out}");
        }
    }
}

#[test]
fn the_plain_forecast_fits_eighty_columns() {
    for place in [Place::demo(), Place::fresh("family"), Place::fresh("black-tank")] {
        let run = place.run(&["forecast", "--at", EVENING]);
        assert_eq!(run.code, 0);
        for line in run.out.lines() {
            assert!(line.width() <= 80, "{line}");
        }
        assert!(run.out.replace('\n', " ").contains("; even chance "), "{}", run.out);
    }
}

#[test]
fn a_line_is_taken_back_and_put_back_whole() {
    let place = Place::fresh("family");
    place.done(&["log", "diesel 50%", NOON]);
    place.done(&["log", "shower, 2 dishes", NOON]);
    for (command, says) in [("undo", "took back: "), ("redo", "put back: ")] {
        let run = place.run(&[command, NOON]);
        assert_eq!(run.code, 0, "{run:?}");
        assert!(run.out.starts_with(says) && run.out.contains("shower"), "{run:?}");
        assert!(run.out.contains("dishes") && !run.out.contains("diesel"), "{run:?}");
    }
}

#[test]
fn entries_carry_whole_seconds() {
    let place = Place::fresh("family");
    place.done(&["log", "shower"]);
    place.done(&["log", "dishes", "--at", "2026-07-01T12:05:00.123456+02:00"]);
    let file = std::fs::read_to_string(own_file(&place)).unwrap();
    assert!(!file.contains(".1"), "{file}");
    let undo = place.done(&["undo"]);
    assert!(!undo.contains('T') && undo.starts_with("took back: "), "{undo}");
}

#[test]
fn the_excerpt_of_a_long_line_is_cut() {
    let line = format!("{}showet, {}", "shower, ".repeat(90), "dishes, ".repeat(90));
    let run = Place::demo().run(&["log", &line]);
    assert_eq!(run.code, 2);
    let lines: Vec<&str> = run.err.lines().collect();
    assert!(lines.iter().all(|line| line.width() <= 80), "{run:?}");
    let marks = lines.iter().position(|line| line.contains('^')).unwrap();
    let (from, to) = (lines[marks].find('^').unwrap(), lines[marks].rfind('^').unwrap());
    assert_eq!(&lines[marks - 1][from..=to], "showet", "{run:?}");
}

#[test]
fn gallons_and_fahrenheit_where_the_rig_shows_them() {
    let place = Place::fresh("two-berth");
    let rig = std::fs::read_to_string(place.data().join("rig.ron")).unwrap();
    let metric = place.run(&["why", "fresh", NOON]).out;
    assert!(metric.contains(" L (rig file"), "{metric}");
    // Of the weather only what it moves is told.
    let heat = place.run(&["why", "diesel", NOON]).out;
    assert!(heat.contains(" C on average") && !metric.contains("on average"), "{heat}");
    place.write("data/rig.ron", &rig.replacen("show: metric", "show: us", 1));
    let us = place.run(&["why", "fresh", NOON]).out;
    assert!(us.contains(" gal (rig file"), "{us}");
    let heat = place.run(&["why", "diesel", NOON]).out;
    assert!(heat.contains(" F on average"), "{heat}");
    assert!(!us.contains(" L (rig file"), "{us}");
}

#[test]
fn nobody_aboard_is_no_crew() {
    let place = Place::fresh("two-berth");
    let rig = std::fs::read_to_string(place.data().join("rig.ron")).unwrap();
    place.write("data/rig.ron", &rig.replacen("crew: 2", "crew: 0", 1));
    let check = place.run(&["check"]);
    assert_eq!(check.code, 1, "{check:?}");
    assert!(check.out.contains("crew"), "{check:?}");
}

#[test]
fn what_a_drive_leaves_out_is_pointed_out() {
    let place = Place::fresh("two-berth");
    place.done(&["log", "drove 2 h, drove 90 km"]);
    let hours =
        "battery: what a drive does to it goes by the hours driven; say that, too: `drove 2 h`\n";
    assert_eq!(place.run(&["log", "drove 90 km"]).err, hours);
    let rig = std::fs::read_to_string(place.data().join("rig.ron")).unwrap();
    let kept: Vec<&str> = rig.lines().filter(|line| !line.contains("per: drive_hour")).collect();
    assert!(kept.len() < rig.lines().count());
    place.write("data/rig.ron", &kept.join("\n"));
    let run = place.run(&["log", "drove 2 h"]);
    assert_eq!(run.code, 0, "{run:?}");
    let distance =
        "diesel: what a drive does to it goes by the distance; say that, too: `drove 90 km`\n";
    assert_eq!(run.err, distance);
    place.done(&["log", "drove 90 km"]);
    place.done(&["log", "drove 2 h, drove 90 km"]);
}

/// Ways count from the camp before where nobody said where a new one lies. That is said when it is
/// logged, once, and wherever the ways are used, until its coordinates or `places.ron` say more.
#[test]
fn a_camp_that_lies_nobody_knows_where_is_said_to() {
    let place = Place::demo();
    let stops = || place.run(&["stops", "--days", "3", "--lives", "200", "--at", LATER, "--json"]);
    assert_eq!(stops().json()["camp_taken_as"], serde_json::Value::Null);
    let log = |line: &str| place.run(&["log", line, "--at", EVENING]).err;
    let unknown = "where Lonely Strand lies is not known: ways count from the camp before, until \
                   places.ron says it\n";
    assert_eq!(log("camp Lonely Strand"), unknown);
    assert_eq!(log("camp Lonely Strand"), "");
    let answer = stops().json();
    assert_eq!(
        (&answer["camp"], &answer["camp_taken_as"]),
        (&"Lonely Strand".into(), &"Oarlock Bay".into())
    );
    log("camp 51.5, -55.4");
    assert_eq!(stops().json()["camp_taken_as"], serde_json::Value::Null);
}

/// Hours of a charge count for nothing where no base use goes by them.
#[test]
fn a_charge_that_moves_nothing_is_pointed_out() {
    let place = Place::fresh("two-berth");
    let vain = "nothing in rig.ron says what a generator hour brings: it moves nothing\n";
    assert_eq!(place.run(&["log", "2 showers, generator 2 h"]).err, vain);
    assert_eq!(place.run(&["log", "shore 2 h"]).err, "");
    let rig = std::fs::read_to_string(place.data().join("rig.ron")).unwrap();
    assert!(rig.contains("per: shore_hour"));
    place.write("data/rig.ron", &rig.replace("per: shore_hour", "per: generator_hour"));
    assert_eq!(place.run(&["log", "generator 2 h"]).err, "");
    let vain = "nothing in rig.ron says what an hour of shore power brings: it moves nothing\n";
    assert_eq!(place.run(&["log", "shore 2 h"]).err, vain);
}
