//! Places near each other are one stop: a drain, a tap and a hook-up in one village.

#[path = "fixtures/plan_rig.rs"]
#[allow(dead_code, reason = "each file of tests uses what it needs")]
mod plan_rig;

use chrono::{TimeDelta, Timelike};
use plan_rig::{USUAL, basis, evening, now, with};
use std::path::Path;
use waystock::belief::Beliefs;
use waystock::domain::entry::{ChargeSource, Event};
use waystock::domain::journal::Standing;
use waystock::domain::plans::plans;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::unit::Unit;
use waystock::plan::stops::answer::{Stop, Trip, TripRequest};
use waystock::plan::stops::{Onward, saved, stops};
use waystock::store::places_file;

/// All in one place, as far from the camp as the village.
const ONE: &str = r#"
    (name: "Mill lane", latitude: 57.45, longitude: 14.35, services: ["water", "grey", "liquids", "shore"]),
"#;

/// The same, in three places within two kilometres.
const VILLAGE: &str = r#"
    (name: "Mill drain", latitude: 57.45, longitude: 14.35, cost: 4, services: ["grey", "liquids"],
     opens: "09:00", closes: "13:30"),
    (name: "Mill tap", latitude: 57.455, longitude: 14.36, services: ["water"]),
    (name: "Mill quay", latitude: 57.445, longitude: 14.345, cost: 7, services: ["shore"]),
"#;

/// The gas is sold as far away in the other direction.
const APART: &str = r#"
    (name: "Mill lane", latitude: 57.45, longitude: 14.35, services: ["water", "grey", "liquids", "shore"]),
    (name: "Moor market", latitude: 57.15, longitude: 14.05, stocks: ["gas"]),
"#;

fn rig(places: &str) -> Rig {
    let text = format!("(format: 1, places: [{places}])");
    Rig { places: places_file::parse(&text, Path::new("places.ron")).unwrap(), ..plan_rig::rig() }
}

fn asked(rig: &Rig) -> Trip {
    schedule(rig, &evening(rig), 9)
}

fn schedule(rig: &Rig, known: &(Vec<Standing>, Beliefs), days: u32) -> Trip {
    let request =
        TripRequest { days, confidence: 0.8, crew: None, lives: 800, seed: 1, against: vec![] };
    stops(&basis(rig, known), &request, &|_| Onward::GoOn).unwrap()
}

/// Km on a sphere of 6371 km by the law of cosines, the road 1.35 times as long.
fn km(from: (f64, f64), to: (f64, f64)) -> f64 {
    let ((a, b), (c, d)) = (from, to);
    let [a, c, east] = [a, c, d - b].map(f64::to_radians);
    1.35 * 6371.0 * (a.sin() * c.sin() + a.cos() * c.cos() * east.cos()).acos()
}

/// As many stops as with everything in one place, which could not be fewer.
#[test]
fn what_lies_in_one_village_is_one_stop() {
    let [one, village] = [ONE, VILLAGE].map(|places| asked(&rig(places)));
    assert!(one.works && village.works);
    assert_eq!(village.stops.len(), one.stops.len());
    assert!(village.stops.iter().any(|stop| stop.further.len() == 2), "{:?}", village.stops);
}

/// What is far away is a stop of its own: the bottle is nearly empty, and so it is gone for.
#[test]
fn what_lies_apart_is_a_stop_of_its_own() {
    let rig = rig(APART);
    let low = USUAL.map(|(stock, share)| (stock, if stock == "gas" { 11.0 } else { share }));
    let apart = schedule(&rig, &with(&rig, &low), 5);
    assert!(apart.works, "{}", apart.probability);
    assert!(apart.stops.iter().all(|stop| stop.further.is_empty()), "{:?}", apart.stops);
    assert!([0, 1].iter().all(|place| apart.stops.iter().any(|stop| stop.place == *place)));
}

