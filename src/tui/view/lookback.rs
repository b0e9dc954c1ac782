//! The look back: how many evenings lay inside their bands, each evening as it was foretold
//! beside what came, and each stock's record.

use super::form::StyledLine;
use super::{Paper, Room, Text, beside};
use crate::forecast::{Hindsight, PastEvening};
use crate::text::{Form, date_time, day, hindsight as words, left, longest_fitting, right};
use crate::tui::State;
use crate::tui::lookback::Page;
use crate::tui::widgets::past::{PastBand, span_days};
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// From this width on, evenings and stocks stand side by side.
const SIDE_BY_SIDE: u16 = 120;
/// Columns of the date.
const DATE: u16 = 11;
/// Columns of how the next stop's band fared, and of how many readings lay inside theirs, with
/// the blank before each.
const WORD: u16 = 7;
/// See [`WORD`].
const READ: u16 = 6;

/// Columns that are left for the axis; on a phone the count of readings gives way to it.
fn axis_columns(width: u16) -> u16 {
    let read = if Room::of(width) == Room::Narrow { 0 } else { READ };
    width.saturating_sub(1 + DATE + WORD + read)
}

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    let asked = &state.lookback.asked;
    let busy = match (asked.working, asked.progress) {
        (false, _) => vec![String::new()],
        (true, None) => vec!["  working; Esc stops it".to_string()],
        (true, Some((done, of))) => vec![
            format!("  {done} of {of} evenings; Esc stops it"),
            format!("  {done} of {of}; Esc stops it"),
        ],
    };
    let busy = longest_fitting(&busy, paper.columns().saturating_sub(12));
    paper.line(&[("Looking back", state.look.strong()), (&busy, state.look.faint())]);
    match &asked.answer {
        None => waiting(paper),
        Some(looked) if looked.evenings.is_empty() => {
            paper.wrapped(words::TOO_EARLY, Style::new(), usize::MAX);
        }
        Some(looked) => found(looked, paper),
    }
}

fn waiting(paper: &mut Paper) {
    let state = paper.state;
    let asked = &state.lookback.asked;
    if asked.stopped {
        return paper.wrapped("Stopped. r looks back again.", Style::new(), 2);
    }
    paper.wrapped(
        "The forecast of each past evening is made again from what was known then, and set beside \
         what came. That takes a while; other screens work meanwhile.",
        Style::new(),
        usize::MAX,
    );
}

fn found(looked: &Hindsight, paper: &mut Paper) {
    let state = paper.state;
    if !state.lookback.asked.current {
        let text = "The journal has changed since; r looks back again";
        paper.wrapped(text, state.look.faint(), 1);
    }
    let columns = paper.columns();
    let summary = summary(state, looked, columns);
    let ruled = usize::from(paper.left()) > 14 + summary.len();
    let rows = summary.len() as u16 + u16::from(ruled);
    let head = |paper: &mut Paper| {
        summary.iter().for_each(|(line, style)| paper.line(&[(line, *style)]));
        if ruled {
            paper.rule();
        }
    };
    if paper.area.width >= SIDE_BY_SIDE {
        head(paper);
        let rows = paper.left();
        let block = paper.take_block(rows);
        let [area, right] = beside(block, block.width * 11 / 20, 2);
        evenings(looked, &mut paper.on(area));
        let mut text = paper.on(right);
        let columns = text.columns();
        let mut lines = match state.lookback.page {
            Page::Stocks => Vec::new(),
            _ => readings(state, looked, columns),
        };
        lines.extend(stocks(state, looked, columns));
        return text.show(&lines);
    }
    match state.lookback.page {
        Page::Evenings => {
            head(paper);
            evenings(looked, paper);
        }
        Page::Evening => paper.pictured(rows, head, &readings(state, looked, columns)),
        Page::Stocks => paper.pictured(rows, head, &stocks(state, looked, columns)),
    }
}

/// The selected evening.
fn selected<'a>(state: &State, looked: &'a Hindsight) -> Option<&'a PastEvening> {
    looked.evenings.iter().rev().nth(state.lookback.row).or(looked.evenings.first())
}

/// The selected evening: the next stop and each stock's next reading, as said and as it came.
fn readings(state: &State, looked: &Hindsight, columns: usize) -> Vec<StyledLine> {
    let Some(evening) = selected(state, looked) else { return Vec::new() };
    let zone = state.zone();
    let mut text = Text::new(state.look, columns);
    text.head(&format!("On {}", date_time(zone.here(evening.at), Form::Full)));
    text.say(["Next stop"]);
    text.under([words::said(evening, &zone), words::came(evening, &zone, state.now)]);
    text.say(["Each stock's next reading (eight of ten should be inside)"]);
    text.under(evening.readings.iter().map(|reading| {
        let record = looked.stocks.iter().find(|stock| stock.name == reading.stock);
        words::reading(reading, record, evening, &zone, state.units())
    }));
    text.under(evening.readings.is_empty().then_some("none before the next service"));
    text.say([""]);
    text.lines()
}

