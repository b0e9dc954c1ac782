//! Stops in words, shared by both fronts and the exported papers.

mod again;
mod beside;
mod relaxed;
mod services;
mod so_far;
mod verdict;

use super::count::in_a_row;
use super::stretch::{AnswerPart, InWords, by, percent_down, with_lines};
use super::{Form, counted, led, listed, quantity, when};
use crate::domain::{Moment, Place, Rig, Stock, Unit, UnitSystem, Zone};
use crate::plan::Trip;
use crate::plan::stops::answer::PlanTotals;
use crate::plan::stops::answer::{Lead, Nearest, OneLess, PlannedStop, Spare, Stop, UnplannedWay};
use crate::plan::stops::places::{is_by_day, opens_next};
use crate::plan::stops::saved::REMARK;
use crate::plan::stops::unmatched::Unmatched;
pub use beside::{beside, beside_rows};
pub(super) use services::why;
pub use services::{service, task};
pub use so_far::so_far;
use verdict::undone_by;
pub use verdict::verdict;

/// A whole `places.ron`, to write others like it.
pub const EXAMPLE: &str = include_str!("../../assets/help/places.ron");

/// "Wed 21 Oct 11:00  Quillet Harbour (leave by 10:00; 43 km in all; cost 12)". The time to leave is
/// rounded down to the half hour.
pub fn stop(stop: &Stop, places: &[Place], zone: &Zone, system: UnitSystem) -> String {
    let at = zone.here(stop.at);
    let km = format!("{} in all", distance(stop.km, system));
    let mut about = vec![leave(stop, zone), km];
    about.extend(stop.cost.map(|cost| format!("cost {}", money(cost))));
    format!(
        "{}  {} ({})",
        when::date_time(at, Form::Short),
        named(stop.places(), places),
        about.join("; ")
    )
}

/// "Quillet Harbour, Barley Arm, then Fennel Cross".
fn named(of: impl Iterator<Item = usize>, places: &[Place]) -> String {
    in_a_row(of.filter_map(|place| Some(&places.get(place)?.name)), ", then ")
}

/// "leave by 10:00", rounded down to the half hour.
fn leave(stop: &Stop, zone: &Zone) -> String {
    let leave = zone.here(when::half_hour_before(zone.here(stop.leave_by)));
    let same_day = leave.date_naive() == zone.here(stop.at).date_naive();
    let at = if same_day { when::clock(leave) } else { when::date_time(leave, Form::Short) };
    format!("leave by {at}")
}

/// "Tue 20 Oct to Tue 3 Nov: 230 km, 5.1 h on the road, cost 56".
pub fn totals(trip: &Trip, zone: &Zone, system: UnitSystem) -> String {
    let span = format!("{} to {}", when::day(zone.here(trip.at)), when::day(zone.here(trip.until)));
    if trip.stops.is_empty() {
        return span;
    }
    let sum = |of: fn(&Stop) -> f64| trip.stops.iter().map(of).sum::<f64>();
    let hours = sum(|stop| stop.hours);
    let driving = driving(trip.stops.iter().map(|stop| stop.km), system);
    // As it is said of each stop, so that these add up.
    let cost = sum(|stop| (stop.cost.unwrap_or(0.0) * 100.0).round() / 100.0);
    let cost = if cost > 0.0 { format!(", cost {}", money(cost)) } else { String::new() };
    let besides = if trip.planned.is_empty() { "" } else { " besides the planned ones" };
    format!("{span}: {driving}, {hours:.1} h on the road{cost}{besides}")
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
        format!("{} for {stops} {}", trip.stocks[*stock].name, listed(numbers))
    });
    let each: Vec<String> = each.collect();
    (!each.is_empty()).then(|| format!("What cannot wait: {}", each.join("; ")))
}

/// That a date is not the one of a van that stands: "diesel: what the drives burn is counted in".
fn burnt(trip: &Trip) -> Option<String> {
    let name = &trip.stocks[trip.burnt?].name;
    Some(format!("{name}: what the drives burn is counted in"))
}

/// Why a schedule drives further than its services need: "The longer drives charge battery: to the
/// nearest places it is 126 km and 88 % chance".
fn nearest(trip: &Trip, system: UnitSystem) -> Option<String> {
    let Nearest { km, probability, charged } = trip.nearest?;
    let (name, chance) = (&trip.stocks[charged].name, percent_down(probability));
    let km = distance(km, system);
    Some(format!(
        "The longer drives charge {name}: to the nearest places it is {km} and {chance} chance"
    ))
}

