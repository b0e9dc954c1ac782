//! The questions of a first run: the one that is asked, what can be chosen, and all the answers.

use super::list::List;
use super::paper::Paper;
use super::room::Seen;
use crate::setup::Setup;
use crate::text::fit::{left, width};
use crate::tui::state::State;
use ratatui::style::Style;

/// Draws it.
pub fn draw(state: &State, setup: &Setup, seen: &mut Seen, paper: &mut Paper) {
    let look = state.look;
    paper.line(&[("A new van", look.strong()), ("  all can be changed later", look.faint())]);
    let asked = setup.asked().map(|(question, _)| question);
    let question = asked.unwrap_or("That was all. Enter writes rig.ron".to_string());
    paper.wrapped(&question, look.strong(), 3);
    paper.wrapped(setup.about(), look.faint(), 3);
    let choices = setup.choices();
    let names = choices.iter().map(|(name, _)| width(name)).max().unwrap_or(0);
    for (name, about) in choices {
        let about = format!("  {about}");
        paper.line(&[
            (" ", Style::new()),
            (&left(name, names), look.strong()),
            (&about, look.faint()),
        ]);
    }
    if paper.left() > 14 {
        paper.rule();
    }
    let all = setup.all();
    let items: Vec<(String, String)> =
        all.into_iter().map(|(name, value)| (name.to_string(), value)).collect();
    let area = paper.take_block(paper.left());
    let chosen = if setup.asked().is_some() { setup.place() } else { items.len() };
    List { look, items: &items, chosen, names: 10 }.draw(area, seen, paper);
}
