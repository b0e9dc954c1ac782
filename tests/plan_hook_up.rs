//! Hours of hook-up that a place gives in one stay: counted in by a stretch there, and by
//! schedules only where they fill the battery.

#[path = "fixtures/plan_rig.rs"]
#[allow(dead_code, reason = "the rig is shared with other checks of plans")]
mod plan_rig;

use plan_rig::{basis, rig, with};
use waystock::belief::Beliefs;
use waystock::domain::entry::{Event, Spot};
use waystock::domain::hours_between;
use waystock::domain::journal::Standing;
use waystock::domain::plans::plans;
use waystock::domain::rig::Rig;
use waystock::domain::unit::Unit;
use waystock::plan::answer::{Request, Stretch};
use waystock::plan::stops::answer::{Stop, Trip, TripRequest};
use waystock::plan::stops::{Onward, saved, stops};
use waystock::plan::stretch::verdict;
use waystock::text::{stops as stops_in_words, stretch as words};

/// The van with that many hours at each place that has a hook-up.
fn giving(hours: Option<f64>) -> Rig {
    let mut rig = rig();
    let hooked =
        |place: &&mut waystock::domain::place::Place| place.services.contains(&"shore".into());
    rig.places.iter_mut().filter(hooked).for_each(|place| place.hook_up_hours = hours);
    rig
}

/// An evening on which the battery is what runs short.
fn short_of_power(rig: &Rig) -> (Vec<Standing>, Beliefs) {
    with(
        rig,
        &[
            ("fresh", 95.0),
            ("grey", 5.0),
            ("liquids", 5.0),
            ("battery", 45.0),
            ("diesel", 95.0),
            ("gas", 95.0),
            ("nights here", 11.0),
        ],
    )
}

fn trip(hours: Option<f64>) -> Trip {
    let rig = giving(hours);
    let known = short_of_power(&rig);
    let asked =
        TripRequest { days: 4, confidence: 0.85, crew: None, lives: 800, seed: 1, against: vec![] };
    stops(&basis(&rig, &known), &asked, &|_| Onward::GoOn).unwrap()
}

fn stay(hours: Option<f64>, place: Option<&str>) -> Stretch {
    let rig = giving(hours);
    let known = short_of_power(&rig);
    let place = place.map(|name| Spot::Named(name.into()));
    let request = Request { place, lives: 600, ..Request::here_for(2) };
    verdict(&basis(&rig, &known), &request).0
}

/// Hours of charging at each stop, in order.
fn charged(trip: &Trip) -> Vec<f64> {
    trip.stops.iter().flat_map(|stop| &stop.services).filter_map(|s| s.hours).collect()
}

#[test]
fn stops_count_on_a_hook_up_only_as_long_as_it_lasts() {
    let (unsaid, ample, short) = (trip(None), trip(Some(12.0)), trip(Some(0.5)));
    assert!(unsaid.works && !charged(&unsaid).is_empty(), "{:?}", unsaid.stops);
    // A stay that is long enough is a stay that fills it.
    assert!(ample.works);
    assert_eq!(charged(&ample), charged(&unsaid));
    // Half an hour brings a tenth of what is missing: no schedule rests on it.
    assert!(charged(&short).is_empty(), "{:?}", short.stops);
    assert!(short.probability < unsaid.probability - 0.2, "{}", short.probability);
}

#[test]
fn the_hours_that_are_told_are_never_more_than_there_are() {
    let unsaid = charged(&trip(None));
    for hours in [2.0, 3.0, 3.5, 4.0, 5.0] {
        let told = charged(&trip(Some(hours)));
        assert!(told.iter().all(|told| *told <= hours), "{hours}: {told:?}, else {unsaid:?}");
    }
}

/// By hand: who charges for some hours and drives on does not drive in those hours, and it is one stop
/// whose hour is that of the hook-up.
#[test]
fn the_way_on_from_a_saved_stop_begins_when_the_hook_up_has_charged() {
    let rig = giving(None);
    let trip = trip(None);
    let hooked_up = |stop: &&Stop| stop.services.iter().any(|service| service.hours.is_some());
    let stop = trip.stops.iter().find(hooked_up).unwrap();
    let hours = stop.services.iter().find_map(|service| service.hours).unwrap();
    let alone = Trip { stops: vec![stop.clone()], ..trip.clone() };
    let planned: Vec<Standing> = saved::planned(&rig, &alone)
        .into_iter()
        .map(|planned| Standing {
            note: planned.note,
            ..Standing::supposed(planned.at, plan_rig::now(), planned.event)
        })
        .collect();
    let drives = |entry: &&Standing| matches!(entry.event, Event::Drive(_));
    let on = planned.iter().rfind(drives).unwrap();
    assert!(hours >= 1.0, "{stop:?}");
    assert_eq!(hours_between(stop.at, on.at), hours);
    let all = plans(&planned);
    assert_eq!(all.iter().map(|plan| plan.at).collect::<Vec<_>>(), [stop.at], "{all:?}");
    assert_eq!(all[0].entries.len(), planned.len());
    assert_eq!(saved::stops_ahead(&rig, &all)[0].hook_up_hours, hours);
}

