//! Writing down, taking back, and what must never be lost or written.

use crate::place::Place;
use std::io::{BufRead, BufReader};
use std::process::Stdio;

fn standing(place: &Place) -> usize {
    place.run(&["journal", "--json"]).json()["entries"].as_array().unwrap().len()
}

#[test]
fn what_is_said_back_can_be_said_again() {
    for words in [
        "2 showers, dishes, fresh 60%",
        "filled fresh to full, filled diesel 2 L, emptied grey",
        "camp Candle Rocks",
        "camp 47.3,-1.9",
        "aboard 4",
        "drive 35 km, drive 1 h",
        "laptop work 2.5 h",
        "note the kettle leaks",
    ] {
        let place = Place::demo();
        let first = place.done(&["log", words]);
        let echo = first.strip_prefix("saved: ").unwrap_or_else(|| panic!("{first}")).trim_end();
        let again = place.run(&["log", echo]);
        assert_eq!((again.code, &again.out), (0, &first), "{words:?} said back as {echo:?}");
        // What takes something is pointed at where it is said twice in a row.
        let takes = !["camp", "aboard", "note"].iter().any(|verb| words.starts_with(verb));
        assert_eq!(again.err.contains("already noted at 21:05"), takes, "{again:?}");
    }
}

#[test]
fn words_need_no_quotes_even_west_of_greenwich() {
    let place = Place::demo();
    let quoted = place.done(&["log", "camp 47.3, -1.9"]);
    assert_eq!(place.done(&["log", "camp", "47.3,", "-1.9"]), quoted);
    assert_eq!(place.done(&["log", "2", "showers,", "dishes"]), "saved: 2 showers, dishes\n");
}

/// What is put back is what stands then: the last word on it.
#[test]
fn what_is_put_back_is_said_as_it_was_corrected() {
    let place = Place::fresh("family");
    let at = |hour: u32| format!("--at=2026-07-01T{hour}:00:00+02:00");
    let say = |words: &[&str], hour: u32| place.done(&[words, &[&at(hour)]].concat());
    say(&["log", "filled diesel 5 L"], 18);
    let listed = place.run(&["journal", "--json", &at(18)]).json();
    let id = listed["entries"][0]["id"].as_str().unwrap().to_string();
    say(&["correct", &id, "filled diesel 3 L"], 19);
    let diesel = "filled diesel 3 L today 18:00\n";
    assert_eq!(say(&["retract", &id], 20), format!("took back: {diesel}"));
    assert!(say(&["journal", "--retracted"], 20).contains("filled diesel 3 L  [taken back"));
    assert_eq!(say(&["restore", &id], 21), format!("put back: {diesel}"));
    say(&["retract", &id], 21);
    assert_eq!(say(&["redo"], 22), format!("put back: {diesel}"));
}

#[test]
fn undo_and_redo_walk_back_and_forth() {
    let place = Place::fresh("family");
    let at = |hour: u32| format!("--at=2026-07-01T{hour}:00:00+02:00");
    let say = |words: &[&str], hour: u32| place.done(&[words, &[&at(hour)]].concat());
    say(&["log", "shower"], 18);
    say(&["log", "2 dishes"], 19);
    assert_eq!(standing_at(&place, &at(20)), 2);
    assert_eq!(say(&["undo"], 20), "took back: 2 dishes today 19:00\n");
    assert_eq!(standing_at(&place, &at(20)), 1);
    assert_eq!(say(&["undo"], 20), "took back: shower today 18:00\n");
    assert_eq!(standing_at(&place, &at(20)), 0);
    assert_eq!(place.run(&["undo", &at(20)]).code, 1);
    assert_eq!(say(&["redo"], 21), "put back: shower today 18:00\n");
    assert_eq!(say(&["redo"], 21), "put back: 2 dishes today 19:00\n");
    assert_eq!(standing_at(&place, &at(21)), 2);
    assert_eq!(place.run(&["redo", &at(21)]).code, 1);
    // Nothing is ever removed: two entries, two undos, two redos.
    let records = say(&["export", "jsonl"], 21);
    let of_us = records.lines().filter(|line| line.contains("\"id\""));
    assert_eq!(of_us.count(), 6, "{records}");
}

