//! Which time holds for which thing of a line, and the reading of each thing at its time.
//!
//! A time holds for the thing that it stands at. At the start of the line, or before a colon, it
//! holds for what follows; what a thing's own words leave open (the day, the hour) it fills in.

use super::lexicon::Tense;
use super::listing;
use super::misread::{Misread, Understood};
use super::moment::{Clock, Looks, Untimely, When, after_days, named_moment, night};
use super::reader::{SaidThing, Scene};
use super::thing::Ends;
use super::time::{LONGEST_PHRASE, phrase, phrase_ahead};
use super::timed::{Body, Timed, Until};
use super::vocabulary::Vocabulary;
use super::word::{Kind, Mark, Word, text};
use super::words::{Joint, Piece, pieces};
use super::{doubt, people, speech, split, weather};
use crate::domain::entry::Event;
use crate::domain::time::Moment;
use crate::domain::unit::Unit;
use chrono::Datelike;

pub(super) fn understand(
    line: &str,
    known: &Vocabulary,
    now: Moment,
) -> Result<Vec<Understood>, Misread> {
    let pieces = pieces(line, known)?;
    let civil = known.zone.here(now).naive_local();
    if !(1..=9000).contains(&civil.year()) {
        return Err(Misread::new(0, 0, "", "the clock shows a year outside 1 to 9000"));
    }
    let clock = Clock { now, about: known.about, civil, zone: known.zone };
    let mut plain = Vec::with_capacity(pieces.len());
    for Piece { words, joint } in pieces {
        if speech::is_aside(&words) {
            return Err(aside(&words, line));
        }
        let words = speech::plain(words, known)?;
        if !words.is_empty() {
            plain.push(Piece { words, joint });
        }
    }
    if plain.is_empty() {
        let message = "nothing that happened: say what, like `2 showers`";
        return Err(Misread::new(0, line.chars().count(), "", message));
    }
    let pieces = joined(plain).into_iter().flat_map(|piece| headed(piece, &clock));
    let pieces = pieces.flat_map(|piece| split_note(piece, &clock));
    let mut timed = pieces.map(|p| timed(p, known, &clock)).collect::<Result<Vec<_>, _>>()?;
    listing::complete(&mut timed, known, &clock)?;
    let alone = lone_time(&mut timed, line)?;
    let mut read = Read { known, clock: &clock, understood: Vec::new(), spans: Vec::new() };
    let mut holds = alone;
    for (index, piece) in timed.iter().enumerate() {
        if index == 0 || piece.is_time() {
            holds = piece.before.or(&holds);
        }
        if !piece.is_time() {
            read.piece(piece, &holds)?;
        }
    }
    read.agrees(line)?;
    Ok(read.understood)
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

/// What has been read of the line so far.
struct Read<'k> {
    known: &'k Vocabulary,
    clock: &'k Clock,
    understood: Vec<Understood>,
    /// The characters of the thing that said each entry.
    spans: Vec<(usize, usize)>,
}

