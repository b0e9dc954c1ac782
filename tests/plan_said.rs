//! What a trip says agrees with itself and with the files that it rests on.

#[path = "fixtures/plan_rig.rs"]
mod plan_rig;

use chrono::NaiveTime;
use plan_rig::{basis, evening, now, rig};
use std::path::Path;
use waystock::belief::Beliefs;
use waystock::domain::journal::Standing;
use waystock::domain::rig::Rig;
use waystock::domain::time::Zone;
use waystock::domain::unit::UnitSystem;
use waystock::domain::wish::Wish;
use waystock::plan::stops::answer::{Against, PlanTotals};
use waystock::plan::stops::answer::{PlannedStop, Trip, TripRequest};
use waystock::plan::stops::{Onward, saved, stops};
use waystock::store::{places_file, rig_file};
use waystock::text::stops as words;

fn asked(days: u32) -> TripRequest {
    TripRequest { days, confidence: 0.8, crew: None, lives: 800, seed: 1, against: vec![] }
}

fn ask(rig: &Rig, known: &(Vec<Standing>, Beliefs), request: &TripRequest) -> Trip {
    stops(&basis(rig, known), request, &|_| Onward::GoOn).unwrap()
}

fn zone() -> Zone {
    rig().zone(now())
}

/// The van with places that are open from 9 to 17.
fn by_day() -> Rig {
    let mut rig = rig();
    let time = |hour| NaiveTime::from_hms_opt(hour, 0, 0);
    rig.places.iter_mut().for_each(|place| (place.opens, place.closes) = (time(9), time(17)));
    rig
}

/// Whole numbers with this unit behind them, as they stand in a text.
fn named(text: &str, unit: &str) -> Vec<u32> {
    let words: Vec<&str> = text.split([' ', ';', ',', '(', ')']).collect();
    let pairs = words.windows(2).filter(|two| two[1] == unit);
    pairs.filter_map(|two| two[0].parse().ok()).collect()
}

/// What is said of each stop adds up to what is said of all, whatever it was rounded from.
#[test]
fn the_driving_of_the_stops_adds_up_as_it_is_printed() {
    let (mut rig, known) = (rig(), evening(&rig()));
    let trip = ask(&rig, &known, &asked(8));
    let asked = PlanTotals::of(&trip);
    assert!(trip.stops.len() > 1 && trip.stops.iter().all(|stop| stop.km.fract() == 0.0));
    for (system, unit) in [(UnitSystem::Metric, "km"), (UnitSystem::Us, "mi")] {
        rig.show = system;
        let each = trip.stops.iter().map(|stop| words::stop(stop, &rig.places, &zone(), system));
        let sum: u32 = each.map(|line| named(&line, unit)[0]).sum();
        assert!(sum > 0);
        assert_eq!(named(&words::totals(&trip, &zone(), system), unit), [sum]);
        let said = words::said(&trip, &rig, 80).more;
        let (_, good) = said.iter().find(|(head, _)| head == "How good it is").unwrap();
        assert_eq!(named(&good[1], unit), [sum], "{}", good[1]);
        let row = words::beside(&[("as asked".to_string(), Some(&asked))], &rig, 80);
        assert_eq!(named(&row[1], unit), [sum], "{row:?}");
    }
}

/// Why the latest time is earlier than the date on which the stock is out is said beside it.
#[test]
fn a_latest_time_says_that_the_place_is_closed_later() {
    let (rig, known) = (by_day(), evening(&rig()));
    let trip = ask(&rig, &known, &asked(8));
    let mut told = 0;
    for (n, stop) in trip.stops.iter().enumerate() {
        let line = words::glance(&trip, n, &rig.places, &zone());
        let closed = stop
            .latest
            .zip(stop.out)
            .is_some_and(|(latest, out)| zone().date(latest) < zone().date(out));
        assert!(line.contains(", while it is open (") || !closed, "{line}");
        told += usize::from(closed);
    }
    assert!(told > 0);
}

/// That there is one stop a day is said of no schedule with two.
#[test]
fn one_stop_a_day_is_said_where_it_is_so() {
    let (rig, known) = (rig(), evening(&rig()));
    let mut trip = ask(&rig, &known, &asked(8));
    assert!(trip.stops.len() > 1);
    let said = |trip: &Trip| {
        let heads = words::said(trip, &rig, 80).parts.into_iter().map(|(head, _)| head);
        heads.filter(|head| head.contains("One stop a day")).count()
    };
    assert_eq!(said(&trip), 1);
    let planned = PlannedStop {
        at: trip.stops[1].at + chrono::Duration::hours(3),
        note: String::new(),
        stocks: vec![0],
        late_for: vec![],
    };
    assert_eq!(said(&Trip { planned: vec![planned], ..trip.clone() }), 0, "a saved one that day");
    trip.stops[1].at = trip.stops[0].at + chrono::Duration::hours(3);
    assert_eq!(said(&trip), 0);
}