fn standing_at(place: &Place, at: &str) -> usize {
    place.run(&["journal", "--json", at]).json()["entries"].as_array().unwrap().len()
}

#[test]
fn refused_words_are_pointed_at_and_nothing_is_written() {
    let place = Place::demo();
    let before = place.files();
    let run = place.run(&["log", "2 showers, 3 flurbs, dishes"]);
    assert_eq!((run.code, run.out.as_str()), (2, ""));
    let lines: Vec<&str> = run.err.lines().collect();
    let shown = lines.iter().position(|l| l.contains("2 showers, 3 flurbs, dishes")).unwrap();
    let marks = lines[shown + 1];
    let (from, to) = (marks.find('^').unwrap(), marks.rfind('^').unwrap());
    assert_eq!(&lines[shown][from..=to], "flurbs", "{run:?}");
    assert!(lines[0].starts_with("waystock: flurbs: "), "{run:?}");
    let way = "Nothing was saved. One of these would be: `2 showers, dishes, note 3 flurbs` or `note \
               2 showers, 3 flurbs, dishes`";
    assert_eq!(*lines.last().unwrap(), way);
    assert_eq!(place.files(), before);
    assert!(!place.state().exists(), "no device was made either");
}

/// Marks stand under their word however wide the characters before it are.
#[test]
fn marks_stand_under_the_word() {
    let run = Place::demo().run(&["log", "shower \"朝の水\" , flurbs"]);
    assert_eq!(run.code, 2, "{run:?}");
    let lines: Vec<&str> = run.err.lines().collect();
    let marks = lines.iter().position(|l| l.trim_start().starts_with('^')).unwrap();
    let width = |text: &str| unicode_width::UnicodeWidthStr::width(text);
    let blank = lines[marks].len() - lines[marks].trim_start().len();
    let word = lines[0].split(": ").nth(1).unwrap();
    let before = lines[marks - 1].split(word).next().unwrap();
    assert_eq!(blank, width(before), "{run:?}");
}

/// Killed the moment it said "saved": the entry is there.
#[test]
fn saved_means_saved() {
    let place = Place::demo();
    for n in 2..7 {
        let words = format!("{n} showers");
        let mut command = place.command(&["log", &words]);
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let _ = child.kill();
        child.wait().unwrap();
        assert_eq!(line, format!("saved: {words}\n"));
        assert!(place.done(&["journal"]).contains(&format!("{words}  ")), "{words}");
    }
    assert_eq!(place.run(&["check"]).code, 0);
}

#[test]
fn many_at_once_lose_nothing() {
    let place = Place::demo();
    let before = standing(&place);
    let children: Vec<_> = (0..6)
        .map(|_| {
            let mut command = place.command(&["log", "dishes"]);
            command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap()
        })
        .collect();
    let codes: Vec<_> = children.into_iter().map(|mut c| c.wait().unwrap().code()).collect();
    assert_eq!(codes, [Some(0); 6]);
    assert_eq!(standing(&place), before + 6);
    assert_eq!(place.run(&["check"]).code, 0);
}

