//! `waystock log WORDS…`: record what happened.

use super::{CommandResult, Failure, Output, Session, gaps, list, object, vocabulary};
use crate::belief;
use crate::domain::time::to_the_minute;
use crate::domain::{Event, Moment, Often, Standing, standing};
use crate::logline::{self, Heard, Misread, Understood, Vocabulary};
use crate::store::data_folder::Contents;
use crate::text::count::{MEANT, far_beyond as far_beyond_words};
use crate::text::{fit, safe};

/// Characters of a line that are shown around what is not understood.
const LONGEST_EXCERPT: usize = 60;

/// Characters of a whole line that is offered instead.
const LONGEST_WAY: usize = 240;

/// Understands the words, saves them, and says what was understood.
pub fn run(words: &[String], session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load_without_places()?;
    let now = session.now(&contents.rig);
    let line = words.join(" ");
    let device = session.folder.journal.device().unwrap_or_default().to_string();
    let known = vocabulary(&contents, now).after(&contents.journal.entries, &device, now);
    let (known, heard) = understand(&line, &contents, known, (now, session.common.seed))?;
    if let Heard::Said(said) = &heard {
        far_beyond(said, &contents, &known, now)?;
    }
    let saved = session.folder.journal.append(&heard.drafts(now), now)?;
    let echo = heard.echo(&known, now);
    session.after_saving(out);
    gaps::tell_places(&contents, out);
    if let Heard::Said(said) = &heard {
        let told = logline::consequences((&line, now), said, &known);
        told.iter().for_each(|told| out.say(told));
    }
    let ids = list(&saved, |entry| entry.id.to_string());
    let value = object!(saved; schema = "waystock.log/1", saved = echo, ids = ids);
    session.result(&value, &format!("saved: {echo}"), out);
    Ok(0)
}

/// What the line says, and the words that it was read with. What the stocks hold now is learned
/// only where the line needs it, since that takes a while.
fn understand(
    line: &str,
    contents: &Contents,
    known: Vocabulary,
    (now, seed): (Moment, u64),
) -> Result<(Vocabulary, Heard), Failure> {
    let needs_levels = |said: &Understood| {
        matches!(
            said.event,
            Event::Empty { amount: Some(_), after: None, .. }
                | Event::Fill { amount: Some(_), after: None, .. }
        )
    };
    match logline::heard(line, &known, now) {
        Ok(Heard::Said(said)) if said.iter().any(needs_levels) => {}
        Ok(heard) => return Ok((known, heard)),
        Err(_) => {}
    }
    let standing = standing(&contents.journal.entries, now);
    let beliefs = belief::learn(&contents.rig, &standing, now, seed);
    let stocks = beliefs.mechanism.parts.stocks.iter().enumerate();
    let levels = stocks.map(|(index, stock)| (stock.name.clone(), beliefs.level(index)));
    let known = known.with_levels(levels);
    match logline::heard(line, &known, now) {
        Ok(heard) => Ok((known, heard)),
        Err(misread) => Err(with_its_time(not_understood(line, &misread), &misread, (&known, now))),
    }
}

/// What was not understood, with what the first way out would save where that is of another time than
/// now: nobody sees that in its words alone.
fn with_its_time(
    failure: Failure,
    misread: &Misread,
    (known, now): (&Vocabulary, Moment),
) -> Failure {
    let Some(first) = misread.instead.first().filter(|offer| offer.is_whole()) else {
        return failure;
    };
    match logline::heard(&first.line, known, now) {
        Ok(Heard::Said(said)) if said.iter().any(|one| one.at != now) => {
            let meant = safe::safe(&logline::echo(&said, known, now)).to_string();
            let hint = failure.hint.as_deref().unwrap_or_default();
            let saves = if misread.instead.len() > 1 { "The first one saves" } else { "It saves" };
            let hint = format!("{hint}. {saves}: {meant}");
            failure.hint(hint)
        }
        _ => failure,
    }
}

