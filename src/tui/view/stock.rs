//! One stock: level and limit, when it meets it in words, past and future as a picture, what
//! was learned beside what the rig file says, and the caution that belongs here.

use super::{Paper, Room, StyledLine, Text, header, level};
use crate::domain::Direction;
use crate::forecast::{Evening, LearnedValue, StockForecast};
use crate::text::answer::{may_be_met, met, met_in_full, sooner, stands_in};
use crate::text::caution::for_stock;
use crate::text::notice::said;
use crate::text::quantity::{self, amount};
use crate::text::when::SHORTLY;
use crate::text::{
    Dates, Form, futures, longest_fitting, reasons, safe, still_ahead, usage, width, wrap,
};
use crate::tui::State;
use crate::tui::widgets::fan::Fan;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// Rows that the picture takes at least; fewer show nothing.
const LEAST_PICTURE: u16 = 6;
/// And the text below it, of which the rest is a page down.
const LEAST_TEXT: u16 = 2;

/// Draws it: the numbers, the picture, and below it text; they scroll together.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    header::draw(paper);
    let (Some(stock), Some(evening)) = (state.chosen_stock(), &state.evening.answer) else {
        return header::first_forecast(paper);
    };
    title(state, stock, paper);
    let facts = facts(state, evening, stock, paper.columns());
    let below = told(state, evening, stock, paper.columns());
    // The picture leaves the text its rows where there are enough, and some in any case.
    let left = paper.left().saturating_sub(facts.len() as u16);
    let text =
        (below.len() as u16).min(left.saturating_sub(LEAST_PICTURE).max(LEAST_TEXT).min(left / 2));
    let chart = Some((left - text).min(24)).filter(|rows| *rows >= LEAST_PICTURE).unwrap_or(0);
    let draw = |paper: &mut Paper| {
        facts.iter().for_each(|line| paper.line(&[(line, Style::new())]));
        let area = paper.take_block(chart);
        picture(state, evening, stock, area, paper);
    };
    paper.pictured(facts.len() as u16 + chart, draw, &below);
}

/// What it holds, until when it lasts, and how fast it goes.
pub fn numbers(state: &State, evening: &Evening, stock: &StockForecast, paper: &mut Paper) {
    title(state, stock, paper);
    for line in facts(state, evening, stock, paper.columns()) {
        paper.line(&[(&line, Style::new())]);
    }
}

/// Until when it lasts, and how fast it goes, in lines of so many columns.
fn facts(state: &State, evening: &Evening, stock: &StockForecast, columns: usize) -> Vec<String> {
    let pace = wrap(&state.look.plain(&safe(&pace(state, stock))), columns);
    passages(state, evening, stock, columns).into_iter().chain(pace).collect()
}

/// Its past and its future.
pub fn picture(
    state: &State,
    evening: &Evening,
    stock: &StockForecast,
    area: Rect,
    paper: &mut Paper,
) {
    let fan = Fan {
        stock,
        past: evening.readings(&stock.name),
        at: evening.forecast.at,
        zone: state.zone(),
        units: state.units(),
        look: state.look,
    };
    fan.render(area, paper.buf);
}

