//! A line of the journal screen, and which of them a person wants to see.

use crate::domain::{EntryId, Event, Moment};
use crate::logline::{self, Vocabulary};

/// One line of the journal screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The record that first wrote it.
    pub id: EntryId,
    /// When it happened, or is planned.
    pub at: Moment,
    /// What happened, as a log line would say it then, made safe to show.
    pub words: String,
    /// The same with its time, to be corrected.
    pub line: String,
    /// It was written ahead of its time.
    pub plan: bool,
    /// The record that corrected it last, if any.
    pub corrected_by: Option<EntryId>,
    /// What that makes of it: it was planned, or its words were changed.
    pub changed: Option<&'static str>,
    /// Index of the row that may be the same thing, logged from another device.
    pub twin: Option<usize>,
    /// What it says.
    pub event: Event,
    /// Further records that are shown with it: the other days of an outlook.
    pub more: Vec<EntryId>,
    /// It was taken back.
    pub gone: bool,
}

impl Row {
    /// Words for what is special about it.
    pub fn marks(&self) -> impl Iterator<Item = &'static str> {
        let (twin, plan) = (self.twin.map(|_| "twin?"), self.plan.then_some("plan"));
        let gone = self.gone.then_some("taken back");
        [twin, plan, self.changed, gone].into_iter().flatten()
    }

    /// All its records.
    pub fn ids(&self) -> impl Iterator<Item = &EntryId> {
        std::iter::once(&self.id).chain(&self.more)
    }
}

/// What is looked for.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Filter {
    /// Words that must be found, in lower case.
    words: Vec<String>,
    /// From then on.
    from: Option<Moment>,
    /// Until then.
    to: Option<Moment>,
    /// What was taken back is wanted, and nothing else.
    pub gone: bool,
}

/// Most words that name a day: "17 october 2026 18:00".
const MOST_WORDS: usize = 4;

impl Filter {
    /// What `text` looks for at `now`.
    pub(super) fn of(text: &str, known: &Vocabulary, now: Moment) -> Filter {
        let lower = text.to_lowercase();
        let words: Vec<&str> = lower.split_whitespace().collect();
        let mut filter = Filter::default();
        let mut at = 0;
        while at < words.len() {
            let side = matches!(words[at], "since" | "until" | "on");
            let begin = at + usize::from(side);
            let longest = (begin + 1..=words.len().min(begin + MOST_WORDS)).rev().find_map(|end| {
                logline::span(&words[begin..end].join(" "), known, now).map(|span| (end, span))
            });
            // A number alone is no day: it stands in many rows.
            let alone = |end: usize| end == begin + 1 && words[begin].parse::<f64>().is_ok();
            match longest.filter(|(end, _)| side || !alone(*end)) {
                Some((end, (from, to))) => {
                    filter.from = if words[at] == "until" { filter.from } else { Some(from) };
                    filter.to = if words[at] == "since" { filter.to } else { Some(to) };
                    at = end;
                }
                None => {
                    match words[at] {
                        "gone" => filter.gone = true,
                        word => filter.words.push(word.to_string()),
                    }
                    at += 1;
                }
            }
        }
        filter
    }

    /// Whether a row is wanted.
    pub(super) fn takes(&self, row: &Row) -> bool {
        let inside =
            self.from.is_none_or(|from| row.at >= from) && self.to.is_none_or(|to| row.at <= to);
        if !inside || self.words.is_empty() {
            return inside;
        }
        let kind = row.event.kind();
        let also = match kind {
            "level" => "reading",
            "day" => "closed",
            "outlook" => "weather",
            _ => "",
        };
        let text = format!("{} {kind} {also} {}", row.words, row.id.device).to_lowercase();
        let marked = |word: &str| row.marks().any(|mark| mark.split(' ').any(|part| part == word));
        self.words.iter().all(|word| text.contains(word.as_str()) || marked(word))
    }
}
