//! Plans in words: what is planned, what is asked about it, and what its answer hangs on.

use super::{Form, commas, counted, led, listed, quantity, when};
use crate::domain::{
    After, ChargeSource, Draft, Event, Moment, Plan, Quantity, Standing, UnitSystem, Zone,
    after_hours, plans,
};
use crate::forecast::{Evening, Forecast, NextStop};
use crate::plan::stops::saved::{SavedDrive, safe_until};
use chrono::Duration;

/// One thing to do, in the crew's units: "fill fresh", "drive 1.2 h", "2 people aboard".
pub fn thing(event: &Event, show: UnitSystem) -> String {
    let amount = |q: &Quantity| quantity::said(q, show);
    match event {
        Event::Drive(driven) => format!("drive {}", amount(driven)),
        Event::Charge { source: ChargeSource::Shore, amount: of } => {
            format!("hook-up {}", amount(of))
        }
        Event::Charge { source: ChargeSource::Generator, amount: of } => {
            format!("generator {}", amount(of))
        }
        Event::Fill { stock, amount: None, after: Some(After::Full) | None } => {
            format!("fill {stock}")
        }
        Event::Fill { stock, amount: Some(of), .. } => format!("{} of {stock} in", amount(of)),
        Event::Fill { stock, after: Some(After::Level(to)), .. } => {
            format!("fill {stock} to {}", amount(to))
        }
        Event::Empty { stock, amount: None, .. } => format!("empty {stock}"),
        Event::Empty { stock, amount: Some(of), .. } => format!("{} of {stock} out", amount(of)),
        Event::Spent { stock, amount: of } => format!("{} of {stock} used", amount(of)),
        Event::Use { activity, count } => format!("{activity}, {}", amount(count)),
        Event::Level { stock, reading, .. } => format!("{stock} at {}", amount(reading)),
        Event::Camp(spot) => format!("camp {spot}"),
        Event::Crew(aboard) if aboard.milli() == 0 => "nobody aboard".to_string(),
        Event::Crew(aboard) if aboard.milli() == 1000 => "1 person aboard".to_string(),
        Event::Crew(aboard) => format!("{aboard} people aboard"),
        Event::DayClosed => "day closed".to_string(),
        Event::Note(text) => text.clone(),
        Event::Outlook(_) => "weather".to_string(),
    }
}

/// What a plan is: "stop at Quillet Harbour (drive 0.9 h, fill fresh, empty grey)".
pub fn about(plan: &Plan, show: UnitSystem) -> String {
    let things = commas(plan.entries.iter().map(|entry| thing(&entry.event, show)));
    match &plan.place {
        Some(place) => format!("stop at {place} ({things})"),
        None => things,
    }
}

/// The same in fewer words: "stop at Quillet Harbour".
pub fn briefly(plan: &Plan, show: UnitSystem) -> String {
    match (&plan.place, &plan.entries[..]) {
        (Some(place), _) => format!("stop at {place}"),
        (None, [only]) => thing(&only.event, show),
        (None, [first, rest @ ..]) => {
            format!("{} and {} more", thing(&first.event, show), rest.len())
        }
        (None, []) => String::new(),
    }
}

/// The same with how much there is to do, where that is more than one thing: "stop at Quillet Harbour
/// (6 things)".
pub fn in_parts(plan: &Plan, show: UnitSystem) -> String {
    match (&plan.place, plan.entries.len()) {
        (Some(_), 4..) => {
            format!("{} ({})", briefly(plan, show), counted(plan.entries.len(), "thing"))
        }
        _ => about(plan, show),
    }
}

/// What an answer leaves out of the plan: "; left out: drive 2.2 h"; nothing where it is whole.
pub fn left_out(plan: &Plan, records: &[Draft], show: UnitSystem) -> String {
    let left = plans::left_out(plan, records).into_iter();
    led("; left out: ", &commas(left.map(|event| thing(event, show))))
}