/// Asks back what is far beyond what this crew does in a day.
fn far_beyond(
    said: &[Understood],
    contents: &Contents,
    known: &Vocabulary,
    now: Moment,
) -> Result<(), Failure> {
    if !said.iter().any(|said| matches!(said.event, Event::Use { .. })) {
        return Ok(());
    }
    let often = Often::of(&contents.rig, &standing(&contents.journal.entries, now), now);
    let Some((at, most)) = often.first_exceeded(said) else { return Ok(()) };
    let words = |one: &Understood| logline::echo(std::slice::from_ref(one), known, now);
    let one = &said[at];
    let meant = words(&Understood { note: Some(MEANT.to_string()), ..one.clone() });
    let hint = format!("Nothing was saved. If it is so, add a remark: `{meant}`");
    Err(Failure::new(2, far_beyond_words(&words(one), most)).hint(hint))
}

/// The part of a long line that the trouble is in, with the trouble's place in that part.
fn around(line: &str, misread: &Misread) -> (String, Misread) {
    let length = line.chars().count();
    if length <= LONGEST_EXCERPT {
        return (line.to_string(), misread.clone());
    }
    let last = length - LONGEST_EXCERPT;
    let from = misread.start.saturating_sub(LONGEST_EXCERPT / 2).min(last);
    let cut: String = line.chars().skip(from).take(LONGEST_EXCERPT).collect();
    let (before, after) = (if from > 0 { "..." } else { "" }, if from < last { "..." } else { "" });
    let place = |at: usize| (at.max(from) - from).min(LONGEST_EXCERPT) + before.len();
    let (start, end) = (place(misread.start), place(misread.end));
    let mut placed = misread.clone();
    (placed.start, placed.end) = (start, end);
    (format!("{before}{cut}{after}"), placed)
}

/// The line, carets under the word, and what is wrong with it.
pub(super) fn not_understood(whole: &str, misread: &Misread) -> Failure {
    let (line, misread) = around(whole, misread);
    let misread = &misread;
    // One column for one character, so that the marks stand under their word.
    let plain = |c: char| if c.is_control() || safe::is_invisible(c) { ' ' } else { c };
    let shown: String = line.chars().map(plain).collect();
    let before: String = shown.chars().take(misread.start).collect();
    let length = misread.end.saturating_sub(misread.start);
    let meant: String = shown.chars().skip(misread.start).take(length).collect();
    let blank = " ".repeat(fit::width(&before));
    let marks = "^".repeat(fit::width(&meant).max(1));
    let excerpt = vec![shown, format!("{blank}{marks}")];
    Failure { excerpt, ..Failure::new(2, misread.to_string()) }.hint(way_out(misread))
}

/// What to write instead, so that it is saved. A number that nobody said is shown as an example.
fn way_out(misread: &Misread) -> String {
    let short = misread.instead.iter().filter(|way| way.line.chars().count() <= LONGEST_WAY);
    let offers: Vec<_> = short.collect();
    let first = offers.first().and_then(|first| first.way("`"));
    let written = |offer: &&logline::Offer| {
        let own = if offer.is_whole() || first.is_some() { "" } else { " with your own number" };
        format!("`{}`{own}", safe::safe(&offer.line))
    };
    let ways: Vec<String> = offers.iter().map(written).collect();
    match (&ways[..], &first) {
        ([], _) => "Nothing was saved. `waystock help log` shows what can be said.".to_string(),
        ([_], Some(first)) => format!("Nothing was saved. {}", safe::safe(first)),
        ([_, others @ ..], Some(first)) => {
            format!("Nothing was saved. {}, or {}", safe::safe(first), others.join(", or "))
        }
        ([way], None) => format!("Nothing was saved. This would be: {way}"),
        ([ways @ .., last], None) => {
            format!("Nothing was saved. One of these would be: {} or {last}", ways.join(", "))
        }
    }
}

/// Entries that were written in one go, in the words that log them again.
pub(super) fn words_of_line(line: &[Standing], known: &Vocabulary, now: Moment) -> String {
    let thing = |entry: &Standing| {
        let (at, event) = (to_the_minute(entry.at), entry.event.clone());
        Understood { at, event, note: entry.note.clone() }
    };
    let things: Vec<Understood> = line.iter().map(thing).collect();
    logline::echo(&things, known, now)
}