fn title(state: &State, stock: &StockForecast, paper: &mut Paper) {
    let (urgency, word) = level::urgency(state, stock);
    let room = paper.columns().saturating_sub(width(&stock.name) + 9);
    let now = longest_fitting(&level::wordings(state, stock), room);
    paper.line(&[
        (&stock.name, state.look.strong()),
        ("  ", Style::new()),
        (&now, Style::new()),
        ("  ", Style::new()),
        (word, state.look.urgency(urgency)),
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
    let form = if columns < 60 { Form::Short } else { Form::Full };
    let dates = Dates::of(&stock.hours, evening.forecast.at, &state.zone());
    let [_, likely, late] = dates.said(evening.forecast.at, days, form);
    let lasts = [
        format!("Late        {late} (1 in 10 last longer)"),
        format!("1 in 10 lasts beyond {}", late.trim_start_matches("after ")),
    ];
    let mut lines = match dates.safe {
        _ if stock.hours.is_reached() => vec![format!("Now {}", met_in_full(stock, state.units()))],
        None => vec![format!("Lasts {days} days and longer (9 in 10)")],
        Some(safe) => vec![
            match still_ahead(safe, state.now, form) {
                at if at == SHORTLY => longest_fitting(
                    &[
                        format!("Not safe    {} (1 in 10)", may_be_met(stock)),
                        format!("Not safe    may be {} soon (1 in 10)", met(stock)),
                    ],
                    columns,
                ),
                at => format!("Safe until  {at} (9 in 10)"),
            },
            format!("Likely      {likely}"),
            longest_fitting(&lasts, columns),
        ],
    };
    lines.extend(stands_in(stock).map(|other| format!("No stop for it: {other}")));
    let sooner = sooner(&evening.forecast, stock, &state.zone());
    lines.extend(sooner.into_iter().flat_map(|line| wrap(&line, columns)));
    lines
}

/// "Falls by 9.7 L a day, 8 L kept in reserve; runs out first in 2 of 10 futures"
fn pace(state: &State, stock: &StockForecast) -> String {
    let amount = |value, scale| amount(value, scale, &stock.unit, state.units());
    let (way, per_day) = match stock.per_day {
        down if down < 0.0 => ("Will fall", -down),
        up => ("Will rise", up),
    };
    let at = amount(stock.limit, stock.capacity);
    let (limit, first) = match stock.runs {
        Direction::Down if stock.limit > 0.0 => (format!(", {at} kept in reserve"), "runs out"),
        Direction::Down => (String::new(), "runs out"),
        Direction::Up => (format!(", full at {at}"), "fills"),
    };
    let first = match stock.binding {
        share if share > 0.0 => format!("{first} first in {}", futures(share)),
        _ => "something else always comes first".to_string(),
    };
    let pace = amount(per_day, stock.capacity / 10.0);
    format!("{way} by {pace} a day{limit}; {first}")
}

/// What used it, notices about it, the caution that belongs here, and what was learned.
fn told(
    state: &State,
    evening: &Evening,
    stock: &StockForecast,
    columns: usize,
) -> Vec<StyledLine> {
    let look = state.look;
    let mut text = Text::new(look, columns);
    let spent = state.spent.answer.as_ref();
    let own = spent.and_then(|spent| spent.stock(&stock.name));
    let by_cause = own.and_then(|own| usage::by_cause(own, &state.zone()));
    text.say(by_cause.map(|shares| format!("{shares} (i: more)")));
    let last = evening.readings(&stock.name).last();
    text.say(last.and_then(|last| quantity::likelier(stock, last, state.units())));
    let about = evening.notices.iter().filter(|n| n.stock.as_ref() == Some(&stock.name));
    text.say(about.map(|notice| format!("Note: {}", said(notice, state.units()))));
    let rig = state.book.as_ref().map(|b| &b.loaded.rig);
    let parts = rig.map(|r| r.parts_on(state.zone().date(state.now)));
    if let Some(caution) = parts.and_then(|p| for_stock(&p, &stock.name)) {
        text.put("", caution.line, look.strong());
    }
    let mut about = evening.learned.iter().filter(|l| l.stocks.contains(&stock.name)).peekable();
    if about.peek().is_some() {
        text.put("", "Learned from the journal", look.strong());
    }
    for line in about.flat_map(|learned| learned_lines(state, learned, columns)) {
        text.row(&line, Style::new());
    }
    text.lines()
}

fn learned_lines(state: &State, learned: &LearnedValue, columns: usize) -> Vec<String> {
    let plain = |text: String| state.look.plain(&safe(&text));
    let units = state.units();
    let [value, reference] = [learned.learned, learned.reference]
        .map(|known| plain(quantity::learned(known, &learned.unit, units)));
    let what = plain(reasons::lesson(&learned.what));
    if Room::of(columns as u16) == Room::Narrow {
        let one = format!(" {what}: {value}");
        let rig_file = format!("   rig file {reference}");
        return match width(&one) <= columns {
            true => vec![one, rig_file],
            false => vec![format!(" {what}:"), format!("   {value}"), rig_file],
        };
    }
    let basis = reasons::evidence(learned);
    let wordings = [
        format!(" {what}: {value}   (rig file {reference}; {basis})"),
        format!(" {what}: {value} (rig file {reference})"),
        format!(" {what}: {value}"),
    ];
    vec![longest_fitting(&wordings, columns)]
}