/// The sentences that matter most, as many as there is room for.
fn summary(state: &State, looked: &Hindsight, columns: usize) -> Vec<StyledLine> {
    let mut lines = words::next(looked);
    lines.splice(1..1, words::readings(looked));
    let room = Room::of(columns as u16);
    // Where the next stop's bands were never put to the test, the readings say more.
    if room == Room::Narrow && looked.next.tally.settled == 0 && lines.len() > 1 {
        lines.remove(0);
    }
    lines.truncate(match room {
        Room::Narrow => 1,
        Room::Middle => 2,
        Room::Wide => usize::MAX,
    });
    let mut text = Text::new(state.look, columns);
    for (place, line) in lines.iter().enumerate() {
        text.put("", line, if place < 2 { state.look.strong() } else { Style::new() });
    }
    text.say([words::misjudged(looked)]);
    text.lines()
}

/// The list of evenings, the latest first, and the selected one in words.
fn evenings(looked: &Hindsight, paper: &mut Paper) {
    let state = paper.state;
    let all = &looked.evenings;
    let row = state.lookback.row.min(all.len().saturating_sub(1));
    let details = details(state, &all[all.len() - 1 - row], paper.columns());
    let axis = axis_columns(paper.area.width);
    let days = span_days(all);
    head(state, days, axis, paper);
    let fit = usize::from(paper.left()).saturating_sub(details.len()).max(1);
    let first = (row + 1).saturating_sub(fit - fit / 3).min(all.len().saturating_sub(fit));
    for place in first..all.len().min(first + fit) {
        let Some(area) = paper.take() else { return };
        let head = paper.choice(area, place, row);
        past_row(&all[all.len() - 1 - place], days, head, area, paper);
    }
    for (line, style) in details {
        paper.line(&[(&line, style)]);
    }
}

/// Days after the evening, over the axis.
fn head(state: &State, days: u32, axis: u16, paper: &mut Paper) {
    let Some(row) = paper.take() else { return };
    let faint = state.look.faint();
    paper.pieces(row, &[(" evening", faint)]);
    end_cells([("stop", faint), ("read", faint)], row, paper);
    let mut free = 0;
    for day in 0..days {
        let column = (u32::from(axis) * day / days.max(1)) as u16;
        let label = if day == 0 { "days after".to_string() } else { day.to_string() };
        let width = label.len() as u16;
        if axis > 14 && column >= free && column + width <= axis {
            let cell = Rect { x: row.x + 1 + DATE + column, width, ..row };
            paper.pieces(cell, &[(&label, faint)]);
            free = column + width + 1;
        }
    }
}

/// An evening's row, behind its marker, which has the style of its date.
fn past_row(
    evening: &PastEvening,
    days: u32,
    (marker, style): (&str, Style),
    area: Rect,
    paper: &mut Paper,
) {
    let look = paper.look;
    let date = left(&day(paper.state.zone().here(evening.at)), usize::from(DATE) - 1);
    paper.pieces(area, &[(marker, look.strong()), (&date, style)]);
    let axis = axis_columns(area.width);
    let band = Rect { x: area.x + 1 + DATE.min(area.width), width: axis, ..area };
    PastBand { evening, days, look }.render(band.intersection(area), paper.buf);
    let word = words::fared(evening);
    let style = match word {
        "inside" => look.good(),
        "sooner" => look.bad(),
        "later" => look.strong(),
        _ => look.faint(),
    };
    let inside = words::readings_inside(evening);
    end_cells([(word, style), (&inside, Style::new())], area, paper);
}

/// What stands behind the axis: how it fared, and of how many readings.
fn end_cells(cells: [(&str, Style); 2], row: Rect, paper: &mut Paper) {
    let mut x = row.x + 1 + DATE + axis_columns(row.width) + 1;
    for ((text, style), column) in cells.into_iter().zip([WORD, READ]) {
        let cell = Rect { x, width: column - 1, ..row }.intersection(row);
        paper.pieces(cell, &[(&right(text, usize::from(column - 1)), style)]);
        x += column;
    }
}

/// The selected evening in words, and the signs where there is room for them.
fn details(state: &State, evening: &PastEvening, columns: usize) -> Vec<StyledLine> {
    let zone = state.zone();
    let mut text = Text::new(state.look, columns);
    text.say([words::said(evening, &zone), words::came(evening, &zone, state.now)]);
    if columns >= 60 {
        let g = state.look.glyphs();
        let signs = format!(
            "{}{}{}{}{} said   {} something was out   {} nothing out until then",
            g.band_from, g.band, g.band_mid, g.band, g.band_to, g.met, g.service
        );
        // Signs are ours, and no text from outside: they need not be made plain.
        if let Some(section) = text.sections.last_mut() {
            section.push((signs, state.look.faint()));
        }
    }
    text.lines()
}

/// Each stock's record.
fn stocks(state: &State, looked: &Hindsight, columns: usize) -> Vec<StyledLine> {
    let mut text = Text::new(state.look, columns);
    for stock in &looked.stocks {
        text.head(&stock.name);
        let levels = words::levels(stock, state.units());
        let levels = levels.unwrap_or("nobody wrote any".to_string());
        text.under([format!("levels: {levels}"), format!("limit: {}", words::dates(stock))]);
    }
    text.head("How it is counted");
    text.under([words::FAIRNESS]);
    text.lines()
}
