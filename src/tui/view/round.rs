//! The evening's round: the question, the keys that answer it, and all that was asked so far; at
//! the end the new date and what it moved.

use super::{List, Paper, Text, header, joined, moved};
use crate::domain::{Amount, Body, Draft, Event, Happened, Quantity};
use crate::logline;
use crate::text::{commas, counted, listed, percent, plans, unit_word};
use crate::tui::State;
use crate::tui::round::{
    Again, Answer, AnswerReader, Asked, Doubt, NONE_LIT, Reply, RoundQuestion, Scale, UsualUse,
    number,
};
use crate::tui::update::round_words;
use ratatui::style::Style;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    header::draw(paper);
    let (round, look) = (&state.round, state.look);
    let columns = paper.columns();
    let mut text = Text::new(state.look, columns);
    if let Some(before) = &round.before {
        match &state.evening.answer {
            Some(after) if !state.evening.working => {
                text.say(["Enter closes the round"]);
                moved::put(&mut text, before, after, &state.zone(), look.strong());
            }
            _ => text.say(["Saved. Working out what it moved"]),
        }
        let lines = joined(text.sections);
        let moved = paper.take_block((lines.len() as u16).min(paper.left()));
        return paper.on(moved).show(&lines);
    }
    let (question, keys) = asked(state);
    let place = format!("Tonight {} of {}: ", round.place + 1, round.questions.len());
    let place = if round.asked().is_some() { place } else { String::new() };
    paper.wrapped(&format!("{place}{question}"), look.strong(), 3);
    paper.wrapped(&keys, Style::new(), 3);
    if paper.left() > 8 {
        paper.rule();
    }
    let mut items: Vec<(String, String)> = round.questions.iter().map(|q| item(state, q)).collect();
    if let (Some(asked), Some((_, value))) = (round.asked(), items.get_mut(round.place)) {
        *value = typed(asked, &round.typed);
    }
    let area = paper.take_block((items.len() as u16).min(paper.left()));
    List { items: &items, chosen: round.place, names: 16 }.draw(area, paper);
}

/// What is asked, or said at the end, and what each key does about it.
fn asked(state: &State) -> (String, String) {
    let round = &state.round;
    match round.questions.get(round.place) {
        Some(_) if round.doubt.is_some() => doubt(round.doubt.as_ref()),
        Some(asked) => {
            let typed = typed(&asked.asked, &round.typed);
            let keys = match typed.is_empty() {
                true if round.was_refused() => REFUSED.to_string(),
                true => keys(&asked.asked),
                false => taken(state, &typed),
            };
            (format!("{} {typed}", question(state, &asked.asked)), keys)
        }
        None if round.closes => (
            "That was all. Save it, and close the day?".to_string(),
            "Enter saves it all and closes the day".to_string(),
        ),
        None if round.drafts().is_empty() => {
            let why = if round.questions.is_empty() {
                "Nothing to ask tonight"
            } else {
                "Nothing to save"
            };
            (
                format!("{why}. c writes down that nothing else happened today"),
                "Enter closes the round, c closes the day".to_string(),
            )
        }
        None => (
            "That was all. Save it?".to_string(),
            "Enter saves; c, Enter: and nothing else happened today".to_string(),
        ),
    }
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
    let name = |q: &RoundQuestion| match &q.asked {
        Asked::Again(..) => None,
        asked => Some(name(state, asked)),
    };
    let names = listed(round.questions.iter().filter_map(name));
    let begun = if round.is_begun() { " (begun)" } else { "" };
    (!names.is_empty()).then(|| format!("Tonight's round{begun}, d: {names}"))
}

fn name(state: &State, asked: &Asked) -> String {
    match asked {
        Asked::Plan(plan) => plans::briefly(plan, state.units()),
        Asked::Reading { stock, .. } => stock.clone(),
        Asked::Again(Again::Yesterday, _) => "as yesterday".to_string(),
        Asked::Again(Again::Usual, _) => "as usual".to_string(),
        Asked::Use(of) => of.activity.clone(),
    }
}

fn item(state: &State, question: &RoundQuestion) -> (String, String) {
    let value = match &question.answer {
        Answer::Open => String::new(),
        Answer::Skipped if matches!(question.asked, Asked::Again(..)) => "no".to_string(),
        Answer::Skipped if is_told_above(state, &question.asked) => "as above".to_string(),
        Answer::Skipped => "left out".to_string(),
        Answer::Said(drafts) => words(state, &question.asked, drafts),
    };
    (name(state, &question.asked), value)
}

/// Whether it is one of the uses that were answered all together.
fn is_told_above(state: &State, asked: &Asked) -> bool {
    let again = |q: &RoundQuestion| matches!((&q.asked, &q.answer), (Asked::Again(..), Answer::Said(said)) if !said.is_empty());
    matches!(asked, Asked::Use(_)) && state.round.questions.iter().any(again)
}

