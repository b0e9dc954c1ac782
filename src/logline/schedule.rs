//! Which time holds for which thing of a line, and the reading of each thing at its time.

use super::thing::{self, Scene};
use super::time::{Clock, LONGEST_PHRASE, When, phrase, phrase_ahead};
use super::vocabulary::Vocabulary;
use super::words::{Kind, Piece, Word, pieces};
use super::{Misread, Understood, weather};
use crate::domain::entry::Event;
use crate::domain::time::Moment;
use chrono::Datelike;

/// A thing without its times, and its times.
struct Timed<'p, 'a> {
    body: &'p [Word<'a>],
    before: When,
    after: When,
    /// When it ends, for guests and days away.
    until: Option<When>,
    remark: Option<&'p Word<'a>>,
}

pub(super) fn understand(
    line: &str,
    known: &Vocabulary,
    now: Moment,
) -> Result<Vec<Understood>, Misread> {
    let pieces = joined(pieces(line, known)?);
    let civil = known.zone.here(now).naive_local();
    if !(1..=9000).contains(&civil.year()) {
        return Err(Misread::new(0, 0, "", "the clock shows a year outside 1 to 9000"));
    }
    let clock = Clock { now, civil, zone: known.zone };
    let pieces: Vec<Piece> =
        pieces.into_iter().flat_map(|piece| split_note(piece, &clock)).collect();
    let timed = pieces.iter().map(|p| timed(p, &clock)).collect::<Result<Vec<_>, _>>()?;
    let (line_start, line_end) = line_times(&timed)?;

    let mut understood = Vec::with_capacity(timed.len());
    let mut levels: Vec<(usize, &[Word])> = Vec::new();
    for (index, piece) in timed.iter().enumerate().filter(|(_, piece)| !piece.body.is_empty()) {
        let (first, last) = (index == 0, index + 1 == timed.len());
        let when = own_time(piece, first, last, &line_start, &line_end)?;
        let at = when
            .resolve(&clock)
            .map_err(|message| Misread::new(when.start, when.end, &when.words, message))?;
        let before = understood.len();
        read(piece, at, known, &clock, &mut understood)?;
        for new in before..understood.len() {
            if let Some((_, words)) = levels.iter().find(|(n, _)| differ(&understood, *n, new)) {
                let first = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
                let message = format!("the line says {first} as well: one level of it at a time");
                return Err(Misread::over(piece.body, message));
            }
            levels.push((new, piece.body));
        }
    }
    Ok(understood)
}

/// Whether two things of a line are readings of one stock at one time that differ.
fn differ(understood: &[Understood], one: usize, other: usize) -> bool {
    let (one, other) = (&understood[one], &understood[other]);
    match (&one.event, &other.event) {
        (
            Event::Level { stock, reading, .. },
            Event::Level { stock: again, reading: second, .. },
        ) => one.at == other.at && stock == again && reading != second,
        _ => false,
    }
}

/// Lets `cloud 60%` and `sun 2.4 kWh` after a comma go on with the outlook before them.
fn joined(pieces: Vec<Piece>) -> Vec<Piece> {
    let mut joined: Vec<Piece> = Vec::with_capacity(pieces.len());
    for piece in pieces {
        match joined.last_mut() {
            Some(before) if weather::goes_on(before, &piece) => before.extend(piece),
            _ => joined.push(piece),
        }
    }
    joined
}

/// A note ends the thing before it, unless that is only the note's time.
fn split_note<'a>(mut piece: Piece<'a>, clock: &Clock) -> Vec<Piece<'a>> {
    match piece.iter().position(|w| w.is("note") || w.is("note:")) {
        Some(note) if note > 0 && phrase(&piece[..note], clock).is_none() => {
            let tail = piece.split_off(note);
            vec![piece, tail]
        }
        _ => vec![piece],
    }
}

