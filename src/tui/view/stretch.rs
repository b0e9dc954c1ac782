//! The stretch planner: the values asked for, and beside them whether that works, what to do
//! first, what buys time and how much can be afforded.

use super::form::{self, Line, Page};
use super::paper::Paper;
use super::room::Seen;
use super::sections::Text;
use crate::domain::journal::standing;
use crate::domain::plans::plans;
use crate::domain::unit::Unit;
use crate::plan::answer::{Choice, Stretch};
use crate::plan::stops::saved;
use crate::text::answer::Urgency;
use crate::text::fit::wrap;
use crate::text::quantity::unit_word;
use crate::text::stretch as words;
use crate::text::when::day;
use crate::tui::state::State;
use crate::tui::stretch::{Field, Planner};
use ratatui::style::Style;

/// Draws it.
pub fn draw(state: &State, seen: &mut Seen, paper: &mut Paper) {
    let planner = &state.planner;
    let fields = planner.fields();
    let chosen = fields.iter().position(|f| *f == planner.form.chosen()).unwrap_or(0);
    let page = Page {
        title: "Stretch without service",
        busy: if planner.asked.working { "working".to_string() } else { String::new() },
        values: fields.iter().map(|field| shown(state, *field)).collect(),
        chosen,
        answer: &|columns| answer(state, columns),
        cautions: &|columns| cautions(state, columns),
    };
    form::draw(&page, state, seen, paper);
}

/// Name and value.
fn shown(state: &State, field: Field) -> (String, String) {
    let planner = &state.planner;
    let value = planner.value(field);
    let named = |name: &str, text: String| (name.to_string(), text);
    match field {
        Field::Nights => named("nights", value.to_string()),
        Field::From => match planner.from(state.now, state.zone()) {
            Some(from) => named("from", day(from)),
            None => named("from", "now".to_string()),
        },
        Field::Place => named("place", place(planner)),
        Field::Weather => {
            let texts = ["foretold", "usual", "as below"];
            named("weather", texts[(value as usize).min(2)].to_string())
        }
        Field::Low => named(" low", format!("{value} {}", planner.scale())),
        Field::High => named(" high", format!("{value} {}", planner.scale())),
        Field::Cloud => named(" clouds", format!("{value} %")),
        Field::People if value == 0.0 => named("people", "as planned".to_string()),
        Field::People => named("people", value.to_string()),
        Field::Guests if value == 0.0 => named("guests", "none".to_string()),
        Field::Guests => named("guests", value.to_string()),
        Field::FillFirst => named("fill first", if value == 1.0 { "yes" } else { "no" }.into()),
        Field::Sure => named("sure", format!("{value} %")),
        Field::Habit(index) => habit(planner, index),
    }
}

fn place(planner: &Planner) -> String {
    match planner.value(Field::Place) as usize {
        0 => "here".to_string(),
        n => match (planner.places.get(n - 1), planner.spot) {
            (Some(name), _) => name.clone(),
            (None, Some((north, east))) => format!("{north:.2}, {east:.2}"),
            (None, None) => "here".to_string(),
        },
    }
}

/// "showers", "2 a day" where it was set, else "usual 1.4".
fn habit(planner: &Planner, index: usize) -> (String, String) {
    let Some(habit) = planner.habits.get(index) else { return Default::default() };
    let number = |value: f64| {
        let text = format!("{value:.1}");
        let text = text.strip_suffix(".0").map(str::to_string).unwrap_or(text);
        match habit.counted_in {
            Unit::Time | Unit::Use => text,
            ref unit => format!("{text} {}", unit_word(unit, &text)),
        }
    };
    let value = match (planner.form.get(Field::Habit(index)), planner.usual(index)) {
        (Some(set), _) => format!("{} a day", number(set)),
        (None, Some(usual)) => format!("usual {}", number(usual)),
        (None, None) => "usual".to_string(),
    };
    (habit.plural.clone(), value)
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