/// One far place has what two near ones have on either side: 50 km are worth a stop more, and what
/// the fewest would drive is said.
#[test]
fn a_stop_more_is_made_rather_than_a_long_drive() {
    let near = r#"
        (name: "Mill lane", latitude: 57.36, longitude: 14.2, services: ["water", "grey", "liquids", "shore"]),
        (name: "Moor market", latitude: 57.1, longitude: 14.2, stocks: ["gas"]),
    "#;
    let far = r#"
        (name: "Far town", latitude: 58.1, longitude: 14.2, services: ["water", "grey", "liquids", "shore"],
         stocks: ["gas"]),
    "#;
    let low = USUAL.map(|(stock, share)| (stock, if stock == "gas" { 11.0 } else { share }));
    let [only_far, both] = [far.to_string(), near.to_string() + far].map(|places| {
        let rig = rig(&places);
        schedule(&rig, &with(&rig, &low), 3)
    });
    assert!(only_far.works && both.works);
    assert!(both.stops.iter().all(|stop| stop.km < 100.0), "{:?}", both.stops);
    assert!(both.stops.len() > only_far.stops.len());
    let longer = both.longer.expect("what fewer stops come to");
    assert!(both.stops.len() > longer.stops);
    // The far town once, and the lane.
    let home = plan_rig::rig().home;
    let there_and_back = |north: f64| 2.0 * km((home.latitude, home.longitude), (north, 14.2));
    let by_hand = there_and_back(58.1) + there_and_back(57.36);
    assert!((longer.km - by_hand).abs() <= 1.0, "{} {by_hand}", longer.km);
}

/// A stop that leads far says what for: the gas that is sold nowhere near.
#[test]
fn a_far_stop_says_what_it_is_for() {
    let places = r#"
        (name: "Mill lane", latitude: 57.36, longitude: 14.2, services: ["water", "grey", "liquids", "shore"]),
        (name: "Far town", latitude: 58.1, longitude: 14.2, services: ["water", "grey", "liquids", "shore"],
         stocks: ["gas"]),
    "#;
    let rig = rig(places);
    let low = USUAL.map(|(stock, share)| (stock, if stock == "gas" { 11.0 } else { share }));
    let trip = schedule(&rig, &with(&rig, &low), 3);
    let gas = trip.stocks.iter().position(|stock| stock.name == "gas").unwrap();
    let far: Vec<&Stop> = trip.stops.iter().filter(|stop| stop.km > 100.0).collect();
    assert!(!far.is_empty() && far.iter().all(|stop| stop.far_for == [gas]), "{:?}", trip.stops);
}

/// Each thing is done at a place that offers it, in its hours with an hour left, and each place of a
/// stop is there for something; the van is on the hook-up at the last.
#[test]
fn each_thing_is_done_where_it_can_be() {
    let rig = rig(VILLAGE);
    let trip = asked(&rig);
    for stop in &trip.stops {
        for service in &stop.services {
            let event = match service.hours {
                Some(_) => Event::Charge {
                    source: ChargeSource::Shore,
                    amount: Quantity::new(Amount::from_f64(1.0).unwrap(), Unit::Hour),
                },
                None => saved::serviced(&trip.stocks[service.stock]),
            };
            assert!(saved::can_be_done(&rig, &rig.places[service.place], &event), "{event:?}");
            assert!(service.hours.is_none() || stop.places().last() == Some(service.place));
        }
        for place in stop.places() {
            assert!(stop.services.iter().any(|service| service.place == place), "{stop:?}");
            let time = rig.zone(now()).here(stop.at_place(place)).time();
            assert!(rig.places[place].opens.is_none_or(|opens| time >= opens));
            assert!(rig.places[place].closes.is_none_or(|closes| time.hour() < closes.hour()));
        }
        let latest = stop.latest.unwrap_or(stop.at);
        assert!(stop.at <= latest, "{stop:?}");
    }
}

/// By hand: the way there, between the places and home again, and what all of them cost.
#[test]
fn a_drive_through_a_village_is_as_long_as_its_ways() {
    let rig = rig(VILLAGE);
    let trip = asked(&rig);
    let home = (rig.home.latitude, rig.home.longitude);
    for stop in &trip.stops {
        let through = stop.places().map(|place| &rig.places[place]);
        let through: Vec<(f64, f64)> = through.map(|p| (p.latitude, p.longitude)).collect();
        let ends = [home].into_iter().chain(through).chain([home]);
        let ends: Vec<(f64, f64)> = ends.collect();
        let by_hand: f64 = ends.windows(2).map(|two| km(two[0], two[1])).sum();
        assert!((stop.km - by_hand).abs() <= 0.51, "{} {by_hand}", stop.km);
        assert!((stop.hours - by_hand / 45.0).abs() < 0.01);
        let cost: f64 = stop.places().filter_map(|place| rig.places[place].cost).sum();
        assert_eq!(stop.cost.unwrap_or(0.0), cost);
    }
}

