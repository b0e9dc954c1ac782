//! How the state changes: one message in, effects out. No input, no output, no clock.

mod journal;
mod line;
mod stretch;
#[cfg(test)]
mod tests;

use super::effect::{Effect, Errand};
use super::key::Key;
use super::keymap::{self, Context};
use super::message::{Action, Message};
use super::state::{Screen, State, Tone};
use super::stretch::Field;
use crate::domain::time::hours_between;
use crate::forecast::answer::Options;

/// A forecast older than this is run again, in hours.
const STALE_AFTER_H: f64 = 0.25;

/// Applies one message.
pub fn update(state: &mut State, message: Message) -> Vec<Effect> {
    match message {
        Message::Tick(now) => tick(state, now),
        Message::FolderChanged => vec![Effect::Load],
        Message::Loaded(Ok(book)) => {
            journal::keep_place(state, &book);
            state.book = Some(book);
            state.unreadable = None;
            let mut effects = forecast(state);
            if state.screens.contains(&Screen::Stretch) {
                effects.extend(stretch::ask(state));
            }
            effects
        }
        Message::Loaded(Err(reason)) => {
            match state.book {
                Some(_) => not_read_again(state, &reason),
                None => state.unreadable = Some(reason),
            }
            Vec::new()
        }
        Message::Forecasted { generation, evening } => {
            if generation == state.generation {
                state.working = false;
                state.evening = Some(evening);
            }
            Vec::new()
        }
        Message::Stretched { generation, answer, complete } => {
            stretch::answered(state, generation, answer, complete);
            Vec::new()
        }
        Message::Appended { errand, outcome } => appended(state, errand, outcome),
        Message::Understood { line, reading } => {
            state.line.reading = Some((line, reading));
            Vec::new()
        }
        Message::Completed { line, ways } => line::completed(state, &line, ways),
        Message::Key(key) => match keymap::action(state.context(), key) {
            Some(Action::Digit) => stretch::digit(state, key),
            Some(action) => act(state, action),
            None if state.line.open => line::edit(state, key),
            // Pressed once too often on the way back.
            None if key == Key::Esc => act(state, Action::Back),
            None => {
                state.say(Tone::Plain, format!("{key} does nothing here; ? lists the keys"));
                Vec::new()
            }
        },
        Message::Paste(text) => line::paste(state, &text),
        Message::Act(action) => act(state, action),
    }
}

fn tick(state: &mut State, now: crate::domain::time::Moment) -> Vec<Effect> {
    state.now = now;
    let made = state.evening.as_ref().map(|e| e.forecast.at);
    let stale = made.is_some_and(|at| hours_between(at, now).abs() >= STALE_AFTER_H);
    if stale && !state.working { forecast(state) } else { Vec::new() }
}

/// Asks for a forecast from the book as it is, which makes a running one stale.
fn forecast(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    state.generation += 1;
    state.working = true;
    let options = Options { at: state.now, ..state.options };
    vec![Effect::Forecast { generation: state.generation, book, options }]
}

fn appended(state: &mut State, errand: Errand, outcome: Result<usize, String>) -> Vec<Effect> {
    state.saving = false;
    match outcome {
        Ok(_) => {
            if errand.from_line {
                state.line = Default::default();
            }
            state.say(Tone::Good, errand.done);
        }
        Err(reason) if errand.from_line => {
            state.say(Tone::Bad, format!("NOT SAVED: {reason}; the line is kept"));
        }
        Err(reason) => state.say(Tone::Bad, format!("NOT SAVED: {reason}")),
    }
    // After a failure, too: some of the entries may be there.
    vec![Effect::Load]
}

/// The screens go on showing what was read before. What was saved just now is said first.
fn not_read_again(state: &mut State, reason: &str) {
    match state.status.take() {
        Some(saved) if saved.tone == Tone::Good => {
            state.say(Tone::Good, format!("{}. But not read again: {reason}", saved.text));
        }
        _ => state.say(Tone::Bad, format!("not read again: {reason}")),
    }
}

