//! What the drives of a schedule burn counts when it is chosen: nobody is led past the pump.

#[path = "fixtures/engine_rig.rs"]
mod engine_rig;
#[path = "fixtures/plan_rig.rs"]
#[allow(dead_code, reason = "each file of tests uses what it needs")]
mod plan_rig;

use engine_rig::engine_rig;
use plan_rig::{basis, with};
use waystock::domain::rig::Rig;
use waystock::plan::stops::answer::{Trip, TripRequest};
use waystock::plan::stops::{Onward, stops};
use waystock::text::stops as words;

/// The tap, and a pump that is hardly out of the way.
const PLACES: &str = r#"(format: 1, places: [
    (name: "Far tap", latitude: 57.9, longitude: 14.2, services: ["water"]),
    (name: "Far pump", latitude: 57.91, longitude: 14.2, services: ["diesel"]),
])"#;

fn asked(diesel: f64) -> (Rig, Trip) {
    let rig = engine_rig(PLACES);
    let known = with(&rig, &[("fresh", 60.0), ("diesel", diesel)]);
    let days =
        TripRequest { days: 4, confidence: 0.8, crew: None, lives: 400, seed: 1, against: vec![] };
    let trip = stops(&basis(&rig, &known), &days, &|_| Onward::GoOn).unwrap();
    (rig, trip)
}

/// By hand: there and back is some 180 km, which burn 18 L. Of 16.8 L, 12.8 above what is kept, it is filled
/// on the way; of 38 L nothing need be.
#[test]
fn a_drive_that_burns_more_than_there_is_leads_by_the_pump() {
    for (percent, pump) in [(42.0, true), (95.0, false)] {
        let (rig, trip) = asked(percent);
        assert!(trip.works, "{percent}: {}", trip.probability);
        let places = trip.stops.iter().flat_map(|stop| stop.places());
        let filled = places.filter(|place| rig.places[*place].name == "Far pump").count();
        assert_eq!(filled > 0, pump, "{:?}", trip.stops);
        assert_eq!(trip.burnt.is_some(), pump);
        let said = words::said(&trip, &rig, 80).first;
        let counted = |line: &String| line == "diesel: what the drives burn is counted in";
        assert_eq!(said.iter().any(counted), pump, "{said:?}");
    }
}
