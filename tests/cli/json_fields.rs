//! The table of `help json` against what every command prints: no field that is not described, none
//! described that is not printed.

use crate::place::{EVENING, LATER, Place};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use waystock::cli::json_help::{commands, fields};

/// Described, but in none of the folders here: it takes a stock whose bands miss clearly more often
/// than chance, ten evenings that say how dates lean, nights that one stop on the way makes work, stops
/// that are sure enough only because longer drives charge, and fewer stops that drive much further
/// (`tests/plan_village.rs` has them).
const NEVER_SEEN: [&str; 16] = [
    "hindsight lean.days_later",
    "hindsight lean.evenings",
    "hindsight lean.later",
    "hindsight misjudged.stock",
    "hindsight misjudged.way",
    "stops longer.km",
    "stops longer.stops",
    "stops nearest.charged",
    "stops nearest.km",
    "stops nearest.probability",
    "stretch otherwise.carry[].amount",
    "stretch otherwise.carry[].stock",
    "stretch otherwise.carry[].unit",
    "stretch otherwise.stop.at",
    "stretch otherwise.stop.place",
    "stretch otherwise.stop.probability",
];

/// What was printed, by command: paths, and those at which nothing stood.
#[derive(Default)]
struct Seen {
    paths: BTreeMap<String, BTreeSet<String>>,
    nothing: BTreeMap<String, BTreeSet<String>>,
}

impl Seen {
    fn take(&mut self, command: &str, out: &str) {
        let value: Value = serde_json::from_str(out).unwrap_or_else(|why| panic!("{why}: {out}"));
        let paths = self.paths.entry(command.to_string()).or_default();
        walk(&value, "", paths, self.nothing.entry(command.to_string()).or_default());
    }

    fn run(&mut self, place: &Place, command: &str, words: &[&str]) -> String {
        let run = place.run(&[words, &["--json", "--lives", "200"]].concat());
        self.take(command, &run.out);
        run.out
    }
}

fn walk(value: &Value, path: &str, paths: &mut BTreeSet<String>, nothing: &mut BTreeSet<String>) {
    match value {
        Value::Object(object) => {
            for (name, value) in object {
                let dot = if path.is_empty() { "" } else { "." };
                walk(value, &format!("{path}{dot}{name}"), paths, nothing);
            }
        }
        Value::Array(items) => {
            let path = format!("{path}[]");
            if items.is_empty() {
                nothing.insert(path.clone());
            }
            items.iter().for_each(|item| walk(item, &path, paths, nothing));
        }
        Value::Null => {
            nothing.insert(path.to_string());
        }
        _ => {
            paths.insert(path.to_string());
        }
    }
}

/// A van in frost and without places that offer anything.
fn frosty() -> Place {
    let place = Place::fresh("two-berth");
    let rig = place.data().join("rig.ron");
    let text = std::fs::read_to_string(&rig).unwrap();
    let frosty = text.replacen("(name: \"grey\",", "(name: \"grey\", freezes_below_c: -2,", 1);
    assert_ne!(text, frosty);
    std::fs::write(rig, frosty).unwrap();
    let places = "(format: 1, places: [(name: \"Elm row\", latitude: 52.0, longitude: 1.0)])";
    std::fs::write(place.data().join("places.ron"), places).unwrap();
    place
}

