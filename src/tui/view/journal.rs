//! The journal: what stands, oldest first, the selected entry always in sight.

use super::{Paper, Room};
use crate::text::{Form, date_time, left, width};
use crate::tui::filter::Row;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    let Some(book) = &state.book else { return };
    let (listed, all) = (&state.listed, book.rows.len());
    let place = (state.row + 1).min(listed.len());
    let count = match state.filter.is_empty() {
        true => format!("Journal   {place} of {all}"),
        false => format!("Journal   {place} of {} with: {}", listed.len(), state.filter),
    };
    paper.line(&[(&count, state.look.strong())]);
    if paper.left() > 12 {
        paper.rule();
    }
    if listed.is_empty() {
        let text = match state.filter.is_empty() {
            true => "Nothing yet. Press l and write what happened: 2 showers, fresh 60%",
            false => "No entry has all of these words. Esc shows all entries",
        };
        paper.wrapped(text, Style::new(), 3);
        return;
    }
    let fit = usize::from(paper.left());
    let first = (state.row + 1).saturating_sub(fit - fit / 3).min(listed.len().saturating_sub(fit));
    let seen = listed.iter().enumerate().skip(first).take(fit);
    let seen = seen.filter_map(|(place, number)| Some((place, book.row(*number)?)));
    // Marks stand behind the longest words in sight, not at the far end of a wide screen.
    let longest = seen.clone().map(|(_, row)| width(&row.words)).max().unwrap_or(0);
    for (place, row) in seen {
        let Some(area) = paper.take() else { return };
        entry(row, (place, longest), area, paper);
    }
}

fn entry(row: &Row, (place, longest): (usize, usize), area: Rect, paper: &mut Paper) {
    let (state, look) = (paper.state, paper.look);
    let room = Room::of(area.width);
    let (marker, style) = paper.choice(area, place, state.row);
    let at = state.zone().here(row.at);
    // At the van's clock, with the date: the weekday alone says nothing in a long journal.
    let when = left(&date_time(at, Form::Short), 17);
    let device = match room {
        Room::Narrow => String::new(),
        Room::Middle | Room::Wide => left(&row.id.device, 12) + " ",
    };
    let flags: String = row.marks().map(|mark| format!(" {mark}")).collect();
    let used = 1 + width(&when) + width(&device) + width(&flags);
    let words = left(&row.words, usize::from(area.width).saturating_sub(used).min(longest + 1));
    paper.pieces(
        area,
        &[
            (marker, look.strong()),
            (&when, Style::new()),
            (&device, look.faint()),
            (&words, style),
            (&flags, look.urgency(crate::text::answer::Urgency::Soon)),
        ],
    );
}