impl Read<'_> {
    fn piece(&mut self, piece: &Timed, holds: &When) -> Result<(), Misread> {
        let span = piece.body.span();
        self.things(piece, holds).map_err(|mut misread| {
            misread.mend.thing.get_or_insert(span);
            misread
        })?;
        self.spans.resize(self.understood.len(), span);
        Ok(())
    }

    fn things(&mut self, piece: &Timed, holds: &When) -> Result<(), Misread> {
        if piece.before.clashes(&piece.after) {
            let after = &piece.after;
            let message = "two times for one thing: leave one out";
            return Err(Misread::new(after.start, after.end, &after.words, message));
        }
        let own = piece.before.or(&piece.after);
        let when = if own.is_complete() { own } else { own.or(holds) };
        let words = &piece.body.words;
        let looks = looks(words);
        let of_people = people::may_end(words);
        let mut at = when.resolve(self.clock, looks).map_err(|why| why.misread(&when))?;
        let mut ends = None;
        if of_people && when.is_tonight() && piece.until.is_none() {
            let (evening, morning) = night(self.clock);
            (at, ends) = (evening, Some(morning));
        }
        if let Some(until) = &piece.until {
            ends = Some(self.end_of(until, at)?);
        }
        if words.iter().any(|w| w.tense == Tense::Will) && at <= self.clock.now {
            let message = "still to come: say when, like `tomorrow`, or write it when it is done";
            return Err(Misread::over(words, message));
        }
        self.open_end(piece, (&when, at), ends)?;
        let date = self.known.zone.date(at);
        let parts = self.known.parts_on(date);
        let scene = Scene { known: self.known, clock: self.clock, at, date, parts };
        let end = if piece.until.is_some() { Ends::Until } else { Ends::Open };
        for SaidThing { event, remark } in split::read(words, end, &scene)? {
            let note = piece.remark.as_ref().map(|w| w.text.trim().to_string()).or(remark);
            // A note runs to the end of its piece: what stands in parentheses is a part of it.
            let (event, note) = match (event, note) {
                (Event::Note(text), Some(note)) => (Event::Note(format!("{text} ({note})")), None),
                other => other,
            };
            self.understood.push(Understood { at, event, note });
        }
        if let Some(end) = ends {
            let event = Event::Crew(self.known.aboard);
            self.understood.push(Understood { at: end, event, note: None });
        }
        Ok(())
    }

    fn end_of(&self, until: &Until, at: Moment) -> Result<Moment, Misread> {
        let (words, end) = match until {
            Until::At(when) => (when, when.resolve(self.clock, Looks::Ahead)),
            Until::Days { days, words } => {
                (words, Ok(after_days(at, *days, self.clock).unwrap_or(at)))
            }
        };
        let end = end.map_err(|why| why.misread(words))?;
        if end <= at {
            let message = "this ends before it begins";
            return Err(Misread::new(words.start, words.end, &words.words, message));
        }
        Ok(end)
    }

    /// Guests and days away that are still to come, or that were there on a day before, have an
    /// end that is to be said.
    fn open_end(
        &self,
        piece: &Timed,
        (when, at): (&When, Moment),
        end: Option<Moment>,
    ) -> Result<(), Misread> {
        let words = &piece.body.words;
        let comes = words.iter().any(|w| w.is("guests") || w.is("away"));
        let (today, date) = (self.clock.civil.date(), self.known.zone.date(at));
        let gone = date < today;
        if !comes || end.is_some() || at <= self.clock.now && !gone {
            return Ok(());
        }
        let next = date.succ_opt().unwrap_or_default();
        let until = match next == today {
            true => "until this morning".to_string(),
            false if gone => format!("until {}", next.format("%Y-%m-%d")),
            false => format!("until {}", next.format("%A")).to_lowercase(),
        };
        let (said, time) = (text(words), &when.words);
        let mut misread =
            Misread::over(words, format!("until when? Write `{until}`, for instance"));
        let (start, end) = piece.body.span();
        let own = piece.before.or(&piece.after);
        misread.mend.thing = Some(match own.is_empty() {
            true => (start, end),
            false => (start.min(own.start), end.max(own.end)),
        });
        Err(misread.write_piece(format!("{said} {time} {until}")))
    }

    /// Levels of one line that contradict each other, or what was told before.
    fn agrees(&self, line: &str) -> Result<(), Misread> {
        let letters: Vec<char> = line.chars().collect();
        let said = |(start, end): (usize, usize)| letters[start..end].iter().collect::<String>();
        for (new, &span) in self.spans.iter().enumerate() {
            let earlier =
                (0..new).find(|old| differ(&self.understood[*old], &self.understood[new]));
            if let Some(old) = earlier {
                let first = said(self.spans[old]);
                let message = format!("the line says {first} as well: one level of it at a time");
                return Err(Misread::new(span.0, span.1, &said(span), message));
            }
            if let Some(mut misread) = doubt::of(&self.understood, new, self.known) {
                (misread.start, misread.end) = span;
                misread.word = said(span);
                return Err(misread);
            }
        }
        Ok(())
    }
}

impl Untimely {
    /// As a misread of the phrase.
    fn misread(self, when: &When) -> Misread {
        let misread = Misread::new(when.start, when.end, &when.words, self.message);
        self.instead.into_iter().fold(misread, Misread::write)
    }
}

/// Which way a thing looks in time, by its words.
fn looks(words: &[Word]) -> Looks {
    let ahead = words.iter().any(|w| w.tense != Tense::Behind);
    let errand = words.first().is_some_and(|w| w.is("empty") && words.len() > 1);
    match () {
        () if people::may_end(words) => Looks::DaysAhead,
        () if ahead || errand => Looks::Ahead,
        () => Looks::Back,
    }
}

/// Whether two things of a line are readings of one stock at one time that differ.
fn differ(one: &Understood, other: &Understood) -> bool {
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
            Some(before) if weather::goes_on(&before.words, &piece.words) => {
                before.words.extend(piece.words);
            }
            _ => joined.push(piece),
        }
    }
    joined
}

/// Cuts a time with a colon off the thing that it stands before.
fn headed<'a>(mut piece: Piece<'a>, clock: &Clock) -> Vec<Piece<'a>> {
    let colon = piece.words.iter().position(|w| w.mark == Mark::Colon).map(|at| at + 1);
    match colon.filter(|at| phrase(&piece.words[..*at], clock).is_some()) {
        Some(at) => {
            let words = piece.words.split_off(at);
            let head = Piece { words: piece.words, joint: Joint::Colon };
            let rest = Piece { words, joint: piece.joint };
            match rest.words.is_empty() {
                true => vec![head],
                false => vec![head, rest],
            }
        }
        None => vec![piece],
    }
}

