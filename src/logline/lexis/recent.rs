//! What this device wrote lately, which the next line may put right.

use crate::domain::journal::{Stands, stands};
use crate::domain::lines::line_to_undo;
use crate::domain::{Body, Entry, EntryId, Happened, Moment};
use chrono::Duration;
use std::collections::{HashMap, HashSet};

/// How long a line is the one that `no, it was 40` is said of, in hours.
const LATELY_H: i64 = 24;
/// How long a number by itself is surely said of it, in minutes.
const MOMENT_MIN: i64 = 60;
/// How far back an entry is found by its name and its day, in days.
const RECENT_DAYS: i64 = 10;

/// An entry as it stands.
#[derive(Debug, Clone)]
pub(in crate::logline) struct Recent {
    pub id: EntryId,
    pub said: Happened,
    /// When it was written down.
    pub recorded: Moment,
    /// Whether it is of the last line.
    is_last: bool,
    /// Where the last line corrected it: by which record, and what it said before.
    pub corrected: Option<(EntryId, Happened)>,
}

/// What `device` wrote lately of `entries`, as it stands at `now`.
pub(in crate::logline) fn recent(entries: &[Entry], device: &str, now: Moment) -> Vec<Recent> {
    let of = |entry: &Entry| match &entry.body {
        Body::Happened(_) => entry.id.clone(),
        Body::Correct { of, .. } | Body::Retract { of } | Body::Restore { of } => of.clone(),
    };
    let line = line_to_undo(entries, device);
    let last: HashSet<EntryId> = line.iter().copied().map(of).collect();
    let mut before = before(entries, &line, now);
    let since = now - Duration::days(RECENT_DAYS);
    let own = stands(entries, now).into_iter().filter(|stands| stands.first.id.device == device);
    let lately = own.filter(|stands| stands.said >= since || stands.at >= since);
    let recent = lately.map(|stands| Recent {
        id: stands.first.id.clone(),
        is_last: last.contains(&stands.first.id),
        corrected: before.remove(&stands.first.id),
        recorded: stands.said,
        said: happened(&stands),
    });
    recent.collect()
}

fn happened(stands: &Stands) -> Happened {
    let note = stands.note.map(String::from);
    Happened { at: stands.at, event: stands.event.clone(), note }
}

/// The entries that the records of a line corrected: by which record, and what they said before.
fn before(
    entries: &[Entry],
    line: &[&Entry],
    now: Moment,
) -> HashMap<EntryId, (EntryId, Happened)> {
    let correct = |entry: &&&Entry| matches!(entry.body, Body::Correct { .. });
    let corrections = line.iter().filter(correct);
    let all: HashMap<&EntryId, &EntryId> =
        corrections.filter_map(|entry| Some((entry.body.of()?, &entry.id))).collect();
    let own = |entry: &&Entry| {
        let of = entry.body.of().unwrap_or(&entry.id);
        all.contains_key(of) && !line.iter().any(|last| last.id == entry.id)
    };
    let others: Vec<Entry> = match all.is_empty() {
        true => Vec::new(),
        false => entries.iter().filter(own).cloned().collect(),
    };
    let told = stands(&others, now).into_iter().filter_map(|stands| {
        let of = &stands.first.id;
        Some((of.clone(), ((*all.get(of)?).clone(), happened(&stands))))
    });
    told.collect()
}

impl Recent {
    /// Whether it was written so long ago that others may have been tried since.
    pub(in crate::logline) fn is_old(&self, now: Moment) -> bool {
        now - self.recorded > Duration::minutes(MOMENT_MIN)
    }

    /// Whether it is of the last line, and was written within a day.
    pub(super) fn is_of_last_line(&self, now: Moment) -> bool {
        self.is_last && self.recorded >= now - Duration::hours(LATELY_H)
    }
}
