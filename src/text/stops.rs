//! Stops in words, shared by both fronts and the exported papers.

use super::quantity;
use super::stretch::{chance, percent_down};
use super::when::{self, Form};
use crate::domain::rig::{Place, Rig};
use crate::domain::stock::Direction;
use crate::domain::time::Zone;
use crate::domain::unit::UnitSystem;
use crate::plan::stops::Progress;
use crate::plan::stops::answer::{Against, Beside};
use crate::plan::stops::answer::{
    Lead, PlannedStop, Relaxation, Service, StockName, Stop, Trip, UnplannedWay,
};
use crate::plan::stops::unmatched::Unmatched;

/// "3 stops carry you through 14 days: 92 % chance of lasting; you want 90 %".
pub fn verdict(trip: &Trip) -> String {
    let days = count(trip.days as usize, "day");
    let chance = chance(trip.probability, trip.confidence);
    match (trip.works, trip.stops.len()) {
        (true, 0) if !trip.planned.is_empty() => {
            format!("Besides the saved stops none is needed for {days}: {chance}")
        }
        (true, 0) => format!("No stop is needed for {days}: {chance}"),
        (true, n) if !trip.planned.is_empty() => {
            let more = if n == 1 { "1 more stop".to_string() } else { format!("{n} more stops") };
            let carry = if n == 1 { "carries" } else { "carry" };
            let ones = if trip.planned.len() == 1 { "one" } else { "ones" };
            let planned = trip.planned.len();
            format!(
                "{more} beside the {planned} planned {ones} {carry} you through {days}: {chance}"
            )
        }
        (true, 1) => format!("One stop carries you through {days}: {chance}"),
        (true, n) => format!("{n} stops carry you through {days}: {chance}"),
        (false, 0) => {
            format!("No schedule carries you through {days}; without a stop: {chance}")
        }
        (false, _) => {
            format!("No schedule is sure enough for {days}; the best: {chance}")
        }
    }
}

fn count(n: usize, word: &str) -> String {
    if n == 1 { format!("1 {word}") } else { format!("{n} {word}s") }
}

/// "Wed 21 Oct 11:00  Quillet Harbour (leave by 10:00; 43 km in all; cost 12)". The time to leave is
/// rounded down to the half hour.
pub fn stop(stop: &Stop, places: &[Place], zone: &Zone, system: UnitSystem) -> String {
    let at = zone.here(stop.at);
    let leave = zone.here(when::half_hour_before(zone.here(stop.leave_by)));
    let leave = match leave.date_naive() == at.date_naive() {
        true => when::clock(leave),
        false => when::date_time(leave, Form::Short),
    };
    let km = format!("{} in all", distance(stop.km, system));
    let mut about = vec![format!("leave by {leave}"), km];
    about.extend(stop.cost.map(|cost| format!("cost {}", money(cost))));
    format!(
        "{}  {} ({})",
        when::date_time(at, Form::Short),
        places.get(stop.place).map_or("", |p| p.name.as_str()),
        about.join("; ")
    )
}

/// "Tue 20 Oct to Tue 3 Nov: 230 km, 5.1 h on the road, cost 56".
pub fn totals(trip: &Trip, zone: &Zone, system: UnitSystem) -> String {
    let span = format!("{} to {}", when::day(zone.here(trip.at)), when::day(zone.here(trip.until)));
    if trip.stops.is_empty() {
        return span;
    }
    let sum = |of: fn(&Stop) -> f64| trip.stops.iter().map(of).sum::<f64>();
    let (km, hours) = (sum(|stop| stop.km), sum(|stop| stop.hours));
    let cost = sum(|stop| stop.cost.unwrap_or(0.0));
    let cost = if cost > 0.0 { format!(", cost {}", money(cost)) } else { String::new() };
    let besides = if trip.planned.is_empty() { "" } else { " besides the planned ones" };
    format!("{span}: {}, {hours:.1} h on the road{cost}{besides}", distance(km, system))
}

/// What forces the stops, in one sentence: "What cannot wait: battery for stops 1, 3 and 4; clean
/// clothes for stop 2". Nothing where there is no stop.
pub fn forces(trip: &Trip) -> Option<String> {
    let mut by: Vec<(usize, Vec<String>)> = Vec::new();
    for (n, stop) in trip.stops.iter().enumerate() {
        let Some(stock) = stop.forced_by else { continue };
        let number = (n + 1).to_string();
        match by.iter_mut().find(|(known, _)| *known == stock) {
            Some((_, numbers)) => numbers.push(number),
            None => by.push((stock, vec![number])),
        }
    }
    let each = by.iter().map(|(stock, numbers)| {
        let stops = if numbers.len() == 1 { "stop" } else { "stops" };
        let numbers: Vec<&str> = numbers.iter().map(String::as_str).collect();
        format!("{} for {stops} {}", trip.stocks[*stock].name, super::answer::listed(&numbers))
    });
    let each: Vec<String> = each.collect();
    (!each.is_empty()).then(|| format!("What cannot wait: {}", each.join("; ")))
}

