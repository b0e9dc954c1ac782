//! The stop that is planned next, as a list to tick, and what that changes for the rest of the trip.

use super::{List, Paper, StyledLine, Text, beside, header, joined, moved, stacked};
use crate::domain::Standing;
use crate::plan::stops::saved::stops_ahead;
use crate::text::plans::thing;
use crate::text::{Form, Urgency, clock, date_time, led, listed};
use crate::tui::follow::Became;
use crate::tui::{JournalView, State};
use ratatui::style::Style;

/// From this width on, what follows stands beside the list.
const SIDE_BY_SIDE: u16 = 100;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    header::draw(paper);
    let Some(book) = &state.book else { return };
    let (look, follow) = (state.look, &state.follow);
    let became = follow.became(book);
    let left = follow.left(book);
    let open =
        if left.as_ref().is_some_and(|plan| plan.is_open) { ", its time has passed" } else { "" };
    let title = match &left {
        Some(plan) => {
            let at = date_time(state.zone().here(plan.at), Form::Short);
            let place = plan.place.as_deref().unwrap_or("what was planned");
            format!("{place}, {at}{open}")
        }
        None => "Everything of this stop is done or left out".to_string(),
    };
    paper.wrapped(&title, look.strong(), 2);
    let items: Vec<(String, String)> =
        became.iter().map(|(_, became)| item(state, became.as_ref())).collect();
    let block = paper.take_block(paper.left());
    let rows = (items.len() as u16).min(block.height.saturating_sub(6).max(3));
    let [list, text] = match block.width >= SIDE_BY_SIDE {
        true => beside(block, block.width / 2 - 2, 2),
        false => stacked(block, rows, 1),
    };
    let names = items.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
    List { items: &items, chosen: follow.row, names }.draw(list, paper);
    let lines = rest(state, book, usize::from(text.width));
    paper.on(text).show(&lines);
}

/// "[x] fill fresh" and when it was done.
fn item(state: &State, became: Option<&Became>) -> (String, String) {
    let what = |entry: &Standing| thing(&entry.event, state.units());
    let left_out = "left out".to_string();
    let (mark, what, told) = match became {
        Some(Became::Left(entry)) => (" ", what(entry), String::new()),
        Some(Became::Done(entry)) => {
            let at = clock(state.zone().here(entry.at));
            (state.look.glyphs().tick, what(entry), format!("done {at}"))
        }
        Some(Became::Skipped(entry)) => ("-", what(entry), left_out),
        None => ("-", String::new(), left_out),
    };
    (format!("[{mark}] {what}"), told)
}

/// What the answers moved, and whether the saved stops after this one are still in time.
fn rest(state: &State, book: &JournalView, columns: usize) -> Vec<StyledLine> {
    let mut text = Text::new(state.look, columns);
    let zone = state.zone();
    match (&state.follow.before, &state.evening.answer) {
        (Some(before), Some(after)) if !state.evening.working => {
            moved::put(&mut text, before, after, &zone, state.look.strong());
        }
        _ => text.say(["Working out what it moves"]),
    }
    let by = state.evening.answer.as_ref().map(|evening| evening.forecast.next.by);
    let later = stops_ahead(&book.loaded.rig, &book.plans).into_iter();
    let own = state.follow.left(book).map(|plan| plan.at);
    let later: Vec<_> = later.filter(|stop| Some(stop.at) != own).collect();
    if !later.is_empty() {
        text.head("The rest of the trip");
    }
    for (n, stop) in later.iter().enumerate() {
        let at = date_time(zone.here(stop.at), Form::Short);
        let what = led(", for ", &listed(&stop.stocks));
        // Dates count no saved stop as made: they judge the next one alone.
        let (word, style) = match by {
            Some(Some(by)) if n == 0 && own.is_none() && stop.at > by => (
                ": later than the safe date; p looks for another",
                state.look.urgency(Urgency::Soon),
            ),
            Some(_) if n == 0 && own.is_none() => (": in time", Style::new()),
            _ => ("", Style::new()),
        };
        text.put(" ", &format!("{at} {}{what}{word}", stop.place), style);
    }
    joined(text.sections)
}
