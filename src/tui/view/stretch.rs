//! The stretch planner: the values asked for, and beside them whether that works, what to do
//! first, what buys time and how much can be afforded.

use super::form::{FormPage, StyledLine, put_verdict};
use super::{Paper, Text, form, put_part};
use crate::plan::Stretch;
use crate::plan::answer::Choice;
use crate::plan::stops::saved;
use crate::text::stops::closed_now;
use crate::text::{Urgency, stretch as words};
use crate::tui::State;
use ratatui::style::Style;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    let planner = &state.planner;
    let answered = planner.asked.answer.as_ref();
    let cautions = answered.map(|answer| words::cautions(&answer.stretch, state.units()));
    let page = FormPage {
        title: "Stretch without service",
        busy: if planner.asked.working { "working".to_string() } else { String::new() },
        values: &planner.values,
        answer: &|columns| answer(state, columns),
        cautions: cautions.unwrap_or_default(),
    };
    form::draw(&page, paper);
}

fn answer(state: &State, columns: usize) -> Vec<Vec<StyledLine>> {
    match &state.planner.asked.answer {
        None => vec![vec![("Working it out".to_string(), Style::new())]],
        Some(answer) => sections(state, &answer.stretch, columns),
    }
}

/// The answer, most important first.
fn sections(state: &State, answer: &Stretch, columns: usize) -> Vec<Vec<StyledLine>> {
    let mut text = Text::new(state.look, columns);
    if !state.planner.asked.current {
        text.put("", "The answer for the earlier values:", state.look.faint());
    }
    let bar = |choice: &Choice| bar(state, choice);
    let said = words::said(answer, &state.zone(), state.units(), &bar);
    let verdict = if answer.works { Urgency::Fine } else { Urgency::Out };
    put_verdict(&mut text, verdict, &said.first);
    text.say(words::hook_up(answer));
    text.say(saved_left_out(state, answer));
    let rig = state.book.as_ref().map(|book| &book.loaded.rig);
    if answer.before.is_some() && answer.from <= answer.at {
        text.say(rig.and_then(|r| closed_now(r, &words::serviced_first(answer), answer.at)));
    }
    said.parts.into_iter().chain(said.more).for_each(|part| put_part(&mut text, part));
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
fn saved_left_out(state: &State, answer: &Stretch) -> Option<String> {
    let book = state.book.as_ref()?;
    let saved = saved::stops_ahead(&book.loaded.rig, &book.plans);
    words::without_saved(
        saved.iter().filter(|stop| stop.at > state.now && stop.at < answer.until).count(),
    )
}