/// "What runs out in it first: diesel", of the best schedule where none works.
pub fn undone_by(trip: &Trip) -> Option<String> {
    let stock = &trip.stocks[trip.undone_by?];
    let what = if trip.stops.is_empty() { "without a stop" } else { "in it all the same" };
    let goes = if stock.runs == Direction::Down { "runs out" } else { "fills" };
    Some(format!("What {goes} first {what}: {}", stock.name))
}

/// One line for one stop: "1. Wed 21 Oct 11:00 Quillet Harbour, leave by 10:00; at the latest Thu 22
/// Oct 17:00 for battery; or on Thu 22 Oct".
pub fn glance(trip: &Trip, n: usize, places: &[Place], zone: &Zone) -> String {
    let stop = &trip.stops[n];
    let place = places.get(stop.place).map_or("", |place| place.name.as_str());
    let at = zone.here(stop.at);
    let leave = zone.here(when::half_hour_before(zone.here(stop.leave_by)));
    let mut line = format!("{}. {} {place}", n + 1, when::date_time(at, Form::Short));
    line += &match leave.date_naive() == at.date_naive() {
        true => format!(", leave by {}", when::clock(leave)),
        false => format!(", leave by {}", when::date_time(leave, Form::Short)),
    };
    if let (Some(stock), Some(latest)) = (stop.forced_by, stop.latest) {
        let latest = when::date_time(zone.here(when::half_hour_before(latest)), Form::Short);
        line += &format!("; at the latest {latest} for {}", trip.stocks[stock].name);
    }
    let days: Vec<String> = stop.or_on.iter().map(|at| when::day(zone.here(*at))).collect();
    if !days.is_empty() {
        line += &format!("; or on {}", days.join(" or "));
    }
    line
}

/// "43 km", "27 mi", to the nearest whole.
pub fn distance(km: f64, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => format!("{km:.0} km"),
        _ => format!("{:.0} mi", km / 1.609_344),
    }
}

/// A sum in the owner's currency, without it.
pub fn money(cost: f64) -> String {
    let text = format!("{cost:.2}");
    text.strip_suffix(".00").map(str::to_string).unwrap_or(text)
}

/// "empty grey (about 60 L)", "fill fresh to the brim (about 90 L)".
pub fn service(service: &Service, stocks: &[StockName], system: UnitSystem) -> String {
    let stock = &stocks[service.stock];
    let amount = quantity::amount(service.amount, stock.capacity, &stock.unit, system);
    match (stock.runs, service.hours) {
        (_, Some(sure)) => match service.likely_hours.filter(|likely| *likely < sure) {
            Some(likely) => format!(
                "charge {} (about {amount}, {likely} h of hook-up; {sure} h to be sure of it)",
                stock.name
            ),
            None => format!("charge {} (about {amount}, {sure} h of hook-up)", stock.name),
        },
        (Direction::Down, None) => {
            let enough = service.enough.map(|enough| match enough > 0.0 {
                true => {
                    let enough = quantity::amount(enough, stock.capacity, &stock.unit, system);
                    let are = if enough.starts_with("1 ") { "is" } else { "are" };
                    format!("; {enough} {are} enough until a cheaper stop")
                }
                false => "; none is needed before a cheaper stop".to_string(),
            });
            format!("fill {} (about {amount}{})", stock.name, enough.unwrap_or_default())
        }
        (Direction::Up, None) => format!("empty {} (about {amount})", stock.name),
    }
}

/// "makes the next stop 2 days 4 h later"; nothing under an hour.
fn push(service: &Service) -> Option<String> {
    (service.pushes_hours >= 1.0).then(|| {
        let hours = super::stretch::hours(service.pushes_hours);
        format!("makes the next stop {hours} later")
    })
}

/// A part of an answer: its head, and its lines.
pub type Part = (String, Vec<String>);