/// When it was to happen: "Thu 22 Oct 11:00".
pub fn when(plan: &Plan, zone: &Zone) -> String {
    when::date_time(zone.here(plan.at), Form::Short)
}

/// Whether the journal contradicts the plan rather than being silent about it.
fn is_contradicted(plan: &Plan) -> bool {
    plan.entries.iter().any(|entry| matches!(entry.event, Event::Crew(_)))
}

/// What stands in place of what was written first: a plan that was said to be done, or words that were
/// changed.
pub fn changed(entry: &Standing) -> Option<&'static str> {
    let was_ahead = entry.recorded < entry.at || entry.is_of_a_stop();
    entry
        .corrected_by
        .as_ref()
        .map(|_| if was_ahead && entry.is_fact() { "done" } else { "changed" })
}

/// "Planned for Thu 22 Oct 11:00: stop at Quillet Harbour. Was it done?"; of people who were to
/// be away, what contradicts it.
pub fn question(plan: &Plan, zone: &Zone, show: UnitSystem) -> String {
    let (at, what) = (when(plan, zone), briefly(plan, show));
    match is_contradicted(plan) {
        true => format!("Planned for {at}: {what}. But uses were written while nobody was aboard"),
        false => format!("Planned for {at}: {what}. Was it done?"),
    }
}

/// What the dates hang on while plans are open: "The dates count it as not done. If it was done:
/// be at a stop by Sat 24 Oct 11:00".
pub fn hangs_on(evening: &Evening, zone: &Zone) -> Option<String> {
    let open = evening.plans.iter().filter(|plan| plan.is_open).count();
    let if_done = evening.if_done.as_ref()?;
    let (it, was) = if open == 1 { ("it", "it was") } else { ("them", "they were") };
    let days = evening.forecast.horizon_hours / 24;
    Some(format!(
        "The dates count {it} as not done. If {was} done: {}",
        deadline(if_done, evening.forecast.at, days, zone)
    ))
}

/// The same where there is little room.
pub const AS_NOT_DONE: &str = "dates: as not done";

fn deadline(next: &NextStop, now: Moment, days: usize, zone: &Zone) -> String {
    match next.by {
        Some(by) => {
            let safe = when::half_hour_before(zone.here(by));
            match safe <= now {
                true => "go to a stop now".to_string(),
                false => format!("be at a stop by {}", when::date_time(safe, Form::Short)),
            }
        }
        None => format!("no stop is needed within {days} days"),
    }
}

/// A stock that lasts so much longer than until a saved stop does not need it, in hours; 24 to 72 (our
/// own choice, no source).
const SPARE_H: i64 = 48;

/// A stop that is saved and lies ahead: "Saved stop: Thu 22 Oct 11:00, Quillet Harbour, for fresh,
/// grey and battery. The dates count it as not made"; or that it comes too late, that nothing it is for
/// needs it by then, or that it sets out from where the van no longer is. Several are the places of one
/// drive.
pub fn saved_stop(drive: &SavedDrive, forecast: &Forecast, zone: &Zone) -> String {
    let Some(plan) = drive.stops.first() else { return String::new() };
    let place = listed(drive.stops.iter().filter_map(|stop| stop.place.as_deref()));
    let what = led(", for ", &listed(&drive.stocks));
    let counts = || late(drive, forecast, zone).or_else(|| unneeded(drive, forecast, zone));
    let counts = match plan.is_from_elsewhere {
        true => "It sets out from another camp: plan the stops again".to_string(),
        false => counts().unwrap_or("The dates count it as not made".to_string()),
    };
    format!("Saved stop: {}, {place}{what}. {counts}", when(plan, zone))
}

/// "Too late for grey, safe until Sun 19 Apr 19:30 (nine in ten)": for the first of what is not safe
/// until a saved stop.
fn late(drive: &SavedDrive, forecast: &Forecast, zone: &Zone) -> Option<String> {
    let safe = drive.late_for.iter().filter_map(|stock| safe_until(forecast, stock)).min()?;
    let names = listed(&drive.late_for);
    let safe = when::half_hour_before(zone.here(safe));
    Some(match safe <= forecast.at {
        true => format!("Too late for {names}: go as soon as you can"),
        false => {
            let safe = when::date_time(safe, Form::Short);
            format!("Too late for {names}, safe until {safe} (nine in ten)")
        }
    })
}

