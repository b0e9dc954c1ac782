//! The folder as the screens want it: what was read, and the journal as rows of words.

use super::host::{Host, Loaded};
use super::round::{Uses, recent_uses};
use crate::domain::counts::Counts;
use crate::domain::entry::{Body, Entry, EntryId};
use crate::domain::journal::{Standing, possible_twins, standing};
use crate::domain::lines::{is_answer, line_to_redo};
use crate::domain::plans::plans;
use crate::domain::time::Moment;
use crate::logline::Vocabulary;
use crate::text::safe::safe;

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
    /// A later entry corrected it.
    pub corrected: bool,
    /// Index of the row that may be the same thing, logged from another device.
    pub twin: Option<usize>,
}

/// What was read, and the journal's rows, oldest first.
#[derive(Debug, Clone)]
pub struct JournalView {
    /// What was read.
    pub loaded: Loaded,
    /// The words that the rig knows, for the people aboard now.
    pub vocabulary: Vocabulary,
    /// What stands, in time order.
    pub rows: Vec<Row>,
    /// Plans that nobody has said a word about: the record that stands for each, and its words
    /// with their time, to be changed.
    pub plan_lines: Vec<(EntryId, String)>,
    /// What was logged of every activity lately, day by day.
    pub uses: Uses,
    /// What redo would put back, in words.
    pub redo: Option<(Vec<EntryId>, String)>,
}

impl PartialEq for JournalView {
    /// All the rest follows from what was read, and when.
    fn eq(&self, other: &JournalView) -> bool {
        self.loaded == other.loaded && self.rows == other.rows
    }
}

impl JournalView {
    /// Makes rows of what stands at `now`.
    pub fn new(loaded: Loaded, now: Moment, host: &dyn Host) -> JournalView {
        let stands = standing(&loaded.entries, now);
        let vocabulary = Vocabulary::at(&loaded.rig, &loaded.entries, now);
        let words = |entry: &Standing, at| safe(&host.words(&vocabulary, at, entry));
        let mut rows: Vec<Row> = stands
            .iter()
            .map(|s| Row {
                id: s.id.clone(),
                at: s.at,
                words: words(s, s.at),
                line: words(s, now),
                plan: s.is_plan(),
                corrected: s.corrected_by.is_some(),
                twin: None,
            })
            .collect();
        for (first, second) in possible_twins(&stands) {
            rows[first].twin = Some(second);
            rows[second].twin = Some(first);
        }
        let line = line_to_redo(&loaded.entries, &loaded.device);
        let gone: Vec<&Entry> = loaded.entries.iter().filter(|e| line.contains(&&e.id)).collect();
        let said = gone.iter().filter_map(|e| as_if_standing(e)).map(|s| words(&s, s.at));
        let said = match is_answer(&gone) {
            true => "what was said of a plan".to_string(),
            false => said.collect::<Vec<_>>().join(", "),
        };
        let line: Vec<EntryId> = line.into_iter().cloned().collect();
        let redo = (!line.is_empty()).then_some((line, said));
        let lines = plans(&stands).into_iter();
        let plan_lines = lines
            .map(|plan| (plan.id().clone(), safe(&host.line(&vocabulary, now, &plan.entries))))
            .collect();
        let zone = loaded.rig.zone(now);
        let uses = recent_uses(&stands, zone, now, &loaded.rig.parts_on(zone.date(now)));
        JournalView { loaded, vocabulary, rows, plan_lines, uses, redo }
    }
}

/// What an entry says, whether or not it stands.
fn as_if_standing(entry: &Entry) -> Option<Standing> {
    let (Body::Happened(event) | Body::Correct { event, .. }) = &entry.body else { return None };
    Some(Standing {
        id: entry.id.clone(),
        at: entry.at,
        recorded: entry.recorded,
        note: entry.note.clone(),
        event: event.clone(),
        corrected_by: None,
        counts: Counts::Fact,
    })
}