#[test]
fn hostile_words_are_shown_harmless() {
    let place = Place::demo();
    let hostile = "beware\u{1b}[2J\u{1b}]0;owned\u{7}\u{9b}31m\u{202e}gnihton\u{200b}";
    let row = format!("2026-10-20T20:00:00-02:30,note,,,,,,\"{hostile}\",\n");
    let rows = format!("at,kind,what,amount,unit,step,after,note,recorded\n{row}");
    assert_eq!(place.fed(&["import", "-"], &rows).code, 0);
    for arguments in [vec!["journal"], vec!["journal", "--json"], vec!["forecast"], vec!["check"]] {
        let out = place.done(&arguments);
        let bad = |c: char| c != '\n' && (c.is_control() || "\u{202e}\u{200b}".contains(c));
        assert!(!out.contains(bad), "{arguments:?}");
    }
    assert!(place.done(&["journal"]).contains("beware^[[2J"));
    // As data it is what was written, to the letter.
    let json = place.run(&["journal", "--json"]).json();
    let words = json["entries"].as_array().unwrap().iter().map(|e| e["words"].as_str().unwrap());
    assert!(words.into_iter().any(|w| w.contains("beware")));
    let refused = place.run(&["log", hostile]);
    assert_eq!(refused.code, 2);
    assert!(!refused.err.contains('\u{1b}') && !refused.err.contains('\u{9b}'), "{refused:?}");
}

#[test]
fn journal_since_begins_there() {
    let place = Place::demo();
    let all = place.run(&["journal", "--json"]).json();
    let since = "2026-10-18T12:00:00-02:30";
    let part = place.run(&["journal", "--json", "--since", since]).json();
    let moment = |e: &serde_json::Value| -> chrono::DateTime<chrono::FixedOffset> {
        e["at"].as_str().unwrap().parse().unwrap()
    };
    let from = since.parse::<chrono::DateTime<chrono::FixedOffset>>().unwrap();
    let wanted: Vec<_> =
        all["entries"].as_array().unwrap().iter().filter(|e| moment(e) >= from).collect();
    let found: Vec<_> = part["entries"].as_array().unwrap().iter().collect();
    assert!(!found.is_empty() && found.len() < all["entries"].as_array().unwrap().len());
    assert_eq!(found, wanted);
    assert!(found.is_sorted_by_key(|e| moment(e)), "newest last");
    let lines = place.done(&["journal", "--since", since]);
    assert_eq!(lines.lines().count(), found.len());
    for entry in found {
        assert!(lines.contains(entry["id"].as_str().unwrap()), "every line has its id");
    }
}

#[test]
fn one_dump_of_the_demo_was_logged_twice() {
    let place = Place::demo();
    let twins: Vec<String> = place
        .done(&["journal"])
        .lines()
        .filter(|line| line.contains("possible twin"))
        .map(String::from)
        .collect();
    // Two sisters showered one after the other, too.
    assert_eq!(twins.len(), 4, "{twins:?}");
    assert_eq!(twins.iter().filter(|line| line.contains("emptied grey")).count(), 2, "{twins:?}");
    assert!(place.done(&["check"]).contains("them): 2"));
}

#[test]
fn the_rig_file_is_never_touched() {
    let place = Place::demo();
    let rig = place.data().join("rig.ron");
    let (text, before) = (std::fs::read(&rig).unwrap(), std::fs::metadata(&rig).unwrap());
    for arguments in [
        vec!["log", "shower"],
        vec!["undo"],
        vec!["redo"],
        vec!["next"],
        vec!["forecast"],
        vec!["why", "fresh"],
        vec!["journal"],
        vec!["check"],
        vec!["export", "csv"],
        vec!["init", "--from-template", "family"],
        vec!["import", "-"],
    ] {
        place.run(&arguments);
    }
    let after = std::fs::metadata(&rig).unwrap();
    assert_eq!(std::fs::read(&rig).unwrap(), text);
    assert_eq!(after.modified().unwrap(), before.modified().unwrap());
}

#[test]
fn reading_changes_no_byte() {
    let place = Place::demo();
    let before = place.files();
    for arguments in [
        vec!["next"],
        vec!["forecast"],
        vec!["why", "fresh"],
        vec!["journal"],
        vec!["check"],
        vec!["export", "csv"],
        vec!["export", "jsonl"],
        vec!["export", "outlook"],
        vec!["demo"],
    ] {
        place.done(&arguments);
    }
    assert_eq!(place.files(), before);
    assert!(!place.state().exists(), "reading leaves nothing on the machine either");
}
