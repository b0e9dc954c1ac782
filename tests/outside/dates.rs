//! Safe dates and the road to a stop.

use super::van::{Van, hours, moment};
use serde_json::Value;
use waystock::domain::time::hours_between;

const NOW: &str = "2026-03-02T00:00:00Z";

/// Quantiles of the standard normal law (tables; from memory): a tenth, a fifth, a quarter.
const TENTH: f64 = 1.281_55;
const FIFTH: f64 = 0.841_62;
const QUARTER: f64 = 0.674_49;

/// A sack that loses a kilo an hour, hour by hour, and was read off half full by a coarse gauge:
/// only how much is in it is not known.
fn sack() -> Van {
    let home = "latitude: 52.1, longitude: 5.2, zone: \"UTC\", \
                typical: (low_c: 2, high_c: 8, cloud: 0.7)";
    let parts = "stocks: [(name: \"rice\", runs: down, unit: \"kg\", capacity: 100, gauge: \
                 step(0.2))],\nbase: [(name: \"eating\", per: day, takes: [(stock: \"rice\", \
                 amount: 24, spread: 0.001)])],\n";
    let places = "(name: \"Mill\", latitude: 52.2, longitude: 5.3, road_hours: 1.2, stocks: \
                  [\"rice\"], opens: \"00:00\", closes: \"23:59\"),";
    Van::of(home, parts, NOW)
        .with_places(places)
        .with_files(&["at,kind,what,amount,unit\n2026-03-02T00:00:00Z,level,rice,50,%\n"])
}

/// What is believed of the level: mean and standard deviation, in kg.
fn level(forecast: &Value) -> (f64, f64) {
    let level = &forecast["stocks"][0]["level"];
    (level["mean"].as_f64().expect("a mean"), level["sd"].as_f64().expect("a spread"))
}

/// At a kilo an hour the hours left are the kilos left, so that quantiles of the date are those
/// of the normal law of the level. With 2,000 draws, evenly over the law, they are good to a
/// fiftieth of its spread. That an hour is lost by adding one in so many is far more than that:
/// P25 lies 2.9 h above P10, 85 % sold as 90 % 1.2 h.
#[test]
fn a_tenth_of_a_normal_law_is_a_tenth() {
    let van = sack();
    let forecast = van.json(&["forecast"]);
    let (mean, sd) = level(&forecast);
    assert!(sd > 3.0, "the gauge is coarse: {sd}");
    let near = |what: &str, found: f64, z: f64| {
        let right = mean + z * sd;
        assert!((found - right).abs() < sd / 50.0, "{what}: {found} h, by the law {right} h");
    };
    for (name, z) in
        [("p10", -TENTH), ("p25", -QUARTER), ("p50", 0.0), ("p75", QUARTER), ("p90", TENTH)]
    {
        near(name, hours(&forecast, "rice", name), z);
    }
    let from_now = |value: &Value| hours_between(van.after(0.0), moment(value));
    near("next, by", from_now(&forecast["next"]["by"]), -TENTH);
    near("next, likely", from_now(&forecast["next"]["likely"]), 0.0);
    let stretch = van.json(&["stretch", "--nights", "1"]);
    for (sure, z) in [(0, -TENTH), (1, -FIFTH), (2, 0.0)] {
        near("longest", from_now(&stretch["longest"][sure]["until"]), z);
    }
    near("stock until", from_now(&stretch["stocks"][0]["until"]), -TENTH);
    // On the last morning, ten hours on, nine in ten have at least so much left.
    near("margin", 10.0 + stretch["stocks"][0]["margin"].as_f64().expect("kg"), -TENTH);
    for (asked, z) in [("90", -TENTH), ("80", -FIFTH), ("75", -QUARTER)] {
        let trip = van.json(&["stops", "--days", "3", "--confidence", asked]);
        near("stop, latest", from_now(&trip["stops"][0]["latest"]), z);
    }
}

/// To be at the mill in time is to leave an hour and twelve minutes before: its road takes so
/// long by its owner's word. Both for the stop that a schedule has and for where the next forced
/// stop leads.
#[test]
fn who_leaves_by_then_is_there_by_then() {
    let van = sack();
    let trip = van.json(&["stops", "--days", "3"]);
    let stops = trip["stops"].as_array().expect("stops");
    let leads = trip["leads"].as_array().expect("leads");
    assert!(stops.len() == 1 && leads.len() == 1, "{trip}");
    let road_h = |there: &Value, leave: &Value| hours_between(moment(leave), moment(there));
    assert!((road_h(&stops[0]["at"], &stops[0]["leave_by"]) - 1.2).abs() < 0.01, "{}", stops[0]);
    assert!((road_h(&leads[0]["by"], &leads[0]["leave_by"]) - 1.2).abs() < 0.01, "{}", leads[0]);
    // The mill never closes, so it is the date itself that has to be kept.
    let by = moment(&leads[0]["by"]);
    let safe = moment(&van.json(&["forecast"])["next"]["by"]);
    assert!(hours_between(by, safe).abs() < 0.2, "{by} for {safe}");
}
