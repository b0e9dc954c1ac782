//! The stops of a trip: the values asked for, and beside them the schedule, where the next
//! forced stop can be made, and what would help where nothing works.

use super::form::{FormPage, StyledLine, put_verdict};
use super::{Paper, Text, form, put_part};
use crate::domain::place::SERVICES;
use crate::domain::{Rig, standing};
use crate::plan::stops::places::served_by_none;
use crate::plan::stops::saved;
use crate::plan::{Progress, Trip};
use crate::text::{Urgency, caution, commas, plans, stops as words};
use crate::tui::State;
use crate::tui::update::has_places;
use crate::tui::values::Field;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    let asked = &state.trip.asked;
    let seconds = state.trip.so_far.map_or(0, |so_far| so_far.seconds);
    let doing = if state.trip.comparing().is_some() { "comparing" } else { "searching" };
    let busy = match (asked.working, seconds) {
        (false, _) => String::new(),
        (true, 0) => doing.to_string(),
        (true, seconds) => format!("{doing}, {seconds} s"),
    };
    let page = FormPage {
        title: "Stops of a trip",
        busy,
        values: &state.trip.values,
        answer: &|columns| answer(state, columns),
        cautions: match asked.answer {
            None => Vec::new(),
            Some(_) => [caution::WASTE, caution::DRINKING, caution::ESTIMATE]
                .map(|caution| caution.line.to_string())
                .to_vec(),
        },
    };
    form::draw(&page, paper);
}

fn answer(state: &State, columns: usize) -> Vec<Vec<StyledLine>> {
    let mut text = Text::new(state.look, columns);
    let Some(book) = &state.book else { return text.sections };
    let rig = &book.loaded.rig;
    let asked = &state.trip.asked;
    if let Some(so_far) = state.trip.so_far.filter(|_| asked.working) {
        let known = words::so_far(&so_far.progress, &rig.places);
        let esc = match so_far.progress {
            Progress { beside: Some(_), .. } => "Esc keeps those compared so far",
            Progress { found: Some(_), .. } => "Esc takes the best found",
            _ => "Esc stops it",
        };
        text.put("", &format!("So far: {known}. {esc}."), state.look.faint());
    }
    let saved_ahead = saved::ahead(&standing(&book.loaded.entries, state.now), state.now).count();
    match &asked.answer {
        _ if !has_places(rig) => no_places(state, &mut text),
        None if asked.stopped && state.trip.has_found() => {
            text.say(["Stopped. The best found so far follows."]);
        }
        None if asked.stopped => text.say(["Stopped. r asks again."]),
        None => text.say(["Looking for the fewest stops that do"]),
        Some(trip) => {
            if !asked.current {
                let stopped = if asked.stopped { " (stopped; r asks again)" } else { "" };
                text.put("", &format!("The last answer{stopped}:"), state.look.faint());
            }
            schedule(state, rig, trip, saved_ahead, &mut text);
        }
    }
    text.sections
}

/// How to make a place known.
fn no_places(state: &State, text: &mut Text) {
    let loaded = state.book.as_ref().map(|book| &book.loaded);
    let wrong = loaded.into_iter().flat_map(|loaded| &loaded.findings);
    let wrong: Vec<&String> = wrong.filter(|told| told.contains("places.ron")).collect();
    if !wrong.is_empty() {
        text.put("", "No place is known: places.ron cannot be read.", state.look.strong());
        text.say(wrong);
        return text.say(["Mend that, then r."]);
    }
    text.put("", "No place with services is known yet.", state.look.strong());
    let folder = loaded.and_then(|loaded| loaded.places.first());
    let folder = folder.map_or(String::new(), |(_, path)| format!(", in {path}"));
    text.say([format!("Write where you can stop into places.ron{folder}:")]);
    text.under(words::EXAMPLE.lines());
    text.say([format!("Services are: {}.", SERVICES.join(", "))]);
    let own = loaded.map_or_else(Vec::new, |loaded| served_by_none(&loaded.rig.parts));
    let such = own.first().copied().unwrap_or_default();
    text.say((!own.is_empty()).then(|| {
        format!(
            "Other stocks of this van are named beside them, as in stocks: [\"{such}\"]: {}.",
            commas(&own)
        )
    }));
    text.say(["Or: waystock import FILE.gpx for waypoints. Then r."]);
}

fn schedule(state: &State, rig: &Rig, trip: &Trip, saved_ahead: usize, text: &mut Text) {
    let said = words::said(trip, rig, text.columns().saturating_sub(2));
    let verdict = if trip.works { Urgency::Fine } else { Urgency::Out };
    put_verdict(text, verdict, &said.first);
    let later = state.trip.values.value(Field::From) > 0.0;
    text.say(later.then_some(
        "Counted from now; everything is taken to be serviced on setting out, which is saved with \
         the stops.",
    ));
    said.parts.into_iter().for_each(|part| put_part(text, part));
    text.under(unneeded(state, rig));
    text.under(
        (saved_ahead > 0)
            .then(|| format!("x takes back the {saved_ahead} planned entries that were saved")),
    );
    text.under(
        (trip.carries() && !trip.stops.is_empty()).then_some(
            "w saves them; it says first what it writes. = sets other plans beside them.",
        ),
    );
    said.more.into_iter().for_each(|part| put_part(text, part));
}

/// Each saved stop that nothing needs by then, as the first screen says it of the next one.
fn unneeded(state: &State, rig: &Rig) -> Vec<String> {
    let (Some(book), Some(evening)) = (&state.book, &state.evening.answer) else { return vec![] };
    let (forecast, zone) = (&evening.forecast, state.zone());
    let drives = saved::drives(rig, &book.plans, forecast).into_iter();
    let unneeded = drives.filter(|drive| plans::unneeded(drive, forecast, &zone).is_some());
    unneeded.map(|drive| plans::saved_stop(&drive, forecast, &zone)).collect()
}
