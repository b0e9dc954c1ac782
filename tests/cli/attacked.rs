//! Folders and arguments that somebody or something else has been at: what was said is used, or
//! refused by name; nothing waits for ever and nothing is lost quietly.

use super::place::{EVENING, LATER, Place, Run, finish};
use std::os::unix::ffi::OsStringExt;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Changes a text in the rig file of a copy of the demo.
fn demo_with(from: &str, to: &str) -> Place {
    let place = Place::demo();
    let path = place.data().join("rig.ron");
    let text = std::fs::read_to_string(&path).unwrap();
    assert!(text.contains(from), "the demo says {from}");
    std::fs::write(&path, text.replacen(from, to, 1)).unwrap();
    place
}

/// The file that this device writes.
fn own_file(place: &Place) -> PathBuf {
    let check = place.run(&["check", "--json"]);
    let check: serde_json::Value = serde_json::from_str(&check.out).unwrap();
    place.data().join(format!("journal/{}.ron", check["device"].as_str().unwrap()))
}

/// Ends a run that waits for ever.
fn within_seconds(place: &Place, arguments: &[&str]) -> Run {
    let mut command = Command::new("timeout");
    let inner = place.command(arguments);
    command.arg("20").arg(inner.get_program()).args(inner.get_args()).env_clear();
    let set = inner.get_envs().filter_map(|(name, value)| Some((name, value?)));
    command.envs(set).env("PATH", "/usr/bin:/bin");
    finish(command)
}

#[test]
fn numbers_that_are_next_to_nothing_are_refused_where_they_stand() {
    let hot = "wh_per_unit: 10025, efficiency: 0.75";
    let place = demo_with(hot, "wh_per_unit: 10025, efficiency: 1e-160");
    let run = place.run(&["next"]);
    assert_eq!(run.code, 65, "{run:?}");
    assert!(run.err.contains("efficiency") && run.err.contains("1e-160"), "{run:?}");
    assert_eq!(place.run(&["check"]).code, 1);
}

/// A device three hours ahead.
#[test]
fn what_a_clock_ahead_wrote_counts_at_once_and_is_told() {
    let place = Place::fresh("two-berth");
    place.done(&["log", "fresh 75%, yesterday 20:00"]);
    let ahead = chrono::Local::now() + chrono::Duration::minutes(185);
    let ahead = ahead.to_rfc3339_opts(chrono::SecondsFormat::Secs, false);
    place.done(&["log", "--at", &ahead, "fresh 20%"]);
    let journal = place.run(&["journal"]);
    assert!(journal.out.contains("fresh 20%"), "{journal:?}");
    assert!(
        journal.err.contains("1 entry has a time ahead of this clock, by up to 3 h"),
        "{journal:?}"
    );
    let share = |arguments: &[&str]| {
        let forecast = place.run(&[&["forecast", "--json"], arguments].concat()).json();
        let stocks = forecast["stocks"].as_array().unwrap();
        let fresh = stocks.iter().find(|stock| stock["name"] == "fresh").unwrap();
        fresh["level"]["mean"].as_f64().unwrap() / fresh["capacity"].as_f64().unwrap()
    };
    // As known before it was written, it does not exist.
    let now = chrono::Local::now() + chrono::Duration::minutes(1);
    let now = now.to_rfc3339_opts(chrono::SecondsFormat::Secs, false);
    let (with, without) = (share(&[]), share(&["--at", &now]));
    assert!(with < without - 0.1, "{with} {without}");
    assert_eq!(place.run(&["check"]).code, 1);
    // The later of the two, though the clock has been set back since.
    let undone = place.run(&["undo"]);
    assert!(undone.out.contains("fresh 20%"), "{undone:?}");
    assert!(!place.run(&["journal", "--at", &now]).out.contains("fresh 20%"));
}

#[test]
fn entries_that_an_older_copy_swept_away_are_told_and_written_again() {
    let place = Place::demo();
    place.done(&["log", "--at", EVENING, "dishes"]);
    let file = own_file(&place);
    let older = std::fs::read(&file).unwrap();
    place.done(&["log", "--at", LATER, "2 showers"]);
    std::fs::write(&file, older).unwrap();
    // The next entry goes to a new file; what was lost is told before and after.
    for words in ["shower", "dishes"] {
        let check = place.run(&["check"]);
        assert_eq!(check.code, 1);
        assert!(check.out.contains("an entry that this device saved is no longer"), "{check:?}");
        assert_eq!(place.run(&["log", "--at", LATER, words]).code, 0);
    }
    let check = place.run(&["check", "--restore"]);
    assert_eq!((check.code, check.err.as_str()), (0, "written again: 1 entry\n"), "{check:?}");
    assert!(place.run(&["journal", "--at", LATER]).out.contains("2 showers"));
}

#[test]
fn a_loss_that_is_meant_is_settled() {
    let place = Place::demo();
    place.done(&["log", "--at", EVENING, "dishes"]);
    std::fs::remove_file(own_file(&place)).unwrap();
    assert_eq!(place.run(&["check"]).code, 1);
    let check = place.run(&["check", "--settle"]);
    assert_eq!(check.code, 0, "{check:?}");
}

