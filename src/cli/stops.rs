//! `waystock stops --days N`: which stops, where and when, with the known places. Exit code 1
//! when no schedule works.

use super::args::StopsOptions;
use super::progress_line::waiting;
use super::{CommandResult, Failure, Output, Rounded, Session, list, object, plan_words};
use crate::domain::{Draft, Rig};
use crate::plan::stops::answer::{Against, CERTAINTY, PlanTotals};
use crate::plan::stops::answer::{
    Further, Lead, PlannedStop, Relaxation, Service, Spare, Stop, UnplannedWay,
};
use crate::plan::stops::unmatched::unmatched;
use crate::plan::stops::{saved, stops};
use crate::plan::{Basis, Onward, Suppose, Trip, TripRequest};
use crate::store::data_folder::Contents;
use crate::text::{caution, commas, led, listed, stops as words};
use serde_json::{Value, json};
use std::sync::Mutex;

/// Prints the schedule in plain lines, or as JSON; saves it when asked.
pub fn run(options: &StopsOptions, session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load_for_answer(1)?;
    let rig = &contents.rig;
    let now = session.now(rig);
    if !rig.places.iter().any(|place| place.offers_anything()) {
        return Err(nowhere(session));
    }
    let trip = answer(&contents, session, options)?;
    let asked = PlanTotals::of(&trip);
    let rows = words::beside_rows(&trip, &asked, rig);
    let mut saved = 0;
    if options.save && trip.carries() {
        let planned = saved::planned(rig, &trip).into_iter().map(Draft::from);
        saved = session.folder.journal.append(&planned.collect::<Vec<_>>(), now)?.len();
    }
    if session.common.json {
        let mut value = as_json(rig, &trip);
        value["saved"] = json!(saved);
        value["against"] = list(&rows, |row| beside_as_json(rig, row));
        out.json(&value);
    } else {
        print(rig, &trip, options, out);
        match (options.save, saved) {
            (true, 0) => out.line("Nothing was saved."),
            (true, n) => out.line(&format!("saved: {n} planned entries")),
            _ => {}
        }
    }
    let nowhere = trip.relaxation.iter().flat_map(Relaxation::seen_to_nowhere);
    let nowhere = listed(nowhere.map(|s| &trip.stocks[s].name));
    if !nowhere.is_empty() {
        out.say(&format!(
            "waystock: {}: places: found none that sees to {nowhere}",
            session.folder.places_at(),
        ));
    }
    Ok(u8::from(!trip.works))
}

/// Columns that a table of plans may take.
const TABLE: usize = 100;

/// No place offers anything: which, and where that is written.
fn nowhere(session: &Session) -> Failure {
    let faults = session.folder.places_without_services();
    let mut messages: Vec<String> = faults.iter().map(ToString::to_string).collect();
    if messages.is_empty() {
        let file = session.folder.dir().join("places.ron");
        messages
            .push(format!("{}: places: found none, expected some with services", file.display()));
    }
    let excerpt = words::EXAMPLE.lines().map(String::from).collect();
    Failure { excerpt, ..Failure::all(66, messages) }
        .hint("Write down in places.ron where you can stop, and what each place offers, like this.")
}

/// The schedule for these options.
///
/// # Errors
/// A camp, or something to compare with, that is not understood.
pub fn answer(
    contents: &Contents,
    session: &Session,
    options: &StopsOptions,
) -> Result<Trip, Failure> {
    let rig = &contents.rig;
    let now = session.now(rig);
    let request = TripRequest {
        days: options.days,
        confidence: f64::from(options.confidence) / 100.0,
        crew: options.crew,
        lives: session.common.lives as usize,
        seed: session.common.seed,
        against: against(&options.against, rig)?,
    };
    let (standing, beliefs) = session.learned(contents)?;
    let here = beliefs.timeline.camp(now);
    let here = (here.latitude, here.longitude);
    let stay = options.stay || !options.camp.is_empty();
    let camps = plan_words::camps(&options.camp, rig, now, here)?;
    let suppose = Suppose { stay, camps, ..Suppose::default() };
    let (standing, beliefs) =
        suppose.applied(&Basis { rig, standing: &standing, beliefs: &beliefs, now }, now);
    let basis = Basis { rig, standing: &standing, beliefs: &beliefs, now };
    let last = Mutex::new(None);
    let known = || last.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
    let told = |seconds| {
        let so_far = known().map(|progress| words::so_far(&progress, &rig.places));
        format!("searching, {seconds} s{}", led(": ", &so_far.unwrap_or_default()))
    };
    let heard = |progress| {
        *known() = Some(progress);
        Onward::GoOn
    };
    let trip = waiting(told, || stops(&basis, &request, &heard));
    Ok(trip.expect("nothing cancels a command's search"))
}

/// What `--against` names.
///
/// # Errors
/// Something to compare with that is not understood.
fn against(wanted: &[String], rig: &Rig) -> Result<Vec<Against>, Failure> {
    let mut all = Vec::new();
    for wanted in wanted {
        let words = wanted.trim().to_lowercase();
        let closed = words.strip_prefix("without ").map(|name| {
            rig.places.iter().position(|place| place.name.to_lowercase() == name.trim())
        });
        match (words.as_str(), closed) {
            ("certainty", _) => all.extend(CERTAINTY),
            ("one more", _) => all.push(Against::OneMore),
            ("longer", _) => all.push(Against::Longer),
            (_, Some(Some(place))) => all.push(Against::Without(place)),
            _ => {
                let expected = "certainty, one more, longer, or without PLACE";
                let offering = rig.places.iter().filter(|place| place.offers_anything());
                let names = commas(offering.map(|place| place.name.as_str()));
                let failure = Failure::found("--against: ", wanted, expected);
                return Err(failure.hint(format!("PLACE is one of: {names}.")));
            }
        }
    }
    Ok(all)
}

