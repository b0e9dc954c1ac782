//! Free speech. In each clause the plain core is found: a thing with its figure, a verb with its
//! thing, an activity with its count. The core is what happened; words left over that cannot change
//! it are a remark beside it; where they can, the line is asked back. A clause in which nothing is
//! known is talk, and noted.

use super::listed::{is_of, lows};
use super::moment::Clock;
use super::part::{Clause, MEAL, Part};
use super::prepared::prepared;
use super::scene::Scene;
use super::talk::is_talk;
use super::vocabulary::Vocabulary;
use super::words::{Joint, Piece};

/// `line` brought to the grammar, with what was left over in remarks and in a note at its end; `None`
/// where it may mean something else as well, or cannot be cut into clauses.
pub(super) fn read(line: &str, known: &Vocabulary, clock: &Clock) -> Option<String> {
    let pieces = prepared(line, known, clock).ok()?;
    let letters: Vec<char> = line.chars().collect();
    let part = |piece: &Piece| {
        let scene = Scene::now(known, clock);
        Clause { piece, scene: &scene, letters: &letters }.part()
    };
    let mut parts: Vec<Part> = pieces.iter().map(part).collect();
    settle(&mut parts, known);
    let sentences: Vec<usize> = pieces.iter().map(|piece| sentence(piece, &letters)).collect();
    alone(&mut parts, &sentences);
    if parts.iter().all(|part| !part.known) {
        let counts = parts.iter().any(|part| part.counts);
        return (!counts && is_talk(line)).then(|| noted(line));
    }
    if parts.iter().any(|part| part.open || part.denies) {
        return None;
    }
    Some(match written(&parts, &pieces) {
        (text, _) if text.is_empty() => noted(line),
        (text, notes) if notes.is_empty() => text,
        (text, notes) => format!("{text}, {}", noted(&notes)),
    })
}

/// Settles what the parts of a line say of each other.
fn settle(parts: &mut [Part], known: &Vocabulary) {
    // What was eaten beside a meal that is told is no other meal.
    let told = |part: &Part| is_meal(&part.text, known) || is_meal(&part.note, known);
    let cooked = parts.iter().any(|part| !part.meal && told(part));
    for part in parts.iter_mut().filter(|part| part.meal) {
        // `soup for lunch and curry for tea` are two.
        let another = lows(&part.note).iter().any(|w| is_of("mealtimes", w));
        (part.open, part.known) = (!cooked || another, !cooked || another);
    }
    let said = parts.iter().position(|part| part.known).unwrap_or(parts.len());
    for part in parts[..said].iter_mut().filter(|part| part.own_time) {
        (part.open, part.denies) = (false, false);
    }
    // `water is getting low, about a quarter`.
    for at in 1..parts.len() {
        let name = if parts[at].amount { parts[at - 1].name.take() } else { None };
        if let Some(name) = name {
            (parts[at - 1].text, parts[at - 1].open) = (name, false);
        }
    }
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
