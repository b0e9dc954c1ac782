//! The stretch planner: the values asked for, and beside them whether that works, what to do
//! first, what buys time and how much can be afforded.

use super::paper::Paper;
use super::{Room, Seen, help};
use crate::plan::answer::{AffordAfter, Before, StepKind, Stretch};
use crate::text::answer::{Urgency, listed};
use crate::text::caution;
use crate::text::fit::{left, wrap};
use crate::text::share::percent;
use crate::text::stretch as words;
use crate::text::when::day;
use crate::tui::state::State;
use crate::tui::stretch::Field;
use ratatui::layout::Rect;
use ratatui::style::Style;

/// Columns of the values where the answer stands beside them.
const VALUES: u16 = 24;

/// Columns of the first of two values on a row, where the answer stands below them.
const FIRST_OF_TWO: u16 = 18;

/// Draws it.
pub fn draw(state: &State, seen: &mut Seen, paper: &mut Paper) {
    let working = if state.planner.working { "  working" } else { "" };
    paper.line(&[("Stretch without service", state.look.strong()), (working, state.look.faint())]);
    if Room::of(paper.area.width) == Room::Narrow {
        narrow(state, seen, paper);
    } else {
        wide(state, seen, paper);
    }
}

/// Values in rows of two, the answer below; its end has the cautions, so that the answer itself
/// is not pushed off a phone's screen by them.
fn narrow(state: &State, seen: &mut Seen, paper: &mut Paper) {
    for pair in [0, 2, 4] {
        let Some(row) = paper.take() else { return };
        let split = FIRST_OF_TWO.min(row.width);
        value(state, seen, pair, Rect { width: split, ..row }, paper);
        let second = Rect { x: row.x + split, width: row.width - split, ..row };
        if pair + 1 < Field::ALL.len() && !second.is_empty() {
            value(state, seen, pair + 1, second, paper);
        }
    }
    let mut text = answer(state, paper.columns());
    text.extend(cautions(state, paper.columns()));
    let fixed = u16::from(state.planner.answer.is_some() && paper.left() > 6);
    let rows = paper.left() - fixed;
    let block = paper.take_block(rows);
    help::show(state, &mut Paper::new(paper.buf, block, state.look), &text);
    if fixed > 0 {
        paper.line(&[("Cautions: at the end, and all under !", state.look.strong())]);
    }
}

/// Values to the left, the answer to the right, cautions below both.
fn wide(state: &State, seen: &mut Seen, paper: &mut Paper) {
    let cautions = cautions(state, paper.columns());
    let rows = paper.left().saturating_sub(cautions.len() as u16);
    // In a low window the answer matters more.
    let (rows, cautions) = if rows < 8 { (paper.left(), vec![]) } else { (rows, cautions) };
    let block = paper.take_block(rows);
    for place in 0..Field::ALL.len().min(usize::from(block.height)) {
        let row = Rect { y: block.y + place as u16, height: 1, width: VALUES, ..block };
        value(state, seen, place, row, paper);
    }
    let beside = Rect { x: block.x + VALUES, width: block.width - VALUES, ..block };
    let text = answer(state, usize::from(beside.width));
    help::show(state, &mut Paper::new(paper.buf, beside, state.look), &text);
    for (line, style) in cautions {
        paper.line(&[(&line, style)]);
    }
}

fn value(state: &State, seen: &mut Seen, place: usize, row: Rect, paper: &mut Paper) {
    let names = if row.width == FIRST_OF_TWO { 7 } else { 11 };
    seen.rows.push((row, place));
    let chosen = place == state.planner.field;
    let marker = if chosen { state.look.glyphs().marker } else { " " };
    let style = if chosen { state.look.selected() } else { Style::new() };
    let (name, value) = shown(state, Field::ALL[place]);
    let pieces =
        [(marker, state.look.strong()), (&left(name, names), Style::new()), (&value, style)];
    paper.pieces(row, &pieces);
}

/// Name and value.
fn shown(state: &State, field: Field) -> (&'static str, String) {
    let value = state.planner.value(field);
    match field {
        Field::Nights => ("nights", value.to_string()),
        Field::From => match state.planner.from(state.now, state.zone()) {
            Some(from) => ("from", day(from)),
            None => ("from", "now".to_string()),
        },
        Field::People if value == 0 => ("people", "as planned".to_string()),
        Field::People => ("people", value.to_string()),
        Field::FillFirst => ("fill first", if value == 1 { "yes" } else { "no" }.to_string()),
        Field::Sure => ("sure", format!("{value} %")),
    }
}

