//! How the state changes: one message in, effects out. No input, no output, no clock.

mod first_run;
mod form;
mod journal;
mod line;
mod lookback;
mod plans;
mod rig;
mod round;
mod saving;
mod stops;
mod stretch;
mod submit;
#[cfg(test)]
mod tests;

pub use form::expects;
pub(super) use stops::has_places;

use super::effect::{Effect, SavePurpose, Spends};
use super::form::Turn;
use super::key::Key;
use super::keymap::{self, Context};
use super::lookback::Page;
use super::message::{Action, Message};
use super::pending::{Extent, Question};
use super::state::{Purpose, Screen, State, Tone};
use crate::domain::time::hours_between;
use crate::forecast::answer::Options;
use submit::Submitted;

/// A forecast older than this is run again, in hours.
const STALE_AFTER_H: f64 = 0.25;

/// Applies one message.
pub fn update(state: &mut State, message: Message) -> Vec<Effect> {
    match message {
        Message::Tick(now) => tick(state, now),
        Message::FolderChanged => vec![Effect::Load],
        Message::Loaded(Ok(book)) => {
            state.rig.read(&book.loaded.rig_text);
            journal::keep_place(state, book);
            state.unreadable = None;
            let mut effects = forecast(state);
            effects.extend(ask_again(state));
            effects
        }
        Message::Loaded(Err(reason)) => {
            match state.book {
                Some(_) => not_read_again(state, &reason),
                None => state.unreadable = Some(reason),
            }
            Vec::new()
        }
        Message::RigSaved(outcome) => rig::saved(state, outcome),
        Message::Created(outcome) => first_run::created(state, outcome),
        Message::Forecasted { .. }
        | Message::Stretched { .. }
        | Message::Searched { .. }
        | Message::Scheduled { .. }
        | Message::LookedBack { .. }
        | Message::Spent { .. }
        | Message::Progressed { .. } => {
            answered(state, message);
            Vec::new()
        }
        Message::Appended { purpose, outcome } => appended(state, purpose, outcome),
        Message::Understood { line, reading } => {
            let reading = reading.map(|said| plans::with_left_out(state, said));
            state.line.reading = Some((line, reading));
            Vec::new()
        }
        Message::Completed { line, ways } => line::completed(state, &line, ways),
        Message::Key(key) => pressed(state, key),
        Message::Paste(text) => line::paste(state, &text),
        Message::Act(action) => act(state, action),
    }
}

/// A question got further, or its answer came.
fn answered(state: &mut State, message: Message) {
    match message {
        Message::Forecasted { generation, evening } if generation == state.generation => {
            state.working = false;
            if state.rig.asked.take() == Some(generation) {
                state.rig.after = Some(evening);
                return;
            }
            state.evening = Some(evening);
            round::renew(state);
            if !std::mem::replace(&mut state.greeted, true) {
                round::open(state);
            }
        }
        Message::Stretched { generation, answer, complete } => {
            let extent = if complete { Extent::Whole } else { Extent::Part };
            state.planner.asked.answered(generation, answer, extent);
        }
        Message::Searched { generation, so_far } => {
            state.trip.searched(generation, so_far);
        }
        Message::Scheduled { generation, answer } => {
            stops::scheduled(state, generation, answer);
        }
        Message::Spent { generation, answer } => {
            state.spent.answered(generation, answer, Extent::Whole);
        }
        Message::LookedBack { generation, answer } => {
            lookback::answered(state, generation, answer);
        }
        Message::Progressed { question, generation, progress } => match question {
            Question::Stretch => state.planner.asked.progressed(generation, progress),
            Question::Stops => state.trip.asked.progressed(generation, progress),
            Question::Hindsight => state.lookback.asked.progressed(generation, progress),
        },
        _ => {}
    }
}

/// What a key does where it is pressed.
fn pressed(state: &mut State, key: Key) -> Vec<Effect> {
    match keymap::action(state.context(), key) {
        Some(Action::Digit) if state.context() == Context::Round => round::digit(state, key),
        Some(Action::Digit) => form::digit(state, key),
        Some(action) => act(state, action),
        None if state.line.open => line::edit(state, key),
        // Pressed once too often on the way back.
        None if key == Key::Esc => act(state, Action::Back),
        None => {
            let hint = match state.context() {
                Context::Confirm => "y or Esc",
                _ => "? lists the keys",
            };
            state.say(Tone::Plain, format!("{key} does nothing here; {hint}"));
            Vec::new()
        }
    }
}