/// What an answer holds beyond its first lines: each stop, and where the next one can be made.
pub fn parts(trip: &Trip, rig: &Rig, zone: &Zone) -> Vec<Part> {
    let mut parts: Vec<Part> = trip.stops.iter().map(|stop| page(stop, trip, rig, zone)).collect();
    if !trip.leads.is_empty() {
        let sure = super::share::percent(trip.confidence);
        let without = if trip.planned.is_empty() { "" } else { ", the saved ones not made" };
        let head = format!("Where the next stop can be ({sure} sure{without})");
        parts.push((head, trip.leads.iter().map(|each| lead(each, rig, zone)).collect()));
    }
    parts
}

/// One stop: what to know of it, and what to do there.
fn page(stop: &Stop, trip: &Trip, rig: &Rig, zone: &Zone) -> Part {
    let mut lines = about(stop, trip, &rig.places, zone);
    let services = in_order(stop, trip).into_iter();
    let done = services.map(|s| format!("{}: {}", service(&s, &trip.stocks, rig.show), why(&s)));
    lines.extend(done);
    lines.extend(joined(stop, trip, zone));
    lines.extend(stop.moves_camp.then(|| "camp somewhere else afterwards: needed".to_string()));
    (self::stop(stop, &rig.places, zone, rig.show), lines)
}

/// The services of a stop in the order in which they are best made: what charges for hours first,
/// then what is emptied, then what is filled. What is needed comes first within each.
pub(super) fn in_order(stop: &Stop, trip: &Trip) -> Vec<Service> {
    let mut all = stop.services.clone();
    let turn = |service: &Service| match (service.hours, trip.stocks[service.stock].runs) {
        (Some(_), _) => 0,
        (None, Direction::Up) => 1,
        (None, Direction::Down) => 2,
    };
    all.sort_by_key(|service| (turn(service), !service.needed));
    all
}

/// What to know of a stop: its latest time, the place's hours and remark, and how long a charge keeps
/// the van there.
pub fn about(stop: &Stop, trip: &Trip, places: &[Place], zone: &Zone) -> Vec<String> {
    let place = places.get(stop.place);
    let clock = |time: chrono::NaiveTime| time.format("%H:%M").to_string();
    let hours = place.and_then(|place| match (place.opens, place.closes) {
        (Some(opens), Some(closes)) => Some(format!("open {} to {}", clock(opens), clock(closes))),
        (Some(opens), None) => Some(format!("open from {}", clock(opens))),
        (None, Some(closes)) => Some(format!("open until {}", clock(closes))),
        (None, None) => None,
    });
    let note = place.map(|place| place.note.clone()).filter(|note| !note.is_empty());
    let there: Vec<String> = hours.into_iter().chain(note).collect();
    let there = Some(there.join("; ")).filter(|there| !there.is_empty());
    [latest(stop, trip, zone), there, stay(stop, places, zone)].into_iter().flatten().collect()
}

/// "on the hook-up until 15:30", or that it takes the night.
fn stay(stop: &Stop, places: &[Place], zone: &Zone) -> Option<String> {
    let hours = stop.services.iter().filter(|service| service.needed).find_map(|s| s.hours)?;
    let until = zone.here(crate::domain::time::after_hours(stop.at, hours)?);
    let closes = places.get(stop.place).and_then(|place| place.closes);
    let same_day = until.date_naive() == zone.here(stop.at).date_naive();
    Some(match closes.is_none_or(|closes| same_day && until.time() <= closes) {
        true => format!("on the hook-up until {}", when::date_time(until, Form::Short)),
        false => format!("{hours} h of hook-up end after closing: stay the night, or take less"),
    })
}

/// What places and stocks say past each other, with what mends it.
pub fn unmatched(unmatched: &Unmatched) -> String {
    match unmatched {
        Unmatched::Service { place, word } => format!(
            "{place} offers {word}, and no stock answers to it: write also: [\"{word}\"] at the \
             stock that is meant, in rig.ron"
        ),
        Unmatched::Stock(name) => format!(
            "no place sees to {name}: write stocks: [\"{name}\"] at one that does, in places.ron"
        ),
    }
}

/// The plan as asked and those beside it, named; nothing where none was asked for.
pub fn beside_rows<'t>(
    trip: &'t Trip,
    asked: &'t Beside,
    rig: &Rig,
) -> Vec<(String, Option<&'t Beside>)> {
    let name = |against: &Against| match against {
        Against::Sure(confidence) => format!("{} sure", super::share::percent(*confidence)),
        Against::OneMore => "one stop more".to_string(),
        Against::Longer => "one day longer".to_string(),
        Against::Without(place) => format!("{} closed", rig.places[*place].name),
    };
    let some = |row: &&Beside| row.works || !row.stops.is_empty();
    let others = trip.against.iter().map(|(against, row)| {
        let row = row.as_ref().filter(some);
        let short = if row.is_some_and(|row| !row.works) { ", not sure enough" } else { "" };
        (format!("{}{short}", name(against)), row)
    });
    let first = (!trip.against.is_empty()).then(|| ("as asked".to_string(), Some(asked)));
    first.into_iter().chain(others).collect()
}

