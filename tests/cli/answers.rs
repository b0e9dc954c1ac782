//! What scripts read: the JSON of the contract to the letter, the same bytes for the same
//! question, and nothing in it that steers a terminal.

use crate::place::{EVENING, LATER, Place, finish};
use serde_json::Value;
use std::io::{BufRead, BufReader, Read};
use std::process::Stdio;

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().unwrap().keys().map(String::as_str).collect()
}

const QUANTILES: [&str; 7] = ["p05", "p10", "p25", "p50", "p75", "p90", "p95"];

/// Seven quantiles that never fall; past the horizon they are null, and stay so.
fn quantiles(value: &Value) -> Vec<f64> {
    assert_eq!(keys(value), QUANTILES);
    let hours = QUANTILES.map(|name| match &value[name] {
        Value::Null => f64::INFINITY,
        number => number.as_f64().unwrap(),
    });
    assert!(hours.is_sorted() && hours[0] >= 0.0, "{value}");
    hours.to_vec()
}

#[test]
fn the_forecast_is_the_contracts() {
    let demo = Place::demo();
    let forecast = demo.run(&["forecast", "--json"]).json();
    let top = [
        "schema",
        "at",
        "horizon_hours",
        "lives",
        "seed",
        "stocks",
        "next",
        "cold",
        "frost",
        "notices",
    ];
    assert_eq!(keys(&forecast), top);
    assert_eq!(forecast["schema"], "waystock.forecast/1");
    assert_eq!(forecast["at"], EVENING);
    assert_eq!(forecast["horizon_hours"], 720);
    assert_eq!(forecast["lives"], 2000);
    assert_eq!(forecast["seed"], 1);
    let stocks = forecast["stocks"].as_array().unwrap();
    let names: Vec<&str> = stocks.iter().map(|s| s["name"].as_str().unwrap()).collect();
    let rig = [
        "fresh",
        "grey",
        "liquids",
        "solids",
        "battery",
        "diesel",
        "gas",
        "food",
        "clean clothes",
        "nights here",
    ];
    assert_eq!(names, rig, "in the rig's order");
    let mut bound = 0.0;
    for stock in stocks {
        let fields = [
            "name",
            "unit",
            "capacity",
            "limit",
            "level",
            "hours",
            "beyond_horizon",
            "binding",
            "stood_in_by",
            "chance",
        ];
        assert_eq!(keys(stock), fields);
        assert_eq!(keys(&stock["level"]), ["mean", "sd"]);
        let number = |value: &Value| value.as_f64().unwrap_or_else(|| panic!("{stock}"));
        let (capacity, limit) = (number(&stock["capacity"]), number(&stock["limit"]));
        assert!((0.0..=capacity).contains(&limit), "{stock}");
        assert!((0.0..=capacity).contains(&number(&stock["level"]["mean"])), "{stock}");
        assert!(number(&stock["level"]["sd"]) >= 0.0, "{stock}");
        let beyond = number(&stock["beyond_horizon"]);
        assert!((0.0..=1.0).contains(&beyond), "{stock}");
        let infinite = quantiles(&stock["hours"])[5].is_infinite();
        assert_eq!(infinite, beyond >= 0.1, "P90 and the share past the horizon: {stock}");
        assert!((number(&stock["chance"]) + beyond - 1.0).abs() < 1e-6, "{stock}");
        bound += number(&stock["binding"]);
    }
    assert!((bound - 1.0).abs() < 1e-6, "every life binds on one stock: {bound}");
    let unit = |name: &str| &stocks.iter().find(|s| s["name"] == name).unwrap()["unit"];
    let units = ["fresh", "solids", "battery", "food", "clean clothes", "nights here"].map(unit);
    assert_eq!(units, ["L", "uses", "Wh", "person-days", "outfits", "nights"]);
    let next = &forecast["next"];
    assert_eq!(keys(next), ["hours", "by", "likely", "binding", "chance"]);
    assert_eq!(next["chance"], 1.0, "every life binds");
    let brief = demo.run(&["next", "--json"]).json();
    let brief = brief["stocks"].as_array().unwrap();
    for (brief, stock) in brief.iter().zip(stocks) {
        let fields = keys(brief);
        assert_eq!(fields, ["name", "chance", "binding"]);
        assert!(fields.iter().all(|field| brief[field] == stock[field]), "{brief} {stock}");
    }
    assert_eq!(brief.len(), stocks.len());
    let most = |s: &&Value| (s["binding"].as_f64().unwrap() * 1e6) as i64;
    assert_eq!(next["binding"], stocks.iter().max_by_key(most).unwrap()["name"]);
    let at = |text: &Value| -> chrono::DateTime<chrono::FixedOffset> {
        text.as_str().unwrap().parse().unwrap()
    };
    let hours = quantiles(&next["hours"]);
    for (moment, hours) in [(&next["by"], hours[1]), (&next["likely"], hours[3])] {
        let after = (at(moment) - at(&forecast["at"])).num_seconds() as f64 / 3600.0;
        assert!((after - hours).abs() < 0.001, "{moment} is {hours} h after now");
    }
}

