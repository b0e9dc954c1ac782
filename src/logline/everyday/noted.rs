//! What has been heard of a line, written as one: what it tells, and the rest as a note.

use super::cut_up::sentences;
use super::so_far::{Note, SoFar, Thing};
use crate::logline::grammar::beside::Kind;
use crate::logline::lexis::lexicon::{Hedge, Sense, lexicon};
use crate::logline::lexis::listed::{has_digit, is_of, lows};
use crate::logline::lexis::misread::EXAMPLE;

/// What a line plainly tells.
pub(in crate::logline) struct Gist {
    pub line: String,
    /// Whether nothing that it leaves out could change it.
    pub sure: bool,
    /// Whether some of it was said in a way of the table of phrases.
    pub phrased: bool,
    /// How many things it tells.
    pub things: usize,
}

/// All of these words as a note.
pub(in crate::logline) fn noted(text: &str) -> String {
    let text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    format!("note {}", text.trim().trim_start_matches("note ").trim())
}

/// `offer` with a note of the clauses of `line` whose numbers it does not tell, unless it puts one in their
/// place: none that was said may vanish.
pub(super) fn with_numbers(line: &str, offer: &str) -> String {
    let said = figures(line);
    let example: String = offer.split(EXAMPLE).step_by(2).collect();
    let kept = figures(&example);
    let converted = kept.iter().any(|figure| !said.contains(figure));
    let rather = |w: &String| {
        is_of("rather", w) || matches!(lexicon().sense(w), Some(Sense::Hedge(Hedge::Not)))
    };
    if converted || offer.starts_with("note ") || lows(line).iter().any(rather) {
        return offer.to_string();
    }
    let clauses = sentences(line).into_iter().flatten();
    let gone = |text: &String| figures(text).iter().any(|figure| !kept.contains(figure));
    let gone: Vec<String> = clauses.map(|clause| clause.text).filter(gone).collect();
    match (gone.join(", "), offer.contains("note ")) {
        (gone, _) if gone.is_empty() => offer.to_string(),
        (gone, true) => format!("{offer}, {gone}"),
        (gone, false) => format!("{offer}, {}", noted(&gone)),
    }
}

/// Whether a text has a number in it that counts more than one thing.
pub(super) fn has_number(text: &str) -> bool {
    !figures(text).is_empty()
}

/// The figures of a text, however their digits are parted, `9.30` and `09:30` alike, and its numbers but one.
fn figures(text: &str) -> Vec<String> {
    let figure = |word: &str| {
        let count = || lexicon().count(word).filter(|n| *n > 1).map(|n| n.to_string());
        let word = if has_digit(word) { word.to_string() } else { count()? };
        let digits = word.chars().filter(char::is_ascii_digit).collect::<String>();
        Some(digits.trim_start_matches('0').to_string())
    };
    lows(text).iter().flat_map(|word| word.split(['-', '–'])).filter_map(figure).collect()
}

impl SoFar<'_> {
    /// The line; what cannot stand beside the rest of it is noted.
    pub(in crate::logline) fn written(mut self) -> Option<Gist> {
        let mut sure = !self.doubt && !self.leaves_open();
        if !sure {
            self.guessed();
        }
        self.told_once();
        while !self.told.is_empty() {
            let line = self.line(sure);
            let things = self.told.len();
            let gist = |line| Some(Gist { line, sure, phrased: false, things });
            let Err(misread) = (self.read)(&line)? else { return gist(line) };
            // What is to be asked may leave nothing open.
            if sure && misread.mend.swaps.first().is_some_and(|swap| swap.sure) {
                return gist(line);
            }
            if sure {
                sure = false;
                continue;
            }
            let before: String = line.chars().take(misread.start).collect();
            let at = before.matches(", ").count().min(self.told.len() - 1);
            // What is clear by itself stands against another.
            let against = self.told.len() > 1 && self.says(&self.told[at].told);
            let against = against && !misread.mend.both;
            if !misread.mend.swaps.is_empty() && !against {
                return gist(line);
            }
            let gone = self.told.remove(at);
            self.note(&gone.text, None);
        }
        None
    }

    /// What is told, and what is noted. Beside what is sure all words are kept.
    fn line(&self, sure: bool) -> String {
        let (mut line, mut notes) = (String::new(), Vec::new());
        for thing in &self.told {
            line += match thing.and {
                _ if line.is_empty() => "",
                true if sure => " and ",
                _ => ", ",
            };
            line += &thing.told;
            // A remark with a reading would say that it was looked at twice.
            let read = thing.told.starts_with("outlook")
                || sure && self.kind(&thing.told) == Some(Kind::Level);
            match sure && !thing.remark.is_empty() {
                true if read => notes.push(thing.remark.clone()),
                true => line += &format!(" ({})", thing.remark.replace(['(', ')'], "")),
                false => notes.extend(thing.left.iter().cloned()),
            }
        }
        let says = |note: &&Note| (sure || !note.filler) && !note.text.is_empty();
        for note in self.notes.iter().filter(says) {
            match notes.last_mut().filter(|_| note.joins) {
                Some(last) => *last += &format!(" {}", note.text),
                None => notes.push(note.text.clone()),
            }
        }
        let notes = notes.join(", ");
        if notes.is_empty() { line } else { format!("{line}, {}", noted(&notes)) }
    }

    /// Whether something that is noted may change what is told.
    fn leaves_open(&self) -> bool {
        let told: Vec<String> = self.told.iter().flat_map(|thing| lows(&thing.told)).collect();
        let meal = || self.told.iter().any(|thing| self.is_meal(&thing.told));
        let elsewhere = |name: &String| {
            let name = name.trim_end_matches('s');
            !told.iter().any(|w| w.contains(name))
        };
        // What the weather will be, and that a day is complete, nothing said beside it changes but numbers.
        let apart =
            |thing: &Thing| ["outlook", "day closed"].iter().any(|w| thing.told.starts_with(w));
        let firm = self.told.iter().all(apart);
        let number = |w: &String| lexicon().count(w).is_some() || has_digit(w);
        let open = |note: &Note| {
            if firm {
                return lows(&note.text).iter().any(number);
            }
            let tells = &note.tells;
            let apart = tells.apart.as_ref().is_some_and(|names| names.iter().all(elsewhere));
            !(tells.harmless || apart || tells.meal && meal())
        };
        self.notes.iter().any(open)
    }
}
