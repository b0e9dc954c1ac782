//! What is taken along on paper or in a calendar: the next forced stop and the stops planned.

use super::caution;
use super::fit::wrap;
use super::quantity::{self, Spread};
use super::share;
use super::stops as words;
use super::when::{self, Form};
use crate::domain::rig::Rig;
use crate::domain::time::{Moment, Zone, after_hours};
use crate::forecast::answer::{Evening, Forecast};
use crate::plan::calendar::CalendarStop;
use crate::plan::stops::answer::{Stop, Trip};
use crate::plan::stops::saved::StopAhead;
use chrono::Duration;

/// Columns of the sheet: fits a narrow printer and a door.
const SHEET_COLUMNS: usize = 72;

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
    events.extend(saved.iter().map(|stop| saved_event(rig, &zone, stop)));
    if let Some(trip) = trip {
        events.extend(trip.stops.iter().map(|stop| trip_event(rig, &zone, trip, stop)));
    }
    events
}

/// A stop that was saved.
fn saved_event(rig: &Rig, zone: &Zone, stop: &StopAhead) -> CalendarStop {
    let place = rig.places.iter().find(|place| place.name == stop.place);
    let about = [seen_to(stop), caution::ESTIMATE.line.to_string()];
    CalendarStop {
        key: key(zone, stop.at),
        from: stop.at,
        to: stop.at + Duration::minutes(90),
        title: format!("{}: stop at {}", rig.van, stop.place),
        place: Some(stop.place.clone()),
        point: place.map(|place| (place.latitude, place.longitude)),
        about: about.join("\n"),
    }
}

/// A further stop of a schedule that is not saved.
fn trip_event(rig: &Rig, zone: &Zone, trip: &Trip, stop: &Stop) -> CalendarStop {
    let place = &rig.places[stop.place];
    let mut about: Vec<String> = vec![words::stop(stop, &rig.places, zone, rig.show)];
    about.extend(words::latest(stop, trip, zone));
    about.extend(stop.services.iter().map(|s| words::service(s, &trip.stocks, rig.show)));
    about.push(caution::ESTIMATE.line.to_string());
    CalendarStop {
        key: key(zone, stop.at),
        from: stop.at,
        to: stop.at + Duration::minutes(90),
        title: format!("{}: stop at {}", rig.van, place.name),
        place: Some(place.name.clone()),
        point: Some((place.latitude, place.longitude)),
        about: about.join("\n"),
    }
}

/// By its time: the same stop is the same event in every export, before it is saved and after,
/// and one that has been made is not moved by the next.
fn key(zone: &Zone, at: Moment) -> String {
    format!("stop-{}", zone.here(at).format("%Y%m%d-%H%M"))
}

fn seen_to(stop: &StopAhead) -> String {
    let names: Vec<&str> = stop.stocks.iter().map(String::as_str).collect();
    format!("Planned: {}", super::answer::listed(&names))
}

/// A sheet to pin up: the next stop, the levels, the stops saved and planned, the cautions.
pub fn sheet(rig: &Rig, evening: &Evening, saved: &[StopAhead], trip: Option<&Trip>) -> String {
    let forecast = &evening.forecast;
    let zone = rig.zone(forecast.at);
    let mut lines: Vec<String> = Vec::new();
    let mut add = |text: &str, indent: &str| {
        let wrapped = wrap(text, SHEET_COLUMNS - indent.len());
        lines.extend(wrapped.iter().map(|line| format!("{indent}{line}")));
    };
    let rule = "-".repeat(SHEET_COLUMNS);
    add(&format!("{}, as of {}", rig.van, when::date_time(zone.here(forecast.at), Form::Full)), "");
    add(&rule, "");
    let answer = super::answer::answer(forecast, &zone, forecast.at, SHEET_COLUMNS);
    add(&answer.first, "");
    add(&answer.second, "");
    add(&rule, "");
    add("Each stock now, and until when it is nine in ten safe, with no stop made:", "");
    for index in forecast.by_urgency() {
        let stock = &forecast.stocks[index];
        let until = match stock.hours.p10.and_then(|h| after_hours(forecast.at, h)) {
            Some(at) => when::date_time(zone.here(when::half_hour_before(at)), Form::Short),
            None => format!("more than {} days", forecast.horizon_hours / 24),
        };
        let level = quantity::level(stock, rig.show, Spread::LeftOut);
        add(&format!("[ ] {:<16} {level:<22} safe until {until}", stock.name), "");
    }
    for stop in saved {
        let at = when::date_time(zone.here(stop.at), Form::Short);
        add(&rule, "");
        add(&format!("{at}  {}", stop.place), "");
        add(&format!("[ ] {}", seen_to(stop)), "    ");
    }
    for stop in trip.iter().flat_map(|trip| trip.stops.iter()) {
        let Some(trip) = trip else { break };
        add(&rule, "");
        add(&words::stop(stop, &rig.places, &zone, rig.show), "");
        let note = &rig.places[stop.place].note;
        if !note.is_empty() {
            add(note, "    ");
        }
        for service in &stop.services {
            add(&format!("[ ] {}", words::service(service, &trip.stocks, rig.show)), "    ");
        }
    }
    add(&rule, "");
    for caution in caution::ALL {
        add(&format!("{}.", caution.line), "");
    }
    lines.join("\n") + "\n"
}
