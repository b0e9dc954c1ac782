//! The first screen: a sentence, then days to the right and one row per stock, most urgent
//! first, so that one glance tells which band comes first and which crowd behind it.

use super::{Paper, Room, StyledLine, Text, beside, header, joined, level, round, stacked, stock};
use crate::forecast::{Evening, StockForecast};
use crate::plan::stops::saved;
use crate::text::answer::{also_due, answer, look_in_words, stands_in, together, where_to};
use crate::text::quantity::odd_season;
use crate::text::{
    Dates, Form, Urgency, date_time, led, left, listed, longest_fitting, notice, plans, right,
    width,
};
use crate::tui::State;
use crate::tui::widgets::axis::Axis;
use crate::tui::widgets::band::Band;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::widgets::Widget;

/// Draws it.
pub fn draw(paper: &mut Paper) {
    let state = paper.state;
    header::draw(paper);
    let Some(evening) = state.evening.answer.clone() else {
        question(paper);
        return header::first_forecast(paper);
    };
    said(&evening, paper);
    question(paper);
    below(&evening, paper);
}

/// Before anything was read: what to do first, and what the rest is worth until then.
const FIRST: [&str; 2] = [
    "No level is known yet: press d, it asks what each gauge shows",
    "Press d: say what is in each tank",
];
const GUESSED: [&str; 2] =
    ["Until then every level and date below is a guess", "Until then all below is a guess"];

/// The answer in two sentences.
fn said(evening: &Evening, paper: &mut Paper) {
    let state = paper.state;
    let columns = paper.columns().saturating_sub(state.look.own.hours.grows_by());
    if evening.history.iter().all(Vec::is_empty) && !evening.forecast.stocks.is_empty() {
        let [first, then] =
            [FIRST, GUESSED].map(|said| longest_fitting(&said.map(String::from), columns));
        paper.line(&[(&first, state.look.strong())]);
        paper.line(&[(&then, Style::new())]);
        return;
    }
    let words = answer(&evening.forecast, (&state.zone(), state.units()), state.now, columns);
    paper.line(&[(&words.first, state.look.urgency(words.urgency).patch(state.look.strong()))]);
    paper.line(&[(&words.second, Style::new())]);
}

/// Widths of the columns that these rows have here, and their axis.
fn laid(evening: &Evening, paper: &Paper) -> (Columns, Axis) {
    let names = evening.forecast.stocks.iter().map(|s| width(&s.name)).max();
    let columns = Columns::within(paper.columns(), names.unwrap_or(0));
    let axis = Axis::for_forecast(&evening.forecast, paper.state.zone(), columns.axis);
    (columns, axis)
}

/// A row for each stock under their axis.
fn picture(evening: &Evening, paper: &mut Paper) {
    let (columns, axis) = laid(evening, paper);
    if columns.axis > 0 {
        axis_line(&axis, &columns, paper);
    }
    rows(&axis, &columns, paper);
}

/// The answer and the rows once more, under another screen that leaves the room for it.
pub(super) fn again(paper: &mut Paper) {
    let state = paper.state;
    let Some(evening) = &state.evening.answer else { return };
    if usize::from(paper.left()) < evening.forecast.stocks.len() + 5 {
        return;
    }
    paper.take();
    paper.rule();
    said(evening, paper);
    // Its rows are to be read, not chosen.
    let seen = paper.seen.rows.len();
    picture(evening, paper);
    paper.seen.rows.truncate(seen);
}

/// From this width on, what else there is to know stands beside the picture.
const SIDE_BY_SIDE: u16 = 110;
/// Rows that the selected stock takes at least where it has room on this screen.
const STOCK_ROWS: u16 = 13;
/// A lower window has no row for a rule.
const RULED: u16 = 12;

