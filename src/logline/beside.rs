//! Words left over beside the cores of a clause, and what they may change.

use super::amounts::Said;
use super::cores::{COMMON, Core, Kind};
use super::item::{Is, Item};
use super::lexicon::{Hedge, lexicon};
use super::listed::{is_digit, is_filler, is_of, stem};
use super::word::Word;

/// Words that say when, with what stands behind them.
const WHEN: &str = "at on by before after when since from of into to while";
/// Words that say where.
const WHERE: &str = "at in by on from into of to";

/// Words left over between two cores.
pub(super) struct Run<'r> {
    pub items: &'r [Item<'r>],
    pub from: usize,
    pub to: usize,
    pub before: Option<&'r Core>,
    pub after: Option<&'r Core>,
}

impl Run<'_> {
    fn words(&self) -> impl Iterator<Item = &Word<'_>> {
        self.items[self.from..self.to].iter().flat_map(|item| item.words)
    }

    /// Whether they say anything.
    pub(super) fn says(&self) -> bool {
        let words: Vec<&str> = self.words().map(|w| w.low.as_str()).collect();
        let then = lexicon().is_one("then", &words);
        let words: Vec<&str> = words.into_iter().filter(|w| !is_of("then", w)).collect();
        !then && !is_filler(&words)
    }

    /// Whether they may change what the cores beside them tell.
    pub(super) fn may_change(&self) -> bool {
        let items = &self.items[self.from..self.to];
        if !self.says() && !items.iter().any(|item| matches!(item.is, Is::Time(_) | Is::Hedge(_))) {
            return false;
        }
        // Why it was done takes nothing back.
        let why = |item: &Item| {
            item.is_of("because so") || item.words.iter().any(|w| is_of("why", &w.low))
        };
        let why = items.iter().position(why).filter(|_| self.before.is_some());
        let excused = |at: usize| why.is_some_and(|why| self.from + why < at);
        (self.from..self.to).any(|at| self.item_may_change(at, excused(at)))
            || self.before.is_some_and(|core| !self.may_follow(core))
            || self.after.is_some_and(|core| !self.may_lead(core))
    }

    fn item_may_change(&self, at: usize, excused: bool) -> bool {
        let item = &self.items[at];
        let for_whom = at > self.from && self.items[at - 1].is_mark(&["for"]);
        let used = [self.before, self.after].iter().flatten().any(|core| core.kind == Kind::Use);
        let done = self.before.is_some_and(|core| core.kind == Kind::Done);
        let open = |w: &Word| {
            let it = excused && w.is_any(&["it", "that", "this"]);
            is_digit(w) || (is_of("undone", &w.low) || is_of("unsure", &w.low) && !it) && !excused
        };
        let elsewhere = used && item.words.iter().any(|w| is_of("elsewhere", stem(&w.low)));
        let quiet = match item.is {
            _ if elsewhere => false,
            Is::Hedge(Hedge::Not) => excused,
            Is::Amount(_) if item.is_article() => true,
            Is::Amount(Said::Bare(_)) => used && for_whom,
            Is::Place => done,
            Is::Verb(verb) => COMMON.contains(&verb),
            Is::Mark(_) if at == self.from => true,
            Is::Other | Is::Mark(_) => !item.words.iter().any(open),
            _ => false,
        };
        !quiet
    }

    /// Whether they may stand in front of a core.
    fn may_lead(&self, core: &Core) -> bool {
        let words: Vec<&Word> = self.words().collect();
        let first = self.items[core.from].words.iter().next();
        let told = first.and_then(|w| w.lead).map(str::to_lowercase);
        let i = told.is_some_and(|lead| ["i", "we", "i've", "we've"].contains(&lead.as_str()));
        let who = |w: &Word| {
            let name = w.text.starts_with(char::is_uppercase);
            let verb = w.start == 0 && !core.past && core.kind == Kind::Use
                || ["ed", "ing"].iter().any(|end| w.low.ends_with(end));
            ["filler", "people", "subject", "then", "reads"].iter().any(|list| is_of(list, &w.low))
                || w.is("and")
                || core.kind != Kind::Level && name && !verb
        };
        match core.kind {
            Kind::Other => words.is_empty(),
            Kind::Done => true,
            Kind::Use if core.past && i => true,
            _ => words.iter().all(|w| who(w)),
        }
    }

    /// Whether they may stand behind a core.
    fn may_follow(&self, core: &Core) -> bool {
        let items = &self.items[self.from..self.to];
        let Some(first) = items.first() else { return true };
        if !self.says() {
            return true;
        }
        // A small word at the end is a thing not said to its end.
        if items.iter().all(|item| matches!(item.is, Is::Mark(_)) && !item.is_mark(&["so"])) {
            return false;
        }
        let plain = matches!(first.is, Is::Other);
        let ends = |end: &str| first.words[0].low.ends_with(end);
        let done = ends("ed") || ends("ing") || ends("en");
        match core.kind {
            Kind::Other => false,
            Kind::Level => !(first.is_of(WHEN) || plain && done),
            Kind::Use if plain => core.past && !done,
            Kind::Use => (!core.is_weak() || first.is_of("for")) && !first.is_of(WHERE),
            Kind::Done => !first.is_mark(&["of"]),
        }
    }
}
