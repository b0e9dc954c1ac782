//! One test per exit code of the contract, each from the situation that people meet.

use crate::place::{EVENING, LATER, Place};

#[test]
fn code_0_done() {
    let demo = Place::demo();
    for arguments in [
        vec!["next"],
        vec!["forecast"],
        vec!["why", "fresh"],
        vec!["why", "clean", "clothes"],
        vec!["why", "waste water"],
        vec!["journal"],
        vec!["check"],
        vec!["export", "csv"],
        vec!["export", "jsonl"],
        vec!["export", "outlook"],
        vec!["init", "--list-templates"],
        vec!["--version"],
        vec!["--help"],
        vec!["demo"],
        vec![],
    ] {
        assert!(!demo.done(&arguments).is_empty(), "{arguments:?}");
    }
}

#[test]
fn code_1_the_answer_is_no() {
    let place = Place::fresh("two-berth");
    let undo = place.run(&["undo"]);
    assert_eq!((undo.code, undo.out.as_str()), (1, ""), "{undo:?}");
    assert!(undo.err.contains("nothing to take back"), "{undo:?}");
    assert_eq!(place.run(&["redo"]).code, 1);

    let rig = std::fs::read_to_string(place.data().join("rig.ron")).unwrap();
    place.write("data/rig.ron", &rig.replace("capacity: 96", "capacity: -96"));
    let check = place.run(&["check"]);
    assert_eq!(check.code, 1, "{check:?}");
    assert!(check.out.contains("rig.ron:"), "file, line and column: {check:?}");
    assert!(check.out.contains("found -96"), "{check:?}");
    assert!(check.out.contains("1 fault"), "{check:?}");
}

#[test]
fn code_1_check_finds_a_damaged_line() {
    let demo = Place::demo();
    let path = demo.data().join("journal/phone.ron");
    let text = std::fs::read_to_string(&path).unwrap();
    let damaged = 1 + text.lines().position(|line| line.contains("Away at last")).unwrap();
    std::fs::write(&path, text.replacen("Away at last", "Away at lats", 1)).unwrap();
    let check = demo.run(&["check"]);
    assert_eq!(check.code, 1, "{check:?}");
    assert!(check.out.contains(&format!("journal/phone.ron:{damaged}:")), "{check:?}");
    let whole = text.lines().count() - 1;
    assert!(check.out.contains(&format!("{whole} records, 1 line skipped")), "{check:?}");
    // One bad line never hides the rest.
    assert_eq!(demo.run(&["next"]).code, 0);
}

#[test]
fn code_2_wrong_usage() {
    let demo = Place::demo();
    let before = demo.files();
    for arguments in [
        vec!["log"],
        vec!["log", "2 showets"],
        vec!["frobnicate"],
        vec!["why"],
        vec!["why", "champagne"],
        vec!["next", "--at", "tomorrow"],
        vec!["next", "--at", "2026-10-20T21:05:00"],
        vec!["next", "--lives", "3"],
        vec!["export", "pdf"],
        vec!["journal", "--since", "blursday"],
    ] {
        let run = demo.run(&arguments);
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{arguments:?}: {run:?}");
        assert!(!run.err.is_empty(), "{arguments:?}");
    }
    assert_eq!(demo.files(), before, "nothing was written");
    let unknown = Place::bare().run(&["init", "--from-template", "castle"]);
    assert_eq!(unknown.code, 2);
    assert!(unknown.err.contains("two-berth, family, no-solar, black-tank"), "{unknown:?}");
    let nobody = Place::bare().run(&["init"]);
    assert_eq!(nobody.code, 2);
    assert!(nobody.err.contains("--from-template NAME"), "{nobody:?}");
}

