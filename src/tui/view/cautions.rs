//! The cautions, in full.

use super::{Paper, Seen, Text, joined, show};
use crate::text::caution::ALL;
use crate::tui::State;
use ratatui::style::Style;

/// Draws them from the line that they are scrolled to.
pub fn draw(state: &State, seen: &mut Seen, paper: &mut Paper) {
    let mut text = Text::new(state.look, paper.columns());
    for caution in ALL {
        text.head(caution.about);
        text.put("", caution.text, Style::new());
    }
    show(state, seen, paper, &joined(text.sections));
}
