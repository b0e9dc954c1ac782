//! `stretch`, `stops`, the calendar, the sheet and the import of places, run as a program on
//! copies of the demo.

#![allow(clippy::disallowed_methods, reason = "the tests copy the demo and read what was written")]

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

struct Copy {
    whole: tempfile::TempDir,
}

impl Copy {
    fn new() -> Copy {
        let whole = tempfile::tempdir().unwrap();
        let copy = Copy { whole };
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
        std::fs::create_dir_all(copy.dir().join("journal")).unwrap();
        for name in ["rig.ron", "places.ron", "journal/laptop.ron", "journal/phone.ron"] {
            std::fs::copy(demo.join(name), copy.dir().join(name)).unwrap();
        }
        copy
    }

    fn dir(&self) -> PathBuf {
        self.whole.path().join("van")
    }

    fn run(&self, words: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_waystock"))
            .arg("--dir")
            .arg(self.dir())
            .args(["--lives", "400"])
            .args(words)
            .env("XDG_STATE_HOME", self.whole.path().join("state"))
            .env("HOME", self.whole.path())
            .output()
            .unwrap()
    }

    fn json(&self, words: &[&str]) -> (i32, Value) {
        let output = self.run(&[words, &["--json"]].concat());
        let text = String::from_utf8(output.stdout).unwrap();
        (output.status.code().unwrap(), serde_json::from_str(&text).unwrap())
    }
}