/// A schedule with less than an even chance is none to know of (common practice, no source).
const EVEN: f64 = 0.5;

/// How close a stop less comes: "With one stop fewer: 97 km, 86 % chance"; a table beside other plans
/// says it itself.
fn one_less(trip: &Trip, system: UnitSystem) -> Option<String> {
    let OneLess { km, probability } = trip.one_less.filter(|_| trip.against.is_empty())?;
    let (chance, km) = (percent_down(probability), distance(km, system));
    let close = if probability >= trip.confidence { " (too close to call)" } else { "" };
    (probability >= EVEN).then(|| format!("With one stop fewer: {km}, {chance} chance{close}"))
}

/// What would save driving or money and be hardly less sure: "Nearly as sure: stop 2 on Fri 23 Oct 11:00 at
/// Barley Arm, 42 km and 12 less (89 % chance)".
fn nearly_as_sure(trip: &Trip, rig: &Rig, zone: &Zone) -> Option<String> {
    let nearly = trip.nearly_as_sure?;
    let at = when::date_time(zone.here(nearly.at), Form::Short);
    let place = &rig.places[nearly.place].name;
    let cost = (nearly.cost >= 0.005).then(|| format!("{} in money", money(nearly.cost)));
    let km = (nearly.km >= 0.5).then(|| distance(nearly.km, rig.show));
    let less = listed(km.into_iter().chain(cost));
    let (n, chance) = (nearly.stop + 1, percent_down(nearly.probability));
    Some(format!("Nearly as sure: stop {n} on {at} at {place}, {less} less ({chance} chance)"))
}

/// One line for one stop: "1. Wed 21 Oct 11:00 Quillet Harbour, leave by 10:00; at the latest Thu 22
/// Oct 17:00 for battery; or on Thu 22 Oct".
pub fn glance(trip: &Trip, n: usize, places: &[Place], zone: &Zone) -> String {
    let stop = &trip.stops[n];
    let at = when::date_time(zone.here(stop.at), Form::Short);
    let mut line =
        format!("{}. {at} {}, {}", n + 1, named(stop.places(), places), leave(stop, zone));
    if let (Some(stock), Some(latest)) = (stop.forced_by, stop.latest) {
        let said = |at| by(at, zone);
        let name = &trip.stocks[stock].name;
        let hours = places.get(stop.place).is_some_and(|p| p.opens.is_some() || p.closes.is_some());
        let open = match (hours, is_by_day(zone, latest)) {
            (true, _) => ", while it is open",
            (false, true) => ", by day",
            (false, false) => "",
        };
        line += &match stop.out.map(said).filter(|out| *out != said(latest)) {
            Some(_) if is_overdue(stop) => format!("; as soon as you can, for {name}"),
            // Why that is not the date that the first screen tells.
            Some(out) => format!("; at the latest {}{open} ({name}: until {out})", said(latest)),
            None => format!("; at the latest {} for {name}", said(latest)),
        };
    }
    if let Some(far) = far(stop, trip) {
        line += &format!("; {far}");
    }
    if let Some(share) = stop.without {
        line += &format!("; to be sure: {} chance without it", percent_down(share));
    }
    let days: Vec<String> = stop.or_on.iter().map(|at| when::day(zone.here(*at))).collect();
    if !days.is_empty() {
        line += &format!("; or on {}", days.join(" or "));
    }
    line
}

/// "so far for battery": what no nearer place sees to, or what the drive charges.
fn far(stop: &Stop, trip: &Trip) -> Option<String> {
    let names = listed(stop.far_for.iter().map(|stock| &trip.stocks[*stock].name));
    (!names.is_empty()).then(|| format!("so far for {names}"))
}

/// Whether what forces a stop may be out before it.
fn is_overdue(stop: &Stop) -> bool {
    stop.out.is_some_and(|out| out < stop.at)
}

/// "43 km", "27 mi", to the nearest whole.
pub fn distance(km: f64, system: UnitSystem) -> String {
    driving([km].into_iter(), system)
}

/// Several ways together: the sum of what [`distance`] says of each.
fn driving(km: impl Iterator<Item = f64>, system: UnitSystem) -> String {
    let unit = Unit::Kilometre.shown_in(system);
    let per_unit = unit.factor_to(&Unit::Kilometre, None).unwrap_or(1.0);
    let whole = km.map(|km| (km / per_unit).round()).sum::<f64>() + 0.0;
    format!("{whole:.0} {}", unit.word())
}

