//! Which of the schedules with as few stops is chosen: the same for other seeds, as the crew wishes,
//! and with jerrycans and containers only where they help.

#[path = "fixtures/plan_rig.rs"]
#[allow(dead_code, reason = "the rig is shared with other checks of plans")]
mod plan_rig;

use plan_rig::{basis, rig};
use waystock::domain::journal::Standing;
use waystock::domain::rig::Rig;
use waystock::domain::time::hours_between;
use waystock::domain::wish::Wish;
use waystock::plan::stops::answer::{Trip, TripRequest};
use waystock::plan::stops::{Onward, saved, stops};

fn asked(days: u32, confidence: f64) -> TripRequest {
    TripRequest { days, confidence, crew: None, lives: 1200, seed: 1, against: vec![] }
}

/// Lives of any seed bear out the same schedule: the same places in the same order, each on the same day or
/// on one that either answer calls as good.
#[test]
fn five_seeds_find_the_same_schedule() {
    let rig = rig();
    let known = plan_rig::evening(&rig);
    for (days, confidence) in [(9, 0.8), (9, 0.85)] {
        let trips = (1..6).map(|seed| {
            let asked = TripRequest { seed, ..asked(days, confidence) };
            stops(&basis(&rig, &known), &asked, &|_| Onward::GoOn).unwrap()
        });
        let trips: Vec<Trip> = trips.collect();
        for other in &trips {
            let first = &trips[0];
            assert!(other.works, "{days} days, {confidence}, seed {}", other.seed);
            let said =
                format!("{days} days, {confidence}: {:?} and {:?}", first.stops, other.stops);
            assert_eq!(first.stops.len(), other.stops.len(), "{said}");
            for (one, two) in first.stops.iter().zip(&other.stops) {
                let good =
                    one.at == two.at || one.or_on.contains(&two.at) || two.or_on.contains(&one.at);
                assert!(one.place == two.place && good, "{said}");
            }
        }
    }
}

/// With little to pay wished for, the dearer place that lies nearer is left for the cheaper one that
/// does as much; without the wish driving counts first. Both offer the same.
#[test]
fn a_crew_that_would_rather_save_money_drives_further() {
    let mut rig = rig();
    rig.places.retain(|place| place.name != "Whin market");
    let (services, stocks) = (rig.places[1].services.clone(), vec!["gas".to_string()]);
    for place in &mut rig.places {
        (place.services, place.stocks) = (services.clone(), stocks.clone());
        place.closed.clear();
    }
    let known = plan_rig::evening(&rig);
    let paid = |rig: &Rig, days, confidence| {
        let trip = stops(&basis(rig, &known), &asked(days, confidence), &|_| Onward::GoOn).unwrap();
        assert!(trip.works && !trip.stops.is_empty());
        let dear = trip.stops.iter().filter(|s| rig.places[s.place].name == "Adder lock").count();
        (trip.stops.len(), dear)
    };
    let saving = Rig { prefer: vec![Wish::Cost], ..rig.clone() };
    for (days, confidence) in [(5, 0.8), (8, 0.8), (8, 0.7)] {
        let (plain, saved) = (paid(&rig, days, confidence), paid(&saving, days, confidence));
        assert_eq!(plain.1, plain.0, "the nearer one, {days} days, {confidence}");
        assert_eq!(saved.1, 0, "the cheaper one, {days} days, {confidence}");
        // Its longer drives charge, so that it may take fewer.
        assert!(saved.0 <= plain.0, "{} stops, {days} days, {confidence}", saved.0);
    }
}

/// A van with jerrycans and containers takes along those that save a stop, and no others. The battery
/// is large here, so that water, grey and the toilet force the stops (reckoned by hand: three days
/// take one stop with and without; seven take two, and one with 40 L more of water and of room).
#[test]
fn spares_are_taken_along_where_they_help() {
    let van = |spares: [f64; 3]| {
        let mut rig = rig();
        rig.parts.stocks[3].capacity = 40_000.0;
        for (stock, spare) in rig.parts.stocks.iter_mut().zip(spares) {
            stock.spare = spare;
        }
        rig
    };
    let of = |rig: &Rig, days: u32| {
        let known = plan_rig::closed_evening(rig);
        stops(&basis(rig, &known), &asked(days, 0.7), &|_| Onward::GoOn).unwrap()
    };
    for (days, helps) in [(3, false), (7, true)] {
        let (plain, with) = (of(&van([0.0; 3]), days), of(&van([40.0, 40.0, 16.0]), days));
        assert!(plain.works && with.works && plain.spares.is_empty());
        assert_eq!(with.stops.len() < plain.stops.len(), helps, "{days} days");
        let taken = |stock: usize| with.spares.iter().any(|s| s.stock == stock && s.taken);
        assert_eq!([taken(0), taken(1)], [helps, helps], "{days} days");
        for service in with.stops.iter().flat_map(|stop| &stop.services) {
            assert_eq!(service.spare.is_some(), taken(service.stock), "{service:?}");
        }
    }
}

/// A plan that took jerrycans and containers still does once it is saved: no stop more is asked for,
/// and they are named. Counted by hand on the seven days above.
#[test]
fn a_saved_plan_keeps_its_spares() {
    let mut rig = rig();
    rig.parts.stocks[3].capacity = 40_000.0;
    for (stock, spare) in rig.parts.stocks.iter_mut().zip([40.0, 40.0, 16.0]) {
        stock.spare = spare;
    }
    let known = plan_rig::closed_evening(&rig);
    let first = stops(&basis(&rig, &known), &asked(7, 0.7), &|_| Onward::GoOn).unwrap();
    assert!(first.works && first.spares[0].taken && first.spares[1].taken, "{:?}", first.spares);
    let (mut standing, beliefs) = known;
    standing.extend(saved::planned(&rig, &first).into_iter().map(|plan| Standing {
        note: plan.note,
        ..Standing::supposed(plan.at, plan_rig::now(), plan.event)
    }));
    let again =
        stops(&basis(&rig, &(standing, beliefs)), &asked(7, 0.7), &|_| Onward::GoOn).unwrap();
    assert_eq!((again.works, again.stops.len()), (true, 0), "{:?}", again.stops);
    assert_eq!(again.planned.len(), first.stops.len());
    assert!(again.spares[0].taken && again.spares[1].taken, "{:?}", again.spares);
}

/// What the rig wishes goes first: with even stops wanted, they lie at least as evenly as without,
/// and there are no more of them. Both hold as surely as was asked.
#[test]
fn a_wish_of_the_rig_goes_first() {
    let known = plan_rig::evening(&rig());
    let unevenness = |trip: &Trip| {
        let ends = [trip.at].into_iter().chain(trip.stops.iter().map(|stop| stop.at));
        let ends: Vec<_> = ends.chain([trip.until]).collect();
        let days = ends.windows(2).map(|gap| hours_between(gap[0], gap[1]) / 24.0);
        days.map(|days| days * days).sum::<f64>().round()
    };
    for days in [6, 9] {
        let plain = stops(&basis(&rig(), &known), &asked(days, 0.8), &|_| Onward::GoOn).unwrap();
        let wishes = Rig { prefer: vec![Wish::Even], ..rig() };
        let even = stops(&basis(&wishes, &known), &asked(days, 0.8), &|_| Onward::GoOn).unwrap();
        assert!(plain.works && even.works && even.probability >= 0.8);
        assert!(even.stops.len() <= plain.stops.len());
        let (even, plain) = (unevenness(&even), unevenness(&plain));
        assert!(even <= plain, "{even} and {plain} in {days} days");
    }
}
