//! Log lines as the screen takes them: what one means, what is wrong with it, and how it can go on.

use crate::domain::{Draft, Moment, Often};
use crate::logline::{self, Vocabulary};
use crate::text::count::{MEANT, far_beyond as far_beyond_words};

/// A log line that was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct LineUnderstood {
    /// What would be saved.
    pub drafts: Vec<Draft>,
    /// The same in plain words, with units and day, to check before saving.
    pub echo: String,
}

/// A log line that was not understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineMisread {
    /// First character that was not understood, counted in characters from 0.
    pub start: usize,
    /// The character after the last one.
    pub end: usize,
    /// What is wrong, and if possible what was probably meant.
    pub message: String,
    /// Ways to mend the whole line, nearest first; none writes a number that was not said.
    pub instead: Vec<Completion>,
}

/// A way to complete a log line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Completion {
    /// Character from which the rest of the line is replaced, counted from 0.
    pub start: usize,
    /// What stands there then.
    pub word: String,
    /// Where the cursor stands then, in characters of the line from 0; `None`: at its end.
    pub cursor: Option<usize>,
}

/// Reads a log line.
///
/// # Errors
/// Which word is not understood.
pub fn understand(
    known: &Vocabulary,
    now: Moment,
    line: &str,
) -> Result<LineUnderstood, LineMisread> {
    let heard = logline::heard(line, known, now).map_err(misread)?;
    let mut echo = heard.echo(known, now);
    if let logline::Heard::Said(said) = &heard {
        for left in logline::consequences((line, now), said, known) {
            echo += &format!("; {left}");
        }
    }
    Ok(LineUnderstood { drafts: heard.drafts(now), echo })
}

/// Asks back what is far beyond what this crew does in a day.
pub fn far_beyond(
    understood: LineUnderstood,
    often: &Often,
    known: &Vocabulary,
    (line, now): (&str, Moment),
) -> Result<LineUnderstood, LineMisread> {
    let said: Vec<_> = understood.drafts.iter().filter_map(Draft::happened).collect();
    let Some((place, most)) = often.first_exceeded(&said) else { return Ok(understood) };
    let one = logline::echo(&said[place..=place], known, now);
    let mut meant = said.clone();
    meant[place].note = Some(MEANT.to_string());
    let word = logline::echo(&meant, known, now);
    let message = format!("Tab: {word} ({})", far_beyond_words(&one, most));
    let instead = vec![Completion { start: 0, word, cursor: None }];
    Err(LineMisread { start: 0, end: line.chars().count(), message, instead })
}

/// Ways to go on from the end of `line`, best first.
pub fn complete(known: &Vocabulary, line: &str) -> Vec<Completion> {
    let letters: Vec<char> = line.chars().collect();
    let separates = |c: &char| c.is_whitespace() || *c == ',';
    let start = letters.iter().rposition(separates).map_or(0, |i| i + 1);
    let words = logline::complete(line, letters.len(), known);
    words.into_iter().map(|word| Completion { start, word, cursor: None }).collect()
}

fn misread(misread: logline::Misread) -> LineMisread {
    let message = match misread.nearest.is_empty() {
        true => misread.message,
        false => format!("{}; near: {}", misread.message, misread.nearest.join(", ")),
    };
    let ways = misread.instead;
    let message = match ways.first().map(|way| (way, way.way(""))) {
        Some((_, Some(way))) => format!("{way} ({message})"),
        Some((way, None)) => format!("Tab: {} ({message})", way.line),
        None => message,
    };
    let typed = ways.into_iter().filter_map(|way| way.typed);
    let typed = typed.map(|(word, cursor)| Completion { start: 0, word, cursor: Some(cursor) });
    // Without their numbers, two offers may be one.
    let mut instead: Vec<Completion> = typed.collect();
    instead.dedup();
    let (start, end) = (misread.start, misread.end);
    LineMisread { start, end, message, instead }
}
