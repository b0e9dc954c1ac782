//! Lines that tell one thing in two ways, told in one: a number put right in the same breath (`2
//! dishes, sorry 1`), one or the other (`2 or 3 showers`), and who did it in place of how many (`me
//! and Otis showered`).

use super::kin::is_unknown;
use crate::domain::flow::Per;
use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::lexicon::{Sense, lexicon};
use crate::logline::lexis::listed::{is_of, low};

/// A word as it was written, without the marks at its end, and those marks.
struct SaidWord<'l> {
    word: &'l str,
    low: String,
    end: &'l str,
}

/// The words of a line, and the rig that they are said of.
struct SaidLine<'l, 's> {
    all: Vec<SaidWord<'l>>,
    scene: &'s Scene<'s>,
}

/// Who did something: the words that say so, how many they are, and where what they did is named.
type ByWhom = ((usize, usize), u32, usize);

/// `line` with so many as all of them are in place of who they are, and whether they plainly are.
pub(super) fn retold(line: &str, scene: &Scene) -> Option<(String, bool)> {
    SaidLine::of(line, scene).of_all()
}

/// `line` with so many as are named in place of their names, and whether they plainly are.
pub(super) fn by_whom(line: &str, scene: &Scene) -> Option<(String, bool)> {
    SaidLine::of(line, scene).by_whom()
}