/// A battery that holds one day drives to the hook-up each day: who is told so may camp there instead.
#[test]
fn a_hook_up_on_days_running_is_said_to_be_a_stay() {
    let mut rig = giving(None);
    let battery = rig.parts.stocks.iter_mut().find(|stock| stock.unit == Unit::WattHour).unwrap();
    battery.capacity *= 0.8;
    rig.places.iter_mut().for_each(|place| place.closed.clear());
    let known = short_of_power(&rig);
    let asked =
        TripRequest { days: 5, confidence: 0.8, crew: None, lives: 400, seed: 1, against: vec![] };
    let trip = stops(&basis(&rig, &known), &asked, &|_| Onward::GoOn).unwrap();
    let said = stops_in_words::said(&trip, &rig, 80).first;
    let running: Vec<&String> = said.iter().filter(|line| line.contains("days running")).collect();
    assert_eq!(running.len(), 1, "{said:?}");
    let many = trip.stops.len();
    let all = format!("Stops 1 to {many} are at Adder lock on {many} days running, for battery.");
    assert!(running[0].starts_with(&all), "{running:?}");
}

#[test]
fn a_stretch_at_a_place_counts_its_hours_in() {
    let (without, with) = (stay(None, Some("Adder lock")), stay(Some(3.0), Some("Adder lock")));
    assert_eq!((without.hook_up_hours, with.hook_up_hours), (None, Some(3.0)));
    assert!(
        with.probability > without.probability + 0.2,
        "{} {}",
        without.probability,
        with.probability
    );
    let battery = |stretch: &Stretch| {
        let stock = stretch.stocks.iter().find(|stock| stock.name == "battery").unwrap();
        stock.margin
    };
    // Three hours of 700 Wh, or as much of it as the battery holds.
    let more = battery(&with) - battery(&without);
    assert!((900.0..2300.0).contains(&more), "{more}");
    assert_eq!(words::hook_up(&with).as_deref(), Some("with 3 h of hook-up there"));
    assert_eq!(words::hook_up(&without), None);
}

#[test]
fn hours_are_counted_only_where_the_van_goes_and_is_charged() {
    let mut rig = giving(Some(3.0));
    rig.places.iter_mut().for_each(|place| place.hook_up_hours = Some(3.0));
    let known = short_of_power(&rig);
    for (place, hours) in [
        (None, None),
        (Some(Spot::At { latitude: 57.45, longitude: 14.35 }), None),
        // No hook-up among its services.
        (Some(Spot::Named("Whin market".into())), None),
        (Some(Spot::Named("adder lock".into())), Some(3.0)),
    ] {
        let request = Request { place, lives: 64, ..Request::here_for(1) };
        let answer = verdict(&basis(&rig, &known), &request).0;
        assert_eq!(answer.hook_up_hours, hours, "{:?}", request.place);
    }
}

/// A rig that does not say what a hook-up brings is counted with what is usual, 700 Wh an hour
/// (common practice, no source), and never with nothing: three hours bring as much as where the rig says
/// that it is 700.
#[test]
fn a_hook_up_that_the_rig_does_not_know_brings_what_is_usual() {
    let battery = |known: bool| {
        let mut rig = giving(Some(3.0));
        rig.parts.base.retain(|base| known || base.name != "hook-up");
        let known = short_of_power(&rig);
        let place = Some(Spot::Named("Adder lock".into()));
        let request = Request { place, lives: 600, ..Request::here_for(2) };
        let answer = verdict(&basis(&rig, &known), &request).0;
        answer.stocks.iter().find(|stock| stock.name == "battery").unwrap().margin
    };
    let (said, unsaid) = (battery(true), battery(false));
    assert!((said - unsaid).abs() < 50.0, "{said} and {unsaid}");
}
