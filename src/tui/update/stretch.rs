//! The stretch planner: values that keys change, and a question for each change.

use super::super::effect::Effect;
use super::super::key::Key;
use super::super::state::{Screen, State, Tone};
use crate::plan::Stretch;
use std::sync::Arc;

/// Opens the planner.
pub fn open(state: &mut State) -> Vec<Effect> {
    if state.book.is_none() {
        state.say(Tone::Plain, "the folder is not read yet");
        return Vec::new();
    }
    super::open(state, Screen::Stretch);
    ask(state)
}

/// Asks for the values as they stand, which makes an answer under way stale.
pub fn ask(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    state.planner.generation += 1;
    state.planner.working = true;
    state.planner.current = false;
    let request = state.planner.request(state.now, state.zone(), &state.options);
    vec![Effect::Stretch { generation: state.planner.generation, book, now: state.now, request }]
}

/// The chosen value goes up or down.
pub fn step(state: &mut State, up: bool) -> Vec<Effect> {
    if state.planner.step(up) { ask(state) } else { Vec::new() }
}

/// A digit is typed into the chosen value.
pub fn digit(state: &mut State, key: Key) -> Vec<Effect> {
    state.status = None;
    let Key::Char(c) = key else { return Vec::new() };
    let changed = c.to_digit(10).is_some_and(|digit| state.planner.digit(digit));
    if changed { ask(state) } else { Vec::new() }
}

/// An answer came, at first without what buys time.
pub fn answered(state: &mut State, generation: u64, answer: Arc<Stretch>, complete: bool) {
    let planner = &mut state.planner;
    if generation == planner.generation {
        planner.answer = Some(answer);
        planner.current = true;
        planner.working = !complete;
    }
}