#[test]
fn code_65_bad_input_data() {
    let demo = Place::demo();
    let before = demo.files();
    let rows = "at,kind,what,amount,unit\n\
                2026-10-20T20:00:00-02:30,use,shower,1,times\n\
                2026-10-20T20:00:00-02:30,use,sauna,1,times\n\
                2026-10-20T20:00:00,use,shower,1,times\n\
                2026-10-20T20:00:00-02:30,level,fresh,NaN,%\n";
    let file = demo.write("rows.csv", rows);
    let run = demo.run(&["import", &file]);
    assert_eq!((run.code, run.out.as_str()), (65, ""), "{run:?}");
    for line in ["3", "4", "5"] {
        let named = run.err.lines().any(|l| l.contains("rows.csv") && l.contains(line));
        assert!(named, "line {line}: {run:?}");
    }
    assert!(run.err.contains("Nothing of this file was imported."), "{run:?}");
    assert_eq!(demo.files(), before, "all or nothing");
    std::fs::write(demo.root().join("bytes.csv"), b"at,kind\n\xff\xfe").unwrap();
    let bytes = demo.root().join("bytes.csv");
    assert_eq!(demo.run(&["import", bytes.to_str().unwrap()]).code, 65);
    demo.write("data/rig.ron", "(format: 1, van: \"x\"");
    assert_eq!(demo.run(&["next"]).code, 65);
}

#[test]
fn code_66_nothing_there() {
    let bare = Place::bare();
    for arguments in [vec!["next"], vec!["log", "shower"], vec!["check"], vec![]] {
        let run = bare.run(&arguments);
        assert_eq!((run.code, run.out.as_str()), (66, ""), "{arguments:?}: {run:?}");
        assert!(run.err.contains("waystock init"), "it says how to start: {run:?}");
    }
    assert!(!bare.data().exists(), "asking makes no folder");
    let run = Place::demo().run(&["import", "no-such-file.csv"]);
    assert_eq!(run.code, 66, "{run:?}");
}

#[test]
fn code_73_cannot_create() {
    let demo = Place::demo();
    let before = demo.files();
    let again = demo.run(&["init", "--from-template", "family"]);
    assert_eq!(again.code, 73, "{again:?}");
    assert!(again.err.contains("left as it is"), "{again:?}");
    assert_eq!(demo.files(), before);
    let place = Place::bare();
    let file = place.write("a-file", "no folder");
    let under = format!("{file}/data");
    let run = place.run(&["init", "--from-template", "family", "--dir", &under]);
    assert_eq!(run.code, 73, "{run:?}");
}

#[cfg(target_os = "linux")]
#[test]
fn code_74_output_that_cannot_be_written() {
    use std::process::Stdio;
    let demo = Place::demo();
    for arguments in
        [vec!["journal"], vec!["next"], vec!["forecast", "--json"], vec!["export", "csv"]]
    {
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let mut command = demo.command(&arguments);
        let output = command.stdout(Stdio::from(full)).output().unwrap();
        let errors = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(74), "{arguments:?}: {errors}");
        assert!(errors.contains("cannot write"), "{errors}");
    }
}

/// What was saved is saved, even where saying so fails.
#[cfg(target_os = "linux")]
#[test]
fn code_74_says_that_the_entry_is_saved() {
    use std::process::Stdio;
    let demo = Place::demo();
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = demo.command(&["log", "3 dishes"]).stdout(Stdio::from(full)).output().unwrap();
    assert_eq!(output.status.code(), Some(74));
    assert!(demo.done(&["journal"]).contains("3 dishes"));
    let errors = String::from_utf8_lossy(&output.stderr).to_string();
    assert!(errors.contains("Saved all the same"), "{errors}");
}

