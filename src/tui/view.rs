//! Drawing: the state as it is, into a frame. Nothing here changes or computes anything.

mod bottom;
mod cautions;
mod confirm;
mod first_run;
mod follow;
mod form;
mod header;
mod help;
mod horizon;
mod journal;
mod level;
mod list;
mod lookback;
mod moved;
mod paper;
mod rig;
mod room;
mod round;
mod sections;
mod spent;
mod stock;
mod stops;
mod stretch;
#[cfg(test)]
mod tests;

// The face of this folder: what is named most often, by its short path.
pub(in crate::tui::view) use list::List;
pub(in crate::tui::view) use paper::Paper;
pub(in crate::tui::view) use room::{Room, beside, stacked};
pub(in crate::tui::view) use sections::{StyledLine, Text, joined, put_part, spread};

pub use room::Seen;

use super::{Context, State};
use crate::text::answer::answer;
use crate::text::cut;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Draws the state. `seen` is written anew.
pub fn view(state: &State, seen: &mut Seen, frame: &mut Frame) {
    *seen = Seen::default();
    let area = frame.area();
    if area.is_empty() {
        return;
    }
    if area.height < 5 || area.width < 20 {
        return one_line(state, frame);
    }
    let bottom = bottom::height(state, area);
    let body = Rect { height: area.height - bottom.min(area.height), ..area };
    let foot = Rect { y: area.y + body.height, height: area.height - body.height, ..area };
    let mut paper = Paper::new(state, frame.buffer_mut(), seen, body);
    match (&state.book, state.screen()) {
        (_, Some(Context::Help)) => help::draw(&mut paper),
        (_, Some(Context::Cautions)) => cautions::draw(&mut paper),
        (None, _) if state.first_run.is_some() => {
            let setup = state.first_run.as_ref();
            setup.into_iter().for_each(|setup| first_run::draw(setup, &mut paper));
        }
        (None, _) => unread(&mut paper),
        (Some(_), Some(Context::Spent)) => spent::draw(&mut paper),
        (Some(_), Some(Context::Rig)) => rig::draw(&mut paper),
        (Some(_), Some(Context::Follow)) => follow::draw(&mut paper),
        (Some(_), Some(Context::Round)) => {
            round::draw(&mut paper);
            horizon::again(&mut paper);
        }
        (Some(_), Some(Context::Journal)) => journal::draw(&mut paper),
        (Some(_), Some(Context::Stretch)) => stretch::draw(&mut paper),
        (Some(_), Some(Context::Stops)) => stops::draw(&mut paper),
        (Some(_), Some(Context::LookBack)) => lookback::draw(&mut paper),
        (Some(_), Some(Context::Confirm)) => confirm::draw(&mut paper),
        (Some(_), Some(Context::Stock)) => stock::draw(&mut paper),
        (Some(_), _) => horizon::draw(&mut paper),
    }
    bottom::draw(state, frame, foot);
}

/// A window too small for a layout still says the one thing.
fn one_line(state: &State, frame: &mut Frame) {
    let area = frame.area();
    let columns = usize::from(area.width);
    let text = match &state.evening.answer {
        Some(evening) => {
            let here = (&state.zone(), state.units());
            answer(&evening.forecast, here, state.now, columns).first
        }
        None => cut("Waystock", columns),
    };
    let text = cut(&state.look.plain(&text), columns);
    frame.buffer_mut().set_stringn(area.x, area.y, text, columns, Style::new());
}

/// Before the folder is read, or when it cannot be.
fn unread(paper: &mut Paper) {
    match &paper.state.unreadable {
        Some(reason) => {
            paper.line(&[("The data folder could not be read", paper.look.bad())]);
            paper.wrapped(reason, Style::new(), usize::MAX);
        }
        None => paper.line(&[("Reading the data folder", Style::new())]),
    }
}