fn tick(state: &mut State, now: crate::domain::time::Moment) -> Vec<Effect> {
    state.now = now;
    let made = state.evening.as_ref().map(|e| e.forecast.at);
    let stale = made.is_some_and(|at| hours_between(at, now).abs() >= STALE_AFTER_H);
    if !stale || state.working {
        return Vec::new();
    }
    let mut effects = forecast(state);
    effects.extend(ask_open(state));
    effects
}

/// Asks for a forecast from the book as it is, which makes a running one stale.
fn forecast(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    state.generation += 1;
    state.working = true;
    let options = Options { at: state.now, ..state.options };
    vec![Effect::Forecast { generation: state.generation, book, options }]
}

/// Answers about what lies ahead are old by now: those that are open are asked for again.
fn ask_open(state: &mut State) -> Vec<Effect> {
    state.planner.asked.outdate();
    state.trip.asked.outdate();
    state.spent.outdate();
    let mut effects = Vec::new();
    if state.screens.contains(&Screen::Spent) {
        effects.extend(ask_spent(state));
    }
    if state.screens.contains(&Screen::Stretch) {
        effects.extend(stretch::ask(state));
    }
    if state.screens.contains(&Screen::Stops) {
        effects.extend(stops::ask(state));
    }
    effects
}

/// The journal has changed. The look back is long, and one more entry hardly changes it, so that
/// it is not asked again by itself.
fn ask_again(state: &mut State) -> Vec<Effect> {
    let mut effects = ask_open(state);
    let looking = state.lookback.asked.working;
    state.lookback.asked.outdate();
    let none = state.lookback.asked.answer.is_none();
    if state.screens.contains(&Screen::LookBack) && (looking || none) {
        effects.extend(lookback::ask(state));
    }
    effects
}