#[test]
fn code_75_busy() {
    let demo = Place::demo();
    demo.done(&["log", "shower"]);
    let before = demo.files();
    let locks = std::fs::read_dir(demo.state()).unwrap().map(|e| e.unwrap().path());
    let lock = locks.into_iter().find(|p| p.extension().is_some_and(|e| e == "lock")).unwrap();
    let held = std::fs::OpenOptions::new().append(true).open(lock).unwrap();
    held.lock().unwrap();
    let run = demo.run(&["log", "dishes"]);
    assert_eq!((run.code, run.out.as_str()), (75, ""), "{run:?}");
    assert!(run.err.contains("Nothing was written. Try again."), "{run:?}");
    assert_eq!(demo.files(), before);
    // Reading goes on meanwhile.
    assert_eq!(demo.run(&["next"]).code, 0);
    held.unlock().unwrap();
    assert_eq!(demo.run(&["log", "dishes"]).code, 0);
}

#[test]
fn code_76_written_by_a_newer_version() {
    let demo = Place::demo();
    let body = "(v:9,id:\"tablet-1-0000cafe\",moon:\"waxing\"";
    let line = format!("{body},crc:0x{:08x})\n", crc32fast::hash(body.as_bytes()));
    demo.write("data/journal/tablet.ron", &line);
    let before = demo.files();
    for arguments in [vec!["log", "shower"], vec!["import", "-"]] {
        let rows = format!("at,kind,what,amount,unit\n{EVENING},use,shower,1,times\n");
        let run = demo.fed(&arguments, &rows);
        assert_eq!((run.code, run.out.as_str()), (76, ""), "{arguments:?}: {run:?}");
        assert!(run.err.contains("update this program"), "{run:?}");
    }
    assert_eq!(demo.files(), before, "read, not written");
    assert_eq!(demo.run(&["next"]).code, 0);
    let place = Place::fresh("family");
    let rig = std::fs::read_to_string(place.data().join("rig.ron")).unwrap();
    place.write("data/rig.ron", &rig.replace("format: 1", "format: 2"));
    assert_eq!(place.run(&["next"]).code, 76);
    assert_eq!(place.run(&["check"]).code, 76);
}

/// The superuser may write everywhere, so the program is run as somebody else then.
#[cfg(target_os = "linux")]
#[test]
fn code_77_no_permission() {
    use crate::place::finish;
    use std::os::unix::fs::PermissionsExt;
    use std::os::unix::process::CommandExt;
    let place = Place::fresh("family");
    let mode = |path: &std::path::Path, mode: u32| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    mode(place.root(), 0o755);
    mode(&place.data(), 0o555);
    mode(&place.data().join("rig.ron"), 0o444);
    let superuser = std::fs::create_dir(place.data().join("probe")).is_ok();
    let mut command = place.command(&["log", "shower"]);
    if superuser {
        std::fs::remove_dir(place.data().join("probe")).unwrap();
        let program = place.root().join("waystock");
        std::fs::copy(env!("CARGO_BIN_EXE_waystock"), &program).unwrap();
        mode(&program, 0o755);
        let mut other = std::process::Command::new(&program);
        other.args(["log", "shower"]).env_clear().uid(65_534).gid(65_534);
        other.env("HOME", place.root()).env("WAYSTOCK_DIR", place.data());
        command = other;
    }
    let run = finish(command);
    mode(&place.data(), 0o755);
    assert_eq!((run.code, run.out.as_str()), (77, ""), "{run:?}");
    assert!(run.err.contains("no permission"), "{run:?}");
}

/// `--at` does not excuse from being a moment that the folder knows.
#[test]
fn every_message_goes_to_standard_error() {
    let demo = Place::demo();
    demo.done(&["log", "shower", "--at", LATER]);
    let path = demo.data().join("journal/laptop.ron");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.clone() + "(half a line\n").unwrap();
    let run = demo.run(&["forecast"]);
    assert_eq!(run.code, 0);
    assert_eq!(run.err, "1 line of the journal could not be read: waystock check\n");
    let damaged = format!("journal/laptop.ron:{}:", text.lines().count() + 1);
    assert!(demo.run(&["check"]).out.contains(&damaged), "where it is");
    assert!(!run.out.contains("laptop.ron"), "{run:?}");
}
