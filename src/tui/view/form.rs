//! A screen of values and what follows from them: values to the left and the answer beside them,
//! or, on a phone, values in pairs and the answer below.

pub use super::sections::StyledLine;
use super::{List, Paper, Room, Text, beside, spread};
use crate::domain::Unit;
use crate::text::{Urgency, day, unit_word, width, wrap};
use crate::tui::State;
use crate::tui::values::{Field, Values};
use ratatui::style::Style;

/// What such a screen shows.
pub struct FormPage<'a> {
    /// Its name.
    pub title: &'a str,
    /// What it is busy with, if anything.
    pub busy: String,
    /// The values.
    pub values: &'a Values,
    /// The answer in sections, wrapped to so many columns.
    pub answer: &'a dyn Fn(usize) -> Vec<Vec<StyledLine>>,
    /// What stands below everything.
    pub cautions: Vec<String>,
}

/// The cautions in lines.
fn cautions(page: &FormPage, paper: &Paper) -> Vec<StyledLine> {
    let look = paper.look;
    let lines = page.cautions.iter().flat_map(|text| wrap(&look.plain(text), paper.columns()));
    lines.map(|line| (line, look.strong())).collect()
}

/// Puts whether it works first, and what belongs to that.
pub(super) fn put_verdict(text: &mut Text, verdict: Urgency, lines: &[String]) {
    let strong = text.look.urgency(verdict).patch(text.look.strong());
    for (n, line) in lines.iter().enumerate() {
        text.put("", line, if n == 0 { strong } else { Style::new() });
    }
}

/// Rows that a phone leaves to the answer at least, beside all values.
const ANSWER_ROWS: u16 = 8;
/// Rows of values that it shows in any case.
const VALUE_ROWS: u16 = 3;

/// Draws it.
pub fn draw(page: &FormPage, paper: &mut Paper) {
    let state = paper.state;
    let busy = if page.busy.is_empty() { String::new() } else { format!("  {}", page.busy) };
    paper.line(&[(page.title, state.look.strong()), (&busy, state.look.faint())]);
    let fields = page.values.fields();
    let (room, names) = match Room::of(paper.area.width) {
        Room::Narrow => (paper.columns() / 2 - 4, 7),
        Room::Middle => (usize::MAX, 13),
        Room::Wide => (usize::MAX, 16),
    };
    // Where a name has no room beside what is usual, the number alone says it.
    let fitting = |(name, value): (String, String)| match width(&name) + width(&value) > room {
        true => (name, value.strip_prefix(USUAL).map(String::from).unwrap_or(value)),
        false => (name, value),
    };
    let items = fields.iter().map(|field| fitting(shown(state, page.values, *field)));
    let items: Vec<_> = items.collect();
    let values = List { items: &items, chosen: page.values.row(), names };
    match Room::of(paper.area.width) {
        Room::Narrow => narrow(page, &values, paper),
        _ => wide(page, &values, paper),
    }
}

/// Name and value.
fn shown(state: &State, values: &Values, field: Field) -> (String, String) {
    let value = values.value(field);
    let is_trip = values.fields().contains(&Field::Days);
    let from = || values.from(state.now, state.zone()).map_or("now".to_string(), day);
    let word = |words: [&str; 2]| words[usize::from(value != 0.0)].to_string();
    let count = |none: &str| if value == 0.0 { none.to_string() } else { value.to_string() };
    let (name, text) = match field {
        Field::Nights => ("nights", value.to_string()),
        Field::Days => ("days", value.to_string()),
        Field::From => (if is_trip { "set out" } else { "from" }, from()),
        Field::Place => ("place", place(values)),
        Field::Weather if value >= 2.0 => ("weather", "as below".to_string()),
        Field::Weather => ("weather", word(["foretold", "usual"])),
        Field::Low => (" low", format!("{value} {}", values.scale())),
        Field::High => (" high", format!("{value} {}", values.scale())),
        Field::Cloud => (" clouds", format!("{value} %")),
        Field::People => ("people", count("as planned")),
        Field::Guests => ("guests", count("none")),
        Field::Camps => ("camps", word(["as planned", "stay here"])),
        Field::FillFirst => ("fill first", word(["no", "yes"])),
        Field::Sure => ("sure", format!("{value} %")),
        Field::Habit(index) => return habit(values, index),
    };
    (name.to_string(), text)
}

fn place(values: &Values) -> String {
    values.place().map_or("here".to_string(), |spot| format!("{spot:.2}"))
}

/// Before a number that was not set.
const USUAL: &str = "usual ";

/// "showers", "2 a day" where it was set, else "usual 1.4".
fn habit(values: &Values, index: usize) -> (String, String) {
    let Some(habit) = values.habits.get(index) else { return Default::default() };
    let number = |value: f64| {
        let text = format!("{value:.1}");
        let text = text.strip_suffix(".0").map(str::to_string).unwrap_or(text);
        match habit.counted_in {
            Unit::Time | Unit::Use => text,
            ref unit => format!("{text} {}", unit_word(unit, &text)),
        }
    };
    let value = match (values.get(Field::Habit(index)), values.usual(index)) {
        (Some(set), _) => format!("{} a day", number(set)),
        (None, Some(usual)) => format!("{USUAL}{}", number(usual)),
        (None, None) => "usual".to_string(),
    };
    (habit.plural.clone(), value)
}

/// Values in two columns, the answer below, scrolled together; its end has the cautions, so that the
/// answer itself is not pushed off a phone's screen by them.
fn narrow(page: &FormPage, values: &List, paper: &mut Paper) {
    let mut text: Vec<StyledLine> = (page.answer)(paper.columns()).into_iter().flatten().collect();
    let cautions = cautions(page, paper);
    let fixed = u16::from(paper.left() > 6 && !cautions.is_empty());
    text.extend(cautions);
    let block = paper.take_block(paper.left() - fixed);
    let rows = values.items.len().div_ceil(2);
    let most = usize::from(block.height.saturating_sub(ANSWER_ROWS).max(VALUE_ROWS));
    let some = if rows > most { most - 1 } else { rows };
    let first = (values.chosen % rows.max(1) + 1).saturating_sub(some);
    let draw = |paper: &mut Paper| {
        for place in first..first + some {
            let Some(row) = paper.take() else { return };
            let halves = beside(row, row.width / 2 - 1, 1);
            for (half, area) in halves.into_iter().enumerate() {
                values.row(half * rows + place, area, paper);
            }
        }
        if rows > some {
            let text = format!(" rows {} to {} of {rows}", first + 1, first + some);
            paper.line(&[(&text, paper.look.faint())]);
        }
    };
    paper.on(block).pictured(rows.min(most) as u16, draw, &text);
    if fixed > 0 {
        paper.line(&[("Cautions: at the end, and all under !", paper.look.strong())]);
    }
}

/// Values to the left, the answer to the right, cautions below both.
fn wide(page: &FormPage, values: &List, paper: &mut Paper) {
    let cautions = cautions(page, paper);
    let rows = paper.left().saturating_sub(cautions.len() as u16);
    // In a low window the answer matters more.
    let (rows, cautions) = if rows < 8 { (paper.left(), vec![]) } else { (rows, cautions) };
    let block = paper.take_block(rows);
    let column = if Room::of(paper.area.width) == Room::Wide { 36 } else { 27 };
    // A column stays free before the answer.
    let [left, right] = beside(block, column - 1, 1);
    values.draw(left, paper);
    spread(&mut paper.on(right), page.answer, |sections| sections.into_iter().flatten().collect());
    for (line, style) in cautions {
        paper.line(&[(&line, style)]);
    }
}
