//! Values that keys change, on the screens that have some: each change asks anew.

use super::super::effect::Effect;
use super::super::form::Turn;
use super::super::key::Key;
use super::super::state::{Purpose, Screen, State, Tone};
use super::super::stops::Field as TripField;
use super::{line, stops, stretch};
use crate::logline;

/// Whether the values in sight are those of the trip rather than of the stretch.
fn of_trip(state: &State) -> bool {
    state.screen() == Some(Screen::Stops)
}

/// The chosen value goes up or down.
pub fn step(state: &mut State, way: Turn) -> Vec<Effect> {
    if of_trip(state) {
        let range = state.trip.form.chosen().range();
        let changed = state.trip.form.step(way, range);
        return asked(state, changed);
    }
    let changed = state.planner.step(way);
    asked(state, changed)
}

/// A digit is typed into the chosen value.
pub fn digit(state: &mut State, key: Key) -> Vec<Effect> {
    state.status = None;
    let Key::Char(c) = key else { return Vec::new() };
    let Some(digit) = c.to_digit(10) else { return Vec::new() };
    let (changed, typed, range) = if of_trip(state) {
        let range = state.trip.form.chosen().range();
        (state.trip.form.digit(digit, range), state.trip.form.typed(), range)
    } else {
        let range = state.planner.range(state.planner.form.chosen());
        (state.planner.digit(digit), state.planner.form.typed(), range)
    };
    // What is set instead of what was typed is said.
    match typed {
        Some(typed) if typed > range.high => {
            state.say(Tone::Plain, format!("{typed}: at most {}", range.high));
        }
        Some(typed) if typed < range.low => {
            state.say(Tone::Plain, format!("{typed}: at least {}", range.low));
        }
        _ => {}
    }
    asked(state, changed)
}

/// The chosen value is what it was at first.
pub(in crate::tui) fn as_at_first(state: &mut State) -> Vec<Effect> {
    let changed = if of_trip(state) {
        let field = state.trip.form.chosen();
        state.trip.form.clear(field)
    } else {
        let field = state.planner.form.chosen();
        state.planner.form.clear(field)
    };
    asked(state, changed)
}

fn asked(state: &mut State, changed: bool) -> Vec<Effect> {
    // The verdict comes into sight again.
    state.scroll = if changed { 0 } else { state.scroll };
    match (changed, of_trip(state)) {
        (false, _) => Vec::new(),
        (true, true) => stops::ask(state),
        (true, false) => stretch::ask(state),
    }
}

/// Chooses the value in that row.
pub fn choose(state: &mut State, row: usize) {
    if of_trip(state) {
        let field = TripField::ALL.get(row).copied();
        field.into_iter().for_each(|field| state.trip.form.choose(field));
    } else {
        let field = state.planner.fields().get(row).copied();
        field.into_iter().for_each(|field| state.planner.form.choose(field));
    }
}

/// Chooses the value above or below.
pub(in crate::tui) fn step_choice(state: &mut State, by: isize) {
    if of_trip(state) {
        state.trip.form.step_choice(&TripField::ALL, by);
    } else {
        let fields = state.planner.fields();
        state.planner.form.step_choice(&fields, by);
    }
}

/// Opens the line for the chosen value.
pub(in crate::tui) fn type_in(state: &mut State) -> Vec<Effect> {
    line::open_with(state, Purpose::Value, "")
}

/// The line was submitted with the chosen value in it.
pub fn typed(state: &mut State, text: &str) -> Vec<Effect> {
    let days = days_until(state, text);
    let outcome = match of_trip(state) {
        true => state.trip.type_in(text, days),
        false => state.planner.type_in(text, days),
    };
    match outcome {
        Ok(()) => {
            line::close(state);
            asked(state, true)
        }
        Err(expected) => {
            state.say(Tone::Bad, format!("expected {expected}"));
            Vec::new()
        }
    }
}

/// Days until the day ahead that the words name; a bare number is none.
fn days_until(state: &State, text: &str) -> Option<i64> {
    let known = state.vocabulary().filter(|_| text.trim().parse::<f64>().is_err())?;
    let (at, _) = logline::ahead(text, &known, state.now)?;
    Some((state.zone().date(at) - state.zone().date(state.now)).num_days())
}

/// What the line may hold for the chosen value.
pub fn expects(state: &State) -> String {
    match of_trip(state) {
        true => super::super::stops::expects(state.trip.form.chosen()),
        false => state.planner.expects(state.planner.form.chosen()),
    }
}