/// The rows of the stocks; what else to know; and where there is room the selected stock.
fn below(evening: &Evening, paper: &mut Paper) {
    let (columns, axis) = laid(evening, paper);
    let told = |columns: u16| joined(notes(paper.state, evening, &axis, usize::from(columns)));
    let stocks = evening.forecast.stocks.len() as u16 + u16::from(columns.axis > 0);
    let free = paper.left().saturating_sub(stocks + 2);
    let width = paper.area.width;
    let wide = width >= SIDE_BY_SIDE && free >= STOCK_ROWS;
    let text_width = if wide { width * 2 / 5 } else { width };
    let lines = told(text_width);
    let needed = lines.len() as u16;
    if !wide && free <= needed + STOCK_ROWS {
        // Where not all of the text is in sight it has the rows that only part things.
        let spare = (paper.left().saturating_sub(stocks)).saturating_sub(needed);
        let (rule, blank) = (spare > 0 && paper.left() > RULED, spare > 1);
        let rows = stocks + u16::from(rule) + u16::from(blank);
        let draw = |paper: &mut Paper| {
            if rule {
                paper.rule();
            }
            picture(evening, paper);
        };
        return paper.pictured(rows, draw, &lines);
    }
    paper.rule();
    picture(evening, paper);
    paper.take();
    let block = paper.take_block(paper.left());
    let [stock, text] = match wide {
        true => beside(block, width - text_width - 2, 2),
        false => {
            let [text, stock] = stacked(block, needed, 1);
            [stock, text]
        }
    };
    if let Some(chosen) = paper.state.chosen_stock() {
        let (state, mut paper) = (paper.state, paper.on(stock));
        stock::numbers(state, evening, chosen, &mut paper);
        let picture = paper.take_block(paper.left().min(24));
        stock::picture(state, evening, chosen, picture, &mut paper);
    }
    paper.on(text).show(&lines);
}

/// Whether the oldest open plan was done, with the keys that say so, and what hangs on it.
fn question(paper: &mut Paper) {
    let state = paper.state;
    let open = state.open_plans();
    let Some(plan) = open.first() else { return };
    let zone = state.zone();
    let strong = state.look.urgency(Urgency::Soon).patch(state.look.strong());
    let more = match open.len() {
        1 => String::new(),
        n => format!(" (1 of {n})"),
    };
    let most = if paper.left() > 16 { 3 } else { 2 };
    paper.wrapped(&format!("{}{more}", plans::question(plan, &zone, state.units())), strong, most);
    let keys = [
        "y as planned   c done otherwise   n not done".to_string(),
        "y yes  c otherwise  n not done".to_string(),
    ];
    paper.line(&[(&longest_fitting(&keys, paper.columns()), state.look.strong())]);
    match state.evening.answer.as_ref().and_then(|evening| plans::hangs_on(evening, &zone)) {
        Some(text) if paper.left() > 12 => paper.wrapped(&text, Style::new(), most),
        Some(_) if paper.left() > 2 => paper.line(&[(plans::AS_NOT_DONE, Style::new())]),
        _ => {}
    }
}

/// What the sign of a night near the limit means.
pub(in crate::tui) const DIP: &str = "may be nearly empty that night (1 chance in 10 or more)";
/// What its deeper form means.
pub(in crate::tui) const DEEP_DIP: &str = "may be empty by that night (1 chance in 10 or more)";

/// With fewer columns than this an axis shows nothing.
const NARROWEST_AXIS: usize = 6;
/// A name, with the blank behind it, is not cut shorter than this.
const SHORTEST_NAME: usize = 6;

/// Widths of the columns, blanks between them included.
struct Columns {
    room: Room,
    name: usize,
    state: usize,
    level: usize,
    by: usize,
    axis: u16,
}