fn answer(state: &State, columns: usize) -> Vec<(String, Style)> {
    match &state.planner.answer {
        None => vec![("Working it out".to_string(), Style::new())],
        Some(answer) => lines(state, answer, columns),
    }
}

/// The answer, most important first.
fn lines(state: &State, answer: &Stretch, columns: usize) -> Vec<(String, Style)> {
    let look = state.look;
    let mut text = Text { state, columns, lines: Vec::new() };
    if !state.planner.current {
        text.put("", "For the values before:", look.faint());
    }
    let verdict = if answer.works { Urgency::Fine } else { Urgency::Out };
    text.put("", &words::verdict(answer), look.urgency(verdict).patch(look.strong()));
    if let Some(binding) = words::binding(answer, &state.zone()) {
        text.put("", &binding, Style::new());
    }
    if let Some(before) = &answer.before {
        put_before(&mut text, answer, before);
    }
    text.head("Longest");
    for longest in &answer.longest {
        let nights = words::longest(longest, &state.zone());
        text.put(" ", &format!("{} sure: {nights}", percent(longest.confidence)), Style::new());
    }
    if !answer.choices.is_empty() {
        text.head("What buys time, each by itself");
    }
    for choice in &answer.choices {
        let gain = words::choice_gain(choice);
        text.put(" ", &format!("{}: {gain}", choice.words), Style::new());
    }
    if let Some(set) = &answer.together {
        let names: Vec<&str> =
            set.choices.iter().map(|i| answer.choices[*i].words.as_str()).collect();
        let enough = if set.works { "Enough together" } else { "Not enough together" };
        let reached = words::percent_down(set.probability);
        text.put("", &format!("{enough}, then {reached}: {}", names.join("; ")), Style::new());
    }
    if !answer.afford.is_empty() {
        text.head(match answer.afford_after {
            AffordAfter::Nothing => "What can be afforded",
            AffordAfter::Serviced => "What can be afforded, once serviced",
            AffordAfter::Together => "What can be afforded, with that set",
        });
    }
    for afford in &answer.afford {
        text.put(" ", &words::afford(afford), Style::new());
    }
    text.head("To spare on the last morning");
    for stock in &answer.stocks {
        let margin = words::margin(stock, state.units());
        text.put(" ", &format!("{}: {margin}", stock.name), Style::new());
    }
    text.lines
}

fn put_before(text: &mut Text, answer: &Stretch, before: &Before) {
    let reached = words::percent_down(before.probability);
    if before.steps.is_empty() {
        return text.put("", "Before you go: no filling or emptying helps", Style::new());
    }
    match before.works {
        true => text.head(&format!("Before you go, then {reached}")),
        false => text.head(&format!("Before you go, not enough: then {reached}")),
    }
    for step in &before.steps {
        let step = words::step(step, &answer.stocks, text.state.units());
        text.put(" ", &step, Style::new());
    }
}

/// Lines of the answer, wrapped.
struct Text<'a> {
    state: &'a State,
    columns: usize,
    lines: Vec<(String, Style)>,
}

impl Text<'_> {
    fn head(&mut self, text: &str) {
        self.put("", text, self.state.look.strong());
    }

    fn put(&mut self, indent: &str, text: &str, style: Style) {
        let text = self.state.look.plain(text);
        let lines = wrap(&text, self.columns.saturating_sub(2 * indent.len()));
        for (i, line) in lines.into_iter().enumerate() {
            let more = if i > 0 { indent } else { "" };
            self.lines.push((format!("{indent}{more}{line}"), style));
        }
    }
}

/// What no plan touches, and the cautions that belong to what it proposes.
fn cautions(state: &State, columns: usize) -> Vec<(String, Style)> {
    let Some(answer) = &state.planner.answer else { return Vec::new() };
    let mut all = Vec::new();
    let kept = words::reserves(&answer.stocks, state.units());
    if !kept.is_empty() {
        let kept: Vec<&str> = kept.iter().map(String::as_str).collect();
        all.push(format!("Kept back whatever the plan: {}", listed(&kept)));
    }
    if answer.choices.iter().any(|choice| choice.burns) {
        all.push(caution::BURNING.line.to_string());
    }
    let empties = |b: &Before| b.steps.iter().any(|s| s.kind == StepKind::Empty);
    if answer.before.as_ref().is_some_and(empties) {
        all.push(caution::WASTE.line.to_string());
    }
    all.push(caution::ESTIMATE.line.to_string());
    let lines = all.iter().flat_map(|text| wrap(&state.look.plain(text), columns));
    lines.map(|line| (line, state.look.strong())).collect()
}
