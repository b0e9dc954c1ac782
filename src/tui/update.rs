//! How the state changes: one message in, effects out. No input, no output, no clock.

mod asking;
mod first_run;
mod follow;
mod form;
mod instead;
mod journal;
mod line;
mod plans;
mod rig;
mod round;
mod saving;
mod stops;
mod submit;
#[cfg(test)]
mod tests;

pub(super) use asking::has_places;
pub(super) use follow::TIMES;
pub use form::expects;

use super::lookback::Page;
use super::pending::Question;
use super::values::Turn;
use super::{
    Action, Context, Effect, Key, Message, Purpose, SavePurpose, Screen, Spends, State, Tone,
    keymap,
};
use crate::domain::hours_between;
use asking::{ask_again, ask_open, forecast};

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
            state.stale = false;
            let next = state.waiting.pop_front();
            effects.extend(next.into_iter().flat_map(|action| act(state, action)));
            effects
        }
        Message::Loaded(Err(reason)) => {
            state.stale = false;
            state.waiting.clear();
            match state.book {
                Some(_) => not_read_again(state, &reason),
                None => state.unreadable = Some(reason),
            }
            Vec::new()
        }
        Message::RigSaved(outcome) => rig::saved(state, outcome),
        Message::Created(outcome) => first_run::created(state, outcome),
        Message::Answered { generation, news } => {
            asking::answered(state, generation, news);
            Vec::new()
        }
        Message::Appended { purpose, outcome } => appended(state, purpose, outcome),
        Message::Key(key) => pressed(state, key),
        Message::Paste(text) => {
            line::paste(state, &text);
            Vec::new()
        }
        Message::Act(action) => act(state, action),
    }
}

/// What a key does where it is pressed.
fn pressed(state: &mut State, key: Key) -> Vec<Effect> {
    match keymap::action(state.context(), key) {
        Some(Action::Digit) if state.context() == Context::Round => round::digit(state, key),
        Some(Action::Digit) => form::digit(state, key),
        Some(action) => act(state, action),
        // A question that is not understood is explained.
        None if asks_what(state, key) => {
            line::close(state);
            act(state, Action::Help)
        }
        None if state.line.open => {
            line::edit(state, key);
            Vec::new()
        }
        // Pressed once too often on the way back.
        None if key == Key::Esc => act(state, Action::Back),
        None => {
            let hint = match state.context() {
                Context::Confirm => "y or Esc",
                _ => "? lists the keys",
            };
            state.only_say(Tone::Plain, format!("{key} does nothing here; {hint}"))
        }
    }
}

