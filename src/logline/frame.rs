//! The frame of a clause: what was done, with what, how much, when. Where the words that are kept tell
//! nothing in the order in which they stand, each thing that is named is tried with what goes with
//! it, and the rest is left out.

use super::amounts::Said;
use super::item::{Is, Item};
use super::listed::is_of;
use super::word::text;

/// Verbs of what is moved in or out.
const SERVICES: &str = "filled added emptied swapped out-of";

/// What the items that are kept of a clause may tell of each thing that they name, the likeliest first.
pub(super) fn frames(whole: &[Item], items: &[&Item]) -> Vec<String> {
    let mut named: Vec<usize> = (0..items.len()).filter(|at| items[*at].is_name()).collect();
    // `a 5 L bottle into the tank`: where it went.
    named.sort_by_key(|at| !behind(whole, items[*at], "into"));
    named.into_iter().flat_map(|at| framed(whole, items, at)).collect()
}

/// Whether an item stands right behind one of these small words.
fn behind(whole: &[Item], item: &Item, marks: &str) -> bool {
    let before =
        whole.iter().rev().find(|other| other.end() <= item.start() && !other.is_article());
    before.is_some_and(|before| before.is_of(marks))
}

/// What they may tell of the thing that is named there.
fn framed(whole: &[Item], items: &[&Item], at: usize) -> Vec<String> {
    let name = text(items[at].words);
    let used = items[at].is_use();
    let verb = items.iter().find(|item| matches!(item.is, Is::Verb(_)));
    // `charged the laptop` is no work; `got done twice` is.
    if used && verb.is_some_and(|verb| !verb.is_verb("added")) {
        return Vec::new();
    }
    let verb = verb.filter(|verb| !used && verb.is_verb(SERVICES)).map(|item| text(item.words));
    // `the water bottles` are another thing.
    let vessel =
        items.get(at + 1).is_some_and(|next| next.words.iter().any(|w| is_of("vessels", &w.low)));
    let bare = |item: &&Item| {
        let one = item.words.iter().all(|w| w.is_said("one"));
        matches!(item.is, Is::Amount(Said::Bare(_))) && !one
    };
    if !used && (vessel || items.iter().any(bare)) {
        return Vec::new();
    }
    let into = behind(whole, items[at], "into");
    let verb = verb.or_else(|| into.then(|| "filled".to_string()));
    let lead = verb.map_or(String::new(), |verb| verb.replace('-', " ") + " ");
    let fits = |of: &usize| is_amount_of(items, *of, used);
    let amounts: Vec<usize> = (0..items.len()).filter(fits).collect();
    let amount = amounts.iter().min_by_key(|of| of.abs_diff(at));
    let mut told = Vec::new();
    let amount = amount.map(|of| text(items[*of].words));
    told.extend(amount.iter().map(|amount| format!("{lead}{amount} {name}")));
    // `showered for 3 min` is one shower.
    let long = items
        .iter()
        .any(|item| matches!(item.is, Is::Amount(Said::Quantity(_) | Said::Share { .. })));
    if used && long || amount.is_none() && !lead.is_empty() {
        told.push(format!("{lead}{name}"));
    }
    told
}

/// Whether an item says how much of something it was, or how often it was used.
fn is_amount_of(items: &[&Item], at: usize, used: bool) -> bool {
    let item = items[at];
    // `between the 3 of us`, `one after the other`.
    let us = items.get(at + 1).is_some_and(|next| next.is_of("us"));
    let named = items.get(at + 1).is_some_and(|next| next.is_name());
    let pronoun = !named && item.words.iter().all(|w| w.is_said("one"));
    match &item.is {
        _ if item.is_article() || us || pronoun => false,
        Is::Amount(Said::Bare(_)) => used,
        Is::Amount(_) => !used,
        _ => false,
    }
}
