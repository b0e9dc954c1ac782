//! A saved stop is driven to before its services and left after them, as the search for it counts.

#[path = "fixtures/engine_rig.rs"]
mod engine_rig;
#[path = "fixtures/plan_rig.rs"]
#[allow(dead_code, reason = "each file of tests uses what it needs")]
mod plan_rig;

use chrono::Duration;
use engine_rig::engine_rig;
use plan_rig::{basis, now};
use waystock::belief;
use waystock::domain::entry::{Body, Draft, Entry, EntryId, Event, Spot};
use waystock::domain::journal::standing;
use waystock::domain::plans::{PlanOutcome, answer, plans};
use waystock::domain::rig::Rig;
use waystock::domain::time::{Moment, half_hour_before};
use waystock::plan::stops::answer::{Trip, TripRequest};
use waystock::plan::stops::{Onward, saved, stops};

/// So far that the way is a good part of the tank.
const PLACES: &str = r#"(format: 1, places: [
    (name: "Far yard", latitude: 57.9, longitude: 14.2, services: ["water", "diesel"]),
])"#;

fn rig() -> Rig {
    engine_rig(PLACES)
}

fn entries(drafts: Vec<Draft>, recorded: Moment, from: u64) -> Vec<Entry> {
    let entry = |(n, Draft { at, note, body }): (usize, Draft)| {
        let id = EntryId { device: "zz".into(), sequence: from + n as u64, salt: 7 };
        Entry { id, at, recorded, note, body }
    };
    drafts.into_iter().enumerate().map(entry).collect()
}

/// The evening's readings with what else is written, and the schedule for four days.
fn asked(rig: &Rig, more: Vec<Entry>) -> (Vec<Entry>, Trip) {
    let readings = plan_rig::readings(&[("fresh", 60.0), ("diesel", 60.0)]);
    let journal = [readings, more].concat();
    let standing = standing(&journal, now());
    let known = (standing.clone(), belief::learn(rig, &standing, now(), 1));
    let days =
        TripRequest { days: 4, confidence: 0.8, crew: None, lives: 400, seed: 1, against: vec![] };
    let trip = stops(&basis(rig, &known), &days, &|_| Onward::GoOn).unwrap();
    assert_eq!(trip.stops.len(), 1);
    (journal, trip)
}

fn planned(rig: &Rig, trip: &Trip) -> Vec<Entry> {
    entries(saved::planned(rig, trip).into_iter().map(Draft::from).collect(), now(), 100)
}

/// By hand: full after the stop, less a tenth of a litre for each km of the way back; and before it
/// 24 L, less the same for the way there.
#[test]
fn the_way_back_burns_of_what_was_filled() {
    let rig = rig();
    let (mut journal, trip) = asked(&rig, Vec::new());
    let stop = &trip.stops[0];
    journal.extend(planned(&rig, &trip));
    let later = stop.at + Duration::hours(4);
    let all = plans(&standing(&journal, later));
    assert_eq!((all.len(), all[0].at), (1, stop.at), "one stop is one plan: {all:?}");
    journal.extend(entries(answer(&all[0], PlanOutcome::Done, later), later, 200));
    let diesel = |at: Moment| {
        let known = belief::learn(&rig, &standing(&journal, later), at, 1);
        known.level(1).mean
    };
    let [way, back] = stop.ways.map(|way| way.km.round());
    assert!(way > 60.0 && back == way, "{way}");
    assert!((diesel(stop.at - Duration::minutes(1)) - (24.0 - 0.1 * way)).abs() < 1.0);
    assert!((diesel(later) - (40.0 - 0.1 * way)).abs() < 1.0, "{} {way}", diesel(later));
}

/// On the way to a stop nobody is asked whether it was made: it lies ahead as a whole.
#[test]
fn a_stop_on_the_way_to_it_is_one_plan_ahead() {
    let rig = rig();
    let (mut journal, trip) = asked(&rig, Vec::new());
    journal.extend(planned(&rig, &trip));
    let on_the_way = trip.stops[0].at - Duration::minutes(10);
    let all = plans(&standing(&journal, on_the_way));
    assert_eq!(all.iter().map(|plan| plan.is_open).collect::<Vec<_>>(), [false]);
    // Hours and km of the way there, two services, the same of the way back.
    assert_eq!(all[0].entries.len(), 6);
}

/// Who camps at the place afterwards drives there and not back.
#[test]
fn a_move_has_no_way_back() {
    let rig = rig();
    let (_, trip) = asked(&rig, Vec::new());
    let moves = Draft {
        at: trip.stops[0].at - Duration::minutes(30),
        note: None,
        body: Body::Happened(Event::Camp(Spot::Named("Far yard".into()))),
    };
    let (_, trip) = asked(&rig, entries(vec![moves], now(), 50));
    let stop = &trip.stops[0];
    assert!(stop.ways[0].km > 60.0 && stop.ways[1].km < 0.1, "{stop:?}");
    let drives = planned(&rig, &trip).into_iter();
    let drives = drives.filter(|entry| matches!(entry.body, Body::Happened(Event::Drive(_))));
    // As it is told: at the half hour before.
    let leave = half_hour_before(stop.leave_by);
    assert_eq!(drives.map(|drive| drive.at).collect::<Vec<_>>(), [leave, leave]);
}