fn asks_what(state: &State, key: Key) -> bool {
    let line = &state.line;
    let blank = line.open && line.input.value().is_empty();
    blank && line.purpose == Purpose::Setup && key == Key::Char('?')
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

fn appended(
    state: &mut State,
    purpose: SavePurpose,
    outcome: Result<usize, String>,
) -> Vec<Effect> {
    state.saving = false;
    state.stale = true;
    if outcome.is_err() {
        state.just_taken.clear();
    }
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

/// The screens go on showing what was read before. What was saved just now, or was not, is said
/// first.
fn not_read_again(state: &mut State, reason: &str) {
    match state.status.take() {
        Some(not_saved) if not_saved.text.contains(reason) => state.status = Some(not_saved),
        Some(saved) if saved.tone == Tone::Good => {
            state.say(Tone::Good, format!("{}. But not read again: {reason}", saved.text));
        }
        _ => state.say(Tone::Bad, format!("not read again: {reason}")),
    }
}

/// What a person chose to do.
fn act(state: &mut State, action: Action) -> Vec<Effect> {
    if matches!(action, Action::Undo | Action::Redo) && (state.saving || state.stale) {
        state.waiting.push_back(action);
        return Vec::new();
    }
    act_now(state, action)
}

fn act_now(state: &mut State, action: Action) -> Vec<Effect> {
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
        Action::Stretch => return asking::open(state, Screen::Stretch),
        Action::Stops => return asking::open(state, Screen::Stops),
        Action::Round => round::open(state),
        Action::Follow => return follow::open(state),
        Action::Rig => rig::open(state),
        Action::Spent => return asking::open(state, Screen::Spent),
        Action::LookBack => return asking::open(state, Screen::LookBack),
        Action::OtherPage => {
            (state.lookback.page, state.scroll) = (state.lookback.page.next(), 0);
        }
        Action::More => return form::step(state, Turn::Up),
        Action::Less => return form::step(state, Turn::Down),
        Action::AsAtFirst => return form::as_at_first(state),
        Action::Digit => state.say(Tone::Plain, "type the digits of the chosen value"),
        Action::Log if state.first_run.is_some() => return first_run::go_on(state),
        Action::Log => line::open_log(state),
        Action::Earlier if state.line.purpose == Purpose::Setup => first_run::before(state),
        Action::Earlier => line::recall(state, 1),
        Action::Later => line::recall(state, -1),
        Action::Palette => line::open_palette(state),
        Action::Mouse => return mouse(state),
        Action::Reload => {
            state.say(Tone::Plain, "reading the folder again");
            // A person wants the look back anew: once the folder is read again it is asked again.
            if state.screen() == Some(Screen::LookBack) {
                state.lookback.asked.answer = None;
            }
            return vec![Effect::Load];
        }
        Action::Submit if state.line.purpose == Purpose::Palette => {
            let named = submit::of_palette(state);
            return named.map_or_else(Vec::new, |action| act(state, action));
        }
        Action::Submit => return submit::submit(state),
        Action::Complete => line::complete(state),
        Action::Clear => line::clear(state),
        _ => return open(state, action),
    }
    Vec::new()
}

fn mouse(state: &mut State) -> Vec<Effect> {
    state.mouse = !state.mouse;
    state.say(Tone::Plain, if state.mouse { "mouse on" } else { "mouse off" });
    vec![Effect::Mouse(state.mouse)]
}

/// What opens the line, or a proposal.
fn open(state: &mut State, action: Action) -> Vec<Effect> {
    match action {
        Action::SaveSchedule => stops::propose(state),
        Action::PlanOtherwise => plans::otherwise(state),
        Action::Correct if state.screen() == Some(Screen::Follow) => follow::other_amount(state),
        Action::Correct => journal::correct(state),
        Action::MoveStop => follow::ask(state, Purpose::MoveStop),
        Action::Elsewhere => follow::ask(state, Purpose::Elsewhere),
        Action::Edit => rig::edit(state),
        Action::Add => line::open_with(state, Purpose::RigAdd, ""),
        Action::DateRig => rig::ask_date(state),
        Action::Search => journal::search(state),
        Action::Remark => journal::remark(state),
        Action::TypeIn => line::open_with(state, Purpose::Value, ""),
        _ => return write(state, action),
    }
    Vec::new()
}

/// What a person chose to write, or to answer.
fn write(state: &mut State, action: Action) -> Vec<Effect> {
    match action {
        Action::DropSchedule => stops::take_back(state),
        Action::Compare => asking::compare(state),
        Action::Confirm => stops::confirm(state),
        Action::Yes | Action::No | Action::Skip | Action::Usual | Action::Full => {
            round::answer(state, action)
        }
        Action::CloseDay => round::close_day(state),
        Action::PlanDone => plans::done(state),
        Action::PlanNotDone => plans::not_done(state),
        Action::Undo => journal::undo(state),
        Action::Redo => journal::redo(state),
        Action::Retract => journal::retract(state),
        Action::Tick => follow::tick(state),
        Action::SkipThis | Action::SkipStop => follow::skip(state, action),
        Action::SaveRig => rig::save(state),
        Action::UnEdit => rig::undo(state),
        Action::KeepThis => journal::keep_this(state),
        _ => Vec::new(),
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
        None if state.lives.take().is_some() => Some(Question::Evening),
        _ => None,
    };
    if let Some(question) = stopped {
        let said = match question {
            Question::Stops if state.trip.has_found() => "stopped; the best found so far follows",
            Question::Evening => "stopped; the dates follow from the futures run so far",
            _ => "stopped; r asks again",
        };
        state.say(Tone::Plain, said);
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

fn open_stock(state: &mut State) -> Vec<Effect> {
    if state.stocks().is_empty() {
        return state.only_say(Tone::Plain, "no stock to show yet");
    }
    // What used it is worked out meanwhile.
    asking::open(state, Screen::Stock)
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
        Context::Follow => {
            state.follow.row = row.min(state.follow.items.len().saturating_sub(1));
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
        Context::Follow if by.abs() == 1 => {
            state.follow.row = moved(state.follow.row, state.follow.items.len());
        }
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
