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
mod words;

pub(super) use asking::has_places;
pub(super) use follow::TIMES;
pub use form::expects;
pub(super) use round::known as round_words;

use super::lookback::Page;
use super::message::PAGE;
use super::{
    Action, Context, Effect, Key, Message, Purpose, SavePurpose, Spends, State, Tone, keymap,
};
use crate::domain::{Moment, PlanOutcome, hours_between};

/// What is said until the folder is read again.
const READING: &str = "reading the folder again";

/// A forecast older than this is run again, in hours.
const STALE_AFTER_H: f64 = 0.25;

/// Applies one message.
pub fn update(state: &mut State, message: Message) -> Vec<Effect> {
    match message {
        Message::Tick(now) => tick(state, now),
        Message::FolderChanged => state.want(Effect::Load),
        Message::Loaded(Ok(book)) => {
            state.rig.read(&book.loaded.rig_text);
            journal::keep_place(state, book);
            state.unreadable = None;
            asking::forecast(state);
            asking::ask_again(state);
            state.stale = false;
            if state.status.as_ref().is_some_and(|status| status.text == READING) {
                state.done("the folder is read again");
            }
            while !state.saving
                && let Some(action) = state.waiting.pop_front()
            {
                act(state, action);
            }
        }
        Message::Loaded(Err(reason)) => {
            state.stale = false;
            state.waiting.clear();
            match state.book {
                Some(_) => not_read_again(state, &reason),
                None => state.unreadable = Some(reason),
            }
        }
        Message::RigWritten(outcome) if state.first_run.is_some() => {
            first_run::created(state, outcome);
        }
        Message::RigWritten(outcome) => rig::saved(state, outcome),
        Message::Answered { generation, news } => asking::answered(state, generation, news),
        Message::Appended { purpose, outcome } => appended(state, purpose, outcome),
        Message::Key(key) => pressed(state, key),
        Message::Paste(text) => line::paste(state, &text),
        Message::Act(action) => act(state, action),
    }
    std::mem::take(&mut state.effects)
}

/// What a key does where it is pressed.
fn pressed(state: &mut State, key: Key) {
    if words::typed(state, key) {
        return;
    }
    let context = state.context();
    let own = keymap::action(context, key);
    // Once a round is saved its screen is one like any other.
    let is_over = context == Context::Round && state.round.before.is_some();
    let action = own.or_else(|| keymap::action(Context::Everywhere, key).filter(|_| is_over));
    if action != state.sure {
        state.sure = None;
    }
    if context == Context::Round && round::typed(state, key) {
        return;
    }
    let digit = if let Key::Char(c) = key { c.to_digit(10) } else { None };
    match action {
        Some(Action::Digit) => {
            state.status = None;
            match context {
                Context::Rig => rig::edit_anew(state, key),
                _ => digit.into_iter().for_each(|digit| form::digit(state, digit)),
            }
        }
        Some(action) => act(state, action),
        // A question that is not understood is explained.
        None if asks_what(state, key) => {
            line::close(state);
            act(state, Action::Open(Context::Help));
        }
        None if state.line.open => line::edit(state, key),
        // Pressed once too often on the way back.
        None if key == Key::Esc => act(state, Action::Back),
        None => {
            let hint = match state.context() {
                Context::Confirm => "y or Esc",
                _ => "? lists the keys",
            };
            state.say(format!("{key} does nothing here; {hint}"));
        }
    }
}

fn asks_what(state: &State, key: Key) -> bool {
    let line = &state.line;
    let blank = line.open && line.input.value().is_empty();
    blank && line.purpose == Purpose::Setup && key == Key::Char('?')
}

fn tick(state: &mut State, now: Moment) {
    // Nobody takes a minute from one letter of a word to the next; other ticks come with what is read.
    if state.now.timestamp() / 60 != now.timestamp() / 60 {
        state.begun.clear();
    }
    state.now = now;
    let made = state.evening.answer.as_ref().map(|e| e.forecast.at);
    let stale = made.is_some_and(|at| hours_between(at, now).abs() >= STALE_AFTER_H);
    if stale && !state.evening.working {
        asking::forecast(state);
        asking::ask_open(state);
    }
}

fn appended(state: &mut State, purpose: SavePurpose, outcome: Result<usize, String>) {
    state.saving = false;
    state.stale = true;
    match outcome {
        Ok(_) => {
            match purpose.spends {
                Spends::Line => line::saved(state),
                Spends::Round => state.round.before = state.evening.answer.clone(),
                Spends::Nothing => {}
            }
            state.done(purpose.done);
        }
        Err(reason) => {
            state.just_taken.clear();
            let kept = if purpose.spends == Spends::Line { "; the line is kept" } else { "" };
            state.warn(format!("NOT SAVED: {reason}{kept}"));
        }
    }
    // After a failure, too: some of the entries may be there.
    state.want(Effect::Load);
}

