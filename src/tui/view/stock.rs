//! One stock: level and limit, when it meets it in words, past and future as a picture, what
//! was learned beside what the rig file says, and the caution that belongs here.

use super::paper::Paper;
use super::{Room, header};
use crate::domain::stock::Direction;
use crate::domain::time::after_hours;
use crate::forecast::answer::{Evening, Learned, StockForecast};
use crate::text::answer::Urgency;
use crate::text::caution::for_stock;
use crate::text::fit::longest_fitting;
use crate::text::quantity::{amount, estimate, level};
use crate::text::share::futures;
use crate::text::when::{Form, date_time, half_hour_before, nearest_half_hour};
use crate::tui::state::State;
use crate::tui::widgets::fan::Fan;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// Draws it.
pub fn draw(state: &State, paper: &mut Paper) {
    header::draw(state, paper);
    let stocks = state.stocks();
    let (Some(stock), Some(evening)) = (stocks.get(state.selected()), &state.evening) else {
        paper.line(&[("Working out the first forecast", Style::new())]);
        return;
    };
    title(state, stock, paper);
    for line in passages(state, evening, stock, paper.columns()) {
        paper.wrapped(&line, Style::new(), 2);
    }
    let below = below_chart(state, evening, stock, paper.columns());
    let chart = paper.left().saturating_sub(below.len() as u16).min(16);
    if chart >= 6 {
        let area = paper.take_block(chart);
        let index = evening.forecast.stocks.iter().position(|s| s.name == stock.name);
        let past = index.and_then(|i| evening.history.get(i)).map_or(&[][..], |h| h);
        let fan = Fan {
            stock,
            past,
            at: evening.forecast.at,
            zone: state.zone(),
            units: state.units(),
            look: state.look,
        };
        fan.render(area, paper.buf);
    }
    for (line, style) in below {
        paper.line(&[(&line, style)]);
    }
}

fn title(state: &State, stock: &StockForecast, paper: &mut Paper) {
    let urgency = Urgency::of(stock);
    let limit = amount(stock.limit, stock.capacity, &stock.unit, state.units());
    let word = match stock.runs {
        Direction::Down => "reserve from",
        Direction::Up => "full from",
    };
    let now = level(stock, state.units(), true);
    let name = format!("{}  ", stock.name);
    let wordings = [format!("{now}   {word} {limit}   "), format!("{now}  "), String::new()];
    let room = paper.columns().saturating_sub(stock.name.len() + 2 + urgency.word().len());
    let text = longest_fitting(&wordings, room);
    paper.line(&[
        (&name, state.look.strong()),
        (&text, Style::new()),
        (urgency.word(), state.look.urgency(urgency)),
    ]);
}

/// When it meets its limit, in words: P10 rounded down to the half hour, the others to the
/// nearest.
fn passages(
    state: &State,
    evening: &Evening,
    stock: &StockForecast,
    columns: usize,
) -> Vec<String> {
    let days = evening.forecast.horizon_hours / 24;
    let at = |h: Option<f64>| h.and_then(|h| after_hours(evening.forecast.at, h));
    let here = |m| state.zone().here(m);
    let form = if columns < 60 { Form::Short } else { Form::Full };
    let safe = at(stock.hours.p10).map(|m| date_time(half_hour_before(here(m)), form));
    let near = |h| at(h).map(|m| date_time(nearest_half_hour(here(m)), form));
    let later = format!("later than {days} days from now");
    let mut lines = match (Urgency::of(stock), safe) {
        (Urgency::Out, _) => vec!["At its limit now".to_string()],
        (_, None) => vec![format!("Lasts {days} days in nine of ten futures")],
        (_, Some(safe)) => {
            let likely = near(stock.hours.p50).unwrap_or_else(|| later.clone());
            let late = near(stock.hours.p90).unwrap_or(later);
            vec![
                format!("Safe until {safe} (nine in ten)"),
                format!("Likely {likely}"),
                format!("At the latest {late} (one in ten)"),
            ]
        }
    };
    let pace = amount(stock.per_day.abs(), stock.capacity / 10.0, &stock.unit, state.units());
    let way = if stock.per_day < 0.0 { "Falls" } else { "Rises" };
    lines.push(format!("{way} by {pace} a day; first to run out in {}", futures(stock.binding)));
    lines
}

/// What stands below the picture.
fn below_chart(
    state: &State,
    evening: &Evening,
    stock: &StockForecast,
    columns: usize,
) -> Vec<(String, Style)> {
    let mut lines = Vec::new();
    let about = |l: &&Learned| l.stocks.contains(&stock.name);
    let learned: Vec<&Learned> = evening.learned.iter().filter(about).collect();
    if !learned.is_empty() {
        lines.push(("Learned from the journal".to_string(), state.look.strong()));
    }
    for learned in learned {
        lines.extend(learned_lines(learned, columns).into_iter().map(|l| (l, Style::new())));
    }
    let notices = evening.notices.iter().filter(|n| n.stock.as_ref() == Some(&stock.name));
    for notice in notices {
        lines.push((format!("Note: {}", notice.text), Style::new()));
    }
    let rig = state.book.as_ref().map(|b| &b.loaded.rig);
    let parts = rig.map(|r| r.parts_on(state.zone().date(state.now)));
    if let Some(caution) = parts.and_then(|p| for_stock(&p, &stock.name)) {
        lines.push((caution.line.to_string(), state.look.strong()));
    }
    lines
}

fn learned_lines(learned: &Learned, columns: usize) -> Vec<String> {
    let value = estimate(learned.learned, &learned.unit);
    let reference = estimate(learned.reference, "");
    let basis = format!("{:.0} logged, {} readings", learned.occurrences, learned.readings);
    match Room::of(columns as u16) {
        Room::Narrow => {
            vec![format!(" {}: {value}", learned.what), format!("   rig file {reference}")]
        }
        _ => vec![format!(" {}: {value}   (rig file {reference}; {basis})", learned.what)],
    }
}