fn timed<'p, 'a>(piece: &'p [Word<'a>], clock: &Clock) -> Result<Timed<'p, 'a>, Misread> {
    let (mut body, mut remark) = (piece, None);
    if let Some((last, rest)) = piece.split_last().filter(|(last, _)| last.kind == Kind::Remark) {
        (body, remark) = (rest, Some(last));
    }
    if let Some(stray) = body.iter().find(|w| w.kind == Kind::Remark) {
        return Err(Misread::at(stray, "a remark in parentheses ends its thing, after any time"));
    }
    let longest = body.len().min(LONGEST_PHRASE);
    let before = (1..=longest).rev().find_map(|n| Some((phrase(&body[..n], clock)?, n)));
    let (before, taken) = before.unwrap_or_default();
    body = &body[taken..];
    let (mut after, mut until) = (When::default(), None);
    let closed = |w: &Word| w.is("outlook") || w.is("note") || w.is("note:");
    if let Some(at) = body.iter().position(|w| w.is("until")) {
        until = Some(until_when(&body[at..], clock)?);
        body = &body[..at];
    }
    if !body.first().is_some_and(closed) {
        let longest = body.len().min(LONGEST_PHRASE);
        let found = (1..=longest)
            .rev()
            .find_map(|n| Some((phrase(&body[body.len() - n..], clock)?, body.len() - n)));
        if let Some((when, start)) = found {
            (after, body) = (when, &body[..start]);
        }
    }
    if body.is_empty() && remark.is_some() {
        return Err(Misread::over(piece, "a remark without a thing that it goes with"));
    }
    Ok(Timed { body, before, after, until, remark })
}

/// The time after `until`, which begins `words`.
fn until_when(words: &[Word], clock: &Clock) -> Result<When, Misread> {
    if words.len() == 1 {
        return Err(Misread::at(&words[0], "until when? Write a day, like `until sunday`"));
    }
    phrase_ahead(&words[1..], clock).ok_or_else(|| {
        Misread::over(&words[1..], "not a time: write `until sunday` or `until 2026-06-14 12:00`")
    })
}

/// The times that begin and end the line, and so hold for all of it.
fn line_times(pieces: &[Timed]) -> Result<(When, When), Misread> {
    let alone = |piece: &Timed| piece.body.is_empty();
    if let [only] = pieces
        && alone(only)
    {
        let when = &only.before;
        let message = "a time, and nothing that happened then";
        return Err(Misread::new(when.start, when.end, &when.words, message));
    }
    for (index, piece) in pieces.iter().enumerate().filter(|(_, piece)| alone(piece)) {
        if index > 0 && index + 1 < pieces.len() || piece.until.is_some() {
            let (when, message) = (&piece.before, "a time on its own begins or ends the line");
            let when = piece.until.as_ref().filter(|_| when.is_empty()).unwrap_or(when);
            return Err(Misread::new(when.start, when.end, &when.words, message));
        }
    }
    if pieces.iter().all(alone) {
        let when = &pieces[pieces.len() - 1].before;
        let message = "times, and nothing that happened then";
        return Err(Misread::new(when.start, when.end, &when.words, message));
    }
    let start = pieces.first().map(|p| p.before.clone()).unwrap_or_default();
    let end = match pieces.last() {
        Some(last) if alone(last) => last.before.clone(),
        Some(last) => last.after.clone(),
        None => When::default(),
    };
    Ok((start, end))
}

/// The time of one thing: its own words first, then those of the nearer end of the line.
fn own_time(
    piece: &Timed,
    first: bool,
    last: bool,
    line_start: &When,
    line_end: &When,
) -> Result<When, Misread> {
    if piece.before.clashes(&piece.after) {
        let message = "two times for one thing: leave one out";
        return Err(Misread::new(piece.after.start, piece.after.end, &piece.after.words, message));
    }
    let own = piece.before.or(&piece.after);
    if own.is_complete() {
        return Ok(own);
    }
    match (first, last) {
        (true, _) => Ok(own.or(line_start).or(line_end)),
        (_, true) => Ok(own.or(line_end).or(line_start)),
        _ => {
            if line_start.clashes(line_end) {
                let message = format!(
                    "this could be at {} or {}: write its time with it",
                    line_start.words, line_end.words
                );
                return Err(Misread::over(piece.body, message));
            }
            Ok(own.or(line_start).or(line_end))
        }
    }
}

fn read(
    piece: &Timed,
    at: Moment,
    known: &Vocabulary,
    clock: &Clock,
    understood: &mut Vec<Understood>,
) -> Result<(), Misread> {
    let date = known.zone.date(at);
    let scene = Scene { known, clock, at, date, parts: known.parts_on(date) };
    let said = thing::read(piece.body, piece.until.is_some(), &scene)?;
    let note = piece.remark.map(|w| w.text.trim().to_string()).or(said.remark);
    understood.push(Understood { at, event: said.event, note });
    let Some(until) = &piece.until else { return Ok(()) };
    let misread = |message: String| Misread::new(until.start, until.end, &until.words, message);
    let end = until.resolve(clock).map_err(misread)?;
    if end <= at {
        return Err(misread("this ends before it begins".to_string()));
    }
    understood.push(Understood { at: end, event: Event::Crew(known.aboard), note: None });
    Ok(())
}