/// What a person chose to do.
fn act(state: &mut State, action: Action) -> Vec<Effect> {
    state.status = None;
    match action {
        Action::Quit => return vec![Effect::Quit],
        Action::Back => back(state),
        Action::Up => step(state, -1),
        Action::Down => step(state, 1),
        Action::PageUp => step(state, -10),
        Action::PageDown => step(state, 10),
        Action::First => step(state, isize::MIN / 2),
        Action::Last => step(state, isize::MAX / 2),
        Action::Select(row) => return select(state, row),
        Action::Open => return open_stock(state),
        Action::Help => open(state, Screen::Help),
        Action::Cautions => open(state, Screen::Cautions),
        Action::Journal => {
            open(state, Screen::Journal);
            state.row = state.rows().len().saturating_sub(1);
        }
        Action::Stretch => return stretch::open(state),
        Action::More => return stretch::step(state, true),
        Action::Less => return stretch::step(state, false),
        Action::Digit => state.say(Tone::Plain, "type the digits of the chosen value"),
        Action::Log => return line::open_log(state),
        Action::Palette => line::open_palette(state),
        Action::Mouse => {
            state.mouse = !state.mouse;
            let words = if state.mouse { "mouse on" } else { "mouse off" };
            state.say(Tone::Plain, words);
            return vec![Effect::Mouse(state.mouse)];
        }
        Action::Reload => {
            state.say(Tone::Plain, "reading the folder again");
            return vec![Effect::Load];
        }
        Action::Submit => return line::submit(state),
        Action::Complete => return line::complete(state),
        Action::Clear => return line::clear(state),
        Action::Undo => return journal::undo(state),
        Action::Redo => return journal::redo(state),
        Action::Retract => return journal::retract(state),
        Action::Correct => return journal::correct(state),
        Action::KeepThis => return journal::keep_this(state),
    }
    Vec::new()
}

fn back(state: &mut State) {
    if state.line.open {
        line::close(state);
    } else {
        state.screens.pop();
        state.scroll = 0;
    }
}

/// Opens a screen above the others; one that is open already is not opened twice.
fn open(state: &mut State, screen: Screen) {
    state.screens.retain(|s| *s != screen);
    state.screens.push(screen);
    state.scroll = 0;
}

fn open_stock(state: &mut State) -> Vec<Effect> {
    if state.stocks().is_empty() {
        state.say(Tone::Plain, "no stock to show yet");
        return Vec::new();
    }
    open(state, Screen::Stock);
    state.options.with_fans = true;
    let selected = state.selected();
    let has_fan = state.stocks().get(selected).is_some_and(|s| !s.fan.is_empty());
    if has_fan { Vec::new() } else { forecast(state) }
}

fn select(state: &mut State, row: usize) -> Vec<Effect> {
    match state.context() {
        Context::Horizon if row == state.selected() && state.stock.is_some() => open_stock(state),
        Context::Horizon => {
            state.stock = state.stocks().get(row).map(|s| s.name.clone());
            Vec::new()
        }
        Context::Journal => {
            state.row = row.min(state.rows().len().saturating_sub(1));
            Vec::new()
        }
        Context::Stretch => {
            state.planner.choose(row);
            Vec::new()
        }
        _ => Vec::new(),
    }
}

/// Moves the selection, or scrolls.
fn step(state: &mut State, by: isize) {
    let moved =
        |from: usize, count: usize| from.saturating_add_signed(by).min(count.saturating_sub(1));
    match state.context_below_line() {
        Context::Journal => state.row = moved(state.row, state.rows().len()),
        Context::Stretch if by.abs() == 1 => {
            let field = moved(state.planner.field, Field::ALL.len());
            state.planner.choose(field);
        }
        Context::Reading | Context::Stretch => state.scroll = moved(state.scroll, usize::MAX),
        _ => {
            let stocks = state.stocks();
            let place = moved(state.selected(), stocks.len());
            state.stock = stocks.get(place).map(|s| s.name.clone());
        }
    }
}
