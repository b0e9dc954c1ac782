//! The cautions, in full.

use super::{Paper, Text, joined, spread};
use crate::text::caution::ALL;

/// Draws them from the line that they are scrolled to.
pub fn draw(paper: &mut Paper) {
    let look = paper.look;
    let sections = |columns| {
        let mut text = Text::new(look, columns);
        for caution in ALL {
            text.head(caution.about);
            text.say([caution.text]);
        }
        text.sections
    };
    spread(paper, &sections, joined);
}
