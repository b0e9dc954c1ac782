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

/// Most words that name a day, or a thing: "17 october 2026 18:00".
const MOST_WORDS: usize = 4;

/// What words are read with: the time that a phrase names, and the stock or activity.
pub struct Words<'w> {
    /// From when until when "since monday" is.
    pub span: &'w dyn Fn(&str) -> Option<(Moment, Moment)>,
    /// The own name of what goes by this one.
    pub named: &'w dyn Fn(&str) -> Option<String>,
}

impl Wanted {
    /// What `text` looks for: "water since monday", "gone shower".
    pub fn of(text: &str, known: &Words) -> Wanted {
        let lower = text.to_lowercase();
        let words: Vec<&str> = lower.split_whitespace().collect();
        let mut wanted = Wanted::default();
        let mut at = 0;
        while at < words.len() {
            at += wanted.time(&words[at..], known.span);
            if let Some(rest) = words.get(at..).filter(|rest| !rest.is_empty()) {
                at += wanted.term(rest, known.named);
            }
        }
        wanted
    }

    /// Takes a time at the beginning of `words`; how many words it has, 0 where there is none.
    fn time(&mut self, words: &[&str], span: &dyn Fn(&str) -> Option<(Moment, Moment)>) -> usize {
        let Some(first) = words.first() else { return 0 };
        let side = matches!(*first, "since" | "until" | "on");
        let begin = usize::from(side);
        let longest = (begin + 1..=words.len().min(begin + MOST_WORDS))
            .rev()
            .find_map(|end| span(&words[begin..end].join(" ")).map(|span| (end, span)));
        // A number alone is no day: it stands in many rows.
        let alone = |end: usize| end == begin + 1 && words[begin].parse::<f64>().is_ok();
        let Some((end, (from, to))) = longest.filter(|(end, _)| side || !alone(*end)) else {
            return 0;
        };
        self.from = if *first == "until" { self.from } else { Some(from) };
        self.to = if *first == "since" { self.to } else { Some(to) };
        end
    }

    /// Takes the longest name at the beginning of `words`, or the first word; how many words it has.
    fn term(&mut self, words: &[&str], named: &dyn Fn(&str) -> Option<String>) -> usize {
        if words[0] == "gone" {
            self.gone = true;
            return 1;
        }
        let longest = (1..=words.len().min(MOST_WORDS)).rev().find_map(|end| {
            let word = words[..end].join(" ");
            named(&word).map(|named| (end, Term { word, named: Some(named) }))
        });
        let plain = || (1, Term { word: words[0].to_string(), named: None });
        let (taken, term) = longest.unwrap_or_else(plain);
        self.terms.push(term);
        taken
    }

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
