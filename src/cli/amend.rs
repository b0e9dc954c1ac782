//! `waystock correct`, `retract`, `restore` and `note`: entries said otherwise, taken back, put
//! back, and a remark. Each is an entry of its own, which `undo` takes back.

use super::log::{not_understood, words_of_line};
use super::{CommandResult, Failure, Output, Session, log, object, vocabulary};
use crate::domain::journal::gone;
use crate::domain::{Body, Draft, Moment, Standing, standing};
use crate::logline::{self, Understood, Vocabulary};
use crate::store::data_folder::Contents;

/// What is done to an entry.
pub enum Amend<'a> {
    /// It says this instead.
    Correct(&'a [String]),
    /// It does not stand any more.
    Retract,
    /// It stands again.
    Restore,
}

/// Amends the entry whose id is, or begins with, `id`.
pub fn run(id: &str, what: Amend, session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load_without_places()?;
    let now = session.now(&contents.rig);
    let known = vocabulary(&contents, now);
    let is_gone = matches!(what, Amend::Restore);
    let entry = find(id, &contents, now, is_gone)?;
    let of = entry.id.clone();
    let (done, words, draft) = match what {
        Amend::Correct(words) => {
            let said = understood(words, &entry, &known, now)?;
            let echo = logline::echo(std::slice::from_ref(&said), &known, now);
            let body = Body::Correct { of, event: said.event };
            ("corrected", echo, Draft { at: said.at, note: said.note, body })
        }
        Amend::Retract | Amend::Restore => {
            let (done, body) = match is_gone {
                true => ("put back", Body::Restore { of }),
                false => ("took back", Body::Retract { of }),
            };
            let words = words_of_line(std::slice::from_ref(&entry), &known, now);
            (done, words, Draft { at: now, note: None, body })
        }
    };
    session.folder.journal.append(&[draft], now)?;
    session.after_saving(out);
    let value = object!(entry; schema = "waystock.undo/1", done = done, id, ids = vec![&entry.id],
        words = words);
    session.result(&value, &format!("{done}: {words}"), out);
    Ok(0)
}

/// Writes a remark down, as `log note` does.
pub fn note(words: &[String], session: &mut Session, out: &mut Output) -> CommandResult {
    let line = [&["note".to_string()], words].concat();
    log::run(&line, session, out)
}

/// The one thing that a correction says; without a time of its own, at the time of the entry.
fn understood(
    words: &[String],
    entry: &Standing,
    known: &Vocabulary,
    now: Moment,
) -> Result<Understood, Failure> {
    let (known, line) = (known.clone().about(entry.at), words.join(" "));
    let mut said =
        logline::parse(&line, &known, now).map_err(|misread| not_understood(&line, &misread))?;
    match said.len() {
        1 => Ok(said.remove(0)),
        things => {
            let message = format!("{line:?}: found {things} things, expected one");
            Err(Failure::new(2, message)
                .hint("Nothing was saved. Correct one thing; log the rest apart."))
        }
    }
}

/// The entry as it stands now or, of one taken back, as it would stand again.
fn find(id: &str, contents: &Contents, now: Moment, is_gone: bool) -> Result<Standing, Failure> {
    let entries = &contents.journal.entries;
    let all = if is_gone { gone(entries, now) } else { standing(entries, now) };
    let own = |entry: &Standing| {
        let own = entry.id.to_string();
        own == id || own.strip_prefix(id).is_some_and(|rest| rest.starts_with('-'))
    };
    let found: Vec<Standing> = all.into_iter().filter(own).collect();
    match found.len() {
        1 => Ok(found.into_iter().next().expect("there is one")),
        0 if is_gone => Err(Failure::found("", id, "an entry taken back")
            .hint("`waystock journal --retracted` lists those with their ids.")),
        0 => Err(Failure::found("", id, "the id of an entry")
            .hint("`waystock journal` lists the entries with their ids.")),
        several => Err(Failure::new(2, format!("{id:?} is the beginning of {several} ids"))
            .hint("Write more of it.")),
    }
}