/// Plans beside each other: stops, chance, driving, cost, and by how much the tightest stop may be
/// late; a table with its head first, or a line each where `columns` are few. Below it the stops of
/// those that go elsewhere, or on other days, than the first.
pub fn beside(rows: &[(String, Option<&Beside>)], rig: &Rig, columns: usize) -> Vec<String> {
    let wide = rows.iter().map(|(what, _)| what.chars().count()).max().unwrap_or(0).max(8);
    let head = ["stops", "chance", "driving", "cost", "slack"];
    let cells = |row: &Beside| {
        let slack = row.slack_hours.map_or("-".to_string(), |hours| match hours > 0.0 {
            true => super::stretch::hours(hours),
            false => "none".to_string(),
        });
        let km = distance(row.km, rig.show);
        [row.stops.len().to_string(), percent_down(row.probability), km, money(row.cost), slack]
    };
    // Wide enough for "over 99 %" and a blank.
    let line = |what: &str, cells: [String; 5]| {
        let cells: Vec<String> = cells.iter().map(|cell| format!("{cell:>12}")).collect();
        format!("{what:<wide$}{}", cells.concat())
    };
    let in_table = columns >= wide + 12 * head.len();
    let mut lines: Vec<String> =
        in_table.then(|| line("", head.map(String::from))).into_iter().collect();
    lines.extend(rows.iter().map(|(what, row)| match row {
        None => format!("{what:<wide$}  none found"),
        Some(row) if in_table => line(what, cells(row)),
        Some(row) => {
            let [stops, chance, km, cost, slack] = cells(row);
            format!("{what}: stops {stops}, chance {chance}, {km}, cost {cost}, slack {slack}")
        }
    }));
    let first = rows.first().and_then(|(_, row)| *row);
    for (what, row) in rows.iter().skip(1) {
        let Some(row) = row.filter(|row| first.is_some_and(|first| first.stops != row.stops))
        else {
            continue;
        };
        // A place is named where it is another one than before.
        let before = [None].into_iter().chain(row.stops.iter().map(|(_, place)| Some(*place)));
        let stops = row.stops.iter().zip(before).map(|((at, place), before)| {
            let day = when::day(rig.zone(*at).here(*at));
            match before == Some(*place) {
                true => day,
                false => format!("{} on {day}", rig.places[*place].name),
            }
        });
        lines.push(format!("{what}: {}", stops.collect::<Vec<_>>().join(", ")));
    }
    lines
}

/// Why a service is made: "needed", "makes the next stop 5 h later", "while you are there".
pub(super) fn why(service: &Service) -> String {
    match (service.needed, push(service)) {
        (true, _) => "needed".to_string(),
        (false, Some(push)) => push,
        (false, None) if service.joins => "makes the next stop later, with the others".to_string(),
        (false, None) => "while you are there".to_string(),
    }
}

/// "do grey and fresh as well: the next stop is then by Sat 24 Oct 08:30 instead of Fri 23 Oct 02:30
/// (90 % sure)"; nothing where no further service makes a difference.
fn joined(stop: &Stop, trip: &Trip, zone: &Zone) -> Option<String> {
    let names = stop.services.iter().filter(|service| service.joins);
    let names: Vec<&str> = names.map(|service| trip.stocks[service.stock].name.as_str()).collect();
    let needed = stop.lasts_needed?;
    if names.is_empty() {
        return None;
    }
    let at = |moment| when::date_time(zone.here(when::half_hour_before(moment)), Form::Short);
    let with = match stop.lasts {
        Some(lasts) => format!("the next stop is then by {}", at(lasts)),
        None => "no further stop is needed then".to_string(),
    };
    Some(format!(
        "do {} as well: {with} instead of by {} ({} sure)",
        super::answer::listed(&names),
        at(needed),
        super::share::percent(trip.confidence),
    ))
}

/// "at the latest Wed 21 Oct 18:00 (90 % sure)".
fn latest(stop: &Stop, trip: &Trip, zone: &Zone) -> Option<String> {
    let at = when::date_time(zone.here(when::half_hour_before(stop.latest?)), Form::Short);
    Some(format!("at the latest {at} ({} sure)", super::share::percent(trip.confidence)))
}

