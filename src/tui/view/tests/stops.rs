//! What the screen of stops says where none carries the crew through, and what is said of saved stops.

use super::{shown, text};
use crate::domain::{Event, Plan, Standing};
use crate::plan::Trip;
use crate::plan::stops::saved;
use crate::text::plans;
use crate::tui::{Theme, fixture};
use chrono::TimeDelta;
use std::sync::Arc;

/// The battery is stock 5 of the fixture, which a place sees to by a hook-up; gas is stock 7.
#[test]
fn what_no_place_sees_to_is_named_with_what_it_lacks() {
    let mut state = shown(Theme::default(), "p21jj99");
    let none = state.trip.asked.answer.clone().unwrap();
    let mut trip: Trip = (*none).clone();
    let help = trip.relaxation.as_mut().unwrap();
    (help.unserved, help.service) = (vec![5, 7], Some(5));
    state.trip.asked.answer = Some(Arc::new(trip));
    let screen = text(&state, 40, 120).split_whitespace().collect::<Vec<_>>().join(" ");
    for line in [
        "battery: no known place has a hook-up; add one to places.ron, or use less",
        "gas: no known place sees to that; add one to places.ron, or use less",
        "It would work with a hook-up at every place",
    ] {
        assert!(screen.contains(line), "{line}: {screen}");
    }
}

/// By hand: a saved stop on Thursday at 20:20 sees to grey, which is full so many hours from then.
#[test]
fn a_saved_stop_that_nothing_needs_is_said_to_be_so() {
    let fill = Event::Fill { stock: "grey".into(), amount: None, after: None };
    let entries = vec![Standing::supposed(fixture::now(), fixture::now(), fill)];
    let (at, place) = (fixture::now(), Some("Quay".to_string()));
    let plan = Plan { at, place, is_open: false, is_from_elsewhere: false, entries };
    let said = |stock: &str, p10: Option<f64>| {
        let mut forecast = fixture::evening().forecast;
        forecast.stocks[1].hours.p10 = p10;
        let rig = fixture::rig();
        let mut drive = saved::drives(&rig, std::slice::from_ref(&plan), &forecast).remove(0);
        drive.stocks = vec![stock.to_string()];
        plans::saved_stop(&drive, &forecast, &fixture::zone())
    };
    assert!(said("grey", Some(47.9)).ends_with("for grey. The dates count it as not made"));
    let spare = "not needed by then: all of that lasts until Sat 5 Sep 21:00 (nine in ten safe)";
    assert!(said("grey", Some(49.0)).ends_with(spare), "{}", said("grey", Some(49.0)));
    assert!(said("grey", None).ends_with("all of that lasts 30 days and longer"));
    assert!(said("none", None).ends_with("as not made"), "nothing is known of it");
}

/// By hand: grey is safe until Friday 06:20, ten hours on, and is seen to at 16:20 and once more a day
/// later, when it was empty on the way.
#[test]
fn a_saved_stop_that_comes_too_late_is_said_to() {
    let stop = |hours: i64| {
        let empty = Event::Empty { stock: "grey".into(), amount: None, after: None };
        let at = fixture::now() + TimeDelta::hours(hours);
        let entries = vec![Standing::supposed(at, fixture::now(), empty)];
        let place = Some("Quay".to_string());
        Plan { at, place, is_open: false, is_from_elsewhere: false, entries }
    };
    let plans = [stop(20), stop(44)];
    let said = |p10: Option<f64>| {
        let mut forecast = fixture::evening().forecast;
        let grey = forecast.stocks.iter_mut().find(|stock| stock.name == "grey").unwrap();
        grey.hours.p10 = p10;
        let drives = saved::drives(&fixture::rig(), &plans, &forecast).into_iter();
        let said = drives.map(|drive| plans::saved_stop(&drive, &forecast, &fixture::zone()));
        said.collect::<Vec<_>>()
    };
    let [first, second] = &said(Some(10.0))[..] else { panic!() };
    let late = ". Too late for grey, safe until Fri 4 Sep 06:00 (nine in ten)";
    assert!(first.ends_with(late), "{first}");
    assert!(second.ends_with("The dates count it as not made"), "{second}");
    assert!(said(Some(0.1))[0].ends_with("Too late for grey: go as soon as you can"));
    assert!(said(Some(20.1))[0].ends_with("as not made"));
}
