//! What is about to be written, all of it, and the two ways on.

use super::{Paper, Text, joined};
use ratatui::style::Style;

/// Draws it from the line that it is scrolled to.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    let Some(proposal) = &state.proposal else { return };
    paper.wrapped(&proposal.title, state.look.strong(), 2);
    let mut text = Text::new(state.look, paper.columns());
    for line in &proposal.lines {
        let words = line.trim_start();
        text.put(&line[..line.len() - words.len()], words, Style::new());
    }
    let rows = paper.left().saturating_sub(1);
    let block = paper.take_block(rows);
    paper.on(block).show(&joined(text.sections));
    paper.line(&[("y or w writes them, Esc writes nothing", state.look.strong())]);
}
