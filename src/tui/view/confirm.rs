//! What is about to be written, all of it, and the two ways on.

use super::paper::Paper;
use super::room::Seen;
use super::sections::show;
use crate::tui::state::State;
use ratatui::style::Style;

/// Draws it from the line that it is scrolled to.
pub fn draw(state: &State, seen: &mut Seen, paper: &mut Paper) {
    let Some(proposal) = &state.proposal else { return };
    paper.wrapped(&proposal.title, state.look.strong(), 2);
    let lines: Vec<(String, Style)> =
        proposal.lines.iter().map(|line| (line.clone(), Style::new())).collect();
    let rows = paper.left().saturating_sub(1);
    let block = paper.take_block(rows);
    show(state, seen, &mut Paper::new(paper.buf, block, state.look), &lines);
    paper.line(&[("y writes them, Esc writes nothing", state.look.strong())]);
}
