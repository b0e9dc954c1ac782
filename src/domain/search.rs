//! Looking for entries: by when they happened, what they are about, and words.

use super::entry::Event;
use super::journal::Standing;
use super::rig::Parts;
use super::time::Moment;

/// A word that is looked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Term {
    /// As it was said, in lower case.
    pub word: String,
    /// The stock or activity that goes by it, by its own name.
    pub named: Option<String>,
}

impl Term {
    /// Whether an entry is about it, or `text`, what is shown of the entry in lower case, has it.
    pub fn finds(&self, event: &Event, text: &str) -> bool {
        let is_it = |name: &String| match event {
            Event::Use { activity, .. } => activity == name,
            _ => event.stock() == Some(name.as_str()),
        };
        text.contains(&self.word) || self.named.as_ref().is_some_and(is_it)
    }
}

/// What is looked for; what is left open fits everything.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wanted {
    /// Happened at or after this.
    pub from: Option<Moment>,
    /// Happened at or before this.
    pub to: Option<Moment>,
    /// About this stock: a level, a service, a charge of what stores it, a use that moves it.
    pub stock: Option<String>,
    /// Of this kind, as [`Event::kind`] names it.
    pub kind: Option<String>,
    /// All of these are found in it, in any case.
    pub terms: Vec<Term>,
    /// What was taken back is wanted, and nothing else.
    pub gone: bool,
}

impl Wanted {
    /// Whether it lies in the time that is looked for.
    pub fn is_in_time(&self, at: Moment) -> bool {
        self.from.is_none_or(|from| at >= from) && self.to.is_none_or(|to| at <= to)
    }

    /// Whether an entry is one of them. `text` is what is shown of it; `parts` are the rig's.
    pub fn finds(&self, entry: &Standing, parts: &Parts, text: &str) -> bool {
        let text = text.to_lowercase();
        self.is_in_time(entry.at)
            && self.kind.as_ref().is_none_or(|kind| entry.event.kind() == kind)
            && self.stock.as_ref().is_none_or(|stock| is_about(&entry.event, stock, parts))
            && self.terms.iter().all(|term| term.finds(&entry.event, &text))
    }
}

fn is_about(event: &Event, stock: &str, parts: &Parts) -> bool {
    match event {
        Event::Charge { .. } => parts.electrics.as_ref().is_some_and(|e| e.store == stock),
        Event::Use { activity, .. } => {
            let moves = parts.activity(activity).map(|(_, activity)| &activity.moves);
            moves.is_some_and(|moves| moves.iter().any(|step| step.stock == stock))
        }
        _ => event.stock() == Some(stock),
    }
}
