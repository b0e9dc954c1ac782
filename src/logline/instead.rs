//! The way out of a line that is asked back: whole lines that would be saved, nearest first.

use super::lexicon::{Sense, lexicon};
use super::misread::{Misread, Swap};
use super::schedule;
use super::vocabulary::Vocabulary;
use super::words::pieces;
use crate::domain::time::Moment;

/// The most lines that are offered.
const MOST: usize = 3;
/// How many slips in one line are mended one after the other.
const DEEPEST: usize = 9;

/// Lines that are like `line`, which was misread, and would be saved.
pub(super) fn ways(line: &str, misread: &Misread, known: &Vocabulary, now: Moment) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for candidate in candidates(line, misread) {
        if found.len() == MOST {
            break;
        }
        if let Some(way) = candidate.way(known, now, 1).filter(|way| is_said(way, line))
            && !found.contains(&way)
        {
            found.push(way);
        }
    }
    if found.is_empty() {
        let part = noted(line, misread, known).and_then(|noted| mended(noted, known, now, 1));
        let part = part.filter(|way| is_said(way, line));
        found.extend(part.or_else(|| mended(whole_noted(line)?, known, now, DEEPEST)));
    }
    found
}

/// A line that may be what was meant.
enum Candidate {
    /// Words were put in place of others; what else is unclear in it is mended in turn.
    Put(String),
    /// A word was left out, so that the rest has to make sense as it stands.
    Cut(String),
}

impl Candidate {
    fn way(self, known: &Vocabulary, now: Moment, depth: usize) -> Option<String> {
        match self {
            Candidate::Put(line) => mended(line, known, now, depth),
            Candidate::Cut(line) => schedule::understand(&line, known, now).is_ok().then_some(line),
        }
    }
}

/// The candidate, or what it becomes when its own slips are mended as well.
fn mended(candidate: String, known: &Vocabulary, now: Moment, depth: usize) -> Option<String> {
    let misread = match schedule::understand(&candidate, known, now) {
        Ok(_) => return Some(candidate),
        Err(misread) if depth < DEEPEST => misread,
        Err(_) => return None,
    };
    let mut first = candidates(&candidate, &misread).into_iter().take(2);
    first
        .find_map(|next| next.way(known, now, depth + 2))
        .or_else(|| mended(noted(&candidate, &misread, known)?, known, now, depth + 2))
}

/// The line with what was misread replaced, in each way that the misreading names: what its
/// message says, then words that are near. A word is left out only where it blurs nothing.
fn candidates(line: &str, misread: &Misread) -> Vec<Candidate> {
    let low = misread.word.to_lowercase();
    let blurs = low.split(' ').any(|word| {
        matches!(lexicon().find([word].into_iter()), Some((Sense::Hedge, _)))
            || word.contains(|c: char| "?-".contains(c) || c.is_ascii_digit())
    });
    let (from, to) = misread.mend.thing.unwrap_or((misread.start, misread.end));
    let said = misread.mend.swaps.iter().map(|swap| match swap {
        Swap::Word(text) => replaced(line, misread.start, misread.end, text),
        Swap::Thing(text) => replaced(line, from, to, text),
        Swap::Line(text) => text.clone(),
    });
    // What is near `no` or `not` would turn the meaning round.
    let near = misread.nearest.iter().filter(|_| !blurs);
    let near = near.map(|word| replaced(line, misread.start, misread.end, word));
    let put = said.chain(near).filter(|candidate| candidate != line);
    let mut all: Vec<Candidate> = put.map(Candidate::Put).collect();
    // A word is left out beside others of its thing; a whole thing that was said never is.
    let beside = to.saturating_sub(from) > misread.end - misread.start;
    if !blurs && beside && all.is_empty() && !misread.word.is_empty() {
        let without = replaced(line, misread.start, misread.end, "");
        all.push(Candidate::Cut(without));
    }
    all
}

/// Whether the text of a note in `way` was said in `line` as it stands.
fn is_said(way: &str, line: &str) -> bool {
    let words = |text: &str| format!(" {} ", text.split_whitespace().collect::<Vec<_>>().join(" "));
    way.split_once("note ").is_none_or(|(_, text)| {
        words(&line.replace([',', ';'], " ")).contains(&words(text))
            || words(line).contains(&words(text))
    })
}

/// All of the line as a note.
fn whole_noted(line: &str) -> Option<String> {
    let text: String = line.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let text = text.trim().trim_start_matches("note ").trim();
    text.contains(char::is_alphanumeric).then(|| format!("note {text}"))
}

/// The line with the thing that was misread as a note at its end.
fn noted(line: &str, misread: &Misread, known: &Vocabulary) -> Option<String> {
    let pieces = pieces(line, known).ok();
    let mut kept: Vec<String> = Vec::new();
    let mut text: Option<String> = None;
    let letters: Vec<char> = line.chars().collect();
    let words = |from: usize, to: usize| {
        letters[from.min(letters.len())..to.min(letters.len())].iter().collect::<String>()
    };
    for piece in pieces.iter().flatten() {
        let (first, last) = (piece.words.first()?, piece.words.last()?);
        let piece = words(first.start, last.end).trim().to_string();
        match text {
            None if misread.start <= last.end => text = Some(piece),
            _ => kept.push(piece),
        }
    }
    let text = text.unwrap_or_else(|| line.to_string());
    let text: String = text.chars().filter(|c| !c.is_control()).collect();
    let text = text.trim().trim_start_matches("note ").trim();
    if text.is_empty() || !text.contains(char::is_alphanumeric) {
        return None;
    }
    kept.push(format!("note {text}"));
    Some(kept.join(", "))
}

/// The line with these characters replaced, and its blanks single.
fn replaced(line: &str, start: usize, end: usize, text: &str) -> String {
    let before: String = line.chars().take(start).collect();
    let after: String = line.chars().skip(end).collect();
    format!("{before} {text} {after}")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .replace(" ,", ",")
}