/// A sum in the owner's currency, without it.
pub fn money(cost: f64) -> String {
    let text = format!("{cost:.2}");
    text.strip_suffix(".00").map(str::to_string).unwrap_or(text)
}

/// Whether jerrycans and spare containers are taken along, a line for each: "Take the spare 20 L of
/// fresh along: without it there are more stops".
fn spares(trip: &Trip, system: UnitSystem) -> Vec<String> {
    let line = |spare: &Spare| {
        let stock = &trip.stocks[spare.stock];
        let holds = quantity::amount(spare.holds, stock.capacity, &stock.unit, system);
        match spare.taken {
            true => format!(
                "Take the spare {holds} of {} along, empty at first: it takes more stops without",
                stock.name
            ),
            false => {
                format!("The spare {holds} of {} may stay empty: it saves no stop", stock.name)
            }
        }
    };
    // Where nothing works, what saves no stop is nothing to know.
    trip.spares.iter().filter(|spare| spare.taken || trip.carries()).map(line).collect()
}

/// Says an answer; plans beside it in a table of `columns`, or in lines where that is too wide.
pub fn said(trip: &Trip, rig: &Rig, columns: usize) -> InWords {
    let zone = rig.zone(trip.at);
    let first = [Some(verdict(trip)), Some(totals(trip, &zone, rig.show)), forces(trip)];
    let first = first
        .into_iter()
        .chain([undone_by(trip), burnt(trip), one_less(trip, rig.show), nearest(trip, rig.show)])
        .chain([nearly_as_sure(trip, rig, &zone), begun_at(trip)])
        .flatten();
    let twice = again::twice(trip, &rig.places, &zone);
    let running = match trip.against.is_empty() {
        true => again::days_running(trip, &rig.places, &zone),
        false => Vec::new(),
    };
    let first = first.chain(twice).chain(running).chain(spares(trip, rig.show)).collect();
    let asked = PlanTotals::of(trip);
    let rows = beside_rows(trip, &asked, rig);
    let beside = if rows.is_empty() { Vec::new() } else { beside(&rows, rig, columns) };
    let help = trip.relaxation.as_ref();
    let help = help.map(|help| relaxed::relaxed(help, trip, rig)).unwrap_or_default();
    let planned = trip.planned.iter().map(|stop| planned(stop, &trip.stocks, &zone)).collect();
    let stops = (0..trip.stops.len()).map(|n| glance(trip, n, &rig.places, &zone)).collect();
    // Other plans, where they were asked for, are help enough for one page.
    let (help, on_asking) = if beside.is_empty() { (help, vec![]) } else { (vec![], help) };
    let day = |stop: &Stop| zone.date(stop.at);
    let planned_then = |stop: &Stop| trip.planned.iter().any(|p| zone.date(p.at) == day(stop));
    let once_a_day = trip.stops.windows(2).all(|two| day(&two[0]) < day(&two[1]))
        && !trip.stops.iter().any(planned_then);
    let open = if once_a_day {
        "One stop a day at most, each a round trip, at places open that day"
    } else {
        "Each a round trip, at places that are open then"
    };
    let parts = [
        ("Beside other plans", beside),
        ("What would help", help),
        ("Saved or planned already, and counted on here", planned),
        (open, stops),
    ];
    let mut more: Vec<AnswerPart> =
        trip.stops.iter().map(|stop| page(stop, trip, rig, &zone)).collect();
    if !on_asking.is_empty() {
        more.push(("What would help".to_string(), on_asking));
    }
    if !trip.leads.is_empty() {
        let sure = super::share::percent(trip.confidence);
        let without = if trip.planned.is_empty() { "" } else { ", the saved ones not made" };
        let head = format!("Where the next stop can be ({sure} sure{without})");
        more.push((head, trip.leads.iter().map(|each| lead(each, rig, &zone)).collect()));
    }
    if !trip.stops.is_empty() {
        let unplanned = beside_going_unplanned(trip, rig.show);
        let lines = [how_good(trip, rig.show)].into_iter().chain(unplanned).collect();
        more.push(("How good it is".to_string(), lines));
    }
    InWords { first, parts: with_lines(parts), more }
}