/// The screens go on showing what was read before. What was saved just now, or was not, is said
/// first.
fn not_read_again(state: &mut State, reason: &str) {
    match state.status.take() {
        Some(not_saved) if not_saved.text.contains(reason) => state.status = Some(not_saved),
        Some(saved) if saved.tone == Tone::Good => {
            state.done(format!("{}. But not read again: {reason}", saved.text));
        }
        _ => state.warn(format!("not read again: {reason}")),
    }
}

/// What a person chose to do.
fn act(state: &mut State, action: Action) {
    if matches!(action, Action::Undo | Action::Redo) && (state.saving || state.stale) {
        state.waiting.push_back(action);
        return;
    }
    state.status = None;
    match action {
        Action::Quit => {
            let asks = "changes of the van are not saved: v, w saves them; q again leaves them";
            if !state.rig.is_changed() || state.is_sure(action, || asks.to_string()) {
                state.want(Effect::Quit);
            }
        }
        Action::Back => back(state),
        Action::Step(by) => step(state, by),
        Action::Select(row) => select(state, row),
        Action::Mouse => {
            state.mouse = !state.mouse;
            state.say(if state.mouse { "mouse on" } else { "mouse off" });
            state.want(Effect::Mouse(state.mouse));
        }
        Action::Reload => {
            state.say(READING);
            // A person wants the look back anew: once the folder is read again it is asked again.
            if state.screen() == Some(Context::LookBack) {
                state.lookback.asked.answer = None;
            }
            state.want(Effect::Load);
        }
        Action::Submit if state.line.purpose == Purpose::Palette => {
            submit::of_palette(state).into_iter().for_each(|action| {
                // Nobody chooses it by a slip.
                state.sure = Some(action);
                act(state, action);
            });
        }
        Action::Open(screen) => open_screen(state, screen),
        Action::OtherPage => {
            (state.lookback.page, state.scroll) = (state.lookback.page.next(), 0);
        }
        Action::Turn(way) => form::step(state, way),
        Action::AsAtFirst => form::as_at_first(state),
        Action::Digit => state.say("type the digits of the chosen value"),
        Action::SaveSchedule => stops::propose(state),
        Action::Compare => asking::compare(state),
        _ => write(state, action),
    }
}

/// Opens a screen.
fn open_screen(state: &mut State, screen: Context) {
    match screen {
        Context::Stock if state.stocks().is_empty() => state.say("no stock to show yet"),
        Context::Help | Context::Cautions => state.open(screen),
        Context::Journal => {
            state.open(screen);
            state.row = state.newest();
        }
        Context::Round => round::open(state),
        Context::Follow => follow::open(state),
        Context::Rig => rig::open(state),
        Context::Stretch | Context::Stops => {
            asking::open(state, screen);
            // Digits that were typed before are no part of the next number.
            form::step_choice(state, 0);
        }
        // What used a stock is worked out meanwhile.
        _ => asking::open(state, screen),
    }
}

/// What opens the line or works in it, and what is written or answered by a key.
fn write(state: &mut State, action: Action) {
    match action {
        Action::Log if state.first_run.is_some() => first_run::go_on(state),
        Action::Log => line::open_log(state),
        Action::Earlier if state.line.purpose == Purpose::Setup => first_run::before(state),
        Action::Earlier => line::recall(state, 1),
        Action::Later if state.line.purpose == Purpose::Setup => first_run::take_rest(state),
        Action::Later => line::recall(state, -1),
        Action::Palette => line::open_with(state, Purpose::Palette, ""),
        Action::Submit => submit::submit(state),
        Action::Complete => line::complete(state),
        Action::Clear => line::clear(state),
        Action::PlanOtherwise => plans::otherwise(state),
        Action::Correct if state.screen() == Some(Context::Follow) => follow::other_amount(state),
        Action::Correct => journal::correct(state),
        Action::MoveStop => follow::ask(state, Purpose::MoveStop),
        Action::Elsewhere => follow::ask(state, Purpose::Elsewhere),
        Action::Edit => rig::edit(state),
        Action::Add => line::open_with(state, Purpose::RigAdd, ""),
        Action::DateRig => rig::ask_date(state),
        Action::Search => line::open_with(state, Purpose::Search, ""),
        Action::Remark => journal::remark(state),
        Action::TypeIn => line::open_with(state, Purpose::Value, ""),
        Action::DropSchedule => stops::take_back(state),
        Action::Confirm => stops::confirm(state),
        Action::Yes | Action::No | Action::Skip | Action::Usual | Action::Full => {
            round::answer(state, action);
        }
        Action::CloseDay => round::close_day(state),
        Action::PlanDone => plans::answer(state, PlanOutcome::Done),
        Action::PlanNotDone => plans::answer(state, PlanOutcome::NotDone),
        Action::Undo => journal::undo(state),
        Action::Redo => journal::redo(state),
        Action::Retract => journal::retract(state),
        Action::Tick => follow::tick(state),
        Action::SkipThis | Action::SkipStop => follow::skip(state, action),
        Action::SaveRig => rig::save(state),
        Action::UnEdit => rig::undo(state),
        Action::KeepThis => journal::keep_this(state),
        _ => {}
    }
}