/// Each place is a plan of its own in the journal, with the way to it, and the last with the way home:
/// who has been to the drain and not to the tap can say so.
#[test]
fn each_place_of_a_stop_is_saved_as_one() {
    let rig = rig(VILLAGE);
    let trip = asked(&rig);
    let longest = |stop: &&Stop| stop.further.len();
    let stop = trip.stops.iter().max_by_key(longest).unwrap();
    let trip = Trip { stops: vec![stop.clone()], ..trip.clone() };
    let saved = saved::planned(&rig, &trip);
    let standing: Vec<_> = saved
        .iter()
        .map(|planned| Standing {
            note: planned.note.clone(),
            ..Standing::supposed(planned.at, now(), planned.event.clone())
        })
        .collect();
    let all = plans(&standing);
    let places: Vec<String> = all.iter().filter_map(|plan| plan.place.clone()).collect();
    let names: Vec<String> = stop.places().map(|place| rig.places[place].name.clone()).collect();
    assert_eq!(places, names);
    let drives = |n: usize| {
        let all = all[n].entries.iter().map(|entry| &entry.event);
        all.filter(|event| matches!(event, Event::Drive(_))).count()
    };
    // Two kilometres are no tenth of an hour.
    assert_eq!([drives(0), drives(2)], [1, 1], "{all:?}");
    let services = |n: usize| all[n].entries.len() - drives(n);
    assert_eq!((0..3).map(services).sum::<usize>(), stop.services.len());
    assert!(all.windows(2).all(|two| two[0].at < two[1].at));
}

/// The way is a little longer by the tap first. So the drain is first where the water lasts, and the tap
/// where it would be out by the time that one comes from the drain.
#[test]
fn what_would_be_out_by_then_is_done_first() {
    let mut rig = rig(r#"
        (name: "Mill drain", latitude: 57.45, longitude: 14.35, services: ["grey", "liquids"]),
        (name: "Mill tap", latitude: 57.455, longitude: 14.36, services: ["water"]),
    "#);
    // No hook-up is needed, which would have to be the last.
    let battery = rig.parts.stocks.iter_mut().find(|stock| stock.unit == Unit::WattHour).unwrap();
    battery.capacity *= 20.0;
    let first = |fresh: f64| {
        let ample = [("liquids", 5.0), ("battery", 95.0), ("diesel", 95.0), ("gas", 95.0)];
        let read = [&[("fresh", fresh), ("grey", 50.0)][..], &ample].concat();
        let trip = schedule(&rig, &with(&rig, &read), 4);
        let stop = trip.stops[0].clone();
        let out = stop.out.unwrap();
        assert_eq!(stop.places().count(), 2, "{stop:?}");
        assert!(stop.at_place(1) < out, "the tap at {} before {out}", stop.at_place(1));
        (rig.places[stop.place].name.clone(), out - stop.at)
    };
    let (pressing, ample) = (first(22.0), first(36.0));
    assert!(pressing.1 < TimeDelta::minutes(75) && ample.1 > TimeDelta::hours(3));
    assert_eq!([pressing.0, ample.0], ["Mill tap", "Mill drain"]);
}

/// At half past eight in the evening the water is nearly out, and the tap is where the van stands: that is
/// no drive and need not wait for the morning. Nobody drives to another tap by night.
#[test]
fn what_is_at_hand_is_done_at_once() {
    let mut rig = rig(r#"
        (name: "Reed bank", latitude: 57.3, longitude: 14.2, services: ["water", "grey", "liquids"]),
        (name: "Mill tap", latitude: 57.31, longitude: 14.22, services: ["water"]),
    "#);
    let battery = rig.parts.stocks.iter_mut().find(|stock| stock.unit == Unit::WattHour).unwrap();
    battery.capacity *= 20.0;
    let ample = [("liquids", 5.0), ("battery", 95.0), ("diesel", 95.0), ("gas", 95.0)];
    let read = [&[("fresh", 14.0), ("grey", 30.0)][..], &ample].concat();
    let first = |rig: &Rig| schedule(rig, &with(rig, &read), 3).stops.first().cloned();
    let stop = first(&rig).unwrap();
    assert_eq!(rig.places[stop.place].name, "Reed bank");
    assert!(stop.at - now() <= TimeDelta::hours(1) && stop.km < 1.0, "{stop:?}");
    rig.places.remove(0);
    let stop = first(&rig);
    assert!(stop.is_none_or(|stop| stop.at - now() > TimeDelta::hours(8)));
}