fn beside_as_json(rig: &Rig, (what, row): &(String, Option<&PlanTotals>)) -> Value {
    let Some(row) = row else {
        let none = Value::Null;
        let empty: [Value; 0] = [];
        return object!(none; what = what, stops = none, works = none, probability = none,
            km = none, cost = none, slack_hours = none, places = json!(empty), at = json!(empty));
    };
    object!(row; what = what, stops = row.stops.len(), works, probability ~ 6, km ~ 1, cost ~ 2,
        slack_hours ~ 2, places = list(&row.stops, |(_, places)| &rig.places[places[0]].name),
        at = list(&row.stops, |(at, _)| at))
}

fn print(rig: &Rig, trip: &Trip, options: &StopsOptions, out: &mut Output) {
    let said = words::said(trip, rig, TABLE);
    out.lines(said.first);
    let all = said.parts.iter().chain(said.more.iter().filter(|_| options.all));
    for part in all {
        out.line("");
        super::stretch::print_part(part, out);
    }
    out.line("");
    if !options.all {
        // Of one that is not sure enough nobody asks whether fewer stops would do.
        if !trip.stops.is_empty() && trip.carries() {
            out.line(&words::how_good(trip, rig.show));
        }
        out.line(match trip.stops.is_empty() {
            true => "Where the next stop can be: --all",
            false => "What to do at each stop, and where else to go: --all",
        });
    }
    let unmatched = unmatched(&rig.parts_on(rig.zone(trip.at).date(trip.at)), &rig.places);
    out.lines(unmatched.iter().map(|each| format!("Note: {}", words::unmatched(each))));
    let cautions = [caution::WASTE, caution::DRINKING, caution::ESTIMATE];
    out.lines(cautions.map(|caution| format!("{}.", caution.line)));
}

fn way(way: &UnplannedWay) -> Value {
    object!(way; stops ~ 2, km ~ 1, late ~ 4)
}

/// `waystock.stops/1`.
fn as_json(rig: &Rig, trip: &Trip) -> Value {
    let name = |index: usize| &trip.stocks[index].name;
    let names = |all: &[usize]| list(all, |index| name(*index));
    let planned = |p: &PlannedStop| object!(p; at, note, stocks = names(&p.stocks), late_for = names(&p.late_for));
    let lead =
        |l: &Lead| object!(l; place = rig.places[l.place].name, by, leave_by, km ~ 1, hours ~ 2);
    let relaxation = trip.relaxation.as_ref().map(|r| {
        let first_stop = r.first_stop.map(|f| object!(f; at, days, place = rig.places[f.place].name));
        object!(r; unserved = names(&r.unserved), too_late = names(&r.too_late), first_stop = first_stop, days, confidence ~ 4, serviced_first,
            service = r.service.map(name), half_as_often)
    });
    let nearest =
        trip.nearest.map(|n| object!(n; km ~ 1, probability ~ 6, charged = name(n.charged)));
    let one_less = trip.one_less.map(|less| object!(less; km ~ 1, probability ~ 6));
    let nearly = trip.nearly_as_sure.map(|n| {
        object!(n; stop, at, place = rig.places[n.place].name, km ~ 1, cost ~ 2, probability ~ 6)
    });
    let overdue = trip
        .overdue
        .as_ref()
        .map(|o| object!(o; stocks = names(&o.stocks), chance ~ 4, probability ~ 6));
    let spare = |s: &Spare| object!(s; stock = name(s.stock), holds ~ 3, taken);
    let unplanned = object!(trip; alone = way(&trip.unplanned.alone),
        joined = way(&trip.unplanned.joined));
    object!(trip;
        schema = "waystock.stops/1", at, until, days, confidence ~ 4, chosen_on, lives, seed, works,
        probability ~ 6, overdue = overdue,
        undone_by = trip.undone_by.map(name), standard_error ~ 4, exact, stopped, least_stops, least_km = Value::Null,
        longer = trip.longer.map(|l| object!(l; stops, km ~ 1)),
        km = trip.stops.iter().map(|s| s.km).sum::<f64>().rounded(1),
        cost = trip.stops.iter().filter_map(|s| s.cost).sum::<f64>().rounded(2),
        camp = trip.camp.name, camp_taken_as = trip.camp.taken_as, one_less = one_less, nearly_as_sure = nearly, nearest = nearest, stops = list(&trip.stops, |s| stop_as_json(rig, trip, s)),
        spares = list(&trip.spares, spare), planned = list(&trip.planned, planned), unplanned = unplanned,
        leads = list(&trip.leads, lead), relaxation = relaxation)
}

fn stop_as_json(rig: &Rig, trip: &Trip, s: &Stop) -> Value {
    let service = |v: &Service| {
        let stock = &trip.stocks[v.stock];
        object!(v; stock = stock.name, place = rig.places[v.place].name, unit = stock.unit, amount ~ 3, needed, pushes_hours ~ 2, joins,
            hours = json!(v.hours), likely_hours = json!(v.likely_hours),
            enough_hours = json!(v.enough_hours), spare ~ 3, price = json!(v.price), enough ~ 3)
    };
    let further = |to: &Further| object!(to; place = rig.places[to.place].name, at, km = to.way.km.rounded(1), hours = to.way.hours.rounded(2));
    object!(s;
        place = rig.places[s.place].name, at, further = list(&s.further, further), or_on,
        forced_by = s.forced_by.map(|index| &trip.stocks[index].name), far_for = list(&s.far_for, |index| &trip.stocks[*index].name),
        without ~ 6, leave_by, latest, lasts,
        lasts_needed, km ~ 1, hours ~ 2, cost ~ 2, moves_camp, services = list(&s.services, service))
}
