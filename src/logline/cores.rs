//! Cores: runs of words that tell of something by themselves, whatever stands beside them.

use super::amounts::Said;
use super::bag::{Bag, ends_done, is_done_word};
use super::clause;
use super::cut;
use super::item::{Is, Item};
use super::listed::is_of;
use super::scene::{SaidThing, Scene};
use super::word::Word;
use crate::domain::entry::Event;

/// The longest core, in items.
const LONGEST_CORE: usize = 10;
/// Small words that a core may begin or end with.
const EDGES: &str =
    "we both each about another left gone to-full completely up out x times all away";
/// Verbs that ordinary talk has as well.
pub(super) const COMMON: [&str; 1] = ["day"];
/// Verbs that say what was done.
const DONE: [&str; 8] =
    ["filled", "added", "emptied", "swapped", "drove", "shore", "generator", "charged"];

/// What sort of thing a core tells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// What is there.
    Level,
    /// Something used.
    Use,
    /// A fill, an emptying, a drive, a charge: its verb says that it was done.
    Done,
    /// Who is aboard, a camp, a day.
    Other,
}

/// A core, as a run of the items of its clause.
#[derive(Debug, Clone, Copy)]
pub(super) struct Core {
    pub from: usize,
    pub to: usize,
    pub kind: Kind,
    /// Whether a word of it says that it was done.
    pub past: bool,
    /// Whether it says how many.
    pub counted: bool,
    /// Whether something in it has to be asked.
    pub asked: bool,
}

impl Core {
    /// Whether it may be a name and nothing more.
    pub(super) fn is_weak(&self) -> bool {
        self.kind == Kind::Use && !self.past && !self.counted
    }
}

/// The cores of a clause, and whether others would do as well.
pub(super) fn cores(items: &[Item], scene: &Scene) -> (Vec<Core>, bool) {
    let part = |from: usize, to: usize| match core(items, (from, to), scene) {
        Some(core) => Some([0, usize::from(core.asked), 1, 0]),
        None if to - from == 1 => Some([usize::from(is_known(&items[from])), 0, 0, 1]),
        None => None,
    };
    let ways = cut::best(items.len(), LONGEST_CORE, part);
    let tied = matches!(&ways[..], [(one, _), (other, _)] if one == other);
    let parts = ways.first().map(|(_, cuts)| cut::parts(cuts, items.len()));
    let cores = parts.into_iter().flatten();
    (cores.filter_map(|(from, to)| core(items, (from, to), scene)).collect(), tied)
}

fn core(items: &[Item], (from, to): (usize, usize), scene: &Scene) -> Option<Core> {
    let run = &items[from..to];
    let edge = |item: &Item| is_said(item) || item.is_time() || item.is_of(EDGES);
    let inner =
        |item: &Item| !matches!(item.is, Is::Other | Is::Hedge(_) | Is::Ask(_) | Is::Remark);
    let ends = run.first().is_some_and(edge) && run.last().is_some_and(edge);
    if !ends || !run.iter().all(inner) || !run.iter().any(is_said) {
        return None;
    }
    let bag = Bag::of(run);
    let (kind, asked) = match clause::read(run, scene) {
        Ok(said) => (kind(&said), false),
        Err(why) if why.mend.swaps.is_empty() => return None,
        Err(_) => (asked(items, (from, to), &bag)?, true),
    };
    let is_stray = |item: &&Item| matches!(item.is, Is::Other);
    let before = from.checked_sub(1).and_then(|at| items.get(at)).filter(is_stray);
    let bare = bag.amounts.iter().any(|a| matches!(a.said, Said::Bare(_)));
    // `the fresh one`, `fresh 60 things` are no levels, nor is that of `phone battery`.
    let one = run.iter().any(|item| item.words.iter().any(|w| w.low == "1"));
    let open = bare && (one || items.get(to).filter(is_stray).is_some());
    if kind == Kind::Level && (open || before.is_some_and(|before| is_another(before, &run[0]))) {
        return None;
    }
    let vague = bag.amounts.is_empty() && bag.places.is_empty();
    if kind == Kind::Other && to - from < items.len() && vague {
        return None;
    }
    let done =
        |w: &Word| w.low.ends_with("ed") || is_done_word(&w.low) || w.lead.is_some_and(ends_done);
    let amounts = bag.amounts.iter().map(|amount| &amount.item.words[0]);
    let past = bag.names.iter().flat_map(|name| name.words).any(done)
        || amounts.into_iter().any(|w| w.lead.is_some_and(ends_done));
    let counted = bag.amounts.iter().any(|a| !a.item.is_article())
        || bag.has_mark(&["both", "each", "another"]);
    Some(Core { from, to, kind, past, counted, asked })
}

fn kind(said: &[SaidThing]) -> Kind {
    use Event::{Charge, Drive, Empty, Fill, Level, Use};
    match said {
        [one] => match one.event {
            Level { .. } => Kind::Level,
            Use { .. } => Kind::Use,
            Fill { .. } | Empty { .. } | Drive(_) | Charge { .. } => Kind::Done,
            _ => Kind::Other,
        },
        _ => Kind::Other,
    }
}

/// What a run tells of that leaves something to be asked.
fn asked(items: &[Item], (from, to): (usize, usize), bag: &Bag) -> Option<Kind> {
    // `filled the kettle` names another thing; `added 10 L from the can` does not.
    let strange = |item: &Item| matches!(item.is, Is::Other | Is::Name(_));
    let small = items[to..].iter().take_while(|item| matches!(item.is, Is::Mark(_))).count();
    let tail = items.get(to).is_some_and(|item| item.is_of("from with at by"));
    let behind = items.get(to + small).filter(|_| bag.amounts.is_empty() || !tail);
    match bag.names.is_empty() && items[..from].iter().chain(behind).any(strange) {
        true => None,
        false if bag.verbs.iter().any(|verb| verb.is_verb(&DONE)) => Some(Kind::Done),
        false => Some(Kind::Level).filter(|_| !bag.amounts.is_empty() && !bag.names.is_empty()),
    }
}

/// Whether an unknown word right before a name makes another thing of it: `phone battery`.
pub(super) fn is_another(before: &Item, name: &Item) -> bool {
    let says = |w: &Word| {
        ["filler", "people", "join", "reads", "then"].iter().any(|list| is_of(list, &w.low))
    };
    let unknown = !before.words.iter().next_back().is_some_and(says);
    unknown && name.words[0].lead.is_none() && name.stock().is_some()
}

/// Whether it is a part of what happened.
pub(super) fn is_said(item: &Item) -> bool {
    !matches!(
        item.is,
        Is::Other | Is::Mark(_) | Is::Hedge(_) | Is::Ask(_) | Is::Time(_) | Is::Remark
    )
}

/// Whether it is of the van.
pub(super) fn is_known(item: &Item) -> bool {
    match &item.is {
        Is::Amount(_) => !item.is_article(),
        Is::Verb(verb) => !COMMON.contains(verb),
        Is::Ask(_) => true,
        _ => is_said(item),
    }
}
