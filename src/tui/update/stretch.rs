//! The stretch planner: a question for each change of its values.

use super::super::effect::Effect;
use super::super::state::{Screen, State, Tone};

/// Opens the planner.
pub fn open(state: &mut State) -> Vec<Effect> {
    if state.book.is_none() {
        state.say(Tone::Plain, "the folder is not read yet");
        return Vec::new();
    }
    state.open(Screen::Stretch);
    if state.planner.asked.current { Vec::new() } else { ask(state) }
}

/// Asks for the values as they stand, which makes an answer under way stale.
pub fn ask(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    state.planner.meet(&book.loaded.rig, state.now);
    let generation = state.planner.asked.begin();
    let asking = state.planner.asking(state.now, state.zone(), &state.options);
    vec![Effect::Stretch { generation, book, now: state.now, asking }]
}