/// Where distances count from, if nobody said where the camp lies.
fn begun_at(trip: &Trip) -> Option<String> {
    let (camp, taken_as) = (&trip.camp.name, trip.camp.taken_as.as_ref()?);
    Some(format!(
        "Where {camp} lies is not known: ways count from {taken_as}. Put it into places.ron"
    ))
}

/// One stop: what to know of it, and what to do there.
fn page(stop: &Stop, trip: &Trip, rig: &Rig, zone: &Zone) -> AnswerPart {
    let mut lines = about(stop, trip, rig, zone);
    let services = trip.in_order(stop).into_iter();
    let done = services.map(|s| format!("{}: {}", task(s, stop, trip, rig), why(s, stop)));
    lines.extend(done);
    lines.extend(joined(stop, trip, zone));
    lines.extend(stop.moves_camp.then(|| "camp somewhere else afterwards: needed".to_string()));
    (self::stop(stop, &rig.places, zone, rig.show), lines)
}

/// What to know of a stop: its latest time, its places' hours and remarks, when one is at the further
/// ones, and how long a charge keeps the van there.
pub fn about(stop: &Stop, trip: &Trip, rig: &Rig, zone: &Zone) -> Vec<String> {
    let further = stop.further.iter().flat_map(|to| {
        let (name, at) = (&rig.places[to.place].name, when::clock(zone.here(to.at)));
        let on = format!("then {name}, about {at} ({} on)", distance(to.way.km, rig.show));
        let there = open(to.place, &rig.places).map(|there| format!("{name}: {there}"));
        [Some(on), there].into_iter().flatten()
    });
    let first = [latest(stop, trip, zone), far(stop, trip), open(stop.place, &rig.places)]
        .into_iter()
        .flatten();
    first.chain(further).chain(stay(stop, &rig.places, zone)).collect()
}

/// "open 08:00 to 18:00; one drain, so people wait": a place's hours and remark.
fn open(place: usize, places: &[Place]) -> Option<String> {
    let place = places.get(place);
    let clock = |time: chrono::NaiveTime| time.format("%H:%M").to_string();
    let hours = place.and_then(|place| match (place.opens, place.closes) {
        (Some(opens), Some(closes)) => Some(format!("open {} to {}", clock(opens), clock(closes))),
        (Some(opens), None) => Some(format!("open from {}", clock(opens))),
        (None, Some(closes)) => Some(format!("open until {}", clock(closes))),
        (None, None) => None,
    });
    let note = place.map(|place| place.note.clone()).filter(|note| !note.is_empty());
    let there: Vec<String> = hours.into_iter().chain(note).collect();
    Some(there.join("; ")).filter(|there| !there.is_empty())
}

/// "on the hook-up until 15:30", or that it takes the night.
fn stay(stop: &Stop, places: &[Place], zone: &Zone) -> Option<String> {
    let charge = stop.services.iter().find(|service| service.needed && service.hours.is_some())?;
    let (hours, less) = (charge.hours?, charge.enough_hours);
    let at = stop.at_place(charge.place);
    let after = |hours| Some(zone.here(crate::domain::time::after_hours(at, hours)?));
    let until = after(hours)?;
    let less = less.and_then(after).map(|at| format!("; enough at {}", when::clock(at)));
    let less = less.unwrap_or_default();
    let closes = places.get(charge.place).and_then(|place| place.closes);
    let same_day = until.date_naive() == zone.here(at).date_naive();
    Some(match closes.is_none_or(|closes| same_day && until.time() <= closes) {
        true => format!("on the hook-up until {}{less}", when::date_time(until, Form::Short)),
        false => {
            format!("{hours} h of hook-up end after closing: stay the night, or take less{less}")
        }
    })
}

