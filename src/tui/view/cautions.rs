//! The cautions, in full.

use super::paper::Paper;
use super::room::Seen;
use super::sections::show;
use crate::text::caution::ALL;
use crate::text::fit::wrap;
use crate::tui::state::State;
use ratatui::style::Style;

/// Draws them from the line that they are scrolled to.
pub fn draw(state: &State, seen: &mut Seen, paper: &mut Paper) {
    let mut lines = Vec::new();
    for caution in ALL {
        lines.push((caution.about.to_string(), state.look.strong()));
        let text = wrap(caution.text, paper.columns().saturating_sub(2));
        lines.extend(text.into_iter().map(|line| (format!("  {line}"), Style::new())));
        lines.push((String::new(), Style::new()));
    }
    lines.pop();
    show(state, seen, paper, &lines);
}
