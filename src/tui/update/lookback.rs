//! The look back: asked once, and again only when a person wants it to be.

use super::super::effect::Effect;
use super::super::pending::Extent;
use super::super::state::{Screen, State, Tone};
use crate::forecast::hindsight::{Hindsight, Settings};
use std::sync::Arc;

/// Opens the screen. A look back that is there already is shown, though entries came since.
pub fn open(state: &mut State) -> Vec<Effect> {
    if state.book.is_none() {
        state.say(Tone::Plain, "the folder is not read yet");
        return Vec::new();
    }
    state.open(Screen::LookBack);
    let asked = &state.lookback.asked;
    if asked.working || asked.answer.is_some() { Vec::new() } else { ask(state) }
}

/// Asks.
pub fn ask(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    let usual = Settings::at(state.now);
    let settings =
        Settings { seed: state.options.seed, lives: usual.lives.min(state.options.lives), ..usual };
    let generation = state.lookback.asked.begin();
    vec![Effect::LookBack { generation, book, settings }]
}

/// A person wants it anew: once the folder is read again it is asked again.
pub(in crate::tui) fn forget(state: &mut State) {
    if state.screen() == Some(Screen::LookBack) {
        state.lookback.asked.answer = None;
    }
}

/// It came.
pub fn answered(state: &mut State, generation: u64, answer: Arc<Hindsight>) {
    state.lookback.asked.answered(generation, answer, Extent::Whole);
    state.lookback.row = state.lookback.row.min(state.lookback.evenings().saturating_sub(1));
}

/// The next of its pages.
pub(in crate::tui) fn other_page(state: &mut State) {
    state.lookback.page = state.lookback.page.next();
    state.scroll = 0;
}
