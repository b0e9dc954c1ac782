//! Clocks that change ahead, and the sun's own.

use super::van::{Van, hours, moment};
use chrono::Timelike;
use chrono_tz::Europe::Oslo;

/// A crew that eats at noon by its own clocks, in a week in which these are put forward: every
/// loaf is eaten between twelve and one by the clocks of that day. Of thirteen loaves no tenth of the
/// futures ends just where those of one day give way to those of the next. In Oslo they were set for 29
/// March 2026, two in the morning (the European rule: the last Sunday of March).
#[test]
fn noon_is_noon_by_the_clocks_of_that_day() {
    let home = "latitude: 59.9, longitude: 10.7, zone: \"Europe/Oslo\", typical: (low_c: 2, \
                high_c: 8, cloud: 0.7)";
    let parts = "stocks: [(name: \"bread\", runs: down, unit: \"loaves\", capacity: 13)],\n\
                 activities: [(name: \"meal\", usual: 2, usual_spread: 0.1, per: van, hours: \
                 [(12, 1.0)], takes: [(stock: \"bread\", amount: 1, spread: 0.01)])],\n";
    let now = "2026-03-27T20:00:00+01:00";
    let full =
        "at,kind,what,amount,unit,step,after\n2026-03-27T20:00:00+01:00,fill,bread,,,,full\n";
    let van = Van::of(home, parts, now).with_files(&[full]);
    let forecast = van.json(&["forecast"]);
    for name in ["p10", "p25", "p50", "p75", "p90"] {
        let ends = van.after(hours(&forecast, "bread", name)).with_timezone(&Oslo);
        assert!(ends.date_naive().to_string().as_str() > "2026-03-29", "{name}: {ends}");
        assert_eq!(ends.hour(), 12, "{name}: {ends}");
    }
    // The last morning of five nights is ten o'clock by the new clocks: eight by universal time.
    let stretch = van.json(&["stretch", "--nights", "5"]);
    assert_eq!(moment(&stretch["until"]).naive_utc().to_string(), "2026-04-01 08:00:00");
}

/// A battery from which 20 W are drawn in every hour of the day, as the rig file says, on the
/// equator at longitude 0 and the equinox.
/// There the sun crosses the meridian at 12:07 by universal time (the equation of time of 20
/// March is -7.4 minutes, from memory) and is up for twelve hours, so that it rises at 6:07, or
/// some three minutes before with refraction. Large panels carry the draw within half an hour.
#[test]
fn the_sun_rises_when_it_rises() {
    let ends = |wh: f64| {
        let home = "latitude: 0, longitude: 0, zone: \"UTC\", typical: (low_c: 22, high_c: 28, \
                    cloud: 0)";
        let even: String = (0..24).map(|hour| format!("({hour}, 1), ")).collect();
        let parts = "stocks: [(name: \"battery\", runs: down, unit: \"Wh\", capacity: 1000, \
                     gauge: step(0.001))],\nbase: [(name: \"lamp\", per: day, hours: [EVEN], takes: \
                     [(stock: \"battery\", amount: 480, spread: 0.001)])],\nelectrics: (store: \
                     \"battery\", volts: 12.8, chemistry: lithium, charge_efficiency: 0.99, \
                     discharge_efficiency: 1, standing_w: 0, panels: [(rated_w: 6000, tilt: 0, \
                     facing: 180, factor: 0.7, factor_spread: 0.01)]),\n"
            .replace("EVEN", &even);
        let read =
            format!("at,kind,what,amount,unit\n2026-03-20T19:00:00Z,level,battery,{wh},Wh\n");
        let van = Van::of(home, &parts, "2026-03-20T19:00:00Z").with_files(&[&read]);
        let forecast = van.json(&["forecast"]);
        ["p10", "p90"].map(|name| hours(&forecast, "battery", name))
    };
    // Enough until 5:09: it ends then, before any sun that could save it.
    for hours in ends(203.0) {
        assert!((hours - 10.15).abs() < 0.65, "{hours}");
    }
    // Enough until 6:48: the sun is there in time.
    for hours in ends(236.0) {
        assert!(hours > 48.0, "{hours}");
    }
}
