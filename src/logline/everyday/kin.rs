//! Words of what is said of people: who may come, their homes and their names.

use super::prose::Prose;
use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::lexicon::lexicon;
use crate::logline::lexis::listed::{is_of, is_small, stem};
use crate::logline::lexis::word::{Kind, Word};
use crate::logline::times::time::is_time_word;

/// The words of what is said of people.
pub(in crate::logline) struct Crowd<'c> {
    pub prose: Prose<'c>,
}

impl Crowd<'_> {
    pub(in crate::logline) fn is(&self, rows: &str, at: usize) -> bool {
        self.prose.is(rows, at)
    }

    pub(in crate::logline) fn scene(&self) -> &Scene<'_> {
        self.prose.scene
    }

    pub(in crate::logline) fn words(&self) -> &[Word<'_>] {
        &self.prose.words
    }

    /// Whether a clause may be of people: it names nothing of the van.
    pub(super) fn is_open(&self, clause: usize) -> bool {
        let mut all = (0..self.prose.len()).filter(|at| self.prose.clause[*at] == clause);
        let named = |at: usize| self.scene().known.find(self.prose.lows(at).into_iter()).is_some();
        !all.any(|at| named(at) && !self.is("mealtimes", at) || self.prose.begins("feeds", at) > 0)
    }

    pub(super) fn is_named(&self, at: usize) -> bool {
        is_name(&self.words()[at], self.scene()) || self.is_first(at)
    }

    /// Whether somebody is named here, or stands for one who is.
    pub(in crate::logline) fn is_who(&self, at: usize) -> bool {
        self.is("crew pair", at) || is_kin(stem(&self.words()[at].low)) || self.is_named(at)
    }

    /// Whether the first word of a clause is a name in small letters: `ada away until sunday`.
    fn is_first(&self, at: usize) -> bool {
        let begins = at == 0 || self.prose.clause[at - 1] != self.prose.clause[at];
        let low = stem(&self.words()[at].low);
        let new = begins && is_unknown(low, self.scene());
        new && self.is("leaves returns comes", at + 1)
    }

    /// `is at scout camp`: whether somebody is where the van is not.
    pub(super) fn is_out(&self, at: usize) -> bool {
        let words = self.words();
        let who = at > 1 && words[at - 1].is_any("is am are be") && self.is_who(at - 2);
        let van = |w: &Word| is_of("aboard-here", &w.low);
        let next = words.get(at + 1).filter(|w| !van(w));
        who && words[at].is_any("at in on up")
            && next.is_some()
            && self.prose.time(at).is_none()
            && self.prose.time(at + 1).is_none()
    }

    /// Whether a clause goes on with a place of the book, where all of them go: `leaving for Sorrel Head`.
    pub(super) fn leads_on(&self, at: usize) -> bool {
        let own =
            (at..self.prose.len()).take_while(|n| self.prose.clause[*n] == self.prose.clause[at]);
        let place = |at: usize| self.scene().known.place_of_words(&self.words()[at..]) > 0;
        own.skip(1).any(place)
    }

    /// Whether nothing but a time, or who is left behind, follows.
    pub(super) fn ends_at(&self, at: usize) -> bool {
        let end =
            at >= self.prose.len() || at > 0 && self.prose.clause[at] != self.prose.clause[at - 1];
        end || self.is("behind", at) || self.prose.time(at).is_some()
    }
}

/// Whether the home of somebody is named: `my daughter's`, `my parents house`, `at grans`.
pub(super) fn is_home(words: &[Word], at: usize) -> bool {
    let home = |w: &Word| is_of("homes", &w.low);
    let low = &words[at].low;
    let led = |n: usize| at >= n && words[at - n].is_any("at to");
    let plural = led(1) && is_kin(low) && low.ends_with('s');
    // `mom's staying` is mom.
    let moves = words.get(at + 1).is_some_and(|w| is_of("comes leaves returns", &w.low));
    let own = low.ends_with("'s") && is_kin(stem(low)) && !moves;
    own || plural || words.get(at + 1).is_some_and(home)
}

/// Whether a word is one of those who may come to stay, or several of them.
pub(super) fn is_kin(low: &str) -> bool {
    is_of("kin", low) || is_of("kin", low.trim_end_matches('s'))
}

/// Whether a word in small letters stands in no table, and names nothing.
pub(in crate::logline) fn is_unknown(low: &str, scene: &Scene) -> bool {
    low.len() > 2
        && low.chars().all(char::is_alphabetic)
        && !lexicon().lists(low)
        && !is_time_word(low)
        && !scene.known.names(low)
}

/// Whether a word is a name of nobody and nothing that is known.
pub(in crate::logline) fn is_name(word: &Word, scene: &Scene) -> bool {
    let low = stem(&word.low);
    word.kind == Kind::Plain
        && word.text.starts_with(char::is_uppercase)
        && low.len() > 2
        && !is_small(low)
        && !is_of("then kin pair sets-off arrives", low)
        && !is_time_word(low)
        && !scene.known.names(low)
        && !scene
            .known
            .places
            .iter()
            .any(|place| place.to_lowercase().split_whitespace().any(|part| part == low))
}
