//! The first line of every screen: when, where, how many, how long already.

use super::Paper;
use crate::forecast::Evening;
use crate::text::{Form, clock, cut, date_time, longest_fitting, people, safe, width};
use crate::tui::State;
use ratatui::style::Style;

/// A name cut shorter than this says nothing.
const SHORTEST_NAME: usize = 4;

/// Draws it; the last columns say when a forecast is being worked out, and how far it is.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    let far = state.evening.progress.map(|(run, of)| format!(" {} %", run * 100 / of.max(1)));
    let busy = match (state.evening.working, paper.columns()) {
        (false, _) => String::new(),
        (true, 0..60) => far.unwrap_or(" busy".into()),
        (true, _) => format!(" working{}", far.unwrap_or_default()),
    };
    let columns = paper.columns().saturating_sub(width(&busy));
    let text = match &state.evening.answer {
        Some(evening) => {
            words(state, evening, columns.saturating_sub(state.look.own.hours.grows_by()))
        }
        None => date_time(state.zone().here(state.now), Form::Short),
    };
    // As wide as it is once its hours are written as wanted.
    let pad = " ".repeat(columns.saturating_sub(width(&paper.look.plain(&text))));
    paper.line(&[
        (&text, paper.look.strong()),
        (&pad, paper.look.faint()),
        (&busy, paper.look.faint()),
    ]);
}

/// The longest wording that fits with the whole name of the place; else the shortest one, with
/// as much of the name as there is room for.
fn words(state: &State, evening: &Evening, columns: usize) -> String {
    let now = state.zone().here(state.now);
    let place = state.look.plain(&safe(&evening.place));
    let (aboard, nights) = (people(evening.aboard), evening.nights_here);
    let (full, short) = (date_time(now, Form::Full), date_time(now, Form::Short));
    let night = |before: &str, after: &str| match nights {
        // The journal does not say since when the van stands here.
        0 => String::new(),
        n => format!("{before}night {n}{after}"),
    };
    let wordings = [
        (format!("{full}     "), format!("     {aboard} aboard{}", night("     ", " here"))),
        (format!("{full}  "), format!("  {aboard} aboard{}", night("  ", " here"))),
        (format!("{short}  "), format!("  {aboard} aboard{}", night("  ", ""))),
        (format!("{short} "), format!(" {aboard} aboard{}", night(" ", ""))),
        (format!("{short} "), format!(" {aboard} aboard")),
    ];
    let room =
        |(before, after): &(String, String)| columns.saturating_sub(width(before) + width(after));
    let whole = wordings.iter().find(|w| room(w) >= width(&place));
    let with_room = wordings.iter().skip(1).find(|w| room(w) >= SHORTEST_NAME.max(12));
    let last = wordings.last().filter(|w| room(w) >= SHORTEST_NAME);
    if let Some(chosen @ (before, after)) = whole.or(with_room).or(last) {
        return format!("{before}{}{after}", cut(&place, room(chosen)));
    }
    let without_place = [
        format!("{short} {aboard} aboard{}", night(" ", "")),
        format!("{short} {aboard} aboard"),
        short,
        date_time(now, Form::Tiny),
        clock(now),
    ];
    longest_fitting(&without_place, columns)
}

/// The line that stands where nothing was foretold yet.
pub(super) fn first_forecast(paper: &mut Paper) {
    paper.line(&[("Working out the first forecast", Style::new())]);
    if paper.state.evening.progress.is_some() {
        paper.line(&[("Esc: from the futures run so far", Style::new())]);
    }
}
