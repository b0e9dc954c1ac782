//! The list of keys, made from the table that dispatches them: the screen below first, then
//! what holds everywhere, then where files lie.

use super::paper::Paper;
use crate::text::fit::{left, wrap};
use crate::tui::keymap::{self, Binding, Context};
use crate::tui::state::{Screen, State};
use ratatui::style::Style;

/// Draws it from the line that it is scrolled to.
pub fn draw(state: &State, paper: &mut Paper) {
    let lines = lines(state, paper.columns());
    show(state, paper, &lines);
}

/// Lines of a text to read, scrolled; the last one says how much is left.
pub fn show(state: &State, paper: &mut Paper, lines: &[(String, Style)]) {
    let fit = usize::from(paper.left());
    let first = state.scroll.min(lines.len().saturating_sub(fit));
    let rest = lines.len().saturating_sub(first + fit);
    let shown = if rest > 0 { fit.saturating_sub(1) } else { fit };
    for (text, style) in lines.iter().skip(first).take(shown) {
        paper.line(&[(text, *style)]);
    }
    if rest > 0 {
        paper.line(&[(&format!("{} more lines below", rest + 1), state.look.faint())]);
    }
}

fn lines(state: &State, columns: usize) -> Vec<(String, Style)> {
    let below = state.screens.iter().rev().find(|s| !matches!(s, Screen::Help | Screen::Cautions));
    let (title, context) = match below {
        None => ("On this screen (all stocks)", Context::Horizon),
        Some(Screen::Stock) => ("On this screen (one stock)", Context::Stock),
        Some(_) => ("On this screen (journal)", Context::Journal),
    };
    let mut lines = Vec::new();
    let sections = [
        (title, context),
        ("Everywhere", Context::Everywhere),
        ("In the line", Context::Line),
        ("In this list", Context::Reading),
    ];
    for (title, context) in sections {
        lines.push((title.to_string(), state.look.strong()));
        for binding in keymap::in_context(context) {
            lines.extend(row(binding, columns));
        }
        lines.push((String::new(), Style::new()));
    }
    lines.push(("Ctrl-C leaves from anywhere, Ctrl-Z pauses".to_string(), Style::new()));
    lines.push((String::new(), Style::new()));
    lines.extend(places(state, columns));
    lines
}

fn row(binding: &Binding, columns: usize) -> Vec<(String, Style)> {
    let keys: Vec<String> = binding.keys.iter().map(|k| k.to_string()).collect();
    let head = left(&keys.join(" "), 13);
    let text = wrap(binding.help, columns.saturating_sub(14).max(10));
    let indented = |(i, line): (usize, String)| {
        let start = if i == 0 { head.clone() } else { " ".repeat(13) };
        (format!("{start} {line}"), Style::new())
    };
    text.into_iter().enumerate().map(indented).collect()
}

fn places(state: &State, columns: usize) -> Vec<(String, Style)> {
    let Some(book) = &state.book else { return Vec::new() };
    let mut lines = vec![("Where files lie".to_string(), state.look.strong())];
    for (what, path) in &book.loaded.places {
        let text = format!("{what}: {path}");
        lines.extend(wrap(&text, columns).into_iter().map(|l| (l, Style::new())));
    }
    lines
}
