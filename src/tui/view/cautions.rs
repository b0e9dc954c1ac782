//! The cautions, in full.

use super::{Paper, Text, joined};
use crate::text::caution::ALL;

/// Draws them from the line that they are scrolled to.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    let mut text = Text::new(state.look, paper.columns());
    for caution in ALL {
        text.head(caution.about);
        text.say([caution.text]);
    }
    paper.show(&joined(text.sections));
}
