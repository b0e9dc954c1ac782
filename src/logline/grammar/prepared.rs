//! A line made ready for the grammar: its pieces, each with the words that the grammar has, and
//! the clock that it is read by.

use super::weather;
use crate::domain::time::Moment;
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Mark, Word};
use crate::logline::times::moment::Clock;
use crate::logline::times::time::phrase;
use crate::logline::tokens::lexer::{Joint, Piece};
use crate::logline::tokens::speech;
use crate::logline::tokens::words::pieces;
use chrono::Datelike;

/// The pieces of a line, with the words of each as the grammar has them.
pub(in crate::logline) fn prepared<'a>(
    line: &'a str,
    known: &Vocabulary,
    clock: &Clock,
) -> Result<Vec<Piece<'a>>, Misread> {
    let pieces = pieces(line, known)?;
    let mut plain = Vec::with_capacity(pieces.len());
    let last = pieces.len();
    let mut rather: Vec<Word> = Vec::new();
    for (at, Piece { words, joint, span }) in pieces.into_iter().enumerate() {
        if speech::is_aside(&words) {
            // `right to the brim, phew`; `right, dishes done` puts nothing right.
            let mends = words.iter().any(|w| w.is_any("no sorry"));
            if speech::is_filler(&words) && (at > 0 || !mends && last > 1) {
                continue;
            }
            if at == 0 || at + 1 == last {
                return Err(aside(&words, line));
            }
            rather = words;
            continue;
        }
        // `fresh 55, no wait, 65`.
        let words = [std::mem::take(&mut rather), words].concat();
        let span = (words.first().map_or(span.0, |w| w.start.min(span.0)), span.1);
        let words = speech::plain(words, known);
        if !words.is_empty() {
            plain.push(Piece { words, joint, span });
        }
    }
    if plain.is_empty() {
        let message = "nothing that happened: say what, like `2 showers`";
        return Err(Misread::new(0, line.chars().count(), "", message));
    }
    Ok(joined(plain).into_iter().flat_map(|piece| headed(piece, known, clock)).collect())
}

/// The clock that `known` shows at `now`.
pub(in crate::logline) fn clock(known: &Vocabulary, now: Moment) -> Result<Clock, Misread> {
    let civil = known.zone.here(now).naive_local();
    match (1..=9000).contains(&civil.year()) {
        true => Ok(Clock { now, about: known.about, civil, zone: known.zone }),
        false => Err(Misread::new(0, 0, "", "the clock shows a year outside 1 to 9000")),
    }
}

/// What was said before, by someone who begins with `no` or `sorry`: what is put right there stays
/// in the journal until it is taken back.
fn aside(words: &[Word], line: &str) -> Misread {
    let message = "is this put right, or another? What is saved stays until `undo` takes it back";
    let mut misread = Misread::over(words, message);
    if line.chars().take(misread.start).all(char::is_whitespace) {
        let after = line.chars().skip(misread.end);
        misread.end += after.take_while(|c| c.is_whitespace() || ",;.!".contains(*c)).count();
        misread = misread.write("");
    }
    misread
}

/// Lets `cloud 60%` and `sun 2.4 kWh` after a comma go on with the outlook before them.
fn joined(pieces: Vec<Piece>) -> Vec<Piece> {
    let mut joined: Vec<Piece> = Vec::with_capacity(pieces.len());
    for piece in pieces {
        match joined.last_mut() {
            Some(before) if weather::goes_on(&before.words, &piece.words) => {
                before.words.extend(piece.words);
                before.span.1 = piece.span.1;
            }
            _ => joined.push(piece),
        }
    }
    joined
}

/// Cuts a time with a colon off the thing that it stands before; the place beside it stays with that.
fn headed<'a>(mut piece: Piece<'a>, known: &Vocabulary, clock: &Clock) -> Vec<Piece<'a>> {
    let colon = piece.words.iter().position(|w| w.mark == Mark::Colon).map(|at| at + 1);
    let there = usize::from(piece.words.first().is_some_and(|w| w.is_any("at in")));
    let place = colon.map_or(0, |colon| known.place_of_words(&piece.words[there..colon]));
    let timed = |at: &usize| place > 0 && phrase(&piece.words[there + place..*at], clock).is_some();
    if let Some(at) = colon.filter(|at| *at < piece.words.len()).filter(timed) {
        // The time first, as the head; the place goes with what follows.
        piece.words[..at].rotate_left(there + place);
        let time = at - there - place;
        let mut rest = piece.words.split_off(time);
        let start = rest[0].start;
        let cut = start.max(piece.words[time - 1].end);
        // `Barley Arm 11:15: grey dumped` was there, too.
        if there == 0 {
            rest.insert(0, Word { start, end: start, ..Word::bare("at") });
        }
        let head = Piece { words: piece.words, joint: Joint::Colon, span: (piece.span.0, cut) };
        return vec![head, Piece { words: rest, joint: piece.joint, span: piece.span }];
    }
    match colon.filter(|at| phrase(&piece.words[..*at], clock).is_some()) {
        Some(at) => {
            let words = piece.words.split_off(at);
            let (start, end) = piece.span;
            let cut = piece.words[at - 1].end;
            let head = Piece { words: piece.words, joint: Joint::Colon, span: (start, cut) };
            let rest = Piece { words, joint: piece.joint, span: (cut + 1, end.max(cut + 1)) };
            match rest.words.is_empty() {
                true => vec![head],
                false => vec![head, rest],
            }
        }
        None => vec![piece],
    }
}
