//! The rig: every value of its file, what the selected one means, and what the changes would do.

use super::{List, Paper, Room, StyledLine, Text, beside, joined, moved, stacked};
use crate::setup::parts::{about, shown};
use crate::text::caution::BURNING;
use crate::text::{counted, safe};
use crate::tui::State;

/// Rows of what is told of the chosen value: the list stands still where they are enough.
const TEXT_ROWS: u16 = 6;
/// Rows of the list beside a longer text.
const LIST_ROWS: u16 = 4;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    let (rig, look) = (&state.rig, state.look);
    let changes = &rig.changes;
    let unsaved = match changes.len() {
        0 if rig.filter.is_empty() => format!("  {} values, / finds one", rig.fields.len()),
        0 => format!("  {} with {}, Esc shows all", rig.fields.len(), rig.filter),
        n => format!("  {} not saved: w as if always so, D from a day on", counted(n, "change")),
    };
    let style = if changes.is_empty() { look.strong() } else { look.bad() };
    paper.wrapped(&format!("The van{}", safe(&unsaved)), style, 3);
    let items: Vec<(String, String)> = rig
        .fields
        .iter()
        .map(|field| {
            let mark = if rig.is_other(&field.path) { "* " } else { "" };
            let value = shown(field, state.units());
            (safe(&field.path.replace('/', " ")), format!("{mark}{}", safe(&value)))
        })
        .collect();
    let block = paper.take_block(paper.left());
    let names = match Room::of(block.width) {
        Room::Narrow => 24,
        Room::Middle => 40,
        Room::Wide => 34,
    };
    let ([list, text], lines) = match Room::of(block.width) {
        Room::Wide => {
            let halves = beside(block, block.width / 2, 2);
            (halves, told(state, usize::from(halves[1].width)))
        }
        Room::Narrow | Room::Middle => {
            let lines = told(state, usize::from(block.width));
            let text =
                (lines.len() as u16).max(TEXT_ROWS).min(block.height.max(LIST_ROWS) - LIST_ROWS);
            (stacked(block, (block.height - text).min(items.len() as u16), 0), lines)
        }
    };
    List { items: &items, chosen: rig.row, names }.draw(list, paper);
    paper.on(text).show(&lines);
}

fn told(state: &State, columns: usize) -> Vec<StyledLine> {
    let (rig, look) = (&state.rig, state.look);
    let mut text = Text::new(state.look, columns);
    if rig.elsewhere.is_some() {
        let conflict = "rig.ron was changed elsewhere while you changed it here. Nothing is \
                        overwritten: Backspace takes the file as it is now, without your changes";
        text.put("", conflict, look.bad());
    }
    if let Some(field) = rig.fields.get(rig.row) {
        text.head(&field.path.replace('/', " "));
        let (meaning, source) = about(field);
        text.say([format!("{}, line {}", shown(field, state.units()), field.line)]);
        text.say(meaning);
        if field.path.starts_with("heating") || field.path.starts_with("hot_water") {
            text.put("", BURNING.line, look.strong());
        }
        if let Some(source) = source {
            text.put("", &format!("Starting value: {source}"), look.faint());
        }
    }
    match (&rig.before, &rig.after) {
        (Some(before), Some(after)) if rig.is_changed() => {
            text.head("With these changes");
            moved::put(&mut text, before, after, &state.zone(), look.strong());
        }
        _ if rig.asked.is_some() => text.head("Working out what the changes do"),
        _ => {}
    }
    joined(text.sections)
}