/// Who is sent to one place twice on one day is told why.
#[test]
fn two_visits_to_one_place_on_one_day_are_explained() {
    let (rig, known) = (rig(), evening(&rig()));
    let mut trip = ask(&rig, &known, &asked(8));
    let said = |trip: &Trip| {
        let first = words::said(trip, &rig, 80).first.into_iter();
        first.filter(|line| line.contains("one alone is too little for ")).collect::<Vec<_>>()
    };
    assert_eq!(said(&trip), Vec::<String>::new());
    trip.stops[1].at = trip.stops[0].at + chrono::Duration::hours(3);
    trip.stops[1].place = trip.stops[0].place;
    let [line] = &said(&trip)[..] else { panic!("{:?}", said(&trip)) };
    assert!(line.starts_with("Stops 1 and 2 are both at "), "{line}");
    let forced = trip.stops[1].forced_by.unwrap();
    assert!(line.contains(&trip.stocks[forced].name), "{line}");
}

/// A visit that begins an hour before closing is the last that ends in time: nobody is sent to a
/// closed door, by a stop's latest time or by where the next forced stop can be made.
#[test]
fn every_time_that_is_named_lies_within_the_places_hours() {
    let rig = by_day();
    let trip = ask(&rig, &evening(&rig), &asked(8));
    assert!(trip.works && trip.stops.iter().any(|stop| stop.latest.is_some()));
    let open = |at| {
        let time = zone().here(at).time();
        (NaiveTime::from_hms_opt(9, 0, 0)..=NaiveTime::from_hms_opt(16, 0, 0)).contains(&Some(time))
    };
    for stop in &trip.stops {
        assert!(open(stop.at) && stop.latest.is_none_or(open), "{stop:?}");
        assert!(stop.latest.is_none_or(|latest| latest >= stop.at));
    }
    assert!(!trip.leads.is_empty() && trip.leads.iter().all(|lead| open(lead.by)));
    let about = words::about(&trip.stops[0], &trip, &rig, &zone()).join("; ");
    assert!(about.contains("open 09:00 to 17:00"), "{about}");
}

/// The hours of a charge follow from its amount at the rig's 700 W, of which 0.97 stay (counted by
/// hand), in half hours upwards; those that fill it in nine of ten are no fewer.
#[test]
fn hours_on_the_hook_up_follow_from_what_is_missing() {
    let rig = rig();
    let trip = ask(&rig, &evening(&rig), &asked(8));
    let all = trip.stops.iter().flat_map(|stop| &stop.services);
    let mut seen = 0;
    for service in all {
        let (Some(likely), Some(sure)) = (service.likely_hours, service.hours) else { continue };
        let over = likely - service.amount / (700.0 * 0.97);
        assert!((-0.02..0.52).contains(&over) && likely <= sure, "{service:?}");
        let said = words::service(service, &trip.stocks, UnitSystem::Metric);
        assert!(said.contains(&format!("{likely} h of hook-up")), "{said}");
        assert_eq!(said.contains("to be sure"), likely < sure, "{said}");
        seen += 1;
    }
    assert!(seen > 0);
}

/// Less than a fortieth of what a stock holds is no errand where nothing depends on it.
#[test]
fn next_to_nothing_is_no_errand() {
    let rig = rig();
    for days in [4, 8] {
        let trip = ask(&rig, &evening(&rig), &asked(days));
        for service in trip.stops.iter().flat_map(|stop| &stop.services) {
            let full = trip.stocks[service.stock].capacity;
            let matters = service.needed || service.joins;
            assert!(matters || service.amount >= full / 40.0, "{service:?}");
        }
    }
}

#[test]
fn one_way_and_the_whole_way_are_told_apart() {
    let rig = rig();
    let trip = ask(&rig, &evening(&rig), &asked(8));
    let stop = words::stop(&trip.stops[0], &rig.places, &zone(), rig.show);
    assert!(stop.contains(" km in all"), "{stop}");
    let lead = words::lead(&trip.leads[0], &rig, &zone());
    assert!(lead.contains(" km one way"), "{lead}");
}

/// What the camp itself sees to is no trip: its place lies where the van stands, and so every stop there
/// is one without driving.
#[test]
fn stops_at_the_camp_are_said_to_need_no_driving() {
    let mut rig = rig();
    let (latitude, longitude) = (rig.home.latitude, rig.home.longitude);
    for place in &mut rig.places {
        (place.latitude, place.longitude) = (latitude, longitude);
    }
    let trip = ask(&rig, &evening(&rig), &asked(8));
    assert!(trip.works && !trip.stops.is_empty());
    assert!(words::verdict(&trip).contains("without driving"), "{}", words::verdict(&trip));
    let rig = self::rig();
    let away = ask(&rig, &evening(&rig), &asked(8));
    assert!(!words::verdict(&away).contains("without driving"), "{}", words::verdict(&away));
}