fn appended(
    state: &mut State,
    purpose: SavePurpose,
    outcome: Result<usize, String>,
) -> Vec<Effect> {
    state.saving = false;
    match outcome {
        Ok(_) => {
            match purpose.spends {
                Spends::Line => line::saved(state),
                Spends::Round => state.round.before = state.evening.clone(),
                Spends::Nothing => {}
            }
            state.say(Tone::Good, purpose.done);
        }
        Err(reason) if purpose.spends == Spends::Line => {
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
        Action::Back => return back(state),
        Action::Up => step(state, -1),
        Action::Down => step(state, 1),
        Action::PageUp => step(state, -10),
        Action::PageDown => step(state, 10),
        Action::First => step(state, isize::MIN / 2),
        Action::Last => step(state, isize::MAX / 2),
        Action::Select(row) => return select(state, row),
        Action::Open => return open_stock(state),
        Action::Help => state.open(Screen::Help),
        Action::Cautions => state.open(Screen::Cautions),
        Action::Journal => {
            state.open(Screen::Journal);
            state.row = state.listed.len().saturating_sub(1);
        }
        Action::Stretch => return stretch::open(state),
        Action::Stops => return stops::open(state),
        Action::Compare => return stops::compare(state),
        Action::Round => round::open(state),
        Action::Rig => rig::open(state),
        Action::Spent => {
            state.open(Screen::Spent);
            return ask_spent(state);
        }
        Action::LookBack => return lookback::open(state),
        Action::OtherPage => lookback::other_page(state),
        Action::More => return form::step(state, Turn::Up),
        Action::Less => return form::step(state, Turn::Down),
        Action::AsAtFirst => return form::as_at_first(state),
        Action::TypeIn => return form::type_in(state),
        Action::Digit => state.say(Tone::Plain, "type the digits of the chosen value"),
        Action::Log if state.first_run.is_some() => return first_run::go_on(state),
        Action::Log => return line::open_log(state),
        Action::Earlier if state.line.purpose == Purpose::Setup => first_run::before(state),
        Action::Earlier => return line::recall(state, 1),
        Action::Later => return line::recall(state, -1),
        Action::Palette => line::open_palette(state),
        Action::Mouse => {
            state.mouse = !state.mouse;
            let words = if state.mouse { "mouse on" } else { "mouse off" };
            state.say(Tone::Plain, words);
            return vec![Effect::Mouse(state.mouse)];
        }
        Action::Reload => {
            state.say(Tone::Plain, "reading the folder again");
            lookback::forget(state);
            return vec![Effect::Load];
        }
        Action::Submit => return submitted(state),
        Action::Complete => return line::complete(state),
        Action::Clear => return line::clear(state),
        _ => return write(state, action),
    }
    Vec::new()
}

/// What a person chose to write, or to answer.
fn write(state: &mut State, action: Action) -> Vec<Effect> {
    match action {
        Action::SaveSchedule => {
            stops::propose(state);
            Vec::new()
        }
        Action::DropSchedule => stops::take_back(state),
        Action::Confirm => stops::confirm(state),
        Action::Yes | Action::No | Action::Skip | Action::Usual | Action::Full => {
            round::answer(state, action)
        }
        Action::CloseDay => round::close_day(state),
        Action::PlanDone => plans::done(state),
        Action::PlanOtherwise => plans::otherwise(state),
        Action::PlanNotDone => plans::not_done(state),
        Action::Undo => journal::undo(state),
        Action::Redo => journal::redo(state),
        Action::Retract => journal::retract(state),
        Action::Correct => journal::correct(state),
        Action::Edit => rig::edit(state),
        Action::Add => line::open_with(state, Purpose::RigAdd, ""),
        Action::SaveRig => rig::save(state),
        Action::DateRig => rig::ask_date(state),
        Action::UnEdit => rig::undo(state),
        Action::Search => journal::search(state),
        Action::Remark => journal::remark(state),
        Action::KeepThis => journal::keep_this(state),
        _ => Vec::new(),
    }
}

/// The line was submitted; the palette names an action in it.
fn submitted(state: &mut State) -> Vec<Effect> {
    match submit::submit(state) {
        Submitted::Asks(effects) => effects,
        Submitted::Names(action) => act(state, action),
    }
}

/// One level back: the line, a long question that is running, then the screen.
fn back(state: &mut State) -> Vec<Effect> {
    if state.line.open {
        line::close(state);
        return Vec::new();
    }
    if state.screen() == Some(Screen::Journal) && !state.filter.is_empty() {
        state.filter.clear();
        state.list();
        return Vec::new();
    }
    let stopped = match state.screen() {
        Some(Screen::Stops) if state.trip.asked.stop() => Some(Question::Stops),
        Some(Screen::LookBack) if state.lookback.asked.stop() => Some(Question::Hindsight),
        _ => None,
    };
    if let Some(question) = stopped {
        let found = state.trip.has_found();
        state.say(
            Tone::Plain,
            match question == Question::Stops && found {
                true => "stopped; the best found so far follows",
                false => "stopped; r asks again",
            },
        );
        return vec![Effect::Cancel(question)];
    }
    let left = state.screens.pop();
    state.scroll = 0;
    state.proposal = None;
    match left {
        // What is shown elsewhere is the van as it is.
        Some(Screen::Rig) if state.rig.is_changed() => {
            state.say(Tone::Plain, "changes of the rig are kept, not saved");
            forecast(state)
        }
        Some(Screen::Stretch) if state.planner.asked.stop() => {
            vec![Effect::Cancel(Question::Stretch)]
        }
        _ => Vec::new(),
    }
}

/// Asks where every stock goes, unless it is known.
fn ask_spent(state: &mut State) -> Vec<Effect> {
    let Some(book) = state.book.clone() else { return Vec::new() };
    if state.spent.current || state.spent.working {
        return Vec::new();
    }
    let (generation, seed) = (state.spent.begin(), state.options.seed);
    vec![Effect::Spent { generation, book, now: state.now, seed }]
}

fn open_stock(state: &mut State) -> Vec<Effect> {
    if state.stocks().is_empty() {
        state.say(Tone::Plain, "no stock to show yet");
        return Vec::new();
    }
    state.open(Screen::Stock);
    Vec::new()
}

fn select(state: &mut State, row: usize) -> Vec<Effect> {
    match state.context() {
        Context::Horizon if row == state.selected() && state.stock.is_some() => open_stock(state),
        Context::Horizon => {
            state.stock = state.stocks().get(row).map(|s| s.name.clone());
            Vec::new()
        }
        Context::Journal => {
            state.row = row.min(state.listed.len().saturating_sub(1));
            Vec::new()
        }
        Context::Rig => {
            state.rig.row = row.min(state.rig.fields.len().saturating_sub(1));
            Vec::new()
        }
        Context::Stretch | Context::Stops => {
            form::choose(state, row);
            Vec::new()
        }
        Context::LookBack => {
            state.lookback.row = row.min(state.lookback.evenings().saturating_sub(1));
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
        Context::Round if by == -1 => state.round.back(),
        Context::Journal => state.row = moved(state.row, state.listed.len()),
        Context::Stretch | Context::Stops if by.abs() == 1 => form::step_choice(state, by),
        Context::Rig => state.rig.row = moved(state.rig.row, state.rig.fields.len()),
        Context::LookBack if state.lookback.page != Page::Stocks => {
            state.lookback.row = moved(state.lookback.row, state.lookback.evenings());
        }
        Context::Horizon | Context::Stock if by.abs() == 1 => {
            let stocks = state.stocks();
            let place = moved(state.selected(), stocks.len());
            state.stock = stocks.get(place).map(|s| s.name.clone());
            state.scroll = 0;
        }
        _ => state.scroll = moved(state.scroll, usize::MAX),
    }
}