impl Columns {
    /// Names take what the longest one needs, up to a share of the room. Where that is too much,
    /// the axis goes first, then the ends of names, then the level as a whole: no number is cut.
    fn within(columns: usize, names: usize) -> Columns {
        let room = Room::of(columns as u16);
        let (most, level, by) = match room {
            Room::Narrow => (9, 6, 0),
            Room::Middle => (13, 18, 0),
            Room::Wide => (20, 24, 20),
        };
        let (mut name, state, mut level) = (names.clamp(4, most) + 1, 6, level);
        let axis = columns.saturating_sub(1 + name + state + level + by);
        if axis < NARROWEST_AXIS {
            name = name.min(columns.saturating_sub(1 + state + level - 1)).max(SHORTEST_NAME);
            if 1 + name + state + level - 1 > columns {
                level = 0;
            }
            return Columns { room, name, state, level, by, axis: 0 };
        }
        Columns { room, name, state, level, by, axis: axis as u16 }
    }

    fn before_axis(&self) -> u16 {
        (1 + self.name + self.state + self.level + self.by) as u16
    }
}

fn axis_line(axis: &Axis, columns: &Columns, paper: &mut Paper) {
    let faint = paper.look.faint();
    let Some(row) = paper.take() else { return };
    let heads = match columns.room {
        Room::Wide => format!(
            "{}{}{}",
            " ".repeat(1 + columns.name + columns.state),
            left("level now", columns.level),
            left("safe until", columns.by)
        ),
        _ => " ".repeat(1 + columns.name + columns.state) + "now",
    };
    let before = Rect { width: columns.before_axis().min(row.width), ..row };
    paper.pieces(before, &[(&heads, faint)]);
    for (column, label) in axis.labels() {
        let x = row.x + columns.before_axis() + column;
        let cell = Rect { x, width: label.len() as u16, ..row };
        paper.pieces(cell, &[(&label, faint)]);
    }
}

/// One row per stock; where they do not all fit, the selected one stays in sight, and the last
/// row says how many are not.
fn rows(axis: &Axis, columns: &Columns, paper: &mut Paper) {
    let state = paper.state;
    let stocks = state.stocks();
    let fit = usize::from(paper.left());
    let selected = state.selected();
    let fit = if stocks.len() > fit && fit > 1 { fit - 1 } else { fit };
    let first = (selected + 1).saturating_sub(fit);
    for (place, stock) in stocks.iter().enumerate().skip(first).take(fit) {
        let Some(row) = paper.take() else { return };
        let (marker, style) = paper.choice(row, place, selected);
        let head = [(marker, state.look.strong()), (&*left(&stock.name, columns.name - 1), style)];
        words(stock, columns, &head, row, paper);
        let x = row.x + columns.before_axis();
        let width = row.width.saturating_sub(columns.before_axis());
        Band { stock, axis, look: state.look }.render(Rect { x, width, ..row }, paper.buf);
    }
    let below = stocks.len().saturating_sub(first + fit);
    let hidden = match (first, below) {
        (0, 0) => return,
        (0, below) => vec![format!("{below} more below")],
        (above, 0) => vec![format!("{above} more above")],
        (above, below) => vec![
            format!("{above} more above, {below} more below"),
            format!("{above} above, {below} below"),
        ],
    };
    let hidden = longest_fitting(&hidden, paper.columns().saturating_sub(1));
    paper.line(&[(" ", Style::new()), (&hidden, state.look.faint())]);
}

/// The words of a stock's row, behind its marker and name.
fn words(
    stock: &StockForecast,
    columns: &Columns,
    head: &[(&str, Style); 2],
    row: Rect,
    paper: &mut Paper,
) {
    let state = paper.state;
    let (urgency, word) = level::urgency(state, stock);
    let gap = if columns.axis > 0 { " " } else { "" };
    let room = columns.level.saturating_sub(1);
    let level = match columns.room {
        Room::Narrow if columns.level == 0 => String::new(),
        Room::Narrow => right(&level::share(state, stock), room) + gap,
        _ => left(&longest_fitting(&level::wordings(state, stock), room), room) + " ",
    };
    let (sign, by) = (left(word, columns.state), left(&safe_until(state, stock), columns.by));
    let [marker, name] = *head;
    let (plain, urgent) = (Style::new(), state.look.urgency(urgency));
    paper
        .pieces(row, &[marker, name, (" ", plain), (&sign, urgent), (&level, plain), (&by, plain)]);
}