/// What is to be saved, in the words of a line.
fn words(state: &State, asked: &Asked, drafts: &[Draft]) -> String {
    if let Asked::Plan(_) = asked {
        let done = drafts.iter().any(|draft| matches!(draft.body, Body::Correct { .. }));
        return if done { "done" } else { "not done" }.to_string();
    }
    let said: Vec<_> = drafts.iter().filter_map(Draft::happened).collect();
    match (asked, said.first().map(|said| &said.event)) {
        (_, None) => "none".to_string(),
        (Asked::Use(_), Some(Event::Use { count, .. })) => {
            let milli = |said: &Happened| match &said.event {
                Event::Use { count, .. } => count.amount.milli(),
                _ => 0,
            };
            let all = Amount::from_milli(said.iter().map(milli).sum()).unwrap_or_default();
            counted_in(&Quantity::new(all, count.unit.clone()))
        }
        (_, Some(Event::Level { reading, step: None, .. })) => counted_in(reading),
        _ => {
            let known = state.book.as_ref().map(|book| &book.vocabulary);
            known.map_or_else(String::new, |known| logline::echo(&said, known, state.now))
        }
    }
}

/// "2 times", "75 %".
fn counted_in(count: &Quantity) -> String {
    let number = count.amount.to_string();
    format!("{number} {}", unit_word(&count.unit, &number))
}

/// What is typed so far, with what it counts.
fn typed(asked: &Asked, typed: &str) -> String {
    let Ok(number) = typed.parse::<u32>() else { return typed.to_string() };
    match asked {
        Asked::Reading { scale: Scale::Parts(parts), .. } => part(number, *parts),
        Asked::Reading { scale: Scale::Lamps(_), .. } => counted(number as usize, "lamp"),
        Asked::Reading { scale: Scale::Percent, .. } => format!("{number} %"),
        Asked::Reading { scale: Scale::Amount { unit, .. }, .. }
        | Asked::Use(UsualUse { usual: Quantity { unit, .. }, .. }) => {
            format!("{number} {}", unit_word(unit, &number.to_string()))
        }
        _ => typed.to_string(),
    }
}

/// What Enter makes of what is typed, or what would be understood.
fn taken(state: &State, typed: &str) -> String {
    let Some(known) = round_words(state) else { return String::new() };
    match state.round.enter(&AnswerReader { known: &known, now: state.now }) {
        Reply::Answer(Answer::Said(drafts)) => {
            let asked = state.round.asked();
            let words = asked.map_or_else(String::new, |asked| words(state, asked, &drafts));
            let is_plain = number(&state.round.typed).is_some();
            let taken = if is_plain { typed } else { &words };
            format!("Enter takes {taken}, Backspace erases")
        }
        Reply::Nothing(why) => format!("not understood so far: {why}"),
        _ => "Enter takes it, Backspace erases".to_string(),
    }
}

/// "3/4", "full".
fn part(number: u32, of: u32) -> String {
    match number {
        0 => "empty".to_string(),
        n if n == of => "full".to_string(),
        n => format!("{n}/{of}"),
    }
}

fn question(state: &State, asked: &Asked) -> String {
    match asked {
        Asked::Plan(plan) => plans::question(plan, &state.zone(), state.units()),
        Asked::Reading { stock, scale: Scale::Lamps(_) } => {
            format!("{stock}: how many lamps are lit?")
        }
        Asked::Reading { stock, scale: Scale::Amount { unit, .. } } => {
            format!("{stock}: how many {} now?", unit_word(unit, "2"))
        }
        Asked::Reading { stock, .. } => format!("{stock}: how full?"),
        Asked::Again(again, uses) => {
            let head = match again {
                Again::Yesterday => "The same as yesterday?",
                Again::Usual => "As usual today?",
            };
            let one = |of: &UsualUse| format!("{} {}", of.activity, counted_in(&of.usual));
            format!("{head} {}", listed(uses.iter().map(one)))
        }
        Asked::Use(UsualUse { activity, usual, since }) => {
            let usual = counted_in(usual);
            match since {
                None => format!("{activity} today? Usually {usual}:"),
                Some(since) => {
                    let since = since.format("%A %-d %B");
                    format!(
                        "{activity}: none written since {since}. How many since then? About {usual}:"
                    )
                }
            }
        }
    }
}

/// The same right after a no, which somebody may confirm.
const REFUSED: &str = "no, then: a number, n: none, Space: leave it out";

/// What each key would say here.
fn keys(asked: &Asked) -> String {
    let some = |what: &str| format!("{what}; Space: leave it out");
    match asked {
        Asked::Plan(_) => {
            "y: as planned, n: not done, o: otherwise, Space: leave it open".to_string()
        }
        Asked::Again(..) => "y: yes, n: ask one by one, Space: leave it out".to_string(),
        Asked::Use(UsualUse { since: Some(_), .. }) => {
            "a number, spread over these days; Enter: about as many, n: none, Space: leave it out"
                .to_string()
        }
        Asked::Use(_) => "a number; Enter: as usual, n: none, Space: leave it out".to_string(),
        Asked::Reading { scale, .. } => match scale {
            Scale::Parts(10) => some("tenths of full, 0 to 10; f: full"),
            Scale::Parts(parts) => {
                some(&commas((0..=*parts).map(|n| format!("{n}: {}", part(n, *parts)))))
            }
            Scale::Lamps(marks) => {
                let lamp = |(n, share): (usize, &f64)| format!("{}: {}", n + 1, percent(*share));
                some(&format!("0: {NONE_LIT}, {}", commas(marks.iter().enumerate().map(lamp))))
            }
            Scale::Percent => some("per cent; f: full"),
            Scale::Amount { .. } => some("a number"),
        },
    }
}
