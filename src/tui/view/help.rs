//! The list of keys, made from the table that dispatches them: the screen below first, then
//! what holds everywhere, then where files lie.

use super::horizon::{DEEP_DIP, DIP};
use super::level::UNREAD;
use super::{Paper, StyledLine, Text, joined, spread};
use crate::text::{left, width, wrap};
use crate::tui::{Context, State, keymap};
use ratatui::style::Style;

/// Draws it from the line that it is scrolled to.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    spread(paper, &|columns| sections(state, columns), joined);
}

fn sections(state: &State, columns: usize) -> Vec<Vec<StyledLine>> {
    let mut screens = state.screens.iter().rev();
    let below = screens.find(|s| !matches!(s, Context::Help | Context::Cautions)).copied();
    let context = state.or_horizon(below);
    let title = match context {
        Context::Setup => "a new van",
        Context::Horizon => "all stocks",
        Context::Stock | Context::Spent => "one stock",
        Context::Rig => "the van",
        Context::Round => "tonight's round",
        Context::Follow => "the planned stop",
        Context::Stretch => "stretch",
        Context::Stops => "stops",
        Context::LookBack => "looking back",
        _ => "journal",
    };
    let title = format!("On this screen ({title})");
    let mut text = Text::new(state.look, columns);
    if let (None, Some(setup)) = (below, &state.first_run) {
        text.head(&setup.asked().map(|(question, _)| question).unwrap_or_default());
        text.say([setup.about()]);
    }
    let sections = [
        (title.as_str(), context),
        ("Everywhere", Context::Everywhere),
        ("In the line", Context::Line),
        ("In this list", Context::Help),
    ];
    for (title, context) in sections {
        text.head(title);
        for binding in keymap::in_context(context) {
            let keys: Vec<String> = binding.keys.iter().map(|k| k.to_string()).collect();
            described(&mut text, &keys.join(" "), binding.help);
        }
    }
    signs(state, &mut text);
    text.head("Ctrl-C leaves from anywhere, Ctrl-Z pauses");
    if let Some(book) = &state.book {
        text.head("Where files lie");
        text.say(book.loaded.places.iter().map(|(what, path)| format!("{what}: {path}")));
    }
    text.sections
}

/// A sign or key on the left, what it means on the right, over as many lines as it takes.
fn described(text: &mut Text, head: &str, meaning: &str) {
    // A head too long for its column stands on a line of its own.
    let alone = width(head) > 13;
    if alone {
        text.row(head, Style::new());
    }
    for (i, line) in wrap(meaning, text.columns().saturating_sub(14).max(10)).iter().enumerate() {
        let head = left(if i == 0 && !alone { head } else { "" }, 13);
        text.row(&format!("{head} {line}"), Style::new());
    }
}

/// How to read the pictures.
fn signs(state: &State, text: &mut Text) {
    let g = state.look.glyphs();
    let band = format!("{}{}{}{}{}", g.band_from, g.band, g.band_mid, g.band, g.band_to);
    let rows = [
        (band, "safe until its start (9 in 10), likely at the mark, late at its end"),
        (g.beyond.to_string(), "goes on beyond the axis"),
        (g.dip.to_string(), DIP),
        (g.deep_dip.to_string(), DEEP_DIP),
        ("!!now !soon".to_string(), "at its limit; may be within a day (1 in 10)"),
        (UNREAD.to_string(), "not read in six weeks, so nobody knows"),
        (format!("{} {}", g.reading, g.service), "a reading with its step; a fill or an emptying"),
        (g.met.to_string(), "looking back: something was out (a service sign: nothing until then)"),
        (format!("{} {}", g.fan_mid, g.fan), "likely level; eight of ten futures"),
    ];
    text.head("Signs");
    for (sign, meaning) in rows {
        described(text, &sign, meaning);
    }
}