/// One level back: the line, a long question that is running, then the screen.
fn back(state: &mut State) {
    if state.line.open {
        return line::close(state);
    }
    if state.screen() == Some(Context::Journal) && !state.filter.is_empty() {
        return state.search("");
    }
    if state.screen() == Some(Context::Rig) && !state.rig.filter.is_empty() {
        return state.rig.look_for("");
    }
    let screen = state.context_below_line();
    let stopped = match screen {
        Context::Stops => state.trip.asked.stop(),
        Context::LookBack => state.lookback.asked.stop(),
        Context::Horizon => state.evening.progress.take().is_some(),
        _ => false,
    };
    if stopped {
        state.say(match screen {
            Context::Stops if state.trip.has_found() => "stopped; the best found so far follows",
            Context::Horizon => "stopped; the dates follow from the futures run so far",
            _ => "stopped; r asks again",
        });
        return state.want(Effect::Cancel(screen));
    }
    let left = state.screens.pop();
    state.scroll = 0;
    state.proposal = None;
    match left {
        // What is shown elsewhere is the van as it is.
        Some(Context::Rig) if state.rig.is_changed() => {
            state.say("the van's changes are kept here, not saved; v shows them");
            asking::forecast(state);
        }
        Some(Context::Stretch) if state.planner.asked.stop() => {
            state.want(Effect::Cancel(Context::Stretch));
        }
        _ => {}
    }
}

/// The chosen row of the list that is shown, with how many rows there are.
fn row(state: &mut State) -> Option<(&mut usize, usize)> {
    match state.context_below_line() {
        Context::Journal => Some((&mut state.row, state.listed.len())),
        Context::Rig => Some((&mut state.rig.row, state.rig.fields.len())),
        Context::Follow => Some((&mut state.follow.row, state.follow.items.len())),
        Context::LookBack => {
            let evenings = state.lookback.evenings();
            Some((&mut state.lookback.row, evenings))
        }
        _ => None,
    }
}

fn select(state: &mut State, wanted: usize) {
    match state.context() {
        Context::Horizon if wanted == state.selected() && state.stock.is_some() => {
            open_screen(state, Context::Stock);
        }
        Context::Horizon => state.stock = state.stocks().get(wanted).map(|s| s.name.clone()),
        Context::Stretch | Context::Stops => form::choose(state, wanted),
        Context::Line => {}
        _ => {
            let row = row(state).into_iter();
            row.for_each(|(row, count)| *row = wanted.min(count.saturating_sub(1)));
        }
    }
}

/// Moves the selection, or scrolls.
fn step(state: &mut State, by: isize) {
    let moved =
        |from: usize, count: usize| from.saturating_add_signed(by).min(count.saturating_sub(1));
    let scrolls = match state.context_below_line() {
        Context::Follow => by.abs() != 1,
        // Beside a list, a text that is not all in sight.
        Context::Rig => by.abs() == PAGE && state.page > 0,
        Context::LookBack => match state.lookback.page {
            Page::Evenings => false,
            Page::Evening => by.abs() == PAGE,
            Page::Stocks => true,
        },
        _ => false,
    };
    match state.context_below_line() {
        Context::Round if by == -1 => state.round.back(),
        Context::Stretch | Context::Stops if by.abs() == 1 => form::step_choice(state, by),
        Context::Horizon | Context::Stock | Context::Spent if by.abs() == 1 => {
            let stocks = state.stocks();
            let place = moved(state.selected(), stocks.len());
            state.stock = stocks.get(place).map(|s| s.name.clone());
            state.scroll = 0;
        }
        _ => match row(state).filter(|_| !scrolls) {
            Some((row, count)) => {
                *row = moved(*row, count);
                state.scroll = 0;
            }
            None => {
                // A page of a text is what is in sight of it.
                let page = if state.page > 0 { state.page as isize } else { PAGE };
                let by = if by.abs() == PAGE { by.signum() * page } else { by };
                state.scroll = state.scroll.saturating_add_signed(by);
            }
        },
    }
}
