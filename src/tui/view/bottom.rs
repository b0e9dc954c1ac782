//! The last lines of every screen: the line to log into with its echo, the status, the keys.

use super::{Paper, Seen};
use crate::setup::parts::{ADDITIONS, LESS_HEAT, changed, shown};
use crate::text::{cut, longest_fitting, safe, width, wrap};
use crate::tui::hearing::{Completion, LineMisread};
use crate::tui::round::Asked;
use crate::tui::state::{InputLine, Status};
use crate::tui::update::{TIMES, expects};
use crate::tui::{Action, Context, Purpose, State, Tone, keymap};
use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

/// Most rows that a message or the line's meaning takes, where there are rows to spare.
const MOST: usize = 3;
/// On a screen of so many columns; on a narrower one, in proportion.
const USUAL_COLUMNS: usize = 80;
/// In a lower window each of them has one row.
const LOW: u16 = 14;

/// What a question of the round says besides its keys: words that would answer it.
fn words_too(asked: &Asked) -> Option<&'static str> {
    match asked {
        Asked::Reading { .. } => Some("Words will do: half, full, empty"),
        Asked::Use(_) => Some("Words will do: none, twelve"),
        Asked::Plan(_) | Asked::Again(..) => None,
    }
}

/// Styled pieces of one row.
type Pieces = Vec<(String, Style)>;

/// Rows that they take on a screen of the size of `area`.
pub fn height(state: &State, area: Rect) -> u16 {
    let line = if state.line.open { laid(state, area).0.len() } else { 0 };
    (line + texts(state, area).len() + 1) as u16
}

/// Draws them into `area`, the lowest rows of `screen`.
pub fn draw(state: &State, frame: &mut Frame, area: Rect) {
    let screen = frame.area();
    let texts = texts(state, screen);
    let mut unseen = Seen::default();
    let mut paper = Paper::new(state, frame.buffer_mut(), &mut unseen, area);
    let cursor = if state.line.open { line(&mut paper, screen) } else { None };
    for pieces in texts {
        let pieces: Vec<(&str, Style)> = pieces.iter().map(|(t, s)| (t.as_str(), *s)).collect();
        paper.line(&pieces);
    }
    footer(&mut paper);
    if let Some(position) = cursor {
        frame.set_cursor_position(position);
    }
}

/// What stands between the line and the keys.
fn texts(state: &State, screen: Rect) -> Vec<Pieces> {
    let columns = usize::from(screen.width).max(1);
    // A narrow screen says as much in more rows.
    let most = if screen.height < LOW { 1 } else { MOST * USUAL_COLUMNS.div_ceil(columns) };
    // The names of actions may take half the screen: they are what one looks for.
    let most = match state.line.open && state.line.purpose == Purpose::Palette {
        true => most.max(usize::from(screen.height / 2)),
        false => most,
    };
    let [below, usual] = match state.line.open {
        true => below_line(state, columns, most),
        false => {
            // The key that opens the line here: in the round, Enter takes an answer.
            let opens = |_| keymap::in_context(state.context()).find(|b| b.action == Action::Log);
            let line =
                state.book.iter().filter_map(opens).map(|opens| {
                    (format!("{}: say what happened", opens.keys[0]), state.look.faint())
                });
            let asked = state.round.asked().filter(|_| state.screen() == Some(Context::Round));
            let words =
                asked.and_then(words_too).map(|text| (text.to_string(), state.look.faint()));
            [Vec::new(), vec![line.chain(words).collect()]]
        }
    };
    let status = state.status.as_ref().map(|Status { tone, text }| {
        let style = match tone {
            Tone::Plain => Style::new(),
            Tone::Good => state.look.good(),
            Tone::Bad => state.look.bad(),
        };
        over_rows(state, "", (text, style), columns, most)
    });
    [below, status.unwrap_or(usual)].concat()
}

/// `text` over at most `most` rows, with `head` before it.
fn over_rows(
    state: &State,
    head: &str,
    text: (&str, Style),
    columns: usize,
    most: usize,
) -> Vec<Pieces> {
    let (text, style) = text;
    let whole = format!("{head}{}", state.look.plain(&safe(text)));
    let mut lines = wrap(&whole, columns);
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            *last = cut(&format!("{last} ~"), columns);
        }
    }
    let faint = state.look.faint();
    let pieces = |(i, line): (usize, String)| match line.strip_prefix(head) {
        Some(rest) if i == 0 => vec![(head.to_string(), faint), (rest.to_string(), style)],
        _ => vec![(line, style)],
    };
    match lines.is_empty() {
        true => vec![Pieces::new()],
        false => lines.into_iter().enumerate().map(pieces).collect(),
    }
}

fn prompt(line: &InputLine) -> &'static str {
    about(&line.purpose).0
}

