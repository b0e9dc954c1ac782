//! Every starter rig, from outside: it is written, checks clean, takes the words of a first
//! evening, and in its own stated week another stock forces the stop.

use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

/// A template, the evening on which everything has just been seen to, and what binds.
#[derive(Clone, Copy)]
struct Week {
    template: &'static str,
    /// Evening at its home, with the weather that its rig calls usual.
    evening: &'static str,
    /// Every stock that a stop can see to.
    serviced: &'static str,
    binds: &'static str,
}

const WEEKS: &[Week] = &[
    Week {
        template: "two-berth",
        evening: "2026-05-19T20:00:00+02:00",
        serviced: "filled fresh to full, filled food to full, filled gas to full, filled diesel to \
                   full, emptied grey, emptied liquids, emptied solids, battery 100%",
        binds: "liquids",
    },
    Week {
        template: "family",
        evening: "2026-07-14T20:00:00+02:00",
        serviced: "filled fresh to full, filled food to full, filled diesel to full, emptied grey, \
                   emptied liquids, emptied solids, battery 100%",
        binds: "fresh",
    },
    Week {
        template: "no-solar",
        evening: "2026-09-22T20:00:00+01:00",
        serviced: "filled fresh to full, filled food to full, filled gas to full, filled diesel to \
                   full, filled petrol to full, emptied grey, emptied liquids, emptied solids, \
                   battery 100%",
        binds: "battery",
    },
    Week {
        template: "black-tank",
        evening: "2026-06-09T20:00:00+02:00",
        serviced: "filled fresh to full, filled food to full, filled diesel to full, emptied grey, \
                   emptied black, battery 100%",
        binds: "black",
    },
];

fn waystock(home: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_waystock"))
        .args(arguments)
        .env_clear()
        .env("HOME", home)
        .env("WAYSTOCK_DIR", home.join("data"))
        .output()
        .unwrap()
}

/// Standard output of a command that has to work.
fn done(home: &Path, arguments: &[&str]) -> String {
    let output = waystock(home, arguments);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {errors}");
    String::from_utf8(output.stdout).unwrap()
}

/// A fresh folder from the template, serviced on its evening.
fn serviced(week: &Week) -> TempDir {
    let home = tempfile::tempdir().unwrap();
    done(home.path(), &["init", "--from-template", week.template]);
    done(home.path(), &["log", week.serviced, "--at", week.evening]);
    home
}

fn forecast(week: &Week, home: &Path) -> serde_json::Value {
    let text = done(home, &["forecast", "--json", "--lives", "1000", "--at", week.evening]);
    serde_json::from_str(&text).unwrap()
}

fn median(forecast: &serde_json::Value, stock: &str) -> f64 {
    let stocks = forecast["stocks"].as_array().unwrap();
    let found = stocks.iter().find(|s| s["name"] == stock).unwrap();
    found["hours"]["p50"].as_f64().unwrap_or(f64::INFINITY)
}

#[test]
fn every_template_is_written_and_checks_clean() {
    let listed = done(tempfile::tempdir().unwrap().path(), &["init", "--list-templates"]);
    let names: Vec<&str> = listed.lines().filter_map(|l| Some(l.split_once(": ")?.0)).collect();
    assert_eq!(names, WEEKS.iter().map(|w| w.template).collect::<Vec<_>>());
    for week in WEEKS {
        let home = serviced(week);
        let check = done(home.path(), &["check"]);
        assert!(check.ends_with("all is well\n"), "{}: {check}", week.template);
    }
}

#[test]
fn each_template_binds_on_a_stock_of_its_own() {
    for week in WEEKS {
        let home = serviced(week);
        let forecast = forecast(week, home.path());
        let stocks = forecast["stocks"].as_array().unwrap();
        let shares: Vec<_> = stocks.iter().map(|s| (&s["name"], &s["binding"])).collect();
        assert_eq!(forecast["next"]["binding"], week.binds, "{}: {shares:?}", week.template);
        let hours = forecast["next"]["hours"]["p50"].as_f64().unwrap();
        assert!((24.0..7.0 * 24.0).contains(&hours), "{}: {hours} h", week.template);
        let share = stocks.iter().find(|s| s["name"] == week.binds).unwrap()["binding"].as_f64();
        assert!(share.unwrap() > 0.5, "{}: {shares:?}", week.template);
    }
}

/// The same van in a clear week at ten below: the heater's own small tank goes first.
#[test]
fn a_cold_week_moves_the_black_tank_van_to_diesel() {
    let week = &WEEKS[3];
    let home = serviced(week);
    let mild = forecast(week, home.path());
    let rows: String = (9..=15)
        .map(|day| format!("2026-06-08T08:00:00+02:00,2026-06-{day:02},-14,-6,5.0\n"))
        .collect();
    let file = home.path().join("cold.csv");
    write(&file, &format!("issued,date,low_c,high_c,sun_kwh_m2\n{rows}"));
    done(home.path(), &["import", file.to_str().unwrap(), "--at", week.evening]);
    let cold = forecast(week, home.path());
    assert_eq!(cold["next"]["binding"], "diesel", "{}", cold["next"]);
    let (was, is) = (median(&mild, "diesel"), median(&cold, "diesel"));
    assert!(is < was / 2.0, "{was} h -> {is} h");
}

#[allow(clippy::disallowed_methods, reason = "a file to import")]
fn write(path: &Path, text: &str) {
    std::fs::write(path, text).unwrap();
}

/// On the first evening one reading is all that is known: it is believed as far as its gauge goes,
/// on the hour as at any other minute.
#[test]
fn the_first_reading_is_believed() {
    for evening in ["2026-06-09T20:00:00+02:00", "2026-06-09T20:17:00+02:00"] {
        let home = tempfile::tempdir().unwrap();
        done(home.path(), &["init", "--from-template", "black-tank"]);
        done(home.path(), &["log", "battery 64%, diesel 25%, fresh 20 L", "--at", evening]);
        let week = Week { evening, ..WEEKS[3] };
        let forecast = forecast(&week, home.path());
        for (name, level, step) in [("battery", 3264.0, 51.0), ("diesel", 1.75, 1.75)] {
            let stocks = forecast["stocks"].as_array().unwrap();
            let stock = stocks.iter().find(|s| s["name"] == name).unwrap();
            let (mean, sd) = (&stock["level"]["mean"], &stock["level"]["sd"]);
            assert!((mean.as_f64().unwrap() - level).abs() < step / 2.0, "{evening}: {stock}");
            // A reading anywhere within a step, and the gauge's own error: two hundredths of the
            // capacity for a battery monitor, the largest that the model grants any gauge.
            let own_error = 0.02 * stock["capacity"].as_f64().unwrap();
            let most = (step / 12f64.sqrt()).hypot(own_error) * 1.05;
            assert!(sd.as_f64().unwrap() < most, "{evening}: {stock}");
        }
    }
}