impl<'l, 's> SaidLine<'l, 's> {
    fn of(line: &'l str, scene: &'s Scene<'s>) -> SaidLine<'l, 's> {
        let token = |text: &'l str| {
            let word = text.trim_end_matches([',', ';', '!', '?', '.', ':']);
            SaidWord { word, low: low(word), end: &text[word.len()..] }
        };
        SaidLine { all: line.split_whitespace().map(token).collect(), scene }
    }

    fn lows(&self, from: usize) -> Vec<&str> {
        self.all[from.min(self.all.len())..].iter().map(|token| token.low.as_str()).collect()
    }

    /// How many words the name of a thing takes that begins here, and what it names.
    fn name(&self, at: usize) -> Option<(usize, String)> {
        let (meaning, taken) = self.scene.known.find(self.lows(at).into_iter())?;
        let name = meaning.activity.as_ref().or(meaning.stock.as_ref())?;
        Some((taken, name.clone()))
    }

    fn ends(&self, from: usize, to: usize) -> bool {
        self.all[from..to].iter().any(|token| !token.end.is_empty())
    }

    /// The line with `told` in place of these words.
    fn put(&self, (from, to): (usize, usize), told: &str) -> String {
        let all = |from: usize, to: usize| self.all[from..to].iter();
        let whole = |token: &SaidWord| format!("{}{}", token.word, token.end);
        let told = format!("{told}{}", self.all[to - 1].end);
        // `correction: grey 40 not 60`.
        let mends = lexicon().begins("mends", &self.lows(0)).min(from);
        let before = all(mends, from).map(whole).chain([told]);
        before.chain(all(to, self.all.len()).map(whole)).collect::<Vec<_>>().join(" ")
    }

    /// Whether a word says by itself that it is of somebody.
    fn is_plainly_who(&self, at: usize) -> bool {
        let Some(SaidWord { word, low, .. }) = self.all.get(at) else { return false };
        is_of("speaker people", low) || word.starts_with(char::is_uppercase) && self.is_unknown(at)
    }

    /// Whether a word may name somebody.
    fn is_who(&self, at: usize) -> bool {
        self.is_plainly_who(at) || self.is_unknown(at)
    }

    fn is_unknown(&self, at: usize) -> bool {
        let unit = |low: &str| self.scene.known.unit_named(low).is_some();
        self.all
            .get(at)
            .is_some_and(|SaidWord { low, .. }| is_unknown(low, self.scene) && !unit(low))
    }

    /// `everyone showered but Ada`, `a shower each, the two of us`: so many of all who are aboard.
    fn of_all(&self) -> Option<(String, bool)> {
        let len = self.all.len();
        let begins = |list: &str, at: usize| lexicon().begins(list, &self.lows(at));
        let of = (0..len).find(|at| self.own_use(*at).is_some())?;
        let all = (0..len).find(|at| begins("everyone", *at) > 0)?;
        // How many `the two of us` are.
        let few = (0..len.saturating_sub(2)).find_map(|at| {
            let count = match self.all[at].low.as_str() {
                "pair" => Some(2),
                low => lexicon().count(low),
            };
            let us = self.all[at + 1].low == "of" && self.all[at + 2].low == "us";
            Some((at, at + 3, count?)).filter(|_| us)
        });
        let but = || {
            let from = (all..len).find(|at| begins("except", *at) > 0)?;
            let at = from + begins("except", from);
            let who = (at..len).take_while(|at| self.is_who(*at) || is_and(&self.all[*at].low));
            Some((from, at..at + who.count()))
        };
        // `I didn't`.
        let not = || {
            let at = (all..len).find(|at| self.is_who(*at) && begins("didnt", at + 1) == 1)?;
            Some((at, at..at + 2))
        };
        let (from, to, many) = few.or_else(|| {
            let (from, who) = but().or_else(not)?;
            let left = who.clone().filter(|at| self.is_who(*at)).count() as f64;
            let many = self.scene.known.aboard.value() - left;
            (left > 0.0 && many >= 1.0).then_some((from, who.end, many as u32))
        })?;
        let (_, name) = self.name(of)?;
        let name = &self.scene.parts.activity(&name)?.1.plural;
        let first = from.min(of).min(all);
        // `the one shower each`; `3 showers, everyone but Otis` may be three.
        let count = first.checked_sub(1).and_then(|at| lexicon().count(&self.all[at].low));
        let (counted, plainly) = (count.is_some(), count.is_none_or(|n| n == 1) && !self.is_out());
        let (from, to) =
            (first - usize::from(counted), to.max(all + 1).max(of + self.own_use(of)?));
        Some((self.put((from, to), &format!("{many} {name}")), plainly))
    }

    /// Whether a word says that it was not here.
    fn is_out(&self) -> bool {
        self.all.iter().any(|token| token.low != "out" && is_of("elsewhere", &token.low))
    }

    /// The activity that begins here, where each person does it for themselves.
    fn own_use(&self, at: usize) -> Option<usize> {
        let (taken, name) = self.name(at)?;
        let (_, activity) = self.scene.parts.activity(&name)?;
        (activity.per == Per::Person).then_some(taken)
    }

    /// `Ada, Nell and I showered`: as many as are named.
    fn by_whom(&self) -> Option<(String, bool)> {
        let end = self.all.len();
        if self.is_out() {
            return None;
        }
        let ((from, to), many, of) = self.some_of_us().or_else(|| self.in_front(0, end))?;
        let who = || (from..to).filter(|at| self.is_who(*at));
        let plainly = who().any(|at| self.is_plainly_who(at)) || who().count() == 0;
        let (_, name) = self.name(of)?;
        let name = &self.scene.parts.activity(&name)?.1.plural;
        let who: Vec<&str> = who()
            .map(|at| self.all[at].word)
            .filter(|who| !who.eq_ignore_ascii_case("us"))
            .collect();
        let who = if who.is_empty() { String::new() } else { format!(" ({})", who.join(" ")) };
        Some((self.put((from, to), &format!("{many} {name}{who}")), plainly))
    }

    /// `two of us showered`.
    fn some_of_us(&self) -> Option<ByWhom> {
        let of = (3..self.all.len()).find(|at| self.own_use(*at).is_some())?;
        let [count, small, us] = [of - 3, of - 2, of - 1].map(|at| self.all[at].low.as_str());
        let many = lexicon().count(count).filter(|_| (small, us) == ("of", "us"))?;
        Some(((of - 3, of + self.own_use(of)?), many, of))
    }

    /// `me and Otis showered`, whatever follows.
    fn in_front(&self, from: usize, to: usize) -> Option<ByWhom> {
        let (of, taken) = (from..to).find_map(|at| Some((at, self.own_use(at)?)))?;
        let low = |at: usize| self.all[at].low.as_str();
        let skipped = |at: usize| lexicon().sense(low(at)) == Some(Sense::Skip);
        let small = |at: usize| {
            (skipped(at) || ["each", "a"].contains(&low(at))) && !self.is_plainly_who(at)
        };
        let led = (from..of).rev().take_while(|at| small(*at) && !self.ends(*at, *at + 1)).count();
        let (mut at, mut who, mut and) = (of - led, 0, false);
        while at > from && self.is_who(at - 1) && (who == 0 || and || self.all[at - 1].end == ",") {
            (at, who) = (at - 1, who + 1);
            if at > from + 1 && is_and(low(at - 1)) && self.is_who(at - 2) {
                (at, and) = (at - 1, true);
            }
        }
        (who > 1 && and).then_some(((at, of + taken), who, of))
    }
}

fn is_and(low: &str) -> bool {
    low.is_empty() || is_of("ands", low)
}
