//! The questions of a first run: the one that is asked, what can be chosen, and all the answers.

use super::{List, Paper};
use crate::setup::Setup;
use crate::text::{left, width, wrap};
use ratatui::style::Style;

/// Draws it.
pub fn draw(setup: &Setup, paper: &mut Paper) {
    let look = paper.look;
    paper.line(&[("A new van", look.strong()), ("  all can be changed later", look.faint())]);
    let asked = setup.asked().map(|(question, _)| question);
    let question = asked.unwrap_or("That was all. Enter writes rig.ron".to_string());
    paper.wrapped(&question, look.strong(), 3);
    paper.wrapped(setup.about(), look.faint(), 3);
    let choices = setup.choices();
    let names = choices.iter().map(|(name, _)| width(name)).max().unwrap_or(0);
    // On a phone a remark goes on below, under where it begins.
    let indent = names + 3;
    for (name, about) in choices {
        let rows = wrap(about, paper.columns().saturating_sub(indent));
        for (place, row) in rows.iter().enumerate() {
            let name = left(if place == 0 { name } else { "" }, names);
            let pieces = [(" ", Style::new()), (&*name, look.strong()), ("  ", look.faint())];
            paper.line(&[&pieces[..], &[(row, look.faint())]].concat());
        }
    }
    if paper.left() > 14 {
        paper.rule();
    }
    let all = setup.all();
    let items: Vec<(String, String)> =
        all.into_iter().map(|(name, value)| (name.to_string(), value)).collect();
    let area = paper.take_block(paper.left());
    let chosen = if setup.asked().is_some() { setup.place() } else { items.len() };
    List { items: &items, chosen, names: 10 }.draw(area, paper);
}
