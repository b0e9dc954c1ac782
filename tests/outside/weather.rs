//! Seasons, and outlooks that know less of later days.

use super::van::{Van, hours};
use std::path::Path;
use waystock::domain::rig::Rig;

/// A van that burns diesel to stay warm. How well it holds warmth is known to a hundredth, so
/// that what is not known of the date is the weather.
pub const STOVE: &str = "stocks: [(name: \"diesel\", runs: down, unit: \"L\", capacity: 12, \
     gauge: step(0.01)), (name: \"battery\", runs: down, unit: \"Wh\", capacity: 90000)],\n\
     electrics: (store: \"battery\", volts: 12.8, chemistry: lithium, standing_w: 1),\n\
     heating: (burns: \"diesel\", wh_per_unit: 10025, efficiency: 0.8, output_w: 4000, \
     lowest_w: 100, fan_w: 1, start_wh: 0, ua_w_per_k: 60, ua_spread: 0.01, day_c: 19, night_c: \
     19, night_from: 22, night_to: 7, person_w: 0, sun_gain_m2: 0),\n";

/// The same as the library has it.
pub fn rig(home: &str) -> Rig {
    let text = format!(
        "(format: 1, van: \"Tern\", crew: 1, show: metric,\n home: (place: \"Here\", {home}),\n\
         {STOVE})"
    );
    waystock::store::rig_file::parse(&text, Path::new("rig.ron"))
        .unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn full(at: &str) -> String {
    format!("at,kind,what,amount,unit,step,after\n{at},fill,diesel,,,,full\n")
}

/// South of the equator July is winter. A van that nobody has told what is usual burns more then,
/// as one in the north does in January: half a year apart, the same latitude, the same date of the
/// season. Monthly means of Hobart (42.9 S) are some 8 C in July and 17 C in January, of Boston
/// (42.4 N) -1 C and 23 C (from memory): winter is below 12 C and summer above 14 C in both.
#[test]
fn july_is_winter_in_the_south() {
    let lasts = |latitude: f64, at: &str| {
        let home = format!("latitude: {latitude}, longitude: 0, zone: \"UTC\"");
        let van = Van::of(&home, STOVE, at).with_files(&[&full(at)]);
        van.hours("diesel", "p50")
    };
    let (january, july) = ("2026-01-16T12:00:00Z", "2026-07-17T12:00:00Z");
    let south = (lasts(-42.5, january), lasts(-42.5, july));
    let north = (lasts(42.5, january), lasts(42.5, july));
    assert!(south.0 > 2.0 * south.1, "south: {} h in January, {} h in July", south.0, south.1);
    assert!(north.1 > 2.0 * north.0, "north: {} h in January, {} h in July", north.0, north.1);
    let same = |a: f64, b: f64| (a / b - 1.0).abs() < 0.03 || (a.is_infinite() && b.is_infinite());
    assert!(same(south.1, north.0) && same(south.0, north.1), "{south:?} {north:?}");
}

/// The same days, foretold as equally cold: once this morning, once four days ago. Errors of an
/// outlook grow with its lead (Lorenz 1982, from memory: about twice as large after two and a half
/// days), so the older one leaves more open.
#[test]
fn an_older_outlook_of_the_same_days_leaves_more_open() {
    let home = "latitude: 52, longitude: 5, zone: \"UTC\", typical: (low_c: 2, high_c: 8, cloud: \
                0.7)";
    let now = "2026-02-10T20:00:00Z";
    let band = |issued: &str| {
        let rows = (10..=12).map(|day| format!("{issued},2026-02-{day},0,6,,0.7\n"));
        let rows = rows.collect::<String>();
        let outlook = format!("issued,date,low_c,high_c,sun_kwh_m2,cloud\n{rows}");
        // Enough for a day, roughly: 16 K times 60 W/K are 0.12 L an hour.
        let level = format!("at,kind,what,amount,unit\n{now},level,diesel,2.9,L\n");
        let van = Van::of(home, STOVE, now).with_files(&[&outlook, &level]);
        let forecast = van.json(&["forecast"]);
        ["p10", "p50", "p90"].map(|name| hours(&forecast, "diesel", name))
    };
    let (fresh, stale) = (band("2026-02-10T06:00:00Z"), band("2026-02-07T06:00:00Z"));
    assert!((18.0..34.0).contains(&fresh[1]), "{fresh:?}");
    let (narrow, wide) = (fresh[2] - fresh[0], stale[2] - stale[0]);
    assert!(wide > 1.4 * narrow, "{narrow} h with this morning's, {wide} h with an older one");
}
