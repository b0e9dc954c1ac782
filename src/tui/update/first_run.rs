//! The questions of a first run: answered in the line, one after the other, and back.

use super::super::state::InputLine;
use crate::tui::{Effect, Purpose, State};
use tui_input::Input;

/// Opens the line for the questions, with what was half typed when it was left.
pub(super) fn go_on(state: &mut State) {
    if state.line.purpose != Purpose::Setup {
        state.line = InputLine { purpose: Purpose::Setup, ..InputLine::default() };
    }
    state.line.open = true;
}

/// The line was submitted with an answer in it, or, at the end, to write the file.
pub(in crate::tui) fn submit(state: &mut State, text: &str) {
    let Some(setup) = &mut state.first_run else { return };
    if setup.asked().is_none() {
        return match setup.rig_text() {
            Ok(text) => {
                state.say("writing rig.ron");
                state.want(Effect::WriteRig { before: None, after: text });
            }
            Err(faults) => state.warn(format!("nothing written: {}", faults.join("; "))),
        };
    }
    match setup.answer(text) {
        Ok(()) => {
            state.line.input = Input::default();
            state.status = None;
        }
        Err(wrong) => {
            match wrong.mended {
                Some(mended) => {
                    state.line.input = Input::new(mended);
                    state.warn(format!("expected {}", wrong.expected));
                }
                // What is expected stands there already.
                None => state.warn("not taken"),
            }
        }
    }
}

/// To the question before.
pub(super) fn before(state: &mut State) {
    let Some(setup) = &mut state.first_run else { return };
    if !setup.back() {
        state.say("this is the first question");
    }
    state.line.input = Input::default();
}

/// All questions that are left are answered with what they offer.
pub(super) fn take_rest(state: &mut State) {
    let text = state.line.input.value().to_string();
    submit(state, &text);
    let taken = state.status.is_none();
    let Some(setup) = state.first_run.as_mut().filter(|_| taken) else { return };
    while setup.asked().is_some() && setup.answer("").is_ok() {}
}

/// The next of the answers to choose from.
pub(in crate::tui) fn choose(state: &mut State) {
    let Some(setup) = &state.first_run else { return };
    let choices = setup.choices();
    let now = choices.iter().position(|(name, _)| *name == state.line.input.value());
    let next = now.map_or(0, |at| (at + 1) % choices.len());
    match choices.get(next) {
        Some((name, _)) => state.line.input = Input::new(name.to_string()),
        None => state.say("nothing to choose from; type it"),
    }
}

/// The rig file was written, or was not.
pub(super) fn created(state: &mut State, outcome: Result<(), String>) {
    match outcome {
        Ok(()) => {
            state.first_run = None;
            state.unreadable = None;
            state.line = InputLine::default();
            state.greeted = false;
            state.done("wrote rig.ron; all of it can be changed later");
            state.want(Effect::Load);
        }
        Err(reason) => state.warn(format!("nothing written: {reason}")),
    }
}
