//! The evening's round: the question, the keys that answer it, and all that was asked so far; at
//! the end the new date and what it moved.

use super::{List, Paper, Text, header, joined, moved};
use crate::domain::{Body, Draft, Event, Quantity, Unit};
use crate::logline::{self, Understood};
use crate::text::{commas, listed, percent, plans, unit_word};
use crate::tui::State;
use crate::tui::round::{Answer, Asked, Doubt, Question, Scale};
use ratatui::style::Style;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    header::draw(paper);
    let (round, look) = (&state.round, state.look);
    let columns = paper.columns();
    let mut text = Text::new(state.look, columns);
    if let Some(before) = &round.before {
        match &state.evening {
            Some(after) if !state.working => {
                moved::put(&mut text, before, after, &state.zone(), look.strong());
                text.put("", "Enter closes the round", Style::new());
            }
            _ => text.put("", "Saved. Working out what it moved", Style::new()),
        }
        let lines = joined(text.sections);
        let moved = paper.take_block((lines.len() as u16).min(paper.left()));
        return paper.on(moved).show(&lines);
    }
    let (question, keys) = match round.questions.get(round.place) {
        Some(_) if round.doubt.is_some() => doubt(round.doubt.as_ref()),
        Some(asked) => (question(state, &asked.asked), keys(state, &asked.asked)),
        None if round.drafts().is_empty() => (
            "Nothing to ask tonight. c writes down that nothing else happened today".into(),
            "Enter closes the round, c closes the day".into(),
        ),
        None => (
            "That was all. Save it?".to_string(),
            "Enter saves, c saves and writes down that nothing else happened today".to_string(),
        ),
    };
    let place = format!("Tonight {} of {}: ", round.place + 1, round.questions.len());
    let place = if round.asked().is_some() { place } else { String::new() };
    paper.wrapped(&format!("{place}{question}"), look.strong(), 3);
    paper.wrapped(&keys, Style::new(), 3);
    if paper.left() > 8 {
        paper.rule();
    }
    let items: Vec<(String, String)> = round.questions.iter().map(|q| item(state, q)).collect();
    let area = paper.take_block((items.len() as u16).min(paper.left()));
    List { items: &items, chosen: round.place, names: 16 }.draw(area, paper);
}

/// What is doubted, and what the numbers would say.
fn doubt(doubt: Option<&Doubt>) -> (String, String) {
    let ways = doubt.iter().flat_map(|doubt| doubt.ways.iter().enumerate());
    let ways = commas(ways.map(|(n, (line, _))| format!("{} {line}", n + 1)));
    let keys = format!("{ways}; Backspace asks again, Space leaves it out");
    (doubt.map_or_else(String::new, |doubt| doubt.why.clone()), keys)
}

/// Names of what the round would ask, in a sentence for the first screen.
pub(super) fn in_short(state: &State) -> Option<String> {
    let round = &state.round;
    let name = |q: &Question| match &q.asked {
        Asked::AsYesterday(_) => None,
        asked => Some(name(asked)),
    };
    let names = listed(round.questions.iter().filter_map(name));
    let begun = if round.is_begun() { " (begun)" } else { "" };
    (!names.is_empty()).then(|| format!("Tonight's round{begun}, d: {names}"))
}

fn name(asked: &Asked) -> String {
    match asked {
        Asked::Plan(plan) => plans::briefly(plan),
        Asked::Reading { stock, .. } => stock.clone(),
        Asked::AsYesterday(_) => "as yesterday".to_string(),
        Asked::Use { activity, .. } => activity.clone(),
    }
}

fn item(state: &State, question: &Question) -> (String, String) {
    let value = match &question.answer {
        Answer::Open => String::new(),
        Answer::Skipped => "left out".to_string(),
        Answer::Said(drafts) => words(state, &question.asked, drafts),
    };
    (name(&question.asked), value)
}

/// What is to be saved, in the words of a line.
fn words(state: &State, asked: &Asked, drafts: &[Draft]) -> String {
    if let Asked::Plan(_) = asked {
        let done = drafts.iter().any(|draft| matches!(draft.body, Body::Correct { .. }));
        return if done { "done as planned" } else { "not done" }.to_string();
    }
    let said = drafts.iter().filter_map(|draft| match &draft.body {
        Body::Happened(Event::Note(_)) => None,
        Body::Happened(event) => {
            Some(Understood { at: draft.at, event: event.clone(), note: draft.note.clone() })
        }
        _ => None,
    });
    let said: Vec<Understood> = said.collect();
    if said.is_empty() {
        return "none".to_string();
    }
    let known = state.book.as_ref().map(|book| &book.vocabulary);
    known.map_or_else(String::new, |known| logline::echo(&said, known, state.now))
}

fn question(state: &State, asked: &Asked) -> String {
    match asked {
        Asked::Plan(plan) => plans::question(plan, &state.zone()),
        Asked::Reading { stock, scale: Scale::Lamps(_) } => {
            format!("{stock}: how many lamps are lit?")
        }
        Asked::Reading { stock, scale: Scale::Amount { unit, .. } } => {
            format!("{stock}: how many {} now?", unit_word(unit, "2"))
        }
        Asked::Reading { stock, .. } => format!("{stock}: how full?"),
        Asked::AsYesterday(uses) => {
            format!(
                "The same as yesterday? {}",
                listed(uses.iter().map(|(name, q)| amount(name, q)))
            )
        }
        Asked::Use { activity, unit, usual } => {
            let number = usual.to_string();
            format!("{activity} today? Usually {number} {}", unit_word(unit, &number))
        }
    }
}

fn amount(name: &str, count: &Quantity) -> String {
    let number = count.amount.to_string();
    format!("{name} {number} {}", unit_word(&count.unit, &number))
}

/// What each key would say here.
fn keys(state: &State, asked: &Asked) -> String {
    let typed = &state.round.typed;
    let some = |what: &str| {
        format!(
            "{what}{}, Space: leave it out",
            if typed.is_empty() { String::new() } else { format!(": {typed}") }
        )
    };
    match asked {
        Asked::Plan(_) => {
            "y: as planned, n: not done, c: otherwise, Space: leave it open".to_string()
        }
        Asked::AsYesterday(_) => {
            "y: the same again, n: ask one by one, Space: leave it out".to_string()
        }
        Asked::Use { unit: Unit::Time | Unit::Use, .. } => {
            "a digit: so many, Enter: as usual, n: none, Space: leave it out".into()
        }
        Asked::Use { .. } => some("a number and Enter (Enter alone: as usual), n: none"),
        Asked::Reading { scale, .. } => match scale {
            Scale::Parts(10) => some("a digit: tenths of full, f: full"),
            Scale::Parts(parts) => {
                let part = |n: u32| match n {
                    0 => "0: empty".to_string(),
                    n if n == *parts => format!("{n}: full"),
                    n => format!("{n}: {n}/{parts}"),
                };
                some(&commas((0..=*parts).map(part)))
            }
            Scale::Lamps(marks) => {
                let lamp = |(n, share): (usize, &f64)| format!("{}: {}", n + 1, percent(*share));
                some(&format!("0: none, {}", commas(marks.iter().enumerate().map(lamp))))
            }
            Scale::Percent => some("two digits: per cent (or one digit and Enter), f: full"),
            Scale::Amount { .. } => some("a number and Enter"),
        },
    }
}