#[test]
fn nothing_binding_is_null() {
    let rig = "(format: 1, van: \"Shed\", crew: 1,
        home: (place: \"Yard\", latitude: 50, longitude: 5, zone: \"Europe/Brussels\"),
        stocks: [(name: \"rope\", runs: down, unit: \"m\", capacity: 30)])";
    let place = Place::bare();
    place.write("data/rig.ron", rig);
    place.done(&["log", "rope 30 m", "--at", EVENING]);
    let forecast = place.run(&["forecast", "--json", "--at", EVENING]).json();
    let (rope, next) = (&forecast["stocks"][0], &forecast["next"]);
    assert!(QUANTILES.iter().all(|name| rope["hours"][name].is_null()), "{rope}");
    assert_eq!(rope["beyond_horizon"], 1.0);
    assert_eq!((&rope["chance"], &next["chance"]), (&0.0.into(), &0.0.into()));
    assert!(next["binding"].is_null() && next["by"].is_null() && next["likely"].is_null());
    assert!(QUANTILES.iter().all(|name| next["hours"][name].is_null()), "{next}");
    let text = place.done(&["next", "--at", EVENING]);
    assert_eq!(text, "no stop is needed within 30 days\n");
}

/// A weak heater in hard frost, and a tank under the floor: said in words where people look, and
/// in the JSON's additions.
#[test]
fn cold_ahead_is_said() {
    let rig = "(format: 1, van: \"Shed\", crew: 2,
        home: (place: \"Tarn\", latitude: 61, longitude: 9, zone: \"Europe/Oslo\",
               typical: (low_c: -21, high_c: -12, cloud: 0.6)),
        stocks: [(name: \"grey\", runs: up, unit: \"L\", capacity: 70, freezes_below_c: -3),
                 (name: \"diesel\", runs: down, unit: \"L\", capacity: 60, keep: 6)],
        heating: (burns: \"diesel\", wh_per_unit: 10025, output_w: 700, lowest_w: 300))";
    let place = Place::bare();
    place.write("data/rig.ron", rig);
    place.done(&["log", "diesel full, grey empty", "--at", EVENING]);
    let forecast = place.run(&["forecast", "--json", "--at", EVENING]).json();
    assert_eq!(keys(&forecast["cold"]), ["stock", "hours_ahead", "share", "hours", "no_fuel"]);
    assert_eq!(forecast["cold"]["stock"], "diesel");
    assert!(forecast["cold"]["share"].as_f64().unwrap() > 0.5, "{}", forecast["cold"]);
    assert_eq!(keys(&forecast["frost"][0]), ["stock", "morning", "chance", "below_c"]);
    assert_eq!(forecast["frost"][0]["stock"], "grey");
    assert_eq!(forecast["frost"].as_array().unwrap().len(), 1);
    let next = place.run(&["next", "--json", "--at", EVENING]).json();
    assert_eq!(next["cold"], forecast["cold"]);
    // Sentences are wrapped; a break is a blank.
    let words = |arguments: &[&str]| place.done(arguments).replace('\n', " ");
    let (all, diesel, grey) = (
        words(&["forecast", "--at", EVENING]),
        words(&["why", "diesel", "--at", EVENING]),
        words(&["why", "grey", "--at", EVENING]),
    );
    for text in [&all, &diesel] {
        assert!(text.contains("Note: the heater may not keep up"), "{text}");
    }
    for text in [&all, &grey] {
        assert!(text.contains("Note: grey may freeze in the night to"), "{text}");
    }
    assert!(!grey.contains("keep up") && !diesel.contains("may freeze"));
}

#[test]
fn a_stock_that_is_out_has_no_hours_left() {
    let place = Place::fresh("two-berth");
    place.done(&["log", "battery 4%", "--at", EVENING]);
    let forecast = place.run(&["forecast", "--json", "--at", EVENING]).json();
    let battery = forecast["stocks"].as_array().unwrap().iter().find(|s| s["name"] == "battery");
    assert_eq!(battery.unwrap()["hours"]["p50"], 0.0);
    assert_eq!(forecast["next"]["binding"], "battery");
    let next = place.run(&["next", "--at", EVENING]);
    assert_eq!(
        (next.code, next.out.as_str()),
        (0, "now: battery down to its reserve of 10 %; go to a stop now\n"),
        "{next:?}"
    );
    // The template lets the grey tank be filled up to its headroom.
    place.done(&["log", "battery 4%, grey 100%", "--at", EVENING]);
    let next = place.run(&["next", "--at", EVENING]).out;
    assert!(next.contains("grey full"), "{next}");
    assert!(next.contains("battery down to its reserve of 10 %"), "{next}");
}

#[test]
fn other_results_name_their_schema() {
    let demo = Place::demo();
    for (arguments, schema) in [
        (vec!["next", "--json"], "waystock.next/1"),
        (vec!["why", "fresh", "--json"], "waystock.why/1"),
        (vec!["journal", "--json"], "waystock.journal/1"),
        (vec!["check", "--json"], "waystock.check/1"),
        (vec!["log", "dishes", "--json"], "waystock.log/1"),
        (vec!["undo", "--json"], "waystock.undo/1"),
        (vec!["redo", "--json"], "waystock.undo/1"),
    ] {
        assert_eq!(demo.run(&arguments).json()["schema"], schema, "{arguments:?}");
    }
    let rows = format!("at,kind,what,amount,unit\n{EVENING},use,shower,1,times\n");
    let imported = demo.fed(&["import", "-", "--json"], &rows).json();
    assert_eq!(imported["schema"], "waystock.import/1");
    assert_eq!(imported["added"], 1);
}

#[test]
fn the_same_question_has_the_same_bytes() {
    let demo = Place::demo();
    let ask = |arguments: &[&str], threads: &str| {
        let mut command = demo.command(arguments);
        command.env("RAYON_NUM_THREADS", threads);
        finish(command).out
    };
    for arguments in
        [vec!["forecast", "--json"], vec!["forecast"], vec!["why", "battery", "--json"]]
    {
        let one = ask(&arguments, "1");
        assert!(one.len() > 200, "{one}");
        for threads in ["1", "2", "5"] {
            assert_eq!(ask(&arguments, threads), one, "{arguments:?} on {threads} threads");
        }
    }
    let seeded = |seed: &str| demo.done(&["forecast", "--json", "--seed", seed]);
    assert_eq!(seeded("7"), seeded("7"));
    let other = seeded("8");
    assert_ne!(seeded("7").replace("\"seed\": 7", ""), other.replace("\"seed\": 8", ""));
}

#[test]
fn at_shows_the_world_as_known_then() {
    let demo = Place::demo();
    let before = demo.done(&["forecast", "--json", "--at", EVENING]);
    demo.done(&["log", "fresh 20%, 4 showers", "--at", LATER]);
    assert_eq!(demo.done(&["forecast", "--json", "--at", EVENING]), before);
    let journal = |at: &str| demo.done(&["journal", "--at", at]);
    assert!(journal(LATER).contains("4 showers"));
    assert!(!journal(EVENING).contains("4 showers"));
    let csv = |at: &str| demo.done(&["export", "csv", "--at", at]);
    let jsonl = |at: &str| demo.done(&["export", "jsonl", "--at", at]);
    assert_eq!(csv(LATER).lines().count(), csv(EVENING).lines().count() + 2);
    assert_eq!(jsonl(LATER).lines().count(), jsonl(EVENING).lines().count() + 2);
    // Without `--at` it is the demo's own evening.
    assert_eq!(demo.done(&["forecast", "--json"]), before);
}

#[test]
fn the_folder_is_where_it_is_said_to_be() {
    let (demo, bare) = (Place::demo(), Place::bare());
    let dir = demo.data();
    let dir = dir.to_str().unwrap();
    let wanted = demo.done(&["next"]);
    assert_eq!(bare.done(&["next", "--dir", dir]), wanted, "--dir goes first");
    let mut command = bare.command(&["next"]);
    command.env("WAYSTOCK_DIR", dir);
    assert_eq!(finish(command).out, wanted);
    let mut command = bare.command(&["init", "--from-template", "family"]);
    command.env_remove("WAYSTOCK_DIR");
    let made = finish(command);
    assert_eq!(made.code, 0, "{made:?}");
    let home = bare.root().to_str().unwrap();
    assert!(made.out.contains(home), "the platform's folder, in this home: {made:?}");
}

#[test]
fn nothing_steers_a_terminal() {
    let demo = Place::demo();
    let arguments = [
        vec!["next"],
        vec!["forecast"],
        vec!["why", "battery"],
        vec!["journal"],
        vec!["check"],
        vec!["export", "csv"],
        vec!["demo"],
        vec!["--help"],
        vec!["frobnicate"],
        vec![],
    ];
    for arguments in arguments {
        let mut command = demo.command(&arguments);
        command.env("TERM", "xterm-256color").env("CLICOLOR", "1");
        let run = finish(command);
        assert!(!run.out.contains('\u{1b}') && !run.err.contains('\u{1b}'), "{arguments:?}");
    }
}

/// `waystock journal | head -1`.
#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let demo = Place::demo();
    for arguments in [vec!["journal"], vec!["journal", "--json"], vec!["export", "jsonl"]] {
        let mut command = demo.command(&arguments);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let mut line = String::new();
        BufReader::with_capacity(16, child.stdout.take().unwrap()).read_line(&mut line).unwrap();
        assert!(!line.is_empty());
        let status = child.wait().unwrap();
        let mut errors = String::new();
        child.stderr.take().unwrap().read_to_string(&mut errors).unwrap();
        assert_eq!((status.code(), errors.as_str()), (Some(0), ""), "{arguments:?}");
    }
}

/// What an hour of driving brings is the rig file's as long as nobody has driven.
#[test]
fn what_never_ran_taught_nothing() {
    let place = Place::fresh("two-berth");
    let log = |day: u32, words: &str| {
        let at = format!("2026-10-{day}T20:00:00+02:00");
        assert_eq!(place.run(&["log", words, "--at", &at]).code, 0);
    };
    let of_driving = |day: u32| {
        let at = format!("2026-10-{day}T21:00:00+02:00");
        let why = place.run(&["why", "battery", "--json", "--at", &at]).json();
        let learned = why["learned"].as_array().unwrap().clone();
        let own = |one: &Value| one["what"] == "battery per alternator";
        learned.into_iter().find(own).unwrap()
    };
    log(10, "battery 80%");
    log(12, "battery 40%");
    let before = of_driving(12);
    assert_eq!((&before["learned"], &before["readings"]), (&before["reference"], &0.into()));
    log(13, "battery 30%, drove 3 h");
    log(14, "battery 70%");
    let after = of_driving(14);
    assert!(after["readings"].as_u64().unwrap() > 0, "{after}");
    assert_ne!(after["learned"], after["reference"], "{after}");
}