fn text(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

#[test]
fn a_stretch_says_yes_or_no_with_its_exit_code() {
    let copy = Copy::new();
    let yes = copy.run(&["stretch", "--nights", "1"]);
    assert_eq!(yes.status.code(), Some(0));
    assert!(text(&yes).starts_with("Yes, 1 night works"), "{}", text(&yes));
    let no = copy.run(&["stretch", "--nights", "4", "--all"]);
    assert_eq!(no.status.code(), Some(1));
    let said = text(&no);
    for part in [
        "No, 4 nights do not work",
        "Or, before you go",
        "What buys time",
        "Kept back, whatever",
        "15 L of fresh",
        "An estimate",
    ] {
        assert!(said.contains(part), "{part} is missing in {said}");
    }
    // Four nights empty nothing; of five one has to.
    let waste = "only where local rules allow it";
    assert!(!said.contains(waste));
    assert!(text(&copy.run(&["stretch", "--nights", "5"])).contains(waste));
    assert!(!said.contains('\u{1b}'));
    assert_eq!(
        text(&copy.run(&["stretch", "--nights", "4", "--all"])),
        said,
        "not the same bytes twice"
    );
}

#[test]
fn a_stretch_as_json() {
    let copy = Copy::new();
    let (code, value) = copy.json(&["stretch", "--nights", "3", "--crew", "2"]);
    assert_eq!((code, &value["schema"]), (1, &"waystock.stretch/1".into()));
    assert_eq!(value["works"], false);
    assert_eq!(value["aboard"], 2.0);
    assert_eq!(value["until"], "2026-10-23T10:00:00-02:30");
    assert_eq!(value["stocks"].as_array().unwrap().len(), 10);
    assert!(value["before"]["steps"].as_array().is_some_and(|steps| !steps.is_empty()));
    // Best first: by the share of futures in whole percent, then by hours.
    let brings = |c: &Value| {
        let number = |name: &str| c[name].as_f64().unwrap();
        ((number("gain") * 100.0).round(), number("hours"))
    };
    let choices = value["choices"].as_array().unwrap();
    assert!(choices.windows(2).all(|pair| brings(&pair[0]) >= brings(&pair[1])), "{choices:?}");
    let (code, full) = copy.json(&["stretch", "--nights", "3", "--fill-first"]);
    assert_eq!((code, &full["works"]), (0, &Value::Bool(true)));
    assert_eq!(full["before"], Value::Null);
}

#[test]
fn a_choice_is_made_by_its_words_and_gives_what_it_said() {
    let copy = Copy::new();
    let asked = ["stretch", "--nights", "6", "--fill-first"];
    let (code, plain) = copy.json(&asked);
    assert_eq!(code, 1);
    let choice = &plain["choices"][0];
    let words = choice["words"].as_str().unwrap();
    let (_, with) = copy.json(&[&asked[..], &["--with", words]].concat());
    assert_eq!(with["with"][0], words);
    assert_eq!(with["probability"], choice["probability"], "{words}");
    // Words that fit several choices are refused, with those that they fit and one that is right.
    let unclear = copy.run(&[&asked[..], &["--with", "laptop"]].concat());
    assert_eq!(unclear.status.code(), Some(2));
    let said = String::from_utf8(unclear.stderr).unwrap();
    assert!(said.contains("\"laptop\" fits 3 choices: one hour of laptop work"), "{said}");
    let hint = said.split("--with \"").nth(1).and_then(|rest| rest.split('"').next()).unwrap();
    assert!(copy.run(&[&asked[..], &["--with", hint]].concat()).status.code() < Some(2));
    let strange = copy.run(&[&asked[..], &["--with", "a\u{1b}[31m\u{202e}b"]].concat());
    let said = String::from_utf8(strange.stderr).unwrap();
    assert!(said.contains("--with: found") && !said.contains(['\u{1b}', '\u{202e}']), "{said}");
    // All of the smallest set together.
    let together = &plain["together"];
    let set: Vec<&str> =
        together["choices"].as_array().unwrap().iter().map(|c| c.as_str().unwrap()).collect();
    let made: Vec<&str> = set.iter().flat_map(|words| ["--with", words]).collect();
    let (code, with) = copy.json(&[&asked[..], &made].concat());
    assert_eq!(with["probability"], together["probability"], "{set:?}");
    assert_eq!(code == 0, together["works"] == true);
    // A habit of the crew's own choosing.
    let (_, dry) =
        copy.json(&[&asked[..], &["--habit", "showers=0", "--habit", "dishes=0"]].concat());
    let fresh = |value: &Value| value["stocks"][0]["end"].as_f64().unwrap();
    assert!(fresh(&dry) > fresh(&plain) + 10.0);
}

#[test]
fn wrong_words_name_the_flag_and_write_nothing() {
    let copy = Copy::new();
    for (words, part) in [
        (vec!["stretch"], "--nights"),
        (vec!["stretch", "--nights", "0"], "--nights"),
        (vec!["stretch", "--nights", "two"], "--nights"),
        (vec!["stretch", "--nights", "4000"], "1..=45"),
        (vec!["stretch", "--nights", "2", "--place", "4,181"], "--place"),
        (vec!["stretch", "--nights", "2", "--from", "blursday"], "--from"),
        (vec!["stretch", "--nights", "2", "--from", "2020-01-01"], "--from"),
        (vec!["stretch", "--nights", "2", "--place", "Nowhere"], "--place"),
        (vec!["stretch", "--nights", "2", "--place", "91,0"], "--place"),
        (vec!["stretch", "--nights", "2", "--crew", "NaN"], "--crew"),
        (vec!["stops", "--days", "2", "--crew", "-1"], "--crew"),
        (vec!["stretch", "--nights", "2", "--habit", "naps=2"], "--habit"),
        (vec!["stretch", "--nights", "2", "--habit", "showers=-1"], "--habit"),
        (vec!["stretch", "--nights", "2", "--with", "fewer naps"], "--with"),
        (vec!["stretch", "--nights", "2", "--confidence", "100"], "--confidence"),
        (vec!["stops", "--days", "400"], "--days"),
        (vec!["stops", "--days", "4", "--camp", "Sorrel Head"], "--camp"),
        (vec!["stops", "--days", "4", "--camp", "friday=Nowhere"], "--camp"),
        (vec!["stops", "--days", "4", "--camp", "blursday=Sorrel Head"], "--camp"),
        (vec!["stops", "--days", "4", "--camp", "tomorrow=-10,100"], "cannot be reached"),
        (
            vec!["stops", "--days", "9", "--camp", "fri=48.7,-53.5", "--camp", "sat=40.7,-74"],
            "\"sat=40.7,-74\" cannot be reached",
        ),
        (vec!["log", "fresh 80 L, grey 10%, fresh 20 L"], "the line says fresh 80 L as well"),
    ] {
        let output = copy.run(&words);
        assert_eq!(output.status.code(), Some(2), "{words:?}");
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(said.contains(part), "{words:?}: {said}");
        assert!(output.stdout.is_empty());
    }
    assert_eq!(std::fs::read_dir(copy.dir().join("journal")).unwrap().count(), 2);
}

#[test]
fn stops_are_planned_saved_and_then_counted_on() {
    let copy = Copy::new();
    let (_, before) = copy.json(&["forecast"]);
    let (_, stretch_before) = copy.json(&["stretch", "--nights", "3"]);
    let (code, value) = copy.json(&["stops", "--days", "7", "--save"]);
    assert_eq!((code, &value["schema"]), (0, &"waystock.stops/1".into()));
    assert!(value["probability"].as_f64().unwrap() >= 0.9);
    let stops = value["stops"].as_array().unwrap();
    assert!(!stops.is_empty());
    for stop in stops {
        assert!(stop["leave_by"].as_str() < stop["at"].as_str());
        assert!(stop["services"].as_array().unwrap().iter().any(|s| s["needed"] == true));
    }
    assert!(value["saved"].as_u64().unwrap() >= 2 * stops.len() as u64);
    let journal = text(&copy.run(&["journal"]));
    assert!(journal.contains("plan"), "{journal}");
    // What was saved is part of the next plan, the battery's hook-up too: nothing more to do.
    let (code, again) = copy.json(&["stops", "--days", "7"]);
    assert_eq!((code, again["stops"].as_array().unwrap().len()), (0, 0), "{again}");
    assert!(again["probability"].as_f64().unwrap() >= 0.9);
    // Where the next stop can be, and by when, is said as if nobody made the saved ones.
    assert_eq!(again["leads"], value["leads"]);
    let planned = again["planned"].as_array().unwrap();
    assert_eq!(planned.len(), stops.len());
    let serviced = |stop: &Value| {
        let mut names: Vec<String> = stop["services"]
            .as_array()
            .unwrap()
            .iter()
            .map(|s| s["stock"].as_str().unwrap().to_string())
            .collect();
        names.sort();
        names
    };
    for (planned, stop) in planned.iter().zip(stops) {
        assert_eq!(planned["at"], stop["at"]);
        let names = planned["stocks"].as_array().unwrap().iter();
        let mut names: Vec<String> = names.map(|n| n.as_str().unwrap().to_string()).collect();
        names.sort();
        assert_eq!(names, serviced(stop));
    }
    assert!(text(&copy.run(&["stops", "--days", "7"])).contains("Saved or planned already"));
    // The forecast says what happens if nobody services anything, the saved stops left out
    // altogether: half of a stop (its hook-up, its drive) would make the date too late. It names
    // the stops beside.
    let (_, after) = copy.json(&["forecast"]);
    assert_eq!(after["next"], before["next"]);
    // One rule for all of them: a saved stop that nobody has confirmed counts as not made.
    let (_, stretch) = copy.json(&["stretch", "--nights", "3"]);
    assert_eq!(stretch, stretch_before);
    assert_eq!(after["stocks"], before["stocks"]);
    assert_eq!(after["planned_stops"].as_array().unwrap().len(), stops.len());
    assert!(text(&copy.run(&["forecast"])).contains("Saved stop: "));
    // A calendar and a sheet keep the stops that were saved.
    // Long lines of a calendar are folded.
    let calendar = text(&copy.run(&["export", "ics", "--days", "7"])).replace("\r\n ", "");
    assert_eq!(calendar.matches(": stop at ").count(), stops.len(), "{calendar}");
    let next = text(&copy.run(&["next"]));
    // "be at a stop by Thu 22 Oct 23:00 (in 2 days": the first date is the safe one.
    let by: Vec<&str> = next.split_whitespace().skip(5).take(4).collect();
    let long = ["Thursday", "Friday"].into_iter().find(|day| day.starts_with(by[0])).unwrap();
    let (day, clock) = (format!("{long} {} October", by[1]), by[3]);
    assert!(calendar.contains(&format!("{day}\\, {clock}")), "{clock} {calendar}");
    let pinned = text(&copy.run(&["export", "sheet", "--days", "7"]));
    assert!(pinned.contains(&format!("by {day}, {clock}")), "{pinned}");
    let sheet = text(&copy.run(&["export", "sheet", "--days", "7"]));
    assert_eq!(sheet.matches(" (saved)").count(), stops.len(), "{sheet}");
    assert!(sheet.contains("[ ] empty grey") && calendar.contains("[ ] empty grey"), "{sheet}");
}

#[test]
fn a_saved_schedule_is_taken_back_and_put_back_in_one_step() {
    let copy = Copy::new();
    copy.run(&["log", "1 shower"]);
    let journal = text(&copy.run(&["journal"]));
    let (code, value) = copy.json(&["stops", "--days", "7", "--save"]);
    assert_eq!(code, 0);
    let saved = value["saved"].as_u64().unwrap();
    let planned = text(&copy.run(&["journal"]));
    assert_ne!(planned, journal);
    let undo = text(&copy.run(&["undo"]));
    assert_eq!(undo, format!("took back: a saved schedule, {saved} planned entries\n"));
    assert_eq!(text(&copy.run(&["journal"])), journal);
    let redo = text(&copy.run(&["redo"]));
    assert_eq!(redo, format!("put back: a saved schedule, {saved} planned entries\n"));
    assert_eq!(text(&copy.run(&["journal"])), planned);
    // Part of it taken back already: the rest goes in one step, and then the shower before it.
    let (_, undo) = copy.json(&["undo"]);
    assert_eq!(undo["ids"].as_array().unwrap().len() as u64, saved);
    assert!(text(&copy.run(&["undo"])).contains("shower"));
}

#[test]
fn a_stretch_that_begins_too_late_says_so() {
    let copy = Copy::new();
    let late = text(&copy.run(&["stretch", "--nights", "3", "--from", "sunday", "--all"]));
    assert!(late.contains("may be out before it begins"), "{late}");
    assert!(late.contains("90 % sure: none"), "{late}");
    assert!(!late.contains("nothing before"), "{late}");
}

#[test]
fn a_stretch_beyond_sight_is_refused() {
    let copy = Copy::new();
    let far = copy.run(&["stretch", "--nights", "3", "--from", "2026-12-20"]);
    assert_eq!(far.status.code(), Some(2));
    let said = String::from_utf8(far.stderr).unwrap();
    assert!(said.contains("found a last morning on Wed 23 Dec, expected Sat 19 Dec"), "{said}");
    let near = copy.run(&["stretch", "--nights", "1", "--from", "2026-12-17"]);
    assert!(near.status.code() < Some(2), "{near:?}");
}

#[test]
fn an_itinerary_of_camps_is_driven_from() {
    let copy = Copy::new();
    let km = |value: &Value| value["stops"][0]["km"].as_f64().unwrap();
    let (_, stay) = copy.json(&["stops", "--days", "4", "--stay"]);
    // A camp beside the harbour: hardly a drive.
    let (_, near) = copy.json(&["stops", "--days", "4", "--camp", "today=48.87,-54.06"]);
    assert!(km(&near) < km(&stay) - 20.0, "{} {}", km(&near), km(&stay));
}

#[test]
fn bad_places_are_named_by_file_line_and_field() {
    let copy = Copy::new();
    let file = copy.dir().join("places.ron");
    for (place, parts) in [
        ("latitude: 95, longitude: 1", vec!["places.ron:3:", "latitude", "-90 to 90"]),
        ("latitude: 5, longitude: -181", vec!["places.ron:3:", "longitude", "-180 to 180"]),
        ("latitude: 5, longitude: 1, services: [\"watr\"]", vec!["places.ron:3:", "water"]),
        (
            "latitude: 5, longitude: 1, opens: \"17:00\", closes: \"9:00\"",
            vec!["places.ron:3:", "closes", "after opens"],
        ),
        ("latitude: 5, longitude: 1, opens: \"25:00\"", vec!["places.ron:3:", "opens"]),
        ("latitude: 5, longitude: 1, cost: -2", vec!["places.ron:3:", "cost"]),
        ("latitude: 5, longitude: 1, prices: [(stock: \"diesel\", each: -1)]", vec!["each"]),
    ] {
        let text = format!("(format: 1,\nplaces: [\n(name: \"Rook stair\", {place}),\n])");
        std::fs::write(&file, text).unwrap();
        let output = copy.run(&["stops", "--days", "3", "--save"]);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(65), "{place}: {said}");
        for part in parts {
            assert!(said.contains(part), "{place}: {part} is missing in {said}");
        }
        assert!(output.stdout.is_empty());
    }
    let camps = "(format: 1, places: [(name: \"Rook stair\", latitude: 5, longitude: 1)])";
    std::fs::write(&file, camps).unwrap();
    for (text, part) in [
        (camps, "places.ron:1:22: services in place \"Rook stair\": found none"),
        ("(format: 1,\n  places: [])", "places.ron:2:11: places: found none"),
        (
            "(format: 1,\nplaces: [\n(name: \"Elver pool\", latitude: 5, longitude: 1,\n services: [])])",
            "places.ron:4:12: services in place \"Elver pool\": found none",
        ),
    ] {
        std::fs::write(&file, text).unwrap();
        let output = copy.run(&["stops", "--days", "3", "--save"]);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(66), "{said}");
        assert!(said.contains(part), "{part}: {said}");
    }
    assert_eq!(std::fs::read_dir(copy.dir().join("journal")).unwrap().count(), 2);
}

