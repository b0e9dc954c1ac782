//! Plans whose time has passed: asked on the first screen, answered there and from the shell.

use crate::place::{EVENING, Place, finish};
use crate::screen::Screen;
use serde_json::Value;

/// The demo's folder with a week of stops saved on its own evening.
fn with_stops_saved() -> Place {
    let place = Place::demo();
    let saved = place.run(&["stops", "--days", "7", "--lives", "400", "--save", "--json"]);
    assert!(saved.json()["saved"].as_u64().unwrap() > 0);
    place
}

fn json(place: &Place, at: &str, words: &[&str]) -> Value {
    place.run(&[words, &["--at", at, "--lives", "400", "--json"]].concat()).json()
}

/// An hour past the first saved stop.
fn after_the_stop(place: &Place) -> String {
    let plans = json(place, EVENING, &["plans"]);
    let first = plans["plans"].as_array().unwrap().iter().find(|p| p["place"] != Value::Null);
    let at = first.unwrap()["at"].as_str().unwrap();
    let at = chrono::DateTime::parse_from_rfc3339(at).unwrap() + chrono::Duration::hours(1);
    at.to_rfc3339()
}

fn level(forecast: &Value, stock: &str) -> f64 {
    let stocks = forecast["stocks"].as_array().unwrap();
    let stock = stocks.iter().find(|s| s["name"] == stock).unwrap();
    stock["level"]["mean"].as_f64().unwrap()
}

/// The dashboard on a place, at a moment.
fn dashboard(place: &Place, at: &str, size: (u16, u16)) -> Screen {
    Screen::open(size, &["--at", at, "--lives", "400"], &place.surroundings())
}

/// What is known of the stop afterwards: of the first saved stop, whether a plan is open, and the
/// battery's level.
fn open_plans(place: &Place, at: &str) -> usize {
    let plans = json(place, at, &["plans"]);
    plans["plans"].as_array().unwrap().iter().filter(|p| p["open"] == true).count()
}

#[test]
fn the_first_screen_asks_and_each_key_answers() {
    for key in ["y", "c", "n"] {
        let place = with_stops_saved();
        let at = after_the_stop(&place);
        let before = json(&place, &at, &["forecast"]);
        let planned = json(&place, &at, &["plans"]);
        assert_eq!(open_plans(&place, &at), 1);
        let time = &planned["plans"][0]["at"].as_str().unwrap()["2026-10-21T".len()..][..5];
        let mut dashboard = dashboard(&place, &at, (24, 80));
        // The question stands there before the first forecast does.
        let screen = dashboard.sees("count it as not done");
        assert!(screen.contains("Was it done?"), "{screen}");
        assert!(screen.contains("y as planned"), "{screen}");
        dashboard.press(key);
        match key {
            // The first press says what it would write.
            "y" | "n" => {
                dashboard.sees(&format!("{key} again writes it"));
                std::thread::sleep(std::time::Duration::from_millis(800));
                dashboard.press(key);
                dashboard.sees("(u takes it back)");
            }
            _ => {
                let screen = dashboard.sees("instead >");
                // A word may go on in the next row.
                let line: String = screen.lines().collect();
                assert!(line.contains("drove"), "{screen}");
                dashboard.sees("means:");
                // Control-U clears the line: only the battery was charged, for two hours.
                dashboard.press("\u{15}");
                dashboard.press("shore 2 h");
                let screen = dashboard.sees("left out: drive");
                assert!(screen.contains(&format!("shore 2 h today {time}")), "{screen}");
                dashboard.press("\r");
                dashboard.sees("saved instead of the plan");
            }
        }
        dashboard.sees_no_longer("Was it done?");
        dashboard.leave();
        assert_eq!(open_plans(&place, &at), 0, "{key}");
        let after = json(&place, &at, &["forecast"]);
        let gained = level(&after, "battery") - level(&before, "battery");
        match key {
            "n" => assert_eq!(after["stocks"], before["stocks"]),
            _ => assert!(gained > 50.0, "{key}: {gained} Wh"),
        }
        if key == "y" {
            assert_eq!(after["next"], before["next_if_done"]);
        }
        // Undone in one step, it is asked again, and all of the schedule is there as before.
        let undone = place.run(&["undo", "--at", &at]);
        assert_eq!(undone.code, 0, "{undone:?}");
        assert_eq!(json(&place, &at, &["plans"])["plans"], planned["plans"], "{key}");
        place.done(&["redo", "--at", &at]);
        assert_eq!(open_plans(&place, &at), 0, "{key}");
    }
}

