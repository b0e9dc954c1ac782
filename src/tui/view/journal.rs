//! The journal: what stands, oldest first, the selected entry always in sight.

use super::{Paper, Room};
use crate::text::{Form, date_time, left, width, wrap};
use crate::tui::filter::JournalRow;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    let Some(book) = &state.book else { return };
    let listed = &state.listed;
    let place = (state.row + 1).min(listed.len());
    let count = match state.filter.is_empty() {
        true => format!("Journal   {place} of {}", listed.len()),
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
    let told = told(paper);
    let fit = usize::from(paper.left()).saturating_sub(told.len()).max(1);
    let first = (state.row + 1).saturating_sub(fit - fit / 3).min(listed.len().saturating_sub(fit));
    let seen = listed.iter().enumerate().skip(first).take(fit);
    let seen = seen.filter_map(|(place, number)| Some((place, book.row(*number)?)));
    // Marks stand behind the longest words in sight, not at the far end of a wide screen.
    let longest = seen.clone().map(|(_, row)| width(&row.words)).max().unwrap_or(0);
    for (place, row) in seen {
        let Some(area) = paper.take() else { return };
        entry(row, (place, longest), area, paper);
    }
    for line in told {
        paper.line(&[(&line, Style::new())]);
    }
}

/// The words of the chosen entry, over as many rows as they take; none where its row has them all.
fn told(paper: &Paper) -> Vec<String> {
    let state = paper.state;
    let number = state.listed.get(state.row);
    let row = number.zip(state.book.as_ref()).and_then(|(number, book)| book.row(*number));
    let Some(row) = row else { return Vec::new() };
    let room =
        paper.columns().saturating_sub(width(&head(row, paper).concat()) + width(&marks(row)));
    if width(&row.words) < room { Vec::new() } else { wrap(&row.words, paper.columns()) }
}

/// When it was, and where there is room, which device wrote it.
fn head(row: &JournalRow, paper: &Paper) -> [String; 2] {
    // At the van's clock, with the date: the weekday alone says nothing in a long journal.
    let when = left(&date_time(paper.state.zone().here(row.entry.at), Form::Short), 17);
    let device = match Room::of(paper.area.width) {
        Room::Narrow => String::new(),
        Room::Middle | Room::Wide => left(&row.entry.id.device, 12) + " ",
    };
    [when, device]
}

fn marks(row: &JournalRow) -> String {
    row.marks().map(|mark| format!(" {mark}")).collect()
}

fn entry(row: &JournalRow, (place, longest): (usize, usize), area: Rect, paper: &mut Paper) {
    let look = paper.look;
    let (marker, style) = paper.choice(area, place, paper.state.row);
    let ([when, device], flags) = (head(row, paper), marks(row));
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
