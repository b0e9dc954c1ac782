//! Looking for entries: by when they happened, what they are about, and words.

use super::entry::Event;
use super::journal::Standing;
use super::rig::Parts;
use super::time::Moment;

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
    /// All of these stand in it, in any case.
    pub words: Vec<String>,
}

impl Wanted {
    /// Whether an entry is one of them. `text` is what is shown of it; `parts` are the rig's.
    pub fn finds(&self, entry: &Standing, parts: &Parts, text: &str) -> bool {
        let text = text.to_lowercase();
        self.from.is_none_or(|from| entry.at >= from)
            && self.to.is_none_or(|to| entry.at <= to)
            && self.kind.as_ref().is_none_or(|kind| entry.event.kind() == kind)
            && self.stock.as_ref().is_none_or(|stock| is_about(&entry.event, stock, parts))
            && self.words.iter().all(|word| text.contains(&word.to_lowercase()))
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