/// How far a search is: "found 19 stops; no schedule has fewer than 15".
pub fn so_far(progress: &Progress) -> String {
    let found = match progress.found {
        Some(stops) => format!("found {}", count(stops, "stop")),
        None => "nothing found yet".to_string(),
    };
    match (progress.least, progress.found) {
        (Some(least), Some(stops)) if least >= stops => format!("{found}; none has fewer"),
        // That none has fewer than none says nothing.
        (Some(0) | None, _) => found,
        (Some(least), _) => format!("{found}; no schedule has fewer than {least}"),
    }
}

/// "Wed 21 Oct 11:00  fresh, grey and battery (planned stop: Quillet Harbour)".
pub fn planned(planned: &PlannedStop, stocks: &[StockName], zone: &Zone) -> String {
    let names: Vec<&str> = planned.stocks.iter().map(|s| stocks[*s].name.as_str()).collect();
    let note = if planned.note.is_empty() { String::new() } else { format!(" ({})", planned.note) };
    let at = when::date_time(zone.here(planned.at), Form::Short);
    format!("{at}  {}{note}", super::answer::listed(&names))
}

/// What the schedule takes, beside going whenever something runs out; one sentence each.
pub fn beside_going_unplanned(trip: &Trip, system: UnitSystem) -> Vec<String> {
    let km: f64 = trip.stops.iter().map(|stop| stop.km).sum();
    let stops = count(trip.stops.len(), "stop");
    let way = |way: &UnplannedWay| {
        format!("{:.1} stops and {} on average", way.stops, distance(way.km, system))
    };
    let alone = &trip.unplanned.alone;
    let mut lines = vec![format!("This schedule: {stops} and {}", distance(km, system))];
    lines.push(format!(
        "Without a plan, one drive for each thing that runs out: {}; something is out for a while in \
         {} of futures",
        way(alone),
        percent_down(alone.late)
    ));
    lines
}

/// "Quillet Harbour: be there by Thu 22 Oct 04:00, leave by Thu 22 Oct 03:00 (23 km one way)".
pub fn lead(lead: &Lead, rig: &Rig, zone: &Zone) -> String {
    let at = |moment| when::date_time(zone.here(when::half_hour_before(moment)), Form::Short);
    format!(
        "{}: be there by {}, leave by {} ({} one way)",
        rig.places[lead.place].name,
        at(lead.by),
        at(lead.leave_by),
        distance(lead.km, rig.show)
    )
}

/// How good the schedule is: the lives behind it, and whether fewer stops might do.
pub fn how_good(trip: &Trip) -> String {
    let found = trip.stops.len();
    let fewer = match trip.least_stops {
        Some(n) if n < found => {
            let range = if n + 1 == found { "or" } else { "to" };
            format!("It takes {n} {range} {found} stops; with fewer than {found}, none was found")
        }
        _ => "No way with fewer stops was found".to_string(),
    };
    let luck = 200.0 * trip.standard_error;
    let stopped = if trip.stopped { "The best found until it was given up. " } else { "" };
    format!(
        "{stopped}{fewer}. Chosen on {} futures, then tried on {} others: right to {luck:.1} %.",
        trip.chosen_on, trip.lives
    )
}

/// What would help, one sentence each.
pub fn relaxation(relaxation: &Relaxation, trip: &Trip) -> Vec<String> {
    let mut lines = Vec::new();
    if !relaxation.unserved.is_empty() {
        let names: Vec<&str> =
            relaxation.unserved.iter().map(|s| trip.stocks[*s].name.as_str()).collect();
        lines.push(format!(
            "No place you know offers {} in time: add one to places.ron, or use less",
            super::answer::listed(&names)
        ));
    }
    if let Some(days) = relaxation.days {
        lines.push(format!("{} would work", count(days as usize, "day")));
    }
    match relaxation.confidence {
        Some(confidence) => {
            let sure = super::share::percent(confidence);
            lines.push(format!("The whole trip would work if {sure} sure is enough: ask for that"));
        }
        None => lines.push("The whole trip has less than an even chance".to_string()),
    }
    if relaxation.serviced_first {
        lines.push("It would work with everything serviced before it begins".to_string());
    }
    if let Some(stock) = relaxation.service {
        let name = &trip.stocks[stock].name;
        lines.push(format!("It would work if every place offered {name} too"));
    }
    if !relaxation.half_as_often.is_empty() {
        let names: Vec<&str> = relaxation.half_as_often.iter().map(String::as_str).collect();
        lines.push(format!("It would work with half the {}", super::answer::listed(&names)));
    }
    lines
}