#[test]
fn when_nothing_works_the_smallest_relaxation_is_named() {
    let copy = Copy::new();
    let places = "(format: 1, places: [(name: \"Oarlock Bay\", latitude: 48.94, longitude: -54.31),
        (name: \"Dry Quay\", latitude: 48.8, longitude: -53.8, services: [\"water\"])])";
    std::fs::write(copy.dir().join("places.ron"), places).unwrap();
    let (code, value) = copy.json(&["stops", "--days", "10"]);
    assert_eq!((code, &value["works"]), (1, &Value::Bool(false)));
    let unserved = value["relaxation"]["unserved"].as_array().unwrap();
    assert!(unserved.iter().any(|s| s == "grey"), "{unserved:?}");
    let said = String::from_utf8(copy.run(&["stops", "--days", "10"]).stderr).unwrap();
    assert!(said.contains("places.ron:1:21: places: found none that sees to"), "{said}");
    assert!(value["relaxation"]["days"].as_u64().is_none_or(|days| days < 10));
    std::fs::remove_file(copy.dir().join("places.ron")).unwrap();
    let none = copy.run(&["stops", "--days", "3"]);
    assert_eq!(none.status.code(), Some(66));
    assert!(String::from_utf8(none.stderr).unwrap().contains("places.ron"));
}

#[test]
fn the_calendar_and_the_sheet() {
    let copy = Copy::new();
    let output = copy.run(&["export", "ics", "--days", "7"]);
    assert_eq!(output.status.code(), Some(0));
    let ics = text(&output);
    assert!(ics.starts_with("BEGIN:VCALENDAR\r\nVERSION:2.0\r\n"));
    assert!(ics.ends_with("END:VCALENDAR\r\n"));
    assert!(ics.matches("BEGIN:VEVENT").count() >= 2, "{ics}");
    assert!(ics.split("\r\n").all(|line| line.len() <= 75 && !line.contains('\n')));
    let sheet = text(&copy.run(&["export", "sheet", "--days", "14"]));
    for part in [
        "Dumpling, as of Tuesday 20 October",
        "Be at a stop by",
        "[ ] ",
        "carbon monoxide",
        "Quillet Harbour",
        "one drain, so people wait",
    ] {
        assert!(sheet.contains(part), "{part} is missing in {sheet}");
    }
    assert!(sheet.lines().all(|line| line.chars().count() <= 76), "{sheet}");
}

/// A stop is in the calendar for as long as its hook-up takes, as the schedule says.
#[test]
fn a_stop_in_the_calendar_lasts_as_long_as_its_hook_up() {
    let copy = Copy::new();
    let (_, value) = copy.json(&["stops", "--days", "4"]);
    let stop = &value["stops"][0];
    let hours = stop["services"].as_array().unwrap().iter().find_map(|s| s["hours"].as_f64());
    let hours = hours.expect("the demo's stops have a hook-up");
    assert!(hours > 1.5, "no longer than any visit");
    let ics = text(&copy.run(&["export", "ics", "--days", "4"])).replace("\r\n ", "");
    let event = ics.split("BEGIN:VEVENT").find(|event| event.contains("UID:stop-")).unwrap();
    let at = |name: &str| {
        let value = event.split("\r\n").find_map(|line| line.strip_prefix(name)).unwrap();
        chrono::NaiveDateTime::parse_from_str(value, "%Y%m%dT%H%M%SZ").unwrap()
    };
    let lasts = (at("DTEND:") - at("DTSTART:")).num_minutes() as f64 / 60.0;
    assert_eq!(lasts, hours);
    assert!(event.contains("[ ] charge battery"), "{event}");
}

/// The elements of a page, in order, with their attributes; fails where it is not well-formed.
fn elements(page: &str) -> Vec<(String, Vec<(String, String)>)> {
    let mut reader = quick_xml::Reader::from_str(page);
    let mut found = Vec::new();
    loop {
        match reader.read_event().expect("well-formed") {
            quick_xml::events::Event::Start(tag) | quick_xml::events::Event::Empty(tag) => {
                let attributes = tag.attributes().map(|a| a.unwrap());
                let attributes =
                    attributes.map(|a| (a.key.as_ref().to_string(), a.value.to_string()));
                found.push((tag.name().as_ref().to_string(), attributes.collect()));
            }
            quick_xml::events::Event::Eof => return found,
            _ => {}
        }
    }
}

#[test]
fn the_page_holds_all_of_the_sheet_and_nothing_that_runs_or_loads() {
    let copy = Copy::new();
    let plain = text(&copy.run(&["export", "sheet", "--days", "4"]));
    let page = text(&copy.run(&["export", "sheet", "--days", "4", "--html"]));
    assert!(page.starts_with("<!DOCTYPE html>\n<html lang=\"en\">"), "{page}");
    assert!(page.contains("<title>Dumpling, as of Tuesday 20 October, 21:05</title>"));
    assert!(page.contains("@page{size:A4;"));
    let letter = copy.run(&["export", "sheet", "--days", "4", "--html", "--paper", "letter"]);
    assert!(text(&letter).contains("@page{size:letter;"));
    // Every box to tick is a list item, every stock a drawing.
    let elements = elements(&page);
    let count = |name: &str| elements.iter().filter(|(own, _)| own == name).count();
    assert_eq!(count("li"), plain.matches("[ ] ").count(), "{page}");
    assert_eq!(count("svg"), 10, "one for each of the demo's stocks");
    for (name, attributes) in &elements {
        assert!(!["script", "link", "img", "iframe", "object", "style "].contains(&name.as_str()));
        for (attribute, value) in attributes {
            assert!(!attribute.starts_with("on") && attribute != "src" && attribute != "href");
            assert!(!value.contains("url("), "{value}");
        }
    }
    // Nothing else takes these words.
    for words in [&["export", "csv", "--html"][..], &["export", "ics", "--paper", "a4"]] {
        assert_eq!(copy.run(words).status.code(), Some(2), "{words:?}");
    }
}

/// What others wrote stays text, whatever it looks like.
#[test]
fn nothing_from_outside_becomes_part_of_the_page() {
    let copy = Copy::new();
    let plain = elements(&text(&copy.run(&["export", "sheet", "--days", "4", "--html"])));
    let file = copy.dir().join("places.ron");
    let places = std::fs::read_to_string(&file).unwrap();
    let hostile = "</p><script>alert(1)</script> &amp; \\\" onload='x'";
    let changed = places.replace("one drain, so people wait", hostile);
    assert_ne!(places, changed);
    std::fs::write(&file, changed).unwrap();
    let page = text(&copy.run(&["export", "sheet", "--days", "4", "--html"]));
    assert!(
        page.contains(
            "&lt;/p&gt;&lt;script&gt;alert(1)&lt;/script&gt; &amp;amp; &quot; onload=&#39;x&#39;"
        ),
        "{page}"
    );
    assert_eq!(elements(&page), plain);
}

#[test]
fn waypoints_come_in_once_and_comments_stay() {
    let copy = Copy::new();
    let file = copy.whole.path().join("bends.txt");
    let gpx = "<?xml version=\"1.0\"?><gpx version=\"1.1\">\n<wpt lat=\"48.7\" lon=\"-53.9\">\
               <name>Cinder \"Slip\"</name><desc>tap, coins</desc></wpt>\n\
               <wpt lat=\"48.9\" lon=\"-54.3\"><name>Oarlock Bay</name></wpt></gpx>";
    std::fs::write(&file, gpx).unwrap();
    let path = file.to_str().unwrap();
    let first = text(&copy.run(&["import", path]));
    assert!(first.contains("imported 1 of 2 places; 1 were there already"), "{first}");
    let written = std::fs::read_to_string(copy.dir().join("places.ron")).unwrap();
    assert!(written.contains("// Camps: nothing but a view."));
    assert!(written.contains("Cinder \\\"Slip\\\"") && written.contains("tap, coins"));
    assert_eq!(copy.run(&["check"]).status.code(), Some(0));
    assert!(text(&copy.run(&["import", path])).contains("imported 0 of 2"));
    assert_eq!(std::fs::read_to_string(copy.dir().join("places.ron")).unwrap(), written);
    std::fs::write(&file, "<gpx>\n\n<wpt lat=\"x\" lon=\"1\"/></gpx>").unwrap();
    let bad = copy.run(&["import", path]);
    assert_eq!(bad.status.code(), Some(65));
    let said = String::from_utf8(bad.stderr).unwrap();
    assert!(said.contains("bends.txt:3: lat"), "{said}");
    assert_eq!(std::fs::read_to_string(copy.dir().join("places.ron")).unwrap(), written);
}
