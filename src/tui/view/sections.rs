//! Text to read, wrapped, in sections that each begin with a head.

use super::form::Line;
use crate::text::fit::wrap;
use crate::text::safe::safe;
use crate::tui::theme::Theme;
use ratatui::style::Style;

/// Text that grows.
pub struct Text {
    look: Theme,
    columns: usize,
    /// What is there so far.
    pub sections: Vec<Vec<Line>>,
}

impl Text {
    /// Nothing yet, to be wrapped to so many columns.
    pub fn new(look: Theme, columns: usize) -> Text {
        Text { look, columns, sections: vec![Vec::new()] }
    }

    /// A new section with its head.
    pub fn head(&mut self, text: &str) {
        self.sections.push(Vec::new());
        self.put("", text, self.look.strong());
    }

    /// More of the section; what does not fit into a line goes on below, indented once more.
    pub fn put(&mut self, indent: &str, text: &str, style: Style) {
        let text = self.look.plain(&safe(text));
        let lines = wrap(&text, self.columns.saturating_sub(2 * indent.len()));
        let lines = lines.into_iter().enumerate().map(|(i, line)| {
            let more = if i > 0 { indent } else { "" };
            (format!("{indent}{more}{line}"), style)
        });
        if let Some(section) = self.sections.last_mut() {
            section.extend(lines);
        }
    }
}
