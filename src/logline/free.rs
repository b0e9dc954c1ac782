//! Free speech. In each clause the plain core is found: a thing with its figure, a verb with its
//! thing, an activity with its count. The core is what happened; words left over that cannot change
//! it are a remark beside it. Where they can change it, the core is offered and the line asked back.
//! A clause in which nothing is known is talk, and noted.

use super::listed::{is_of, lows};
use super::misread::Misread;
use super::moment::Clock;
use super::part::{Clause, MEAL, Part};
use super::prepared::prepared;
use super::scene::Scene;
use super::talk::is_talk;
use super::vocabulary::Vocabulary;
use super::words::{Joint, Piece};

/// A line brought to the grammar.
pub(super) struct Free {
    /// The line without what was left over, which stands in remarks and in the note at its end.
    pub line: String,
    /// Whether that is what was meant, beyond doubt.
    pub sure: bool,
    /// Whether all of it may be a note as well.
    pub or_note: bool,
    /// What leaves the line open, at its place in the line as it was written.
    pub why: Option<Misread>,
}

/// What is plain in `line`; `None` where it cannot be cut into clauses.
pub(super) fn read(
    line: &str,
    misread: &Misread,
    known: &Vocabulary,
    clock: &Clock,
) -> Option<Free> {
    let pieces = prepared(line, known, clock).ok()?;
    let letters: Vec<char> = line.chars().collect();
    let part = |piece: &Piece| {
        let scene = Scene::now(known, clock);
        Clause { piece, scene: &scene, letters: &letters }.part()
    };
    let mut parts: Vec<Part> = pieces.iter().map(part).collect();
    let meal = settle(&mut parts, known);
    let sentences: Vec<usize> = pieces.iter().map(|piece| sentence(piece, &letters)).collect();
    alone(&mut parts, &sentences);
    let why = parts.iter().find_map(|part| part.open.clone());
    let whole = |sure: bool, why| Free { line: noted(line), sure, or_note: false, why };
    if parts.iter().all(|part| !part.known) {
        return is_talk(line).then(|| whole(true, None));
    }
    // Nothing is saved for itself where something else tells when that was, or that it was not.
    if parts.iter().any(|part| part.denies) {
        return Some(whole(false, why));
    }
    let own = parts.iter().zip(&pieces).any(|(part, piece)| {
        part.open.is_some() && (piece.span.0..=piece.span.1).contains(&misread.start)
    });
    let why = if own { Some(misread.clone()) } else { why };
    let line = match written(&parts, &pieces) {
        (text, _) if text.is_empty() => noted(line),
        (text, notes) if notes.is_empty() => text,
        (text, notes) => format!("{text}, {}", noted(&notes)),
    };
    Some(Free { line, sure: why.is_none(), or_note: meal, why })
}

/// Settles what the parts of a line say of each other, and whether one of them may be a meal.
fn settle(parts: &mut [Part], known: &Vocabulary) -> bool {
    // What was eaten beside a meal that is told is no other meal.
    let told = |part: &Part| is_meal(&part.text, known) || is_meal(&part.note, known);
    let cooked = parts.iter().any(|part| !part.meal && told(part));
    let meal = parts.iter().position(|part| part.meal).filter(|_| !cooked);
    for (at, part) in parts.iter_mut().enumerate().filter(|(_, part)| part.meal) {
        match meal == Some(at) {
            true => (part.note, part.known) = (String::new(), true),
            false => (part.text, part.open) = (String::new(), None),
        }
    }
    let said = parts.iter().position(|part| part.known).unwrap_or(parts.len());
    for part in parts[..said].iter_mut().filter(|part| part.own_time) {
        (part.open, part.denies) = (None, false);
    }
    // `food for five days or so, the two of us` says for whom.
    let of_us = |part: &Part| lows(&part.text).ends_with(&["of".into(), "us".into()]);
    if parts.iter().any(|part| part.open.is_some()) {
        for part in parts.iter_mut().skip(1).filter(|part| of_us(part)) {
            part.note = std::mem::take(&mut part.text);
        }
    }
    // `water is getting low, about a quarter`.
    for at in 1..parts.len() {
        let name = if parts[at].amount { parts[at - 1].name.take() } else { None };
        if let Some(name) = name {
            (parts[at - 1].text, parts[at - 1].open) = (name, None);
        }
    }
    meal.is_some()
}

/// The number of the sentence that a piece stands in.
fn sentence(piece: &Piece, letters: &[char]) -> usize {
    let before = &letters[..piece.span.0.min(letters.len())];
    before.windows(2).filter(|w| ".!?".contains(w[0]) && w[1].is_whitespace()).count()
}

/// What says when it was, or that it was not, says so of itself where it names what no other part
/// does, or cries `what a saturday`; else of its sentence, where that tells of more.
fn alone(parts: &mut [Part], sentences: &[usize]) {
    let count = parts.len();
    for at in (0..count).filter(|at| parts[*at].denies).collect::<Vec<_>>() {
        let others = || (0..count).filter(move |other| *other != at);
        let here = |other: &usize| sentences[*other] == sentences[at];
        let said = lows(&parts[at].note);
        let all = said.iter().any(|w| is_of("unsure", w) || is_of("refers", w) && w != "not");
        let told: Vec<String> = others().flat_map(|other| lows(&parts[other].text)).collect();
        let same = |name: &String| told.iter().any(|w| w.contains(name.trim_end_matches('s')));
        let names = &parts[at].names;
        let named = !names.is_empty() && !names.iter().any(same) && !all;
        let cries = said.first().is_some_and(|w| ["what", "such"].contains(&w.as_str()));
        if named || cries && !others().any(|other| here(&other)) {
            parts[at].denies = false;
        } else if !all && others().any(|other| here(&other) && parts[other].known) {
            parts[at].denies = false;
            for part in others().filter(here) {
                let text = std::mem::take(&mut parts[part].text);
                parts[part].note = [text, std::mem::take(&mut parts[part].note)].join(" ");
            }
        }
    }
}

/// What the grammar reads of the parts, and what is noted.
fn written(parts: &[Part], pieces: &[Piece]) -> (String, String) {
    let (mut text, mut notes, mut headed) = (String::new(), Vec::new(), false);
    for (part, piece) in parts.iter().zip(pieces) {
        let kept = part.text.strip_prefix("note ");
        notes.extend(kept.or(Some(&part.note)).filter(|note| !note.is_empty()));
        if part.text.is_empty() || kept.is_some() {
            continue;
        }
        text += match piece.joint {
            _ if text.is_empty() => "",
            _ if headed => " ",
            Joint::And => " and ",
            _ => ", ",
        };
        headed = piece.joint == Joint::Colon;
        text += &part.text;
        text += if headed { ":" } else { "" };
    }
    (text, notes.join(", "))
}

/// Whether words tell of a meal.
fn is_meal(text: &str, known: &Vocabulary) -> bool {
    let words = lows(text);
    let meal = known.activity_named(MEAL);
    (0..words.len()).any(|at| {
        let found = known.find(words[at..].iter().map(String::as_str));
        meal.is_some() && found.is_some_and(|(means, _)| means.activity.as_deref() == meal)
    })
}

/// All of these words as a note.
pub(super) fn noted(text: &str) -> String {
    let text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    format!("note {}", text.trim().trim_start_matches("note ").trim())
}