/// That nothing that a saved stop is for needs it by then; `None` where something does.
pub fn unneeded(drive: &SavedDrive, forecast: &Forecast, zone: &Zone) -> Option<String> {
    let own = forecast.stocks.iter().filter(|stock| drive.stocks.contains(&stock.name));
    let is_for_none = own.clone().next().is_none();
    let lasts = own.filter_map(|stock| after_hours(forecast.at, stock.hours.p10?)).min();
    let soon = drive.stops.first()?.at + Duration::hours(SPARE_H);
    let lasting = match lasts.map(|at| when::half_hour_before(zone.here(at))) {
        _ if is_for_none || lasts.is_some_and(|at| at < soon) => return None,
        Some(at) => format!("until {} (nine in ten safe)", when::date_time(at, Form::Short)),
        None => format!("{} days and longer", forecast.horizon_hours / 24),
    };
    Some(format!("It is not needed by then: all of that lasts {lasting}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{Amount, Unit};
    use UnitSystem::{Metric, Us};

    /// A mile is 1.609344 km, a US gallon 3.785411784 L (exact by definition; from memory).
    #[test]
    fn a_plan_is_told_in_the_crews_units() {
        let of = |value: f64, unit| Quantity::new(Amount::from_f64(value).unwrap(), unit);
        let drive = Event::Drive(of(61.1, Unit::Kilometre));
        assert_eq!(thing(&drive, Us), "drive 38 mi");
        assert_eq!(thing(&drive, Metric), "drive 61.1 km");
        let amount = Some(of(20.0, Unit::Litre));
        let out = Event::Empty { stock: "grey".into(), amount, after: None };
        assert_eq!(thing(&out, Us), "5.28 gal of grey out");
        assert_eq!(thing(&Event::Drive(of(1.5, Unit::Hour)), Us), "drive 1.5 h");
    }

    fn at(text: &str) -> Moment {
        text.parse().unwrap()
    }

    fn plan(place: Option<&str>, events: Vec<Event>) -> Plan {
        let (of, now) = (at("2026-10-22T11:00:00+01:00"), at("2026-10-20T21:05:00+01:00"));
        let entries = events.into_iter().map(|event| Standing::supposed(of, now, event)).collect();
        Plan {
            at: of,
            place: place.map(String::from),
            is_open: true,
            is_from_elsewhere: false,
            entries,
        }
    }

    /// Counted by hand.
    #[test]
    fn a_plan_is_asked_about_by_its_time_and_place() {
        let zone = Zone::Fixed(*at("2026-10-20T21:05:00+01:00").offset());
        let fill = Event::Fill { stock: "fresh".into(), amount: None, after: Some(After::Full) };
        let empty = Event::Empty { stock: "grey".into(), amount: None, after: None };
        let stop = plan(Some("Quay"), vec![fill, empty.clone()]);
        assert_eq!(about(&stop, Metric), "stop at Quay (fill fresh, empty grey)");
        assert_eq!(
            question(&stop, &zone, Metric),
            "Planned for Thu 22 Oct 11:00: stop at Quay. Was it done?"
        );
        let many = plan(Some("Quay"), vec![empty.clone(); 4]);
        assert_eq!(in_parts(&many, Metric), "stop at Quay (4 things)");
        assert_eq!(in_parts(&stop, Metric), about(&stop, Metric));
        assert_eq!(
            briefly(&plan(None, vec![empty.clone(), empty]), Metric),
            "empty grey and 1 more"
        );
        let away = plan(None, vec![Event::Crew(Default::default())]);
        assert!(
            question(&away, &zone, Metric).ends_with("uses were written while nobody was aboard")
        );
    }
}