/// "Closed now: Quillet Harbour opens Fri 23 Oct 08:00", where no place that could see to one of
/// `stocks` is open.
pub fn closed_now(rig: &Rig, stocks: &[&str], now: Moment) -> Option<String> {
    let (place, opens) = opens_next(rig, stocks, now)?;
    let opens = when::date_time(rig.zone(now).here(opens), Form::Short);
    Some(format!("Closed now: {} opens {opens}", place.name))
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

/// "do grey and fresh as well: the next stop is then by Sat 24 Oct 08:30 instead of Fri 23 Oct 02:30
/// (90 % sure)"; nothing where no further service makes a difference.
fn joined(stop: &Stop, trip: &Trip, zone: &Zone) -> Option<String> {
    let names = stop.services.iter().filter(|service| service.joins);
    let names = listed(names.map(|service| &trip.stocks[service.stock].name));
    let needed = stop.lasts_needed?;
    if names.is_empty() {
        return None;
    }
    let at = |moment| by(moment, zone);
    let with = match stop.lasts {
        Some(lasts) => format!("the next stop is then by {}", at(lasts)),
        None => "no further stop is needed then".to_string(),
    };
    Some(format!(
        "do {} as well: {with} instead of by {} ({} sure)",
        names,
        at(needed),
        super::share::percent(trip.confidence),
    ))
}

/// "at the latest Wed 21 Oct 18:00 (90 % sure)".
fn latest(stop: &Stop, trip: &Trip, zone: &Zone) -> Option<String> {
    if is_overdue(stop) {
        return Some("as soon as you can".to_string());
    }
    let sure = super::share::percent(trip.confidence);
    Some(format!("at the latest {} ({sure} sure)", by(stop.latest?, zone)))
}

/// "Wed 21 Oct 11:00 Quillet Harbour: fresh, grey and battery"; another plan by its remark.
pub fn planned(planned: &PlannedStop, stocks: &[Stock], zone: &Zone) -> String {
    let names = listed(planned.stocks.iter().map(|s| &stocks[*s].name));
    let note = planned.note.strip_prefix(REMARK).unwrap_or(&planned.note);
    let note = if note.is_empty() { String::new() } else { format!(" {note}:") };
    let at = when::date_time(zone.here(planned.at), Form::Short);
    let late = listed(planned.late_for.iter().map(|s| &stocks[*s].name));
    format!("{at}{note} {names}{}", led("; too late for ", &late))
}

/// What the schedule takes, beside going whenever something runs out; one sentence each.
fn beside_going_unplanned(trip: &Trip, system: UnitSystem) -> Vec<String> {
    let km = driving(trip.stops.iter().map(|stop| stop.km), system);
    let stops = counted(trip.stops.len(), "stop");
    let way = |way: &UnplannedWay| {
        format!("{:.1} stops and {} on average", way.stops, distance(way.km, system))
    };
    let alone = &trip.unplanned.alone;
    let mut lines = vec![format!("This schedule: {stops} and {km}")];
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
    format!(
        "{}: be there by {}, leave by {} ({} one way)",
        rig.places[lead.place].name,
        by(lead.by, zone),
        by(lead.leave_by, zone),
        distance(lead.km, rig.show)
    )
}

/// Why a schedule cannot be saved, and which can.
pub fn not_saved(trip: &Trip) -> String {
    let days = |days: u32| counted(days as usize, "day");
    let fewer = trip.relaxation.as_ref().and_then(|relaxation| relaxation.days).map(days);
    let fewer = led("; ask for ", &fewer.unwrap_or_default());
    format!("not saved: no schedule is sure enough for {}{fewer}", days(trip.days))
}

/// How good the schedule is: the lives behind it, and whether fewer stops might do.
pub fn how_good(trip: &Trip, system: UnitSystem) -> String {
    let found = trip.stops.len();
    let longer = trip.longer.map(|longer| {
        format!(
            "{} would do, for {} of driving",
            counted(longer.stops, "stop"),
            distance(longer.km, system)
        )
    });
    let fewer = longer.unwrap_or_else(|| match trip.least_stops {
        Some(0) if found == 1 => "Without a stop no way was found".to_string(),
        Some(n) if n < found => {
            let between = match found - n {
                1 => n.to_string(),
                2 => format!("{n} or {}", n + 1),
                _ => format!("{n} to {}", found - 1),
            };
            let least =
                if n > 1 { format!("Fewer than {n} stops cannot do; ") } else { String::new() };
            let with = if n > 1 { "with" } else { "With" };
            format!("{least}{with} {between} no way was found")
        }
        _ => "No way with fewer stops was found".to_string(),
    });
    // How close one comes is told.
    let enough = if trip.one_less.is_some() { " that is sure enough" } else { "" };
    // Where none of n is out, up to 3/n of all may be, 19 times of 20 (Hanley and Lippman-Hand, If
    // nothing goes wrong, is everything all right?, 1983; from memory).
    let luck = (200.0 * trip.standard_error).max(300.0 / trip.lives as f64);
    let stopped = if trip.stopped { "The best found until it was given up. " } else { "" };
    format!(
        "{stopped}{fewer}{enough}. Chosen on {} futures, then tried on {} others: right to {luck:.1} %.",
        trip.chosen_on, trip.lives
    )
}