/// A note ends the thing before it, unless that is only the note's time.
fn split_note<'a>(mut piece: Piece<'a>, clock: &Clock) -> Vec<Piece<'a>> {
    match piece.words.iter().position(|w| w.is("note")) {
        Some(note) if note > 0 && phrase(&piece.words[..note], clock).is_none() => {
            let words = piece.words.split_off(note);
            vec![piece, Piece { words, joint: Joint::Comma }]
        }
        _ => vec![piece],
    }
}

/// `drove from 10 to 12:30`, `plugged in since noon`: so long, which is asked back in hours.
fn lasting(words: &[Word], known: &Vocabulary, clock: &Clock) -> Option<Misread> {
    let hours = |w: &Word| {
        let name = known.find([w.low.as_str()].into_iter())?.0.activity.as_ref()?;
        let unit = &known.activity_on(name, clock.civil.date())?.0.counted_in;
        unit.factor_to(&Unit::Hour, None)
    };
    let lasts = |w: &Word| ["drove", "shore", "generator"].iter().any(|verb| w.is(verb));
    let asked = |long: String| {
        let message = format!("so long? Write `{long}`");
        Some(Misread::over(words, message).write(long))
    };
    if let [verb, clock] = words
        && let (true, Some((h, min))) = (lasts(verb), clock.low.split_once(':'))
    {
        return asked(format!("{} {h} h {min} min", verb.low));
    }
    let from = words.iter().position(|w| w.is("from") || w.is("since"))?;
    let thing = &words[..from];
    thing.iter().find(|w| lasts(w) || hours(w).is_some())?;
    let at = |said: &[Word]| {
        let head = Word { low: "at".into(), ..words[from].clone() };
        let with = [&[head], said].concat();
        let when = phrase(&with, clock).or_else(|| phrase(said, clock))?;
        when.resolve(clock, Looks::Back).ok()
    };
    let rest = &words[from + 1..];
    let to = rest.iter().position(|w| w.is("to") || w.is("until"));
    let begins = at(&rest[..to.unwrap_or(rest.len())])?;
    let ends = to.map_or(Some(clock.now), |to| at(&rest[to + 1..]))?;
    let minutes = (ends - begins).num_minutes();
    if !(1..=24 * 60).contains(&minutes) {
        return None;
    }
    let time = named_moment(begins, clock.zone, clock.now);
    let long = format!("{} {} h {} min {time}", text(thing), minutes / 60, minutes % 60);
    asked(long.replace(" 0 min", "").replace(" 0 h", ""))
}

fn timed<'a>(piece: Piece<'a>, known: &Vocabulary, clock: &Clock) -> Result<Timed<'a>, Misread> {
    let Piece { mut words, joint } = piece;
    if let Some(misread) = lasting(&words, known, clock) {
        return Err(misread);
    }
    let remark = words.pop_if(|last| last.kind == Kind::Remark);
    if let Some(stray) = words.iter().find(|w| w.kind == Kind::Remark) {
        return Err(Misread::at(stray, "a remark in parentheses ends its thing, after any time"));
    }
    if let Some(remark) = &remark {
        readable(remark, &words, clock)?;
    }
    let mut body = &words[..];
    let longest = body.len().min(LONGEST_PHRASE);
    let before = (1..=longest).rev().find_map(|n| Some((phrase(&body[..n], clock)?, n)));
    let (before, taken) = before.unwrap_or_default();
    body = &body[taken..];
    let (mut after, mut until) = (When::default(), None);
    if let Some(at) = until_from(body, clock) {
        until = Some(until_when(&body[at..], clock)?);
        body = &body[..at];
    }
    let verbatim =
        body.iter().any(|w| ["outlook", "note", "camp", "drove-to"].iter().any(|v| w.is(v)));
    if !body.first().is_some_and(|w| w.is("outlook") || w.is("note")) {
        let longest = body.len().min(LONGEST_PHRASE);
        let found = (1..=longest)
            .rev()
            .find_map(|n| Some((phrase(&body[body.len() - n..], clock)?, body.len() - n)));
        if let Some((when, start)) = found {
            (after, body) = (when, &body[..start]);
        }
    }
    let mut inner = body.to_vec();
    if before.is_empty() && after.is_empty() && !verbatim {
        // `worked this morning 3 hours`.
        let spans = (1..body.len().saturating_sub(1)).flat_map(|at| {
            (1..=LONGEST_PHRASE.min(body.len() - 1 - at)).rev().map(move |n| (at, n))
        });
        let found = spans.into_iter().find_map(|(at, n)| {
            let when = phrase(&body[at..at + n], clock).filter(|when| when.day.is_some())?;
            Some((when, at, n))
        });
        if let Some((when, at, n)) = found {
            after = when;
            inner.drain(at..at + n);
        }
    }
    if body.is_empty()
        && let Some(remark) = &remark
    {
        return Err(Misread::at(remark, "a remark without a thing that it goes with"));
    }
    let body = Body { words: speech::verb_first(inner) };
    Ok(Timed { body, before, after, until, remark, joint })
}

