//! `init` on a terminal: a dozen questions at most, each with an answer to take by Enter.

use crate::place::Place;
use portable_pty::{CommandBuilder, PtySize, native_pty_system};
use std::io::{Read, Write};

/// Runs `init` on a pseudo terminal with these lines typed; the screen's text and exit code.
fn typed(place: &Place, lines: &[&str]) -> (String, u32) {
    let size = PtySize { rows: 40, cols: 100, ..PtySize::default() };
    let pair = native_pty_system().openpty(size).unwrap();
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_waystock"));
    command.arg("init");
    command.env_clear();
    command.env("HOME", place.root());
    command.env("TERM", "xterm");
    command.env("TZ", "Pacific/Auckland");
    command.env("WAYSTOCK_DIR", place.data());
    let mut child = pair.slave.spawn_command(command).unwrap();
    drop(pair.slave);
    let mut reader = pair.master.try_clone_reader().unwrap();
    let screen = std::thread::spawn(move || {
        let mut bytes = Vec::new();
        // A terminal whose last user is gone answers with an error on some systems.
        let _ = reader.read_to_end(&mut bytes);
        String::from_utf8_lossy(&bytes).into_owned()
    });
    let mut writer = pair.master.take_writer().unwrap();
    for line in lines {
        writer.write_all(line.as_bytes()).unwrap();
        writer.write_all(b"\r").unwrap();
    }
    let code = child.wait().unwrap().exit_code();
    drop(writer);
    drop(pair.master);
    (screen.join().unwrap(), code)
}

fn questions(screen: &str) -> usize {
    screen.matches("]: ").count()
}

#[test]
fn enter_thirteen_times_is_a_rig_that_checks_clean() {
    for template in ["two-berth", "family", "no-solar", "black-tank"] {
        let place = Place::bare();
        let mut lines = vec![template];
        lines.resize(13, "");
        let (screen, code) = typed(&place, &lines);
        assert_eq!(code, 0, "{screen}");
        assert!((8..=13).contains(&questions(&screen)), "{screen}");
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
        "60",
        "9 L",
        "200 Ah",
        "330 watts",
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
        ("rated_w: 330", "the panels"),
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
    lines.resize(16, "");
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
