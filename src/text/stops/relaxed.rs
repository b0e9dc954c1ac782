//! What would make an impossible trip possible, in words.

use crate::plan::Trip;
use crate::plan::stops::answer::Relaxation;
use crate::text::{counted, listed, share};

/// What would help, one sentence each.
pub(super) fn relaxed(relaxation: &Relaxation, trip: &Trip) -> Vec<String> {
    let mut lines = Vec::new();
    let named = |of: &[usize]| listed(of.iter().map(|s| &trip.stocks[*s].name));
    let nowhere = relaxation.seen_to_nowhere();
    if !nowhere.is_empty() {
        let names = named(&nowhere);
        lines.push(format!("No known place sees to {names}: add one to places.ron, or use less"));
    }
    if !relaxation.too_late.is_empty() {
        let names = named(&relaxation.too_late);
        lines.push(format!(
            "Known places are reached too late for {names}: go sooner, use less, or add a nearer one"
        ));
    }
    if let Some(days) = relaxation.days {
        lines.push(format!("{} would work", counted(u64::from(days), "day")));
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
        let name = &trip.stocks[stock].name;
        lines.push(format!("It would work if every place offered {name} too"));
    }
    if !relaxation.half_as_often.is_empty() {
        let names = listed(&relaxation.half_as_often);
        lines.push(format!("It would work with half the {names}"));
    }
    lines
}
