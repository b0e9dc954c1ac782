//! Text to read, wrapped, in sections that each begin with a head.

use super::{Paper, Seen, beside};
use crate::text::stretch::AnswerPart;
use crate::text::{safe, wrap};
use crate::tui::Theme;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// A line of text to show.
pub type StyledLine = (String, Style);

/// In fewer rows a picture has all of them.
const LOW: usize = 4;

impl Paper<'_> {
    /// Lines of a text to read, scrolled; the last row says how much is left.
    pub fn show(&mut self, lines: &[StyledLine]) {
        self.pictured(0, |_| {}, lines);
    }

    /// A picture of so many rows and the text below it, as one page: who reads on sends the picture up,
    /// and the text has its room.
    pub(super) fn pictured(
        &mut self,
        rows: u16,
        draw: impl FnOnce(&mut Paper),
        lines: &[StyledLine],
    ) {
        let room = usize::from(self.left());
        // Below the picture there is a row at least that says that there is more.
        let told = usize::from(!lines.is_empty() && room > LOW);
        let rows = usize::from(rows).min(room.saturating_sub(told));
        let last = (rows + lines.len()).saturating_sub(room);
        let first = self.state.scroll.min(last);
        self.seen.last = self.seen.last.max(last);
        // The last row is no line of the text.
        let page = if last > 0 { room.saturating_sub(1).max(1) } else { 0 };
        self.seen.page = self.seen.page.max(page);
        self.moved_up(rows as u16, first.min(rows) as u16, draw);
        let fit = usize::from(self.left());
        let lines = &lines[first.saturating_sub(rows)..];
        let rest = lines.len().saturating_sub(fit);
        let tells = rest > 0 && fit > usize::from(rows == 0);
        for (text, style) in &lines[..lines.len().min(fit) - usize::from(tells)] {
            self.line(&[(text, *style)]);
        }
        if tells {
            let more = format!("{} more lines below, ] shows them", rest + 1);
            self.line(&[(&more, self.look.faint())]);
        }
    }

    /// A picture of so many rows, without so many of them at its top.
    fn moved_up(&mut self, rows: u16, gone: u16, draw: impl FnOnce(&mut Paper)) {
        let block = self.take_block(rows - gone);
        let whole = Rect { height: rows, ..block };
        let (mut picture, mut seen) = (Buffer::empty(whole), Seen::default());
        draw(&mut Paper::new(self.state, &mut picture, &mut seen, whole));
        for place in block.positions() {
            self.buf[place] = picture[(place.x, place.y + gone)].clone();
        }
        let in_sight = seen.rows.into_iter().filter(|(row, _)| row.y >= whole.y + gone);
        let moved = in_sight.map(|(row, place)| (Rect { y: row.y - gone, ..row }, place));
        self.seen.rows.extend(moved);
    }
}

/// From this width on, sections stand in two columns.
const TWO_COLUMNS: u16 = 100;

/// Sections made for so many columns, side by side where there is room, else put together by
/// `one`; scrolled.
pub fn spread(
    paper: &mut Paper,
    made: &dyn Fn(usize) -> Vec<Vec<StyledLine>>,
    one: fn(Vec<Vec<StyledLine>>) -> Vec<StyledLine>,
) {
    let block = paper.take_block(paper.left());
    if block.width < TWO_COLUMNS {
        let lines = one(made(usize::from(block.width)));
        return paper.on(block).show(&lines);
    }
    let areas = beside(block, (block.width - 2) / 2, 2);
    let halves = halves(made(usize::from(areas[0].width)), block.height);
    for (text, area) in halves.into_iter().zip(areas) {
        paper.on(area).show(&text);
    }
}

/// Sections over two columns of about the same length, with a blank line between them. Where
/// they are longer than there are rows, the first column is filled, if need be with the beginning of
/// a section, and the second scrolls.
fn halves(sections: Vec<Vec<StyledLine>>, rows: u16) -> [Vec<StyledLine>; 2] {
    let all: usize = sections.iter().map(|s| s.len() + 1).sum();
    let rows = usize::from(rows);
    let middle = if all > 2 * rows { rows } else { all / 2 };
    let mut columns = [Vec::new(), Vec::new()];
    for section in sections.into_iter().filter(|s| !s.is_empty()) {
        // The section that crosses the middle goes where more of it lies, if it fits there.
        let end = columns[0].len() + section.len();
        let full = end > rows || columns[0].len() + section.len() / 2 > middle;
        let column = usize::from(!columns[1].is_empty() || (full && !columns[0].is_empty()));
        if !columns[column].is_empty() {
            columns[column].push((String::new(), Style::new()));
        }
        columns[column].extend(section);
    }
    // A head, and a line below it, are no beginning yet.
    let [first, second] = &mut columns;
    let room = rows.saturating_sub(first.len() + 1);
    if second.len() > rows && room > 2 {
        first.push((String::new(), Style::new()));
        first.extend(second.drain(..(second.len() - rows).clamp(3, room)));
        if second.first().is_some_and(|(line, _)| line.is_empty()) {
            second.remove(0);
        }
    }
    columns
}

/// Text that grows.
pub struct Text {
    pub(super) look: Theme,
    columns: usize,
    /// What is there so far.
    pub sections: Vec<Vec<StyledLine>>,
}

impl Text {
    /// Nothing yet, to be wrapped to so many columns.
    pub fn new(look: Theme, columns: usize) -> Text {
        Text { look, columns, sections: vec![Vec::new()] }
    }

    /// Columns that it is wrapped to.
    pub(super) fn columns(&self) -> usize {
        self.columns
    }

    /// All of it, section after section.
    pub(super) fn lines(self) -> Vec<StyledLine> {
        self.sections.into_iter().flatten().collect()
    }

    /// A new section with its head.
    pub fn head(&mut self, text: &str) {
        self.sections.push(Vec::new());
        self.put("", text, self.look.strong());
    }

    /// A row of the section as it is: its columns stay where they are.
    pub(super) fn row(&mut self, text: &str, style: Style) {
        let line = (self.look.plain(&safe(text)), style);
        self.sections.last_mut().into_iter().for_each(|section| section.push(line.clone()));
    }

    /// More of the section, a sentence after the other.
    pub fn say(&mut self, lines: impl IntoIterator<Item = impl AsRef<str>>) {
        lines.into_iter().for_each(|line| self.put("", line.as_ref(), Style::new()));
    }

    /// The same, indented.
    pub fn under(&mut self, lines: impl IntoIterator<Item = impl AsRef<str>>) {
        lines.into_iter().for_each(|line| self.put(" ", line.as_ref(), Style::new()));
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

/// A part of a plan's answer: a head alone is a line like any other. The columns of a line that fits
/// stay where they are.
pub(super) fn put_part(text: &mut Text, (head, lines): AnswerPart) {
    match lines.is_empty() {
        true => text.put("", &head, Style::new()),
        false => text.head(&head),
    }
    for line in &lines {
        match line.chars().count() + 2 <= text.columns() {
            true => text.row(&format!(" {line}"), Style::new()),
            false => text.put(" ", line, Style::new()),
        }
    }
}

/// All of it, a blank line between sections.
pub fn joined(sections: Vec<Vec<StyledLine>>) -> Vec<StyledLine> {
    let mut lines = Vec::new();
    for section in sections.into_iter().filter(|section| !section.is_empty()) {
        if !lines.is_empty() {
            lines.push((String::new(), Style::new()));
        }
        lines.extend(section);
    }
    lines
}
