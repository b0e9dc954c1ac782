//! What was written in one go, by one log line or one schedule: taken back in one go, and put back
//! in one.
//!
//! All entries of one go carry the same random part in their ids and the same moment of recording.
//! Entries of journals from before that stand alone, but for those of a schedule of stops.

use super::entry::{Body, Entry, EntryId};
use super::journal::{is_of_a_stop, last_to_undo, says_something, taken_back};

/// Whether two records were written in one go.
fn together(one: &Entry, other: &Entry) -> bool {
    let of_a_stop = |entry: &Entry| is_of_a_stop(entry.note.as_deref());
    one.id.device == other.id.device
        && one.recorded == other.recorded
        && (one.id.salt == other.id.salt || of_a_stop(one) && of_a_stop(other))
}

/// The records that `undo` takes back: all that still stands of what this device wrote last, in
/// the order written; empty where there is nothing.
pub fn line_to_undo<'a>(entries: &'a [Entry], device: &str) -> Vec<&'a Entry> {
    let Some(last) = last_to_undo(entries, device) else { return Vec::new() };
    let gone = taken_back(entries);
    let mut line: Vec<&Entry> = entries
        .iter()
        .filter(|e| together(e, last) && !gone.contains(&e.id))
        .filter(|e| says_something(e))
        .collect();
    line.sort_by_key(|e| e.id.sequence);
    line
}

/// Whether these records of one go say what became of a plan of several entries, or that one was
/// not done.
pub fn is_answer(line: &[&Entry]) -> bool {
    let says_not_done = |e: &&Entry| matches!(e.body, Body::Retract { .. });
    let corrects = |e: &&Entry| matches!(e.body, Body::Correct { .. });
    line.iter().any(says_not_done) || line.len() > 1 && line.iter().all(corrects)
}

/// The records that `redo` puts back: those that this device took back last, in one go, and has
/// neither put back nor written past since; in the order written.
pub fn line_to_redo<'a>(entries: &'a [Entry], device: &str) -> Vec<&'a EntryId> {
    let mut own: Vec<&Entry> = entries.iter().filter(|e| e.id.device == device).collect();
    own.sort_by_key(|e| e.id.sequence);
    let mut gone_lately: Vec<(&Entry, &EntryId)> = Vec::new();
    for entry in own {
        match &entry.body {
            _ if says_something(entry) => gone_lately.clear(),
            Body::Retract { of } => gone_lately.push((entry, of)),
            Body::Restore { of } => gone_lately.retain(|(_, gone)| *gone != of),
            Body::Happened(_) | Body::Correct { .. } => gone_lately.clear(),
        }
    }
    let Some((last, _)) = gone_lately.last().copied() else { return Vec::new() };
    let line = gone_lately.into_iter().filter(|(entry, _)| together(entry, last));
    line.map(|(_, of)| of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::journal::standing;
    use crate::domain::tests::crew;
    use crate::domain::time::Moment;
    use proptest::prelude::*;

    fn now() -> Moment {
        "2026-06-01T08:00:00+02:00".parse().unwrap()
    }

    /// Writes one line, all of it at one moment, as every line of the test.
    fn write(entries: &mut Vec<Entry>, line: u32, bodies: Vec<Body>) {
        for body in bodies {
            let sequence = entries.len() as u64 + 1;
            let id = EntryId { device: "a".into(), sequence, salt: line };
            entries.push(Entry { id, at: now(), recorded: now(), note: None, body });
        }
    }

    proptest! {
        /// Lines of several entries, written within one second: each undo takes one line back, all
        /// of it, and as many redos bring the fold back as it was.
        #[test]
        fn one_undo_takes_one_line_back(lines in prop::collection::vec(1usize..6, 1..6)) {
            let mut entries = Vec::new();
            let mut folds = vec![standing(&entries, now())];
            for (line, count) in lines.iter().enumerate() {
                let bodies = (0..*count).map(|n| Body::Happened(crew(n as i64))).collect();
                write(&mut entries, line as u32, bodies);
                folds.push(standing(&entries, now()));
            }
            for back in 1..=lines.len() {
                let line = line_to_undo(&entries, "a");
                prop_assert_eq!(line.len(), lines[lines.len() - back]);
                let bodies = line.iter().map(|e| Body::Retract { of: e.id.clone() }).collect();
                write(&mut entries, 100 + back as u32, bodies);
                prop_assert_eq!(&standing(&entries, now()), &folds[lines.len() - back]);
            }
            prop_assert!(line_to_undo(&entries, "a").is_empty());
            for (forward, fold) in folds.iter().enumerate().skip(1) {
                let line = line_to_redo(&entries, "a");
                let bodies = line.into_iter().map(|of| Body::Restore { of: of.clone() }).collect();
                write(&mut entries, 200 + forward as u32, bodies);
                prop_assert_eq!(&standing(&entries, now()), fold);
            }
            prop_assert!(line_to_redo(&entries, "a").is_empty());
        }
    }
}