/// 40 bytes of a schedule, or of an import, were written when the program was killed.
#[test]
fn what_was_being_saved_in_one_go_counts_whole_or_not_at_all() {
    let place = Place::demo();
    let rows: String =
        (10..60).map(|n| format!("2026-10-19T12:{n}:00-02:30,note,,,,,,row {n}\n")).collect();
    let file =
        place.write("rows.csv", &format!("at,kind,what,amount,unit,step,after,note\n{rows}"));
    let before = place.done(&["journal", "--at", LATER]);
    assert_eq!(place.run(&["import", &file, "--at", LATER]).code, 0);
    let whole = place.done(&["journal", "--at", LATER]);
    let own = own_file(&place);
    let bytes = std::fs::read(&own).unwrap();
    std::fs::write(&own, &bytes[..bytes.len() / 2]).unwrap();
    // As after a kill: the machine has not noted that it was saved.
    std::fs::remove_dir_all(place.state()).unwrap();
    let torn = place.run(&["journal", "--at", LATER]);
    assert!(torn.out == before, "a part counts: {}", &torn.out[torn.out.len() - 500..]);
    assert_eq!(place.run(&["check", "--at", LATER]).code, 0, "nothing that was saved is at fault");
    let again = place.run(&["import", &file, "--at", LATER]);
    assert!(again.out.contains("imported 50 of 50 rows"), "{again:?}");
    assert!(place.run(&["journal", "--at", LATER]).out == whole);
}

/// The system lets no file grow past 1 KiB, and by default ends the program that tries.
#[test]
fn a_size_limit_is_a_full_disk() {
    let limited = |place: &Place, words: &str| {
        let program = env!("CARGO_BIN_EXE_waystock");
        let mut command = Command::new("bash");
        command.args(["-c", &format!("ulimit -f 1; exec {program} {words}")]).env_clear();
        let inner = place.command(&[]);
        command.envs(inner.get_envs().filter_map(|(name, value)| Some((name, value?))));
        finish(command)
    };
    let place = Place::bare();
    let run = limited(&place, "init --from-template family");
    assert_eq!(run.code, 74, "{run:?}");
    // Half a rig file would block whatever comes after.
    assert!(!place.data().join("rig.ron").exists());
    assert_eq!(place.run(&["init", "--from-template", "family"]).code, 0);
    let words = "log ".to_string() + &"dishes,".repeat(30);
    let run = limited(&place, words.trim_end_matches(','));
    assert_eq!(run.code, 74, "{run:?}");
    assert_eq!(place.done(&["journal"]), "");
}

#[test]
fn a_pipe_in_the_place_of_a_file_is_named_and_not_waited_for() {
    let pipe = |path: &Path| {
        let _ = std::fs::remove_file(path);
        assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
    };
    for name in ["rig.ron", "places.ron"] {
        let place = Place::demo();
        pipe(&place.data().join(name));
        let run = within_seconds(&place, &["next"]);
        assert!([65, 74].contains(&run.code), "{run:?}");
        assert!(run.err.contains(name) && run.err.contains("pipe"), "{run:?}");
    }
    for end in ["ron", "lock"] {
        let place = Place::demo();
        place.done(&["log", "--at", EVENING, "dishes"]);
        let state = std::fs::read_dir(place.state()).unwrap().map(|entry| entry.unwrap().path());
        let file = state.into_iter().find(|path| path.extension().unwrap() == end).unwrap();
        pipe(&file);
        let run = within_seconds(&place, &["log", "--at", LATER, "2 showers"]);
        assert!([73, 74].contains(&run.code), "{run:?}");
        assert!(run.err.contains("pipe"), "{run:?}");
    }
}

#[test]
fn a_slip_in_the_places_keeps_nobody_from_writing_down() {
    let place = Place::demo();
    let path = place.data().join("places.ron");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replacen("places: [", "place: [", 1)).unwrap();
    let run = place.run(&["log", "--at", LATER, "dishes"]);
    assert_eq!(run.code, 0, "{run:?}");
    assert!(run.err.contains("done without the places") && run.err.contains("places"), "{run:?}");
    assert_eq!(place.run(&["next"]).code, 65);
    assert_eq!(place.run(&["check"]).code, 1);
}

#[test]
fn an_import_of_places_keeps_the_files_permissions() {
    let place = Place::demo();
    let path = place.data().join("places.ron");
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o640)).unwrap();
    let gpx = r#"<gpx version="1.1"><wpt lat="50.5" lon="4.25"><name>Gull slip</name></wpt></gpx>"#;
    let file = place.write("way.gpx", gpx);
    assert_eq!(place.run(&["import", &file]).code, 0);
    assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o640);
}

#[test]
fn a_folder_whose_name_is_no_text_is_the_one_that_is_used() {
    let place = Place::bare();
    let name = std::ffi::OsString::from_vec(b"van-\xff".to_vec());
    let dir = place.root().join(name);
    let mut command = place.command(&["init", "--from-template", "two-berth"]);
    command.env("WAYSTOCK_DIR", &dir);
    assert_eq!(finish(command).code, 0);
    assert!(dir.join("rig.ron").exists());
}

#[test]
fn what_was_typed_is_quoted_back_without_what_steers_a_terminal() {
    let place = Place::demo();
    for bad in ["--nights=\u{9b}2J\u{202e}\u{1b}[31m7", "--\u{9b}x\u{202e}"] {
        let run = place.run(&["stretch", bad]);
        assert_eq!(run.code, 2, "{run:?}");
        let steers = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
        assert!(!run.err.contains(steers), "{:?}", run.err);
    }
    let run = place.run(&["stretch", "--nights", "3", "--habit", "showers=1e308"]);
    assert_eq!(run.code, 2, "{run:?}");
    assert!(run.err.contains("N from 0 to 1000"), "{run:?}");
}
