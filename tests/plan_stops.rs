//! Schedules of stops on a small van: what is promised holds on lives of another seed, surer
//! never stops later, closed days are kept, and nobody waits in vain.

#[path = "fixtures/plan_rig.rs"]
mod plan_rig;

use chrono::{Datelike, Weekday};
use plan_rig::{now, rig, with};
use waystock::domain::time::hours_between;
use waystock::forecast::tracks::{Put, Track};
use waystock::plan::answer::Request;
use waystock::plan::case::{Case, Outcome};
use waystock::plan::stops::answer::{Trip, TripRequest};
use waystock::plan::stops::stops;

fn asked(days: u32, confidence: f64) -> TripRequest {
    TripRequest { days, confidence, crew: None, lives: 1200, seed: 1 }
}

/// Share of lives of a third seed in which the schedule's services keep all stocks in.
fn on_other_lives(
    known: &(Vec<waystock::domain::journal::Standing>, waystock::belief::Beliefs),
    trip: &Trip,
) -> f64 {
    let stay = Request { lives: 1200, seed: 90_210, ..Request::nights(trip.days) };
    let case = Case::of(&rig(), &known.0, &known.1, now(), &stay, 0);
    let stocks = case.beliefs.mechanism.stocks();
    let mut puts = Vec::new();
    for stop in &trip.stops {
        let hour = hours_between(now(), stop.at).round() as usize;
        let serviced = stop.services.iter().map(|service| service.stock);
        let camped = (0..stocks.len()).filter(|s| stocks[*s].reset_by_camp);
        puts.extend(serviced.chain(camped).map(|s| (hour, s, Put::To(stocks[s].serviced_level()))));
    }
    let lives = case.run(&[Track { from: 0, puts, mark: None }]).pop().unwrap();
    Outcome::of(lives, &case).probability
}

#[test]
fn what_is_asked_holds_on_fresh_lives() {
    let rig = rig();
    let mut state = 17u64;
    let mut next = |low: f64, high: f64| {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((state >> 40) as f64 / (1u64 << 24) as f64)
    };
    let mut worked = 0;
    for _ in 0..8 {
        let known = with(
            &rig,
            &[
                ("fresh", next(40.0, 95.0)),
                ("grey", next(5.0, 50.0)),
                ("liquids", next(5.0, 50.0)),
                ("battery", next(60.0, 95.0)),
                ("diesel", next(50.0, 95.0)),
                ("gas", next(50.0, 95.0)),
                ("nights here", 11.0),
            ],
        );
        let confidence = next(0.75, 0.92);
        let trip =
            stops(&rig, &known.0, &known.1, now(), &asked(8, confidence), &|| false).unwrap();
        if !trip.works {
            continue;
        }
        worked += 1;
        assert!(trip.probability >= confidence);
        // Two standard errors of both samples' difference.
        let error = 2.0 * (2.0 * confidence * (1.0 - confidence) / 1200.0).sqrt();
        let share = on_other_lives(&known, &trip);
        assert!(share >= confidence - error, "{share} where {confidence} was asked");
    }
    assert!(worked >= 3, "only {worked} worked");
}

#[test]
fn closed_days_deadlines_and_leads_are_kept() {
    let rig = rig();
    let known = plan_rig::evening(&rig);
    let trip = stops(&rig, &known.0, &known.1, now(), &asked(8, 0.8), &|| false).unwrap();
    assert!(trip.works && !trip.stops.is_empty());
    for stop in &trip.stops {
        assert!(rig.places[stop.place].name != "Adder lock" || stop.at.weekday() != Weekday::Sun);
        assert!(stop.leave_by < stop.at);
        assert!(stop.latest.is_none_or(|latest| stop.at <= latest));
        assert!(stop.services.iter().all(|s| s.amount >= 0.0));
        let needed = stop.services.iter().position(|s| !s.needed).unwrap_or(stop.services.len());
        assert!(stop.services[needed..].iter().all(|s| !s.needed), "needed ones come first");
    }
    assert!(!trip.leads.is_empty());
    for lead in &trip.leads {
        assert!(lead.leave_by >= now() && lead.leave_by <= lead.by);
        let first = trip.stops[0].latest.unwrap();
        assert!(lead.by <= first || (lead.by - first).num_hours() < 24);
    }
    assert!(trip.leads.windows(2).all(|pair| pair[0].hours <= pair[1].hours));
}

#[test]
fn surer_is_never_later_and_never_fewer() {
    let rig = rig();
    let known = plan_rig::evening(&rig);
    let mut last: Option<Trip> = None;
    for confidence in [0.6, 0.75, 0.9] {
        let trip =
            stops(&rig, &known.0, &known.1, now(), &asked(6, confidence), &|| false).unwrap();
        if let (Some(looser), true) = (&last, trip.works) {
            assert!(trip.stops.len() >= looser.stops.len());
            let first = |trip: &Trip| trip.stops.first().and_then(|s| s.latest);
            assert!(first(&trip) <= first(looser));
        }
        last = Some(trip);
    }
}

#[test]
fn a_search_can_be_given_up() {
    let rig = rig();
    let known = plan_rig::evening(&rig);
    assert!(stops(&rig, &known.0, &known.1, now(), &asked(20, 0.9), &|| true).is_err());
}

#[test]
fn what_no_place_offers_is_named() {
    let mut rig = rig();
    rig.places.retain(|place| place.name == "Whin market");
    let known = plan_rig::evening(&rig);
    let trip = stops(&rig, &known.0, &known.1, now(), &asked(10, 0.9), &|| false).unwrap();
    assert!(!trip.works);
    let relaxation = trip.relaxation.unwrap();
    let names: Vec<&str> =
        relaxation.unserved.iter().map(|s| trip.stocks[*s].name.as_str()).collect();
    assert!(names.contains(&"fresh") && names.contains(&"battery"), "{names:?}");
    assert!(!names.contains(&"gas"), "{names:?}");
    assert!(relaxation.days.is_none_or(|days| days < 10));
}
