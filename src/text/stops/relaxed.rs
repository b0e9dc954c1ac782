//! What would make an impossible trip possible, in words.

use crate::plan::Trip;
use crate::plan::stops::answer::Relaxation;
use crate::text::{counted, listed, share};

/// What would help, one sentence each; `store` is the battery, which a place sees to by a hook-up.
pub(super) fn relaxed(relaxation: &Relaxation, trip: &Trip, store: Option<&str>) -> Vec<String> {
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
        lines.push(format!(
            "Known places are reached too late for {names}: go sooner, use less, or add a nearer one"
        ));
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