/// What stands before the line, and what may be typed into it.
fn about(purpose: &Purpose) -> (&'static str, &'static str) {
    match purpose {
        Purpose::Log => ("log > ", "such as: 2 showers, dishes, fresh 60%"),
        Purpose::Correct(_) => ("correct > ", "such as: 2 showers, dishes, fresh 60%"),
        Purpose::Answer(_) => ("instead > ", "such as: 2 showers, dishes, fresh 60%"),
        Purpose::Palette => ("action : ", ""),
        Purpose::Value => ("set to > ", ""),
        Purpose::Setup => ("> ", ""),
        Purpose::Search => {
            ("search / ", "such as: fresh since monday, plan, note, shower yesterday, gone")
        }
        Purpose::Note(_) => ("remark > ", "Enter saves it with the entry"),
        Purpose::MoveStop => ("when > ", TIMES),
        Purpose::Elsewhere => ("place > ", "a known place; Tab completes it"),
        Purpose::RigValue(_) => ("value > ", ""),
        Purpose::RigAdd => ("add > ", ""),
        Purpose::RigDate => ("from > ", "the day from which it is so: today, yesterday, 14 august"),
    }
}

/// Most rows that a long line takes itself.
const MOST_LINE: usize = 4;

/// The rows of the line on a screen of the size of `screen`, with the prompt; and where the cursor
/// stands in them. Of a line that is longer than its rows, those around the cursor.
fn laid(state: &State, screen: Rect) -> (Vec<String>, (usize, usize)) {
    let (line, columns) = (&state.line, usize::from(screen.width).max(2));
    let most = if screen.height < LOW { 1 } else { MOST_LINE };
    let letters = prompt(line).chars().chain(line.input.value().chars());
    let cursor = prompt(line).chars().count() + line.input.cursor();
    let (mut rows, mut used, mut at) = (vec![String::new()], 0, (0, 0));
    for (place, letter) in letters.chain([' ']).enumerate() {
        let wide = width(letter.encode_utf8(&mut [0; 4]));
        if used + wide > columns {
            rows.push(String::new());
            used = 0;
        }
        if place == cursor {
            at = (rows.len() - 1, used);
        }
        rows.last_mut().into_iter().for_each(|row| row.push(letter));
        used += wide;
    }
    let first = (at.0 + 1).saturating_sub(most).min(rows.len().saturating_sub(most));
    let mut seen: Vec<String> = rows.into_iter().skip(first).take(most).collect();
    // What the line is for stays in sight, in place of words further from the cursor.
    if first > 0 && at.0 > first {
        let kept = seen[0].chars().skip(prompt(line).chars().count());
        seen[0] = prompt(line).chars().chain(kept).collect();
    }
    (seen, (at.0 - first, at.1))
}

fn line(paper: &mut Paper, screen: Rect) -> Option<Position> {
    let (state, look) = (paper.state, paper.look);
    let (rows, (down, across)) = laid(state, screen);
    let mut position = None;
    for (n, text) in rows.iter().enumerate() {
        let row = paper.take()?;
        let (head, rest) = match text.strip_prefix(prompt(&state.line)) {
            Some(rest) if n == 0 => (prompt(&state.line), rest),
            _ => ("", text.as_str()),
        };
        paper.pieces(row, &[(head, look.strong()), (rest, Style::new())]);
        let x = row.x + (across as u16).min(row.width.saturating_sub(1));
        position = if n == down { Some(Position { x, y: row.y }) } else { position };
    }
    position
}

/// What the line means, what is wrong with it, or what can be written into it; and what stands in
/// the place of a status.
fn below_line(state: &State, columns: usize, most: usize) -> [Vec<Pieces>; 2] {
    let rows = |text: &str, style| over_rows(state, "", (text, style), columns, most);
    let (line, bad) = (&state.line, state.look.bad());
    let misread = line.reading.as_ref().and_then(|reading| reading.as_ref().err());
    let misread = misread.filter(|_| !line.input.value().trim().is_empty());
    let (below, overflow) = match misread {
        Some(misread) => pointed(state, misread, columns).unwrap_or_else(|| {
            let word = part(line.input.value(), misread.start, misread.end);
            (rows(&format!("{}: {}", word.trim(), misread.message), bad), None)
        }),
        None => {
            let (head, text, style) = hint(state, columns);
            (over_rows(state, head, (&text, style), columns, most), None)
        }
    };
    let ways = ways(line).map(|ways| rows(&ways, state.look.faint()));
    let status = ways.or(overflow.map(|message| rows(&message, bad)));
    [below, status.unwrap_or_else(|| vec![Pieces::new()])]
}

