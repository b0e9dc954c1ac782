//! The first line of every screen: when, where, how many, how long already.

use super::paper::Paper;
use crate::forecast::answer::Evening;
use crate::text::fit::{longest_fitting, width};
use crate::text::safe::safe;
use crate::text::when::{Form, clock, date_time, day};
use crate::tui::state::State;

/// Draws it; the last columns say when a forecast is being worked out.
pub fn draw(state: &State, paper: &mut Paper) {
    let busy = if state.working { " working" } else { "" };
    let columns = paper.columns().saturating_sub(width(busy));
    let text = match &state.evening {
        Some(evening) => longest_fitting(&wordings(state, evening), columns),
        None => date_time(state.zone().here(state.now), Form::Short),
    };
    let pad = " ".repeat(columns.saturating_sub(width(&text)));
    paper.line(&[
        (&text, paper.look.strong()),
        (&pad, paper.look.faint()),
        (busy, paper.look.faint()),
    ]);
}

fn wordings(state: &State, evening: &Evening) -> Vec<String> {
    let now = state.zone().here(state.now);
    let (place, nights) = (safe(&evening.place), evening.nights_here);
    let aboard = people(evening.aboard);
    let (full, short) = (date_time(now, Form::Full), date_time(now, Form::Short));
    vec![
        format!("{full}     {place}     {aboard} aboard     night {nights} here"),
        format!("{full}  {place}  {aboard} aboard  night {nights} here"),
        format!("{short}  {place}  {aboard} aboard  night {nights}"),
        format!("{short}  {place}  {aboard} aboard"),
        format!("{} {}  {place}", day(now), clock(now)),
        clock(now).to_string(),
    ]
}

fn people(aboard: f64) -> String {
    if (aboard - aboard.round()).abs() < 0.05 {
        format!("{aboard:.0}")
    } else {
        format!("{aboard:.1}")
    }
}
