//! The stretch planner: the values asked for, and beside them whether that works, what to do
//! first, what buys time and how much can be afforded.

use super::form::{self, Line, Page};
use super::paper::Paper;
use super::room::Seen;
use super::sections::Text;
use crate::domain::journal::standing;
use crate::domain::plans::plans;
use crate::plan::answer::{Choice, Stretch};
use crate::plan::stops::saved;
use crate::text::answer::Urgency;
use crate::text::fit::wrap;
use crate::text::stretch as words;
use crate::tui::state::State;
use ratatui::style::Style;

/// Draws it.
pub fn draw(state: &State, seen: &mut Seen, paper: &mut Paper) {
    let planner = &state.planner;
    let page = Page {
        title: "Stretch without service",
        busy: if planner.asked.working { "working".to_string() } else { String::new() },
        values: &planner.values,
        answer: &|columns| answer(state, columns),
        cautions: &|columns| cautions(state, columns),
    };
    form::draw(&page, state, seen, paper);
}

fn answer(state: &State, columns: usize) -> Vec<Vec<Line>> {
    match &state.planner.asked.answer {
        None => vec![vec![("Working it out".to_string(), Style::new())]],
        Some(answer) => sections(state, &answer.stretch, columns),
    }
}

/// The answer, most important first.
fn sections(state: &State, answer: &Stretch, columns: usize) -> Vec<Vec<Line>> {
    let look = state.look;
    let mut text = Text::new(state.look, columns);
    if !state.planner.asked.current {
        text.put("", "The answer for the earlier values:", look.faint());
    }
    let verdict = if answer.works { Urgency::Fine } else { Urgency::Out };
    text.put("", &words::verdict(answer), look.urgency(verdict).patch(look.strong()));
    if let Some(binding) = words::binding(answer, &state.zone()) {
        text.put("", &binding, Style::new());
    }
    if let Some(hook_up) = words::hook_up(answer) {
        text.put("", &hook_up, Style::new());
    }
    if let Some(tightest) = words::tightest(answer, state.units()) {
        text.put("", &tightest, Style::new());
    }
    put_saved(state, answer, &mut text);
    if let Some(set) = words::set(answer) {
        text.put("", &set, Style::new());
    }
    let before = words::before(answer, state.units());
    before.into_iter().for_each(|part| put_part(&mut text, part));
    let could = words::otherwise(answer, &state.zone(), state.units());
    could.iter().for_each(|line| text.put("", line, Style::new()));
    let parts = words::parts(answer, &state.zone(), state.units(), &|choice| bar(state, choice));
    parts.into_iter().for_each(|part| put_part(&mut text, part));
    text.sections
}

/// A chance as a bar of ten: what it is without a choice, and what that adds.
fn bar(state: &State, choice: &Choice) -> String {
    let [has, adds, lacks] = if state.look.ascii { ['#', '+', '.'] } else { ['█', '▒', '·'] };
    let tenths = |share: f64| (share.clamp(0.0, 1.0) * 10.0).round() as usize;
    let without = tenths(choice.probability - choice.gain);
    let with = tenths(choice.probability).max(without);
    let part = |sign: char, cells: usize| String::from(sign).repeat(cells);
    [part(has, without), part(adds, with - without), part(lacks, 10 - with), " ".into()].concat()
}

/// That saved stops are left out, where some lie within the stretch.
fn put_saved(state: &State, answer: &Stretch, text: &mut Text) {
    let Some(book) = &state.book else { return };
    let plans = plans(&standing(&book.loaded.entries, state.now));
    let saved = saved::stops_ahead(&book.loaded.rig, &plans);
    let before = saved.iter().filter(|stop| stop.at < answer.until).count();
    if let Some(line) = words::without_saved(before) {
        text.put("", &line, Style::new());
    }
}

fn put_part(text: &mut Text, (head, lines): words::Part) {
    match lines.is_empty() {
        true => text.put("", &head, Style::new()),
        false => text.head(&head),
    }
    lines.iter().for_each(|line| text.put(" ", line, Style::new()));
}

/// What no plan touches, and the cautions that belong to what it proposes.
fn cautions(state: &State, columns: usize) -> Vec<Line> {
    let Some(answer) = state.planner.asked.answer.as_ref().map(|a| &a.stretch) else {
        return Vec::new();
    };
    let all = words::cautions(answer, state.units());
    let lines = all.iter().flat_map(|text| wrap(&state.look.plain(text), columns));
    lines.map(|line| (line, state.look.strong())).collect()
}
