//! A time that is said by itself, `busy morning`, `both around noon`, and what it holds for.

use super::cut_up::Clause;
use super::reduced::Reduced;
use super::so_far::{Held, SoFar};
use crate::logline::grammar::beside::Kind;
use crate::logline::lexis::listed::{has_digit, is_of, is_small, lows};
use crate::logline::times::time::is_time_word;
use chrono::Timelike as _;

/// The hour from which lunch was earlier.
const LATE: u32 = 15;

impl SoFar<'_> {
    /// Keeps the time of a clause that tells nothing, for what it may be said of.
    pub(in crate::logline) fn hold(&mut self, text: &str, reduced: &Reduced, clause: &Clause) {
        let words = lows(text);
        let both = words.first().is_some_and(|w| is_of("pronouns", w));
        // `alone since this morning` is of nobody's showers.
        let spans = words.iter().any(|w| is_of("spans", w));
        if let Some(time) = &reduced.time() {
            self.held = Some(Held {
                time: time.clone(),
                // `Barley Arm 11:15: grey 0, pee 0`.
                dates: reduced.dates() || both || clause.head,
                spans,
                used: false,
                before: self.told.len(),
                note: self.notes.len(),
            });
        }
    }

    /// What is told, at the time that was said of it, of what stands before it in one story, or of all
    /// that follows.
    pub(in crate::logline) fn then(
        &mut self,
        told: String,
        text: &str,
        reduced: &Reduced,
        clause: &Clause,
    ) -> String {
        let level = self.kind(&told) == Some(Kind::Level);
        let own = reduced.time().filter(|own| !told.contains(own.as_str()));
        let words = lows(text);
        let is = |row: &str| words.iter().any(|w| is_of(row, w));
        // A reading is of now, where no clause says when and no more.
        let of_it = |held: &&Held| !held.spans && (!level || held.dates || is("past"));
        let held = self.held.as_ref().filter(of_it).map(|held| &held.time);
        // `then topped up the fresh`, `because the battery was at 12`.
        let goes_on = is("sequel") || is_of("sequel", &clause.joint);
        let goes_on = if level { is("past") } else { goes_on };
        // A part of a day goes on, too.
        let hour = |time: &String| level || time.ends_with("noon") || has_digit(time);
        let story = self.said_at.as_ref().filter(|time| goes_on && hour(time));
        // `emptied the grey this morning and filled the water`.
        let joined = !level && is_of("ands", &clause.joint);
        let before = self.told.last().and_then(|thing| thing.time.as_ref()).filter(|_| joined);
        // A clause that says when, and no more, is said of what follows it.
        let dated = before.or(story).is_none() && self.held.as_ref().is_some_and(|held| held.dates);
        let told_then = before.or(story).or(held).filter(|_| !reduced.timed());
        let time =
            own.or_else(|| self.meal_time(&words, &told, reduced)).or_else(|| told_then.cloned());
        let timed = time.filter(|time| time != "now");
        let timed = timed.and_then(|time| self.at_time(&told, &time));
        if timed.is_some() {
            self.doubt |= !(dated && told_then.is_some());
            self.held.iter_mut().for_each(|held| held.used = true);
            self.no_note();
        }
        if reduced.timed() {
            self.said_at = reduced.time().filter(|time| time != "now");
        }
        timed.unwrap_or(told)
    }

    /// When a meal was that was cooked for breakfast, or for lunch, and is told in the evening.
    fn meal_time(&self, words: &[String], told: &str, reduced: &Reduced) -> Option<String> {
        let parts = [("morning-meals", "this morning"), ("noon-meals", "noon")];
        let part = parts.iter().find(|(row, _)| words.iter().any(|w| is_of(row, w)))?;
        let open = !(reduced.amount() || reduced.timed());
        let late = open && self.scene.clock.civil.hour() >= LATE && self.is_meal(told);
        late.then(|| part.1.to_string())
    }

    /// A line of the grammar at a time, where it can be.
    pub(super) fn at_time(&self, told: &str, time: &str) -> Option<String> {
        let at = |told: &str| {
            let each = told.split(", ").map(|one| match one.split_once(" (") {
                Some((one, remark)) => format!("{one} {time} ({remark}"),
                None => format!("{one} {time}"),
            });
            each.collect::<Vec<_>>().join(", ")
        };
        // `battery at 12 this evening` would be of noon.
        let level = || at(&told.replace(" at ", " "));
        Some(at(told))
            .filter(|timed| self.tells(timed))
            .or_else(|| Some(level()).filter(|timed| self.tells(timed)))
    }

    /// That a day is complete is said of the day that the line is of.
    pub(super) fn day_held(&mut self) {
        let Some(held) = self.held.as_ref().filter(|held| !held.spans) else { return };
        let closed = self.told.iter().position(|thing| thing.told == "day closed");
        let timed = closed.and_then(|at| Some((at, self.at_time("day closed", &held.time)?)));
        if let Some((at, timed)) = timed {
            self.told[at].told = timed;
        }
    }

    /// Leaves out the note of a clause that says only when it was.
    fn no_note(&mut self) {
        let held = self.held.as_ref();
        let when = |w: &String| is_small(w) || is_time_word(w);
        let note = held.and_then(|held| self.notes.get_mut(held.note));
        if let Some(note) = note.filter(|note| lows(&note.text).iter().all(when)) {
            note.text.clear();
            note.tells.harmless = true;
        }
    }

    /// At the end of a sentence: a time that was said of nothing so far is said of what stands before
    /// it; that of a whole story ends with it.
    pub(super) fn held_before(&mut self, from: usize) {
        let Some(held) = self.held.take() else { return };
        let from = if from >= held.before { held.before.saturating_sub(1) } else { from };
        for at in (from..held.before.min(self.told.len())).filter(|_| held.dates && !held.used) {
            let told = &self.told[at].told;
            if let Some(timed) = self.at_time(told, &held.time) {
                self.told[at].told = timed;
                self.doubt = true;
            }
        }
        self.held = Some(held).filter(|held| !held.spans);
    }
}
