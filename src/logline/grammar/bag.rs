//! The items of one thing, sorted by what they are: in whatever order they stand, they say the
//! same.

use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::vocabulary::NameMeaning;
use crate::logline::tokens::item::{Is, Item};

/// What an amount says of its thing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Role {
    /// So much.
    Plain,
    /// Up or down to there.
    To,
    /// So much is left.
    Left,
    /// So much is gone.
    Gone,
    /// So much was there.
    From,
}

/// An amount and what it says.
#[derive(Clone, Copy)]
pub(in crate::logline) struct Amt<'i, 'p> {
    pub said: &'i Said,
    pub item: &'i Item<'p>,
    pub role: Role,
    /// Whether it stands behind the name.
    pub behind: bool,
}

/// The items of one thing by their kind.
pub(in crate::logline) struct Bag<'i, 'p> {
    pub items: &'i [Item<'p>],
    pub verbs: Vec<&'i Item<'p>>,
    pub names: Vec<&'i Item<'p>>,
    pub amounts: Vec<Amt<'i, 'p>>,
    pub marks: Vec<&'i Item<'p>>,
    pub places: Vec<&'i Item<'p>>,
    /// Words that belong to nothing.
    pub strays: Vec<&'i Item<'p>>,
}

/// Words that begin what is said beside a thing: where, with whom, why.
pub(in crate::logline) const TAILS: &str =
    "to at with for in on from by before after because while when so since as into of";

impl<'i, 'p> Bag<'i, 'p> {
    pub fn of(items: &'i [Item<'p>]) -> Bag<'i, 'p> {
        let mut bag = Bag {
            items,
            verbs: Vec::new(),
            names: Vec::new(),
            amounts: Vec::new(),
            marks: Vec::new(),
            places: Vec::new(),
            strays: Vec::new(),
        };
        let tail = (0..items.len()).find(|at| bag.is_tail(*at)).unwrap_or(items.len());
        for (at, item) in items.iter().enumerate() {
            match &item.is {
                Is::Time(_) | Is::Until(_) | Is::Remark => {}
                _ if at >= tail => bag.strays.push(item),
                // `poured away`.
                Is::Verb("away") if bag.verbs.iter().any(|v| v.is_verb("emptied")) => {}
                Is::Verb(_) => bag.verbs.push(item),
                Is::Name(meaning) if bag.says_again(meaning, item) => {
                    // `worked on the laptop`.
                    bag.marks.pop_if(|mark| mark.end() < item.start() && mark.is_of("on at with"));
                }
                Is::Name(_) => bag.names.push(item),
                Is::Amount(said) => {
                    let (role, behind) = (role(items, at), !bag.names.is_empty());
                    bag.amounts.push(Amt { said, item, role, behind });
                }
                Is::Mark(_) => bag.marks.push(item),
                Is::Place => bag.places.push(item),
                // How finely a gauge is read is said of a level.
                Is::Step(_) if bag.verbs.is_empty() => {}
                Is::Other | Is::Hedge(_) | Is::Ask(_) | Is::Step(_) => bag.strays.push(item),
            }
        }
        // `from 40 to 65`: what it was before is no amount of it.
        let of_stock = bag.names.iter().any(|name| name.stock().is_some());
        if let [from, to] = &bag.amounts[..]
            && (to.role == Role::To && of_stock)
            && (from.role == Role::From || from.role == Role::Plain && bag.verbs.is_empty())
        {
            bag.amounts.remove(0);
        }
        // `took 10 L out of grey`: one verb.
        let out = bag.verbs.iter().any(|verb| verb.is_verb("out-of"));
        bag.strays.retain(|item| !(out && item.words[0].is_any("took taken take")));
        bag
    }

    /// Whether what stands from here on says only where, with whom or why it was done.
    fn is_tail(&self, at: usize) -> bool {
        let small = |item: &&Item| item.is_a_mark() || item.is_article();
        let next = self.items[at + 1..].iter().find(|item| !small(item));
        let head = |item: &Item| matches!(item.is, Is::Verb(_) | Is::Name(_));
        let strange = next.is_some_and(|next| match next.is {
            Is::Other => true,
            Is::Place => !self.items[at].is_of("to"),
            // `dinner for 4`.
            Is::Amount(Said::Bare(_)) => self.items[at].is_of("for"),
            _ => false,
        });
        self.items[..at].iter().any(head) && self.items[at].is_of(TAILS) && strange
    }

    /// Whether a name says in another word what the one before it says: `gas bottle`, `worked on
    /// the laptop`.
    fn says_again(&self, meaning: &NameMeaning, item: &Item) -> bool {
        self.names.last().is_some_and(|before| match before.is {
            Is::Name(named) => {
                named == meaning
                    && before.words[0].low.trim_end_matches('s')
                        != item.words[0].low.trim_end_matches('s')
            }
            _ => false,
        })
    }

    pub fn verb(&self) -> Option<&'static str> {
        self.verbs.first().and_then(|item| match item.is {
            Is::Verb(verb) => Some(verb),
            _ => None,
        })
    }

    pub(super) fn has_mark(&self, marks: &str) -> bool {
        self.marks.iter().any(|item| item.is_of(marks))
    }

    /// The one thing of the rig that is named.
    pub fn name(&self) -> Option<(&'p NameMeaning, &'i Item<'p>)> {
        match (&self.names[..], self.names.first().map(|item| &item.is)) {
            ([item], Some(Is::Name(meaning))) => Some((meaning, item)),
            _ => None,
        }
    }

    /// The words that are not accounted for where only these small ones are.
    pub fn strange(&self, marks: &str) -> Vec<&'i Item<'p>> {
        // What a small word at the end goes with was not said.
        let end = self.items.last().map_or(0, Item::end);
        let open = |mark: &Item| {
            let joins = mark.is_of("of to at with for from into")
                || self.verbs.is_empty() && mark.is_of("in");
            mark.end() == end && joins && self.places.is_empty()
        };
        let others = self.marks.iter().filter(|mark| !mark.is_of(marks) || open(mark));
        let mut all: Vec<&Item> = self.strays.iter().chain(others).copied().collect();
        all.sort_by_key(|item| item.start());
        all
    }
}

/// Whether a word says that something was done.
pub(super) fn is_done_word(low: &str) -> bool {
    is_of("done-by", low)
}

pub(super) fn ends_done(lead: &str) -> bool {
    let low = lead.to_lowercase();
    low.split(' ').next_back().is_some_and(is_done_word)
}

fn role(items: &[Item], at: usize) -> Role {
    let before = items[..at].iter().rev().find(|item| !item.is_of("about only"));
    let after = items[at + 1..].iter().find(|item| !item.is_of("of") && !item.is_name());
    match () {
        () if after.is_some_and(|item| item.is_of("gone")) => Role::Gone,
        () if [before, after].iter().flatten().any(|item| item.is_of("left")) => Role::Left,
        () if before.is_some_and(|item| item.is_of("to")) => Role::To,
        () if before.is_some_and(|item| item.is_of("from")) => Role::From,
        () => Role::Plain,
    }
}
