//! Words left over beside what a clause tells, and what they may change in it.

use super::bag::{ends_done, is_done_word};
use crate::domain::{Event, Unit};
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::lexicon;
use crate::logline::lexis::listed::{is_digit, is_filler, is_of, is_small, stem};
use crate::logline::lexis::word::Word;
use crate::logline::tokens::item::{Is, Item};

/// Words that say when, with what stands behind them.
const WHEN: &str = "at on by before after when since from of into to while";
/// Words that say where.
const WHERE: &str = "at in by on from into of to";

/// Small words that change nothing within what is told.
const QUIET: &str = "us so on we";

/// What sort of thing a clause tells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Kind {
    /// What is there.
    Level,
    /// Something used.
    Use,
    /// A fill, an emptying, a drive, a charge: its verb says that it was done.
    Done,
    /// Who is aboard, a camp, a day.
    Other,
}

impl Kind {
    pub(in crate::logline) fn of(event: &Event) -> Kind {
        match event {
            Event::Level { .. } => Kind::Level,
            Event::Use { .. } => Kind::Use,
            Event::Fill { .. } | Event::Empty { .. } | Event::Drive(_) | Event::Charge { .. } => {
                Kind::Done
            }
            _ => Kind::Other,
        }
    }
}

/// What a clause tells, with the items around it.
pub(in crate::logline) struct Core<'c> {
    pub items: &'c [Item<'c>],
    /// Which of them are told.
    pub kept: &'c [usize],
    pub kind: Kind,
}

impl Core<'_> {
    fn told(&self) -> impl Iterator<Item = &Item<'_>> {
        self.kept.iter().map(|at| &self.items[*at])
    }

    /// Whether a word of it says that it was done.
    fn past(&self) -> bool {
        self.told().any(|item| match item.is {
            Is::Name(_) => item.words.iter().any(is_done),
            _ => false,
        })
    }

    /// Whether it may be a name and nothing more.
    fn is_weak(&self) -> bool {
        let counts = |item: &Item| item.is_number() || item.is_of("both each another");
        self.kind == Kind::Use && !self.past() && !self.told().any(counts)
    }

    /// Whether words beside it may change what it tells.
    pub(in crate::logline) fn may_change(&self) -> bool {
        let (Some(first), Some(last)) = (self.kept.first(), self.kept.last()) else { return true };
        let inner = (*first..*last).filter(|at| !self.kept.contains(at));
        let within = |at: usize| match self.items[at].is {
            Is::Other => !self.items[at].words.iter().all(says_nothing),
            Is::Mark(_) => !(self.items[at].is_of(QUIET) || self.leads_on(at)),
            Is::Verb("day") => false,
            _ => !self.items[at].is_article(),
        };
        // `the fresh one`, `fresh 60 things` are no levels.
        let bare = matches!(self.items[*last].is, Is::Amount(Said::Bare(_)));
        let strange = |item: &Item| item.is_other() || item.is_article();
        let thing = self.items.get(last + 1).is_some_and(strange);
        if self.kind == Kind::Level && bare && thing {
            return true;
        }
        inner.into_iter().any(within)
            || self.beside(0, *first, Side::Front)
            || self.beside(last + 1, self.items.len(), Side::Behind)
    }

    /// `food for 2 more days`, `put 8 L in the tank`: a small word that leads to what is told, too.
    fn leads_on(&self, at: usize) -> bool {
        let next = self.items[at + 1..].iter().find(|item| !item.is_article());
        let ends = self.kept.last() == Some(&(self.items.len() - 1));
        next.is_some_and(|next| match self.items[at].is {
            Is::Mark("for") => next.is_amount() || next.is_of("all about"),
            Is::Mark("in" | "into") => self.kind == Kind::Done && ends && next.stock().is_some(),
            _ => false,
        })
    }

    /// Whether the items from one up to another may change it.
    fn beside(&self, from: usize, to: usize, side: Side) -> bool {
        let items = &self.items[from..to];
        // `2 kg left in it`.
        let items = match items {
            [all @ .., of, it] if self.kind != Kind::Use && of.is_of("in for") && is_it(it) => all,
            all => all,
        };
        let says = says(items);
        // Why it was done takes nothing back.
        let why = |item: &Item| item.words.iter().any(|w| is_of("why", &w.low));
        let why = items.iter().position(why).filter(|_| side == Side::Behind);
        let excused = |at: usize| why.is_some_and(|why| why < at);
        (0..items.len()).any(|at| self.item_may_change(items, at, excused(at)))
            || match side {
                Side::Front => !self.may_lead(items),
                Side::Behind => says && !self.may_follow(items),
            }
    }

    fn item_may_change(&self, items: &[Item], at: usize, excused: bool) -> bool {
        let item = &items[at];
        let for_whom = at > 0 && items[at - 1].is_of("for");
        let used = self.kind == Kind::Use;
        let open = |w: &Word| is_digit(w) || is_of("undone unsure", &w.low) && !excused;
        let elsewhere = used && item.words.iter().any(|w| is_of("elsewhere", stem(&w.low)));
        let quiet = match item.is {
            _ if elsewhere => false,
            Is::Amount(Said::Bare(_)) => used && for_whom,
            Is::Amount(Said::Quantity(ref said)) if said.unit == Unit::Person => used,
            Is::Place => self.kind == Kind::Done,
            Is::Mark(_) if at == 0 => true,
            Is::Other | Is::Mark(_) => !item.words.iter().any(open),
            _ => false,
        };
        !quiet
    }

    /// Whether items may stand in front of it.
    fn may_lead(&self, items: &[Item]) -> bool {
        let mut words = items.iter().flat_map(|item| item.words);
        let past = self.past();
        let who = |w: &Word| {
            let name = w.text.starts_with(char::is_uppercase);
            let verb = w.start == 0 && !past && self.kind == Kind::Use;
            is_of("filler people subject then reads", &w.low)
                || w.is("and")
                || self.kind != Kind::Level && name && !verb
        };
        // `only about 6 L of diesel left`.
        let so_much = |w: &Word| w.is_any("only about we");
        match self.kind {
            Kind::Other => words.next().is_none(),
            Kind::Done => true,
            _ => words.all(|w| who(w) || so_much(w)),
        }
    }

    /// Whether items may stand behind it.
    fn may_follow(&self, items: &[Item]) -> bool {
        let Some(first) = items.first() else { return true };
        // A small word at the end is a thing not said to its end.
        if items.iter().all(|item| item.is_a_mark() && !item.is_of("so")) {
            // `washed up after`.
            return self.kind == Kind::Use && items.len() == 1 && first.is_of("after");
        }
        let plain = first.is_other();
        match self.kind {
            Kind::Other => false,
            // `40 L by my sums`.
            Kind::Level if first.is_of("by") => items[1..].iter().all(Item::is_other),
            Kind::Level => !first.is_of(WHEN),
            // `cooked 3 fish` counts fish.
            Kind::Use if plain => false,
            // `2 showers each for Ada and Nell` are not everybody's.
            Kind::Use if first.is_of("for") && self.told().any(|item| item.is_of("each")) => false,
            Kind::Use => (!self.is_weak() || first.is_of("for before")) && !first.is_of(WHERE),
            Kind::Done => {
                let vessel = first.words.iter().any(|w| is_of("vessels", &w.low));
                !(first.is_of("of before") || vessel)
            }
        }
    }
}