#[test]
fn the_shell_lists_and_answers_by_id() {
    let place = with_stops_saved();
    let at = after_the_stop(&place);
    let listed = place.done(&["plans", "--at", &at, "--lives", "400"]);
    assert!(listed.starts_with("Was it done?\n"), "{listed}");
    assert!(listed.contains("The dates count it as not done."), "{listed}");
    let next = place.done(&["next", "--at", &at, "--lives", "400"]);
    assert!(next.contains("was it done? stop at"), "{next}");
    let plans = json(&place, &at, &["plans"]);
    let id = |open: bool| -> String {
        let all = plans["plans"].as_array().unwrap().iter();
        let plan = all.clone().find(|p| p["open"] == open);
        plan.map_or(String::new(), |p| p["id"].as_str().unwrap().to_string())
    };
    let wrong = place.run(&["plans", "done", "laptop-1-00000000", "--at", &at]);
    assert_eq!(wrong.code, 2, "{wrong:?}");
    assert!(wrong.err.contains("expected the id of a plan"), "{wrong:?}");
    let open = id(true);
    let done = place.done(&["plans", "done", &open, "--at", &at]);
    assert!(done.starts_with("done as planned: stop at "), "{done}");
    assert_eq!(open_plans(&place, &at), 0);
    place.done(&["undo", "--at", &at]);
    let changed = place.done(&["plans", "change", &open, "shore", "2", "h", "--at", &at]);
    assert!(changed.contains(": shore 2 h") || changed.contains("shore 2 h at "), "{changed}");
    assert!(changed.contains("; left out: drive "), "{changed}");
    assert!(!changed.contains("stop at"), "{changed}");
    let ahead = id(false);
    if !ahead.is_empty() {
        let early = place.run(&["plans", "done", &ahead, "--at", &at]);
        assert_eq!(early.code, 2, "{early:?}");
        assert!(early.err.contains("still to come"), "{early:?}");
        place.done(&["plans", "drop", &ahead, "--at", &at]);
    }
    let mut unasked = place.command(&["plans", "--at", &at, "--lives", "400"]);
    unasked.env("COLUMNS", "80");
    assert!(!finish(unasked).out.contains("Was it done?"));
}

/// Entries of the journal that were changed: when each happened, as the journal writes it.
fn corrected(place: &Place, at: &str) -> Vec<String> {
    let journal = place.done(&["journal", "--at", at]);
    journal
        .lines()
        .filter(|line| line.contains("changed") || line.contains("[done]"))
        .filter(|line| line.contains("planned stop"))
        .map(String::from)
        .collect()
}

/// What is said a day and more later happened at the plan's time, unless the words name another.
#[test]
fn what_replaces_a_plan_happened_at_its_time() {
    let place = with_stops_saved();
    let plan = json(&place, EVENING, &["plans"])["plans"][0].clone();
    let (id, of) = (plan["id"].as_str().unwrap(), plan["at"].as_str().unwrap());
    let of = chrono::DateTime::parse_from_rfc3339(of).unwrap();
    let later = (of + chrono::Duration::hours(33)).to_rfc3339();
    let day = of.format("%a %-d %b").to_string();
    for (words, time) in
        [("shore 2 h", of.format("%H:%M").to_string()), ("shore 2 h at 12:40", "12:40".into())]
    {
        let change = [&["plans", "change", id], &words.split(' ').collect::<Vec<_>>()[..]].concat();
        let changed = place.done(&[&change[..], &["--at", &later]].concat());
        assert!(changed.contains(&time), "{changed}");
        let written = corrected(&place, &later);
        assert_eq!(written.len(), 1, "{written:?}");
        assert!(
            written[0].contains(&day) && written[0].contains(&time),
            "{written:?}, {day} {time}"
        );
        place.done(&["undo", "--at", &later]);
    }
}

#[test]
fn undo_takes_back_that_a_plan_was_dropped_and_nothing_else() {
    let place = with_stops_saved();
    let at = after_the_stop(&place);
    let before = json(&place, &at, &["plans"])["plans"].clone();
    place.done(&["log", "2", "showers", "--at", &at]);
    let id = before[0]["id"].as_str().unwrap();
    place.done(&["plans", "drop", id, "--at", &at]);
    let undone = place.done(&["undo", "--at", &at]);
    assert!(undone.contains("a change to a plan"), "{undone}");
    assert_eq!(json(&place, &at, &["plans"])["plans"], before);
    let redone = place.done(&["redo", "--at", &at]);
    assert!(redone.contains("a change to a plan"), "{redone}");
    assert_eq!(open_plans(&place, &at), 0);
    place.done(&["undo", "--at", &at]);
    let showers = place.done(&["undo", "--at", &at]);
    assert!(showers.contains("2 showers"), "{showers}");
    assert_eq!(json(&place, &at, &["plans"])["plans"], before);
}

/// The example that `stops` shows is a whole file that it then works with.
#[test]
fn a_folder_without_a_place_to_stop_says_so_and_shows_one() {
    let place = Place::demo();
    let file = place.data().join("places.ron");
    let bare = "(format: 1, places: [(name: \"Fen\", latitude: 52.5, longitude: 0.4)])\n";
    std::fs::write(&file, bare).unwrap();
    let check = place.done(&["check"]);
    assert!(
        check.ends_with("all is well, but no place offers anything: `waystock stops` needs one\n"),
        "{check}"
    );
    let stops = place.run(&["stops", "--days", "5", "--lives", "100"]);
    assert_eq!(stops.code, 66, "{stops:?}");
    let example = stops.err.lines().skip_while(|line| !line.contains("(format")).take(3);
    std::fs::write(&file, example.collect::<Vec<_>>().join("\n")).unwrap();
    assert!(place.done(&["check"]).ends_with("all is well\n"));
    assert_ne!(place.run(&["stops", "--days", "5", "--lives", "100"]).code, 66);
}

#[test]
fn the_smallest_screen_says_what_the_dates_count() {
    let place = with_stops_saved();
    let dashboard = dashboard(&place, &after_the_stop(&place), (20, 40));
    let screen = dashboard.sees("dates: as not done");
    assert!(screen.contains("Was it done?"), "{screen}");
    dashboard.leave();
}