fn hint(state: &State, columns: usize) -> (&'static str, String, Style) {
    let (line, look) = (&state.line, state.look);
    let text = line.input.value();
    let faint = |text: &str| ("", text.to_string(), look.faint());
    match (&line.purpose, &line.reading) {
        (Purpose::Palette, _) => {
            let found = keymap::matching(state.context_below_line(), text);
            let mut names: Vec<&str> = found.iter().map(|b| b.name).collect();
            names.dedup();
            faint(&names.join(" | "))
        }
        (Purpose::Value, _) => faint(&expects(state)),
        (Purpose::Search, _) if state.screen() == Some(Context::Rig) => {
            faint("such as: fresh, gauge, heating, panels")
        }
        (Purpose::RigAdd, _) => faint(&format!("such as: {}; {LESS_HEAT}", ADDITIONS.join("; "))),
        (Purpose::RigValue(path), _) if text.is_empty() => {
            let own = state.rig.fields.iter().find(|field| field.path == *path);
            let now = own.map_or_else(String::new, |field| shown(field, state.units()));
            faint(&format!("{}: now {now}; Esc leaves it", path.replace('/', " ")))
        }
        (Purpose::RigValue(path), _) => match changed(&state.rig.text, path, text) {
            Ok(_) => faint(&format!("{}: Enter shows what it does", path.replace('/', " "))),
            Err(expected) => ("", expected, look.bad()),
        },
        (Purpose::Setup, _) => setup_hint(state, columns),
        // A long line that says all in its own words need not be said twice.
        (_, Some(Ok(understood))) if understood.echo == text && width(text) > columns => {
            ("means: ", "just that".to_string(), look.good())
        }
        (_, Some(Ok(understood))) if !text.trim().is_empty() => {
            ("means: ", understood.echo.clone(), look.good())
        }
        _ => faint(about(&line.purpose).1),
    }
}

fn setup_hint(state: &State, columns: usize) -> (&'static str, String, Style) {
    let (text, look) = (state.line.input.value(), state.look);
    let setup = state.first_run.as_ref();
    let asked = setup.and_then(|setup| Some((setup.asked()?, setup.clone().answer(text))));
    match asked {
        None => ("", "Enter writes it, Up goes back".to_string(), look.faint()),
        Some((_, Err(wrong))) => ("", format!("expected {}", wrong.expected), look.bad()),
        Some(((_, offered), _)) if text.trim().is_empty() => {
            let wordings = [
                format!("Enter takes {offered}; Up goes back, Down takes all the rest as offered"),
                format!("Enter takes {offered}; Down the rest too"),
                format!("Enter takes {offered}"),
            ];
            ("", longest_fitting(&wordings, columns), look.faint())
        }
        Some(_) => ("", "Enter takes it".to_string(), look.good()),
    }
}

/// Carets under the word, and what is wrong with it: beside them, or apart where that does not fit;
/// `None` of a line that takes more than a row.
fn pointed(
    state: &State,
    misread: &LineMisread,
    columns: usize,
) -> Option<(Vec<Pieces>, Option<String>)> {
    let text = state.line.input.value();
    let one_row = width(prompt(&state.line)) + width(text) < columns;
    let bad = one_row.then(|| state.look.bad())?;
    let column = width(prompt(&state.line)) + width(&part(text, 0, misread.start));
    let word = part(text, misread.start, misread.end);
    let pointed = " ".repeat(column) + &state.look.glyphs().caret.repeat(width(&word).max(1));
    let message = format!(" {}", misread.message);
    Some(match width(&pointed) + width(&message) <= columns {
        true => (vec![vec![(pointed, bad), (message, bad)]], None),
        false => (vec![vec![(pointed, bad)]], Some(misread.message.clone())),
    })
}

/// The characters from the one numbered `start` to before the one numbered `end`.
fn part(text: &str, start: usize, end: usize) -> String {
    text.chars().take(end).skip(start).collect()
}

/// Completions, the one that stands there in brackets.
fn ways(line: &InputLine) -> Option<String> {
    let shown = |(i, way): (usize, &Completion)| {
        let word = way.word.trim();
        if Some(i) == line.way { format!("[{word}]") } else { word.to_string() }
    };
    (line.ways.len() > 1)
        .then(|| line.ways.iter().enumerate().map(shown).collect::<Vec<_>>().join(" "))
}

fn footer(paper: &mut Paper) {
    let state = paper.state;
    use Purpose::{Note, Palette, RigAdd, RigDate, RigValue, Search, Setup, Value};
    let keys = keymap::footer(state.context(), paper.columns());
    let purpose = &state.line.purpose;
    let asks = state.line.open
        && matches!(purpose, Palette | RigAdd | RigValue(_) | Search | Setup | Value);
    let mut pieces: Vec<(&str, Style)> = Vec::new();
    let is_free = matches!(purpose, Search | Note(_) | RigAdd | RigDate | RigValue(_));
    let completes = !state.line.open || !is_free;
    let keys = keys.iter().filter(|(_, label)| completes || *label != "complete");
    for (i, (key, label)) in keys.enumerate() {
        if i > 0 {
            pieces.push(("  ", Style::new()));
        }
        pieces.push((key, state.look.strong()));
        pieces.push((" ", Style::new()));
        // Enter in a line that only asks saves nothing yet.
        let label = if asks && *label == "save" { "take" } else { label };
        pieces.push((label, state.look.faint()));
    }
    paper.line(&pieces);
}
