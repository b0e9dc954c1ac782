//! What would make an impossible trip possible, in words.

use crate::domain::Rig;
use crate::plan::Trip;
use crate::plan::stops::answer::Relaxation;
use crate::text::{Form, counted, listed, share, when};

/// What would help, one sentence each; the battery is what a place sees to by a hook-up.
pub(super) fn relaxed(relaxation: &Relaxation, trip: &Trip, rig: &Rig) -> Vec<String> {
    let store = rig.parts.electrics.as_ref().map(|electrics| electrics.store.as_str());
    let mut lines = Vec::new();
    let named = |of: &[usize]| listed(of.iter().map(|s| &trip.stocks[*s].name));
    let is_store = |stock: &usize| Some(trip.stocks[*stock].name.as_str()) == store;
    let (battery, nowhere): (Vec<usize>, Vec<usize>) =
        relaxation.seen_to_nowhere().into_iter().partition(is_store);
    for (of, no_place) in
        [(battery, "no known place has a hook-up"), (nowhere, "no known place sees to that")]
    {
        if !of.is_empty() {
            lines.push(format!("{}: {no_place}; add one to places.ron, or use less", named(&of)));
        }
    }
    if !relaxation.too_late.is_empty() {
        let names = named(&relaxation.too_late);
        lines.push(too_late(&names, relaxation, trip, rig));
    }
    if let Some(days) = relaxation.days {
        lines.push(format!("{} would work", counted(days as usize, "day")));
    }
    match relaxation.confidence {
        Some(confidence) => {
            let sure = share::percent(confidence);
            lines.push(format!("The whole trip would work if {sure} sure is enough: ask for that"));
        }
        None => lines.push("The whole trip has less than an even chance".to_string()),
    }
    if relaxation.serviced_first {
        lines.push("It would work with everything serviced before it begins".to_string());
    }
    if let Some(stock) = relaxation.service {
        lines.push(match is_store(&stock) {
            true => "It would work with a hook-up at every place".to_string(),
            false => format!("It would work if every place saw to {}", named(&[stock])),
        });
    }
    if !relaxation.half_as_often.is_empty() {
        let names = listed(&relaxation.half_as_often);
        lines.push(format!("It would work with half the {names}"));
    }
    lines
}

/// "Known places are reached too late for fresh: the first stop can be Wed 24 Feb 08:00 at Fennel
/// Cross; use less, or add a nearer one"; where the trip is over by then, how many days to ask for.
fn too_late(names: &str, relaxation: &Relaxation, trip: &Trip, rig: &Rig) -> String {
    let late = format!("Known places are reached too late for {names}");
    let Some(first) = relaxation.first_stop else {
        return format!("{late}: use less, or add a nearer one");
    };
    let (zone, place) = (rig.zone(trip.at), &rig.places[first.place].name);
    let at = format!("{} at {place}", when::date_time(zone.here(first.at), Form::Short));
    if first.days <= trip.days {
        return format!("{late}: the first stop can be {at}; use less, or add a nearer one");
    }
    let asked = counted(trip.days as usize, "day");
    let days = counted(first.days as usize, "day");
    format!(
        "No known place that sees to {names} can be reached while it is open within {asked}: the first \
         stop can be {at}; ask for {days}"
    )
}