/// Whether it stands for what was named.
fn is_it(item: &Item) -> bool {
    item.words.iter().all(|w| is_of("it whom", &w.low))
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Front,
    Behind,
}

/// Whether items say anything.
pub(in crate::logline) fn says(items: &[Item]) -> bool {
    let words: Vec<&str> =
        items.iter().flat_map(|item| item.words).map(|w| w.low.as_str()).collect();
    let then = lexicon().is_one("then", &words);
    let words: Vec<&str> = words.into_iter().filter(|w| !is_of("then", w)).collect();
    !then && !is_filler(&words)
}

pub(super) fn says_nothing(word: &Word) -> bool {
    is_small(&word.low) && !is_of("unsure", &word.low)
}

/// Whether a word says that a use was made.
pub(in crate::logline) fn is_done(word: &Word) -> bool {
    word.low.ends_with("ed") || is_done_word(&word.low) || word.lead.is_some_and(ends_done)
}

/// Whether an unknown word right before a name makes another thing of it: `phone battery`.
pub(super) fn is_another(before: &Item, name: &Item) -> bool {
    let says = |w: &Word| is_of("filler people join reads then", &w.low);
    let unknown = !before.words.iter().next_back().is_some_and(says);
    unknown && name.words[0].lead.is_none() && name.stock().is_some()
}

/// Whether it is of the van.
pub(in crate::logline) fn is_known(item: &Item) -> bool {
    match &item.is {
        // `a busy one`.
        Is::Amount(_) => {
            !(item.is_article() || item.words.iter().all(|w| w.is_said("one") || w.is_said("once")))
        }
        Is::Verb(verb) => *verb != "day",
        Is::Other | Is::Mark(_) | Is::Hedge(_) | Is::Time(_) | Is::Remark => false,
        _ => true,
    }
}