/// Stops that are planned already are told from those that come on top.
#[test]
fn further_stops_are_said_to_be_further() {
    let rig = rig();
    let (mut standing, beliefs) = evening(&rig);
    let first = ask(&rig, &evening(&rig), &asked(4));
    assert!(first.works && !first.stops.is_empty());
    standing.extend(saved::planned(&rig, &first).into_iter().map(|plan| Standing {
        note: plan.note,
        ..Standing::supposed(plan.at, now(), plan.event)
    }));
    let more = ask(&rig, &(standing, beliefs), &asked(9));
    assert!(more.works && !more.stops.is_empty() && !more.planned.is_empty());
    let said = words::verdict(&more);
    assert!(said.contains("more stop") && said.contains("beside the planned one"), "{said}");
    assert!(words::totals(&more, &zone(), rig.show).ends_with("besides the planned ones"));
}

/// Surer is never cheaper in stops, a stop more is never less sure by more than chance, and a closed
/// place is in no plan.
#[test]
fn plans_beside_each_other_differ_as_they_must() {
    let rig = rig();
    let known = evening(&rig);
    let against = vec![
        Against::Sure(0.6),
        Against::Sure(0.9),
        Against::OneMore,
        Against::Longer,
        Against::Without(0),
    ];
    let trip = ask(&rig, &known, &TripRequest { against, ..asked(6) });
    let row = |n: usize| trip.against[n].1.clone().unwrap();
    assert!(row(0).stops.len() <= trip.stops.len() && trip.stops.len() <= row(1).stops.len());
    assert_eq!(row(2).stops.len(), trip.stops.len() + 1);
    assert!(row(2).probability > trip.probability - 0.05);
    assert!(row(4).stops.iter().all(|(_, places)| !places.contains(&0)));
    let longer = ask(&rig, &known, &asked(7));
    assert_eq!(row(3), PlanTotals::of(&longer));
    let asked = PlanTotals::of(&trip);
    let rows = words::beside_rows(&trip, &asked, &rig);
    let (table, lines) = (words::beside(&rows, &rig, 100), words::beside(&rows, &rig, 38));
    assert!(table[0].contains("margin") && !lines[0].contains("stops  "), "{table:?} {lines:?}");
    assert!(lines.iter().any(|line| line.starts_with("Adder lock closed: ")), "{lines:?}");
}

#[test]
fn what_a_crew_prefers_is_read_from_its_file() {
    let read = |named: &str| {
        let text = plan_rig::RIG.replace("crew: 2,", &format!("crew: 2, prefer: [{named}],"));
        rig_file::parse(&text, Path::new("rig.ron"))
    };
    let rig = read("\"one place\", even").unwrap();
    assert_eq!(rig.prefer, [Wish::OnePlace, Wish::Even]);
    let faults = format!("{:?}", read("evn").unwrap_err());
    assert!(faults.contains("prefer") && faults.contains("evn"), "{faults}");
}

/// A near place that is closed on Friday, and a far one that costs something.
const FRIDAY: &str = r#"(format: 1, places: [
    (name: "Elm quay", latitude: 57.33, longitude: 14.25, closed: ["friday"],
     services: ["shore", "water", "grey", "liquids"]),
    (name: "Mill lane", latitude: 57.45, longitude: 14.35, cost: 9,
     services: ["shore", "water", "grey", "liquids"]),
])"#;

/// Who is sent further and has to pay for one life in a hundred is told so; where the far place is left
/// out, the schedule does drive so much less and is as sure.
#[test]
fn a_far_stop_that_is_hardly_surer_is_told_with_the_near_one() {
    let places = places_file::parse(FRIDAY, Path::new("places.ron")).unwrap();
    let rig = Rig { places, ..rig() };
    let request = TripRequest { against: vec![Against::Without(1)], ..asked(5) };
    let trip = ask(&rig, &evening(&rig), &request);
    let nearly = trip.nearly_as_sure.unwrap();
    assert_eq!((trip.stops[nearly.stop].place, nearly.place), (1, 0));
    let near = trip.against[0].1.as_ref().unwrap();
    let km: f64 = trip.stops.iter().map(|stop| stop.km).sum();
    assert_eq!((near.stops.len(), near.km), (trip.stops.len(), km - nearly.km));
    assert!((near.probability - nearly.probability).abs() < 0.03, "{near:?}, {nearly:?}");
    assert!(trip.probability - nearly.probability <= 0.02, "{nearly:?}");
    let first = words::said(&trip, &rig, 80).first;
    let line =
        "Nearly as sure: stop 2 on Sat 14 Mar 11:00 at Elm quay, 39 km and 9 in money less (";
    assert!(first.iter().any(|own| own.starts_with(line)), "{first:#?}");
}
