//! The last lines of every screen: the line to log into with its echo, the status, the keys.

use super::paper::Paper;
use crate::text::fit::width;
use crate::text::safe::safe;
use crate::tui::keymap;
use crate::tui::state::{Line, Purpose, State, Status, Tone};
use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

/// Draws them into `area`.
pub fn draw(state: &State, frame: &mut Frame, area: Rect) {
    let mut cursor = None;
    let mut paper = Paper::new(frame.buffer_mut(), area, state.look);
    if state.line.open {
        cursor = line(state, &mut paper);
        below_line(state, &mut paper);
        status(state, &mut paper);
    } else {
        status(state, &mut paper);
    }
    footer(state, &mut paper);
    if let Some(position) = cursor {
        frame.set_cursor_position(position);
    }
}

fn prompt(line: &Line) -> &'static str {
    match line.purpose {
        Purpose::Log => "log > ",
        Purpose::Correct(_) => "correct > ",
        Purpose::Palette => "action : ",
    }
}

/// Where in the text the visible part begins, in columns.
fn scroll(line: &Line, columns: usize) -> usize {
    let room = columns.saturating_sub(width(prompt(line)) + 1).max(1);
    line.input.visual_scroll(room)
}

fn line(state: &State, paper: &mut Paper) -> Option<Position> {
    let line = &state.line;
    let row = paper.take()?;
    let skipped = scroll(line, paper.columns());
    let text = skip_columns(line.input.value(), skipped);
    paper.pieces(row, &[(prompt(line), state.look.strong()), (&text, Style::new())]);
    let column = width(prompt(line)) + line.input.visual_cursor().saturating_sub(skipped);
    let x = row.x + (column as u16).min(row.width.saturating_sub(1));
    Some(Position { x, y: row.y })
}

/// `text` without its first `columns` columns.
fn skip_columns(text: &str, columns: usize) -> String {
    let mut skipped = 0;
    let mut rest = text.chars();
    while skipped < columns {
        let Some(c) = rest.next() else { break };
        skipped += width(c.encode_utf8(&mut [0; 4]));
    }
    rest.as_str().to_string()
}

/// What the line means, or which word is not understood.
fn below_line(state: &State, paper: &mut Paper) {
    let line = &state.line;
    let (look, text) = (state.look, line.input.value());
    if line.purpose == Purpose::Palette {
        let found = keymap::matching(state.context_below_line(), text);
        let mut names: Vec<&str> = found.iter().map(|b| b.name).collect();
        names.dedup();
        return paper.line(&[(&names.join(" | "), look.faint())]);
    }
    if text.trim().is_empty() {
        return paper.line(&[("such as: 2 showers, dishes, fresh 60%", look.faint())]);
    }
    match line.current() {
        None => paper.line(&[]),
        Some(Ok(understood)) => {
            paper.line(&[("means: ", look.faint()), (&understood.echo, look.good())]);
        }
        Some(Err(misread)) => {
            let before = text.get(..misread.start).unwrap_or(text);
            let word = text.get(misread.start..misread.end).unwrap_or("");
            let skipped = scroll(line, paper.columns());
            let column = (width(prompt(line)) + width(before)).saturating_sub(skipped);
            let carets = look.glyphs().caret.repeat(width(word).max(1));
            let pointed = " ".repeat(column) + &carets;
            let message = format!(" {}", misread.message);
            if width(&pointed) + width(&message) <= paper.columns() {
                paper.line(&[(&pointed, look.bad()), (&message, look.bad())]);
            } else {
                paper.line(&[(&pointed, look.bad())]);
            }
        }
    }
}

/// The message under the carets, when it did not fit beside them.
fn overflow(state: &State, columns: usize) -> Option<String> {
    let Some(Err(misread)) = state.line.current() else { return None };
    if state.line.input.value().trim().is_empty() {
        return None;
    }
    let end = width(prompt(&state.line)) + width(state.line.input.value().get(..misread.end)?);
    let skipped = scroll(&state.line, columns);
    let fits = end.saturating_sub(skipped).max(1) + 1 + width(&misread.message) <= columns;
    (!fits).then(|| misread.message.clone())
}

fn status(state: &State, paper: &mut Paper) {
    let look = state.look;
    if let Some(Status { tone, text }) = &state.status {
        let style = match tone {
            Tone::Plain => Style::new(),
            Tone::Good => look.good(),
            Tone::Bad => look.bad(),
        };
        return paper.line(&[(text, style)]);
    }
    if state.line.open {
        return match (overflow(state, paper.columns()), ways(&state.line)) {
            (_, Some(ways)) => paper.line(&[(&ways, look.faint())]),
            (Some(message), None) => paper.line(&[(&message, look.bad())]),
            (None, None) => paper.line(&[]),
        };
    }
    let draft = state.line.input.value();
    if draft.is_empty() {
        paper.line(&[("log > ", look.faint())]);
    } else {
        let shown = safe(draft);
        paper.line(&[
            ("log > ", look.faint()),
            (&shown, look.faint()),
            (" (not saved)", look.faint()),
        ]);
    }
}

/// Completions, the one that stands there in brackets.
fn ways(line: &Line) -> Option<String> {
    let shown = |(i, way): (usize, &crate::tui::backstage::Completion)| {
        let word = way.word.trim();
        if Some(i) == line.way { format!("[{word}]") } else { word.to_string() }
    };
    (line.ways.len() > 1)
        .then(|| line.ways.iter().enumerate().map(shown).collect::<Vec<_>>().join(" "))
}

fn footer(state: &State, paper: &mut Paper) {
    let keys = keymap::footer(state.context(), paper.columns());
    let mut pieces: Vec<(&str, Style)> = Vec::new();
    for (i, (key, label)) in keys.iter().enumerate() {
        if i > 0 {
            pieces.push(("  ", Style::new()));
        }
        pieces.push((key, state.look.strong()));
        pieces.push((" ", Style::new()));
        pieces.push((label, state.look.faint()));
    }
    paper.line(&pieces);
}