/// A van near two places, of which one has the hook-up.
fn near_a_village() -> Place {
    let place = Place::fresh("two-berth");
    let places = "(format: 1, places: [
        (name: \"Elm row\", latitude: 47.4, longitude: -1.9,
         services: [\"water\", \"grey\", \"liquids\", \"food\"]),
        (name: \"Elm quay\", latitude: 47.41, longitude: -1.9, services: [\"shore\"]),
    ])";
    std::fs::write(place.data().join("places.ron"), places).unwrap();
    place
}

/// A van with a second container, near a place that empties it.
fn with_spares() -> Place {
    let place = Place::fresh("two-berth");
    let rig = place.data().join("rig.ron");
    let text = std::fs::read_to_string(&rig).unwrap();
    let spare = text.replacen("(name: \"liquids\",", "(name: \"liquids\", spare: 7,", 1);
    assert_ne!(text, spare);
    std::fs::write(rig, spare).unwrap();
    let places = "(format: 1, places: [(name: \"Elm row\", latitude: 47.4, longitude: -1.9, \
                  services: [\"water\", \"grey\", \"liquids\", \"food\", \"shore\"])])";
    std::fs::write(place.data().join("places.ron"), places).unwrap();
    place
}

fn seen() -> Seen {
    let mut seen = Seen::default();
    seen.run(&with_spares(), "stops", &["stops", "--days", "6", "--confidence", "60"]);
    seen.run(&near_a_village(), "stops", &["stops", "--days", "6", "--confidence", "60"]);
    let demo = Place::demo();
    for command in ["forecast", "next", "hindsight", "journal", "check", "use", "plans"] {
        seen.run(&demo, command, &[command]);
    }
    seen.run(&demo, "next", &["next", "--within", "24h"]);
    seen.run(&demo, "why", &["why", "battery"]);
    let no = seen.run(&demo, "stretch", &["stretch", "--nights", "4"]);
    let no: Value = serde_json::from_str(&no).unwrap();
    let choice = no["choices"][0]["words"].as_str().unwrap();
    seen.run(&demo, "stretch", &["stretch", "--nights", "4", "--with", choice]);
    seen.run(&demo, "stretch", &["stretch", "--nights", "1", "--place", "Quillet Harbour"]);
    // Twelve people are too many for the places there are.
    seen.run(&demo, "stops", &["stops", "--days", "9", "--crew", "12"]);
    seen.run(&demo, "stops", &["stops", "--days", "4", "--save"]);
    seen.run(&demo, "stops", &["stops", "--days", "6", "--against", "longer"]);
    seen.run(&demo, "stretch", &["stretch", "--nights", "12", "--crew", "9"]);
    for command in ["forecast", "next", "plans"] {
        seen.run(&demo, command, &[command]);
    }
    let log = seen.run(&demo, "log", &["log", "drive 2 h tomorrow 9:00, 1 shower", "--at", LATER]);
    let log: Value = serde_json::from_str(&log).unwrap();
    seen.run(&demo, "undo", &["undo", "--at", LATER]);
    seen.run(&demo, "undo", &["redo", "--at", LATER]);
    let next_day = "2026-10-21T12:00:00-02:30";
    for command in ["forecast", "next", "plans"] {
        seen.run(&demo, command, &[command, "--at", next_day]);
    }
    let (drive, shower) = (log["ids"][0].as_str().unwrap(), log["ids"][1].as_str().unwrap());
    seen.run(&demo, "plans done", &["plans", "drop", drive, "--at", next_day]);
    seen.run(&demo, "undo", &["correct", shower, "2 showers", "--at", next_day]);
    seen.run(&demo, "journal", &["journal", "--since", "yesterday", "--at", next_day]);
    seen.run(&demo, "undo", &["retract", shower, "--at", next_day]);
    seen.run(&demo, "journal", &["journal", "--retracted", "--at", next_day]);
    let frosty = frosty();
    let winter = "2026-01-20T20:00:00+00:00";
    frosty.run(&["log", "outlook tomorrow -9 to -4 C", "--at", winter]);
    seen.run(&frosty, "forecast", &["forecast", "--at", winter]);
    seen.run(&frosty, "next", &["next", "--at", winter]);
    seen.run(&frosty, "check", &["check"]);
    let maps = "(format: 1, maps: [(name: \"m\", form: csv, at: \"t\", time: \"unix\",
        readings: [(stock: \"battery\", from: \"b\", unit: \"%\")])])";
    std::fs::write(frosty.data().join("maps.ron"), maps).unwrap();
    let import = ["import", "-", "--map", "m", "--dry-run", "--json"];
    seen.take("import", &frosty.fed(&import, "t,b\n1768939200,50\n").out);
    std::fs::write(frosty.data().join("maps.ron"), "(format: 1)").unwrap();
    seen.run(&frosty, "check", &["check"]);
    // Too little water for the way to any tap.
    let dry = Place::demo();
    dry.run(&["log", "fresh 17 L", "--at", EVENING]);
    seen.run(&dry, "stops", &["stops", "--days", "4"]);
    // A stop at a place with prices, and the camp there.
    let paid = Place::demo();
    let places = "(format: 1, places: [(name: \"Pump row\", latitude: 50.0, longitude: -55.0,
        services: [\"water\", \"diesel\", \"shore\"], cost: 3, hook_up_hours: 4,
        prices: [(stock: \"diesel\", each: 1.5), (stock: \"fresh\", each: 0.02)])])";
    std::fs::write(paid.data().join("places.ron"), places).unwrap();
    paid.run(&["log", "arrived at Pump row, drove 30 km, filled diesel 5 L", "--at", EVENING]);
    paid.run(&["log", "yesterday 07:00: filled battery", "--at", EVENING]);
    seen.run(&paid, "use", &["use", "--at", LATER]);
    seen.run(&paid, "stretch", &["stretch", "--nights", "1", "--place", "Pump row", "--at", LATER]);
    seen.run(&paid, "stops", &["stops", "--days", "9", "--at", LATER]);
    seen
}

#[test]
fn every_field_is_described_and_every_description_is_of_a_field() {
    let seen = seen();
    let (mut strangers, mut missing) = (Vec::new(), Vec::new());
    let described: BTreeMap<&str, BTreeSet<String>> = commands()
        .into_iter()
        .map(|command| (command, fields(command).into_iter().map(|field| field.path).collect()))
        .collect();
    for (command, paths) in &seen.paths {
        let known = described.get(command.as_str()).unwrap_or_else(|| panic!("{command}"));
        let at_all = paths.iter().chain(&seen.nothing[command]);
        // A group or a list of nothing is described by what it would hold.
        let fits = |path: &&String| {
            known.iter().any(|own| {
                own == *path
                    || own
                        .strip_prefix(path.trim_end_matches("[]"))
                        .is_some_and(|rest| rest.starts_with(['.', '[']))
            })
        };
        strangers.extend(at_all.filter(|path| !fits(path)).map(|path| format!("{command} {path}")));
    }
    for (command, known) in &described {
        let paths = &seen.paths[*command];
        let of_group = |path: &str| paths.iter().any(|own| own.starts_with(&format!("{path}.")));
        let gone = known.iter().filter(|path| !paths.contains(*path) && !of_group(path));
        // What is null wherever it stands, stands all the same.
        let gone = gone.filter(|path| !seen.nothing[*command].contains(*path));
        missing.extend(gone.map(|path| format!("{command} {path}")));
    }
    assert!(strangers.is_empty(), "not described:\n{}", strangers.join("\n"));
    assert_eq!(missing, NEVER_SEEN, "described, but nowhere:\n{}", missing.join("\n"));
    for command in commands() {
        for field in fields(command) {
            assert!(!field.unit.is_empty() && !field.meaning.is_empty(), "{command} {field:?}");
        }
    }
}

#[test]
fn the_help_shows_the_table() {
    let help = Place::bare().done(&["help", "json"]);
    for line in [
        "waystock forecast --json",
        "  stocks[].level.mean (as its unit): what is thought most likely",
        "  next.by (time): be at a stop by then: nine in ten futures last longer",
        "waystock use --json",
        "  trip.money (currency): where places state prices",
    ] {
        assert!(help.lines().any(|own| own == line), "{line}\nis missing in\n{help}");
    }
}
