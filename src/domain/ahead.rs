//! Entries that were written by a clock ahead of the one that counts now.
//!
//! Two devices seldom agree on the time, and a clock can be set back. What somebody wrote down
//! has been written down, so it must count; only that it was later than now cannot be true.

use super::entry::{Entry, IMPORT};
use super::time::Moment;
use chrono::Duration;

/// Entries of a device that were ahead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ahead {
    /// The device.
    pub device: String,
    /// How many entries.
    pub entries: usize,
    /// How far the one that was ahead most.
    pub by: Duration,
}

/// Has entries that say that they were recorded after `now` count as recorded by `now`, and says
/// whose they were. `entries` are in the order of ids.
///
/// Such an entry was recorded no later than those that its device wrote after it, as far as their
/// time can be true, and no earlier than those before it. What it says of the time before it was
/// written stays as long before that as it was; a plan keeps its time. Rows of exchange files keep
/// theirs as well: one that lies ahead is then a plan.
pub fn bring_back(entries: &mut [Entry], now: Moment) -> Vec<Ahead> {
    let mut found = Vec::new();
    for own in entries.chunk_by_mut(|a, b| a.id.device == b.id.device) {
        let ahead = || own.iter().filter(|entry| entry.recorded > now);
        if let Some(by) = ahead().map(|entry| entry.recorded - now).max() {
            let (device, entries) = (own[0].id.device.clone(), ahead().count());
            found.push(Ahead { device, entries, by });
            bring_back_own(own, now);
        }
    }
    found
}

/// The same for the entries of one device, of which some are ahead.
fn bring_back_own(own: &mut [Entry], now: Moment) {
    let can_be = |entry: &&Entry| entry.recorded <= now;
    let mut earliest = Vec::with_capacity(own.len());
    let mut last: Option<Moment> = None;
    for entry in &*own {
        earliest.push(last);
        last = last.max(Some(entry.recorded).filter(|_| can_be(&entry)));
    }
    let mut latest = now;
    for (entry, earliest) in own.iter_mut().zip(earliest).rev() {
        if entry.recorded <= now {
            latest = latest.min(entry.recorded);
            continue;
        }
        let recorded = earliest.map_or(latest, |earliest| latest.max(earliest));
        let recorded = recorded.with_timezone(entry.recorded.offset());
        if entry.at <= entry.recorded && entry.at > recorded && entry.id.device != IMPORT {
            entry.at = recorded - (entry.recorded - entry.at);
        }
        entry.recorded = recorded;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::entry::{Body, EntryId, Event};
    use crate::domain::journal::{last_to_undo, standing};

    fn at(minute: i64) -> Moment {
        "2026-06-01T12:00:00+02:00".parse::<Moment>().unwrap() + Duration::minutes(minute)
    }

    /// A note by `device`, for the minute `at`, written at the minute `recorded`.
    fn note(device: &str, sequence: u64, (at_, recorded): (i64, i64)) -> Entry {
        let id = EntryId { device: device.into(), sequence, salt: 1 };
        let body = Body::Happened(Event::Note(format!("{device}{sequence}")));
        Entry { id, at: at(at_), recorded: at(recorded), note: None, body }
    }

    fn times(entries: &[Entry]) -> Vec<(i64, i64)> {
        let minutes = |moment: Moment| (moment - at(0)).num_minutes();
        entries.iter().map(|entry| (minutes(entry.at), minutes(entry.recorded))).collect()
    }

    /// Counted by hand.
    #[test]
    fn what_was_written_ahead_counts_now() {
        // Three hours ahead: now, ten minutes before that, yesterday, and a plan for tomorrow.
        let mut entries = vec![
            note("a", 1, (-30, -30)),
            note("b", 1, (180, 180)),
            note("b", 2, (170, 180)),
            note("b", 3, (-1200, 181)),
            note("b", 4, (1500, 182)),
        ];
        let told = bring_back(&mut entries, at(0));
        let b = Ahead { device: "b".into(), entries: 4, by: Duration::minutes(182) };
        assert_eq!(told, [b]);
        let expected = [(-30, -30), (0, 0), (-10, 0), (-1200, 0), (1500, 0)];
        assert_eq!(times(&entries), expected);
        assert_eq!(standing(&entries, at(0)).len(), 5);
        assert_eq!(bring_back(&mut entries, at(0)), []);
    }

    #[test]
    fn the_entries_around_it_say_when_it_can_have_been() {
        // Written at -60, then ahead, then at -40 by a clock that was set right.
        let mut entries =
            vec![note("a", 1, (-60, -60)), note("a", 2, (300, 300)), note("a", 3, (-40, -40))];
        bring_back(&mut entries, at(0));
        assert_eq!(times(&entries), [(-60, -60), (-40, -40), (-40, -40)]);
        assert_eq!(last_to_undo(&entries, "a").unwrap().id.sequence, 3);
        // A clock that began anew in another century says nothing.
        let mut entries = vec![
            note("a", 1, (-60, -60)),
            note("a", 2, (300, 300)),
            note("a", 3, (-9e7 as i64, -9e7 as i64)),
        ];
        bring_back(&mut entries, at(0));
        assert_eq!(times(&entries)[1], (-60, -60));
    }

    #[test]
    fn a_row_of_a_file_that_lies_ahead_is_a_plan() {
        let mut entries = vec![note(IMPORT, 1, (300, 300))];
        bring_back(&mut entries, at(0));
        assert_eq!(times(&entries), [(300, 0)]);
    }
}