/// A number or a time in parentheses is no remark.
fn readable(remark: &Word, words: &[Word], clock: &Clock) -> Result<(), Misread> {
    let inner = remark.text.trim();
    let bare: Vec<Word> = inner
        .split_whitespace()
        .map(|text| Word { text, low: text.to_lowercase(), kind: Kind::Plain, ..remark.clone() })
        .collect();
    let number = bare.len() == 1 && bare[0].is_numeric();
    if !number && phrase(&bare, clock).is_none() || words.is_empty() {
        return Ok(());
    }
    let message = "a remark, or a part of what happened? Write it without the parentheses";
    let around = Misread::new(remark.start - 1, remark.end + 1, inner, message);
    Err(around.write(inner))
}

/// Where the end begins: at `until`, at `for`, and of people at a `to` that a time follows.
fn until_from(words: &[Word], clock: &Clock) -> Option<usize> {
    let of_people = people::may_end(words);
    let to =
        |at: usize| of_people && words[at].is("to") && phrase(&words[at + 1..], clock).is_some();
    (0..words.len()).find(|&at| words[at].is("until") || of_people && words[at].is("for") || to(at))
}

/// The time after `until`, or the days after `for`, which begin `words`.
fn until_when(words: &[Word], clock: &Clock) -> Result<Until, Misread> {
    let days = |w: &Word| w.is("days") || w.is("day") || w.is("nights") || w.is("night");
    if let [until, number, unit] = words
        && until.is("for")
        && days(unit)
        && let Some(days) = number.low.parse().ok().or(number.is("a").then_some(1))
        && (1..=400).contains(&days)
    {
        let text = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
        let (start, end) = (until.start, unit.end);
        let words = When { start, end, words: text, ..When::default() };
        return Ok(Until::Days { days, words });
    }
    if words.len() == 1 {
        let misread = Misread::at(&words[0], "until when? Write a day, like `until sunday`");
        return Err(misread.write("until tomorrow"));
    }
    phrase_ahead(&words[1..], clock).map(Until::At).ok_or_else(|| {
        let message = "not a time: write `until sunday` or `until 2026-06-14 12:00`";
        Misread::over(&words[1..], message)
    })
}

/// Takes out a time on its own at the end of a line with one thing, which it then belongs to; a
/// time on its own that could hold for one thing or for all is asked back.
fn lone_time(pieces: &mut Vec<Timed>, line: &str) -> Result<When, Misread> {
    let things = pieces.iter().filter(|piece| !piece.is_time()).count();
    if things == 0 {
        let when = &pieces[pieces.len() - 1].before;
        let message = match pieces.len() {
            1 => "a time, and nothing that happened then",
            _ => "times, and nothing that happened then",
        };
        return Err(Misread::new(when.start, when.end, &when.words, message));
    }
    let stray = pieces.iter().enumerate().skip(1);
    let mut stray = stray.filter(|(_, piece)| piece.is_time() && piece.joint != Joint::Colon);
    let Some((at, piece)) = stray.next() else { return Ok(When::default()) };
    let when = piece.before.clone();
    let timeless = |p: &&Timed| !p.is_time() && p.before.or(&p.after).is_empty();
    let free = pieces.iter().find(timeless).is_some();
    if things == 1 && free && at + 1 == pieces.len() && piece.until.is_none() {
        pieces.remove(at);
        return Ok(when);
    }
    let message = "for all of it, or for one thing? A time that holds for all stands in front";
    let mut misread = Misread::new(when.start, when.end, &when.words, message);
    misread.mend.thing = Some((0, line.chars().count()));
    let twice = |p: &Timed| !p.is_time() && p.before.or(&p.after).clashes(&when);
    if pieces.iter().any(twice) {
        // All of it is noted, as a time alone is no part of it.
        (misread.start, misread.end) = (0, line.chars().count());
        return Err(misread);
    }
    let letters: Vec<char> = line.chars().collect();
    let words = |part: &[char]| part.iter().collect::<String>();
    let before = words(&letters[..when.start]);
    let after = words(&letters[when.end..]);
    let before = before.trim_end().trim_end_matches(',').trim_end_matches(" and");
    let rest = format!("{before}{after}");
    Err(misread.write_piece(format!("{}: {}", when.words, rest.trim().trim_matches(','))))
}
