//! Values that keys change, on the screens that have some: each change asks anew.

use super::super::values::{Turn, Values};
use super::{asking, line};
use crate::logline;
use crate::tui::{Context, State};

/// The values in sight: those of the trip, else those of the stretch.
fn values(state: &mut State) -> &mut Values {
    match state.screen() {
        Some(Context::Stops) => &mut state.trip.values,
        _ => &mut state.planner.values,
    }
}

/// The chosen value goes up or down.
pub fn step(state: &mut State, way: Turn) {
    let changed = values(state).step(way);
    asked(state, changed)
}

/// A digit is typed into the chosen value.
pub fn digit(state: &mut State, digit: u32) {
    let values = values(state);
    let ((changed, typed), range) = (values.digit(digit), values.range(values.chosen));
    // What is set instead of what was typed is said.
    if values.waits() {
        state.say(format!("{typed}, and then? {} to {}", range.low, range.high));
    } else if typed > range.high {
        state.say(format!("{typed}: at most {}", range.high));
    } else if typed < range.low {
        state.say(format!("{typed}: at least {}", range.low));
    }
    asked(state, changed)
}

/// The chosen value is what it was at first.
pub(in crate::tui) fn as_at_first(state: &mut State) {
    let changed = values(state).clear();
    asked(state, changed)
}

fn asked(state: &mut State, changed: bool) {
    // The verdict comes into sight again.
    state.scroll = if changed { 0 } else { state.scroll };
    state.screen().filter(|_| changed).into_iter().for_each(|screen| asking::ask(state, screen));
}

/// Chooses the value in that row.
pub fn choose(state: &mut State, row: usize) {
    values(state).choose_row(row);
}

/// Chooses the value above or below.
pub(in crate::tui) fn step_choice(state: &mut State, by: isize) {
    let values = values(state);
    values.choose_row(values.row().saturating_add_signed(by));
    // On a phone the values go up with the answer.
    state.scroll = 0;
}

/// The line was submitted with the chosen value in it.
pub fn typed(state: &mut State, text: &str) {
    let days = days_until(state, text);
    match values(state).type_in(text, days) {
        Ok(()) => {
            line::close(state);
            asked(state, true)
        }
        Err(expected) => state.warn(format!("expected {expected}")),
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
    match state.screen() {
        Some(Context::Stops) => state.trip.values.expects(),
        _ => state.planner.values.expects(),
    }
}
