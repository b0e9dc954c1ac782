//! `waystock log WORDS…`: record what happened.

use super::context::{Context, vocabulary};
use super::failure::Failure;
use super::json;
use super::output::Output;
use crate::domain::entry::{Body, Entry};
use crate::domain::time::Moment;
use crate::logline::{self, Misread, Understood};
use crate::store::folder::Draft;
use crate::text::{fit, safe};
use serde_json::json;

/// Understands the words, saves them, and says what was understood.
pub fn run(words: &[String], context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    let contents = context.load()?;
    let now = context.now(&contents.rig);
    let line = words.join(" ");
    let known = vocabulary(&contents, now);
    let understood =
        logline::parse(&line, &known, now).map_err(|misread| not_understood(&line, &misread))?;
    let saved = context.folder.journal.append(&drafts(&understood, now))?;
    let echo = logline::echo(&understood, &known, now);
    context.after_saving(out);
    if context.common.json {
        let ids: Vec<String> = saved.iter().map(|entry| entry.id.to_string()).collect();
        let value = json!({ "schema": "waystock.log/1", "saved": echo, "ids": ids });
        out.raw(json::text(&value).as_bytes());
    } else {
        out.line(&format!("saved: {echo}"));
    }
    Ok(0)
}

/// What is written for things that were understood at `now`.
pub fn drafts(understood: &[Understood], now: Moment) -> Vec<Draft> {
    understood
        .iter()
        .map(|thing| Draft {
            at: thing.at,
            recorded: now,
            note: thing.note.clone(),
            body: Body::Happened(thing.event.clone()),
        })
        .collect()
}

/// The line, carets under the word, and what is wrong with it.
fn not_understood(line: &str, misread: &Misread) -> Failure {
    // One column for one character, so that the marks stand under their word.
    let plain = |c: char| if c.is_control() || safe::is_invisible(c) { ' ' } else { c };
    let shown: String = line.chars().map(plain).collect();
    let before: String = shown.chars().take(misread.start).collect();
    let length = misread.end.saturating_sub(misread.start);
    let meant: String = shown.chars().skip(misread.start).take(length).collect();
    let blank = " ".repeat(fit::width(&before));
    let marks = "^".repeat(fit::width(&meant).max(1));
    Failure {
        code: 2,
        messages: vec![misread.to_string()],
        excerpt: vec![shown, format!("{blank}{marks}")],
        hint: Some("Nothing was saved.".to_string()),
    }
}

/// An entry that stands, in the words that log it again.
pub fn words_of(entry: &Entry, known: &logline::Vocabulary, now: Moment) -> String {
    match &entry.body {
        Body::Happened(event) | Body::Correct { event, .. } => {
            let thing = Understood { at: entry.at, event: event.clone(), note: entry.note.clone() };
            logline::echo(&[thing], known, now)
        }
        Body::Retract { of } => format!("took back {of}"),
        Body::Restore { of } => format!("put back {of}"),
    }
}
