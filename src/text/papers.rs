//! What is taken along in a calendar: the next forced stop and the stops planned, each as long as it
//! takes, with its list.

use super::{Form, caution, plans, share, stops as words, when};
use crate::domain::{Moment, Rig, Zone, after_hours, hours_between};
use crate::forecast::Forecast;
use crate::plan::Trip;
use crate::plan::calendar::CalendarStop;
use crate::plan::stops::answer::{Service, Stop};
use crate::plan::stops::saved::StopAhead;
use chrono::Duration;

/// A visit without a hook-up takes about so long. Common practice, no source.
const VISIT_MIN: f64 = 90.0;

/// The calendar's events: the next forced stop, then the stops saved before and those of `trip`.
pub fn events(
    rig: &Rig,
    forecast: &Forecast,
    saved: &[StopAhead],
    trip: Option<&Trip>,
) -> Vec<CalendarStop> {
    let mut events: Vec<CalendarStop> = Vec::new();
    let zone = rig.zone(forecast.at);
    let say = |at: Option<Moment>| match at {
        Some(at) => when::date_time(zone.here(at), Form::Full),
        None => format!("after {} days", forecast.horizon_hours / 24),
    };
    if let (Some(by), Some(binding)) = (forecast.next.by, forecast.next.binding) {
        let binding = &forecast.stocks[binding];
        let by = when::half_hour_before(zone.here(by));
        let late = forecast.next.hours.p90.and_then(|h| after_hours(forecast.at, h));
        events.push(CalendarStop {
            key: "next".into(),
            from: by - Duration::minutes(30),
            to: by,
            title: format!("{}: be at a stop", rig.van),
            place: None,
            point: None,
            about: format!(
                "Nine in ten safe until {}, with no stop made. Likely {}. One in ten lasts beyond {}. {} in {}.\n{}",
                say(Some(by)),
                say(forecast.next.likely),
                say(late),
                super::answer::goes_first(binding),
                share::futures(binding.binding),
                caution::ESTIMATE.text
            ),
        });
    }
    events.extend(saved.iter().map(|stop| {
        let things = stop.things.iter().map(|thing| plans::thing(thing, rig.show));
        let boxes = things.map(|thing| format!("[ ] {thing}")).collect();
        event(rig, &zone, (stop.at, stop.hook_up_hours), &stop.place, boxes)
    }));
    if let Some(trip) = trip {
        events.extend(trip.stops.iter().map(|stop| trip_event(rig, &zone, trip, stop)));
    }
    events
}

/// A further stop of a schedule that is not saved.
fn trip_event(rig: &Rig, zone: &Zone, trip: &Trip, stop: &Stop) -> CalendarStop {
    let mut about: Vec<String> = vec![words::stop(stop, &rig.places, zone, rig.show)];
    about.extend(words::about(stop, trip, rig, zone));
    let done = |s: &Service| format!("[ ] {}", words::task(s, stop, trip, rig));
    about.extend(trip.in_order(stop).into_iter().map(done));
    // From the first place on: a hook-up further on begins when one is there.
    let until = |s: &Service| Some(hours_between(stop.at, stop.at_place(s.place)) + s.hours?);
    let hours = stop.services.iter().filter_map(until).fold(0.0, f64::max);
    event(rig, zone, (stop.at, hours), &rig.places[stop.place].name, about)
}

/// A stop at a place, with so many hours on the hook-up, and what there is to know and to do.
fn event(
    rig: &Rig,
    zone: &Zone,
    (at, hook_up_hours): (Moment, f64),
    place: &str,
    mut about: Vec<String>,
) -> CalendarStop {
    let known = rig.places.iter().find(|known| known.name == place);
    about.push(caution::ESTIMATE.line.to_string());
    CalendarStop {
        // By its time: the same stop is the same event in every export, before it is saved and after,
        // and one that has been made is not moved by the next.
        key: format!("stop-{}", zone.here(at).format("%Y%m%d-%H%M")),
        from: at,
        to: at + Duration::minutes((hook_up_hours * 60.0).max(VISIT_MIN) as i64),
        title: format!("{}: stop at {place}", rig.van),
        place: Some(place.to_string()),
        point: known.map(|place| (place.latitude, place.longitude)),
        about: about.join("\n"),
    }
}