/// When the stock is safe until, in the column that wide screens have.
fn safe_until(state: &State, stock: &StockForecast) -> String {
    let Some(evening) = &state.evening.answer else { return String::new() };
    if let Some(other) = stands_in(stock) {
        return other;
    }
    let safe = Dates::of(&stock.hours, evening.forecast.at, &state.zone()).safe;
    match safe {
        Some(at) if Urgency::of(stock) == Urgency::Out || at <= state.now => "now".to_string(),
        Some(at) => date_time(at, Form::Short),
        None => format!("over {} days", evening.forecast.horizon_hours / 24),
    }
}

/// What else to know, most useful first.
fn notes(state: &State, evening: &Evening, axis: &Axis, columns: usize) -> Vec<Vec<StyledLine>> {
    let mut text = Text::new(state.look, columns);
    let (plain, bad) = (Style::new(), state.look.bad());
    let book = state.book.as_ref();
    let mut put = |line: Option<String>, style| {
        line.into_iter().for_each(|line| text.put("", &line, style));
    };
    let read_only = book.and_then(|book| book.loaded.read_only.as_ref());
    put(read_only.map(|why| format!("READ ONLY, nothing can be saved: {why}")), bad);
    let due = also_due(&evening.forecast);
    let due = listed(due.iter().map(|i| &evening.forecast.stocks[*i].name));
    put(Some(led("At that stop also: ", &due)).filter(|line| !line.is_empty()), plain);
    // What can be done tonight stays in sight on a phone.
    put(evening.worth_a_look().map(look_in_words), plain);
    put(round::in_short(state), plain);
    put(book.and_then(|book| where_to(&book.loaded.rig, evening)), plain);
    put(saved_stop(state, evening), plain);
    put(together(&evening.forecast).map(str::to_string), plain);
    if let [first, rest @ ..] = book.map_or(&[][..], |b| &b.loaded.findings) {
        let more = match rest.len() {
            0 => String::new(),
            n => format!(" (and {n} more: waystock check)"),
        };
        put(Some(format!("Folder: {first}{more}")), bad);
    }
    let odd = evening.odd_season.as_ref().zip(book.map(|book| &book.loaded.rig));
    let odd = odd.map(|(odd, rig)| odd_season(odd, rig.home.latitude, rig.show));
    let known = evening.notices.iter().map(|known| notice::said(known, state.units()));
    odd.into_iter().chain(known).for_each(|note| put(Some(format!("Note: {note}")), plain));
    dips_in_words(state, evening, axis).into_iter().for_each(|line| put(Some(line), plain));
    text.sections
}

/// The first stop ahead that a schedule saved, and how many follow.
fn saved_stop(state: &State, evening: &Evening) -> Option<String> {
    let rig = &state.book.as_ref()?.loaded.rig;
    let drives = saved::drives(rig, &evening.plans, &evening.forecast);
    let more = match drives.len().saturating_sub(1) {
        0 => String::new(),
        n => format!(" ({n} more: p)"),
    };
    let first = plans::saved_stop(drives.first()?, &evening.forecast, &state.zone());
    Some(format!("{first}{more}"))
}

/// What the signs of nights near the limit mean, for those that are in sight.
fn dips_in_words(state: &State, evening: &Evening, axis: &Axis) -> Vec<String> {
    let glyphs = state.look.glyphs();
    let mut lines = Vec::new();
    for stock in &evening.forecast.stocks {
        let signs = Band { stock, axis, look: state.look }.dips_in_sight();
        for (deep, sign, meaning) in [(false, glyphs.dip, DIP), (true, glyphs.deep_dip, DEEP_DIP)] {
            if signs.iter().any(|(_, d)| *d == deep) {
                lines.push(format!("{sign}  {}: {meaning}", stock.name));
            }
        }
    }
    lines
}
