//! The journal's fold: from the union of all devices' records to what stands at a moment.
//!
//! The result depends only on the set of entries, never on the order in which files arrived.

use super::counts::{Claim, Counts, counts};
use super::entry::{Body, Entry, EntryId, Event};
use super::time::Moment;
use std::collections::{HashMap, HashSet};

/// An entry that stands: corrections applied, retracted ones gone.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The record that first wrote it, which `undo` and corrections point at.
    pub id: EntryId,
    /// When it happened, or is planned to.
    pub at: Moment,
    /// When it was first written down; of a plan that turned out otherwise at another time, when
    /// that was said.
    pub recorded: Moment,
    /// A remark that came with it.
    pub note: Option<String>,
    /// What happened.
    pub event: Event,
    /// The record that corrected it last, if any.
    pub corrected_by: Option<EntryId>,
    /// What it counts as at the moment that the journal was looked at.
    pub counts: Counts,
}

/// How the remark of an entry that a schedule of stops wrote begins; the place's name follows.
pub const PLANNED_STOP: &str = "planned stop: ";

/// The remark of a retraction that says that a plan was not done; any other takes back what was
/// written by mistake.
pub(super) const NOT_DONE: &str = "not done";

/// Whether a record says something that can be undone, rather than undoing or redoing.
pub(super) fn says_something(entry: &Entry) -> bool {
    match entry.body {
        Body::Happened(_) | Body::Correct { .. } => true,
        Body::Retract { .. } => entry.note.as_deref() == Some(NOT_DONE),
        Body::Restore { .. } => false,
    }
}

/// Whether an entry with this remark was written by a schedule of stops.
pub fn is_of_a_stop(note: Option<&str>) -> bool {
    note.is_some_and(|note| note.starts_with(PLANNED_STOP))
}

impl Standing {
    /// Whether a schedule of stops wrote it.
    pub fn is_of_a_stop(&self) -> bool {
        is_of_a_stop(self.note.as_deref())
    }

    /// What a record says happened, whether or not it stands; `None` of one that takes back.
    pub fn as_written(entry: &Entry) -> Option<Standing> {
        let event = entry.body.event()?.clone();
        let said = Standing::supposed(entry.at, entry.recorded, event);
        let (id, note) = (entry.id.clone(), entry.note.clone());
        Some(Standing { id, note, counts: Counts::Fact, ..said })
    }

    /// Something that a question supposes at `now`: no record says it.
    pub fn supposed(at: Moment, now: Moment, event: Event) -> Standing {
        let id = EntryId { device: "plan".into(), sequence: 0, salt: 0 };
        let counts = if at > now { Counts::Ahead } else { Counts::Fact };
        Standing { id, at, recorded: now, note: None, event, corrected_by: None, counts }
    }

    /// Whether it is a plan, of whose doing nobody has said a word.
    pub fn is_plan(&self) -> bool {
        self.counts != Counts::Fact
    }

    /// Whether it happened, as far as anybody says.
    pub fn is_fact(&self) -> bool {
        self.counts == Counts::Fact
    }

    /// The rule for what is planned, for every answer that says until when something lasts
    /// (`next`, `forecast`, `why`, `stretch`, calendar, sheet, where a forced stop can be made):
    /// facts count, and plans ahead at their time; but a stop that a schedule saved counts as not
    /// made until somebody says that it was, as does any plan whose time has passed without a
    /// word. So no date is later than it would be if the crew stayed. Only the search for further
    /// stops lays them out behind those that are saved ([`Standing::is_stop_ahead`]), and says so.
    pub fn counts_for_dates(&self) -> bool {
        match self.counts {
            Counts::Fact => true,
            Counts::Ahead => !self.is_of_a_stop(),
            Counts::Open | Counts::Superseded | Counts::Again => false,
        }
    }

    /// Whether it is of a stop that a schedule saved and whose time has not come.
    pub fn is_stop_ahead(&self) -> bool {
        self.counts == Counts::Ahead && self.is_of_a_stop()
    }
}

/// An entry that stands, not yet copied out of the records.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stands<'a> {
    /// The record that first wrote it.
    pub first: &'a Entry,
    /// When it happened, or is planned to.
    pub at: Moment,
    /// A remark that came with it.
    pub note: Option<&'a str>,
    /// What happened.
    pub event: &'a Event,
    /// The record that corrected it last, if any.
    pub corrected_by: Option<&'a EntryId>,
    /// When the words that stand were written down: by the last correction, else at first.
    pub said: Moment,
    /// What it counts as at the moment that the journal is looked at.
    pub counts: Counts,
}

impl Stands<'_> {
    /// When it was first written down; of a plan that turned out otherwise at another time, when
    /// that was said: it is no plan any more, so that what ran then ended at its time.
    fn recorded(&self) -> Moment {
        let otherwise = self.first.is_plan() && self.at != self.first.at && self.said >= self.at;
        if otherwise { self.said } else { self.first.recorded }
    }

    fn claim(&self) -> Claim<'_> {
        let planned = self.first.is_plan();
        Claim { at: self.at, said: self.said, event: self.event, planned }
    }

    fn to_standing(self) -> Standing {
        Standing {
            id: self.first.id.clone(),
            at: self.at,
            recorded: self.recorded(),
            note: self.note.map(String::from),
            event: self.event.clone(),
            corrected_by: self.corrected_by.cloned(),
            counts: self.counts,
        }
    }
}

/// What stands at `known_at`: entries recorded later do not exist, retracted ones are gone,
/// corrected ones say what the last correction says. In time order.
///
/// A correction that is itself retracted no longer counts. Where two people correct the same
/// entry, the later record wins; at the same instant, the device's name decides. What one device
/// wrote counts in the order in which it was written, whatever its clock said.
pub fn standing(entries: &[Entry], known_at: Moment) -> Vec<Standing> {
    stands(entries, known_at).into_iter().map(Stands::to_standing).collect()
}

/// The same as [`standing`], as references into `entries`: for a look through a long journal that
/// keeps nothing of it.
pub fn stands(entries: &[Entry], known_at: Moment) -> Vec<Stands<'_>> {
    let known = by_id(entries.iter().filter(|e| e.recorded <= known_at));
    let changes = changes(&known);
    let retracted = retracted(&changes);
    let mut stands = folded(&known, &changes, &retracted, Which::Standing);
    let said: Vec<Claim> = stands.iter().map(Stands::claim).collect();
    let counts = counts(&said, known_at);
    stands.iter_mut().zip(counts).for_each(|(stands, counts)| stands.counts = counts);
    stands
}

/// What happened by the last word on it, in time order: what stands, or what was taken back.
fn folded<'a>(
    known: &[&'a Entry],
    changes: &[&'a Entry],
    retracted: &HashSet<&EntryId>,
    which: Which,
) -> Vec<Stands<'a>> {
    // Only what is corrected has to be found again; that is a handful among years of entries.
    let corrected: HashSet<&EntryId> =
        changes.iter().filter(|e| e.body.event().is_some()).filter_map(|e| e.body.of()).collect();
    let mut place: HashMap<&EntryId, usize> = HashMap::new();
    let mut stands: Vec<Stands> = Vec::with_capacity(known.len());
    for entry in known {
        if let Body::Happened(event) = &entry.body
            && is_in(retracted, &entry.id) == (which == Which::Gone)
        {
            if is_in(&corrected, &entry.id) {
                place.insert(&entry.id, stands.len());
            }
            let note = entry.note.as_deref();
            let (at, said) = (entry.at, entry.recorded);
            let (corrected_by, counts) = (None, Counts::Fact);
            stands.push(Stands { first: entry, at, note, event, corrected_by, said, counts });
        }
    }
    for entry in changes.iter().filter(|e| !retracted.contains(&e.id)) {
        if let Body::Correct { of, event } = &entry.body
            && let Some(&index) = place.get(of)
        {
            let stands = &mut stands[index];
            stands.at = entry.at;
            stands.event = event;
            stands.note = entry.note.as_deref().or(stands.note);
            stands.corrected_by = Some(&entry.id);
            stands.said = stands.said.max(entry.recorded);
        }
    }
    // As the contract orders time: by when it happened; at the same moment by device, then in
    // the order written, which is the order that they are in.
    stands.sort_by_key(|stands| stands.at);
    stands
}

/// Of all that was written.
#[derive(Clone, Copy, PartialEq)]
enum Which {
    Standing,
    Gone,
}

/// Whether `ids`, which mostly are none at all, hold `id`.
fn is_in(ids: &HashSet<&EntryId>, id: &EntryId) -> bool {
    !ids.is_empty() && ids.contains(id)
}

/// Entries in the order of ids, each once.
fn by_id<'a>(entries: impl Iterator<Item = &'a Entry>) -> Vec<&'a Entry> {
    let mut known: Vec<&Entry> = entries.collect();
    known.sort_by(|a, b| a.id.cmp(&b.id));
    known.dedup_by(|a, b| a.id == b.id);
    known
}

/// Records that change others, in the order in which they count: by the time they were written;
/// but a device wrote each of its records after those before it, whatever its clock said.
/// `known` is in the order of ids.
fn changes<'a>(known: &[&'a Entry]) -> Vec<&'a Entry> {
    let mut changes: Vec<(Moment, &Entry)> = Vec::new();
    for own in known.chunk_by(|a, b| a.id.device == b.id.device) {
        let mut written = own[0].recorded;
        for entry in own {
            written = written.max(entry.recorded);
            if !matches!(entry.body, Body::Happened(_)) {
                changes.push((written, entry));
            }
        }
    }
    changes.sort_by(|(a, one), (b, other)| (a, &one.id).cmp(&(b, &other.id)));
    changes.into_iter().map(|(_, entry)| entry).collect()
}

/// Ids of records that were taken back and not put back since.
pub(super) fn taken_back(entries: &[Entry]) -> HashSet<&EntryId> {
    retracted(&changes(&by_id(entries.iter())))
}

/// What was taken back and not put back since, in time order, as it would stand again: with its
/// corrections. Of a correction that was taken back itself, what it said. Records written after
/// `now` are not known.
pub fn gone(entries: &[Entry], now: Moment) -> Vec<Standing> {
    let known = by_id(entries.iter().filter(|entry| entry.recorded <= now));
    let changes = changes(&known);
    let gone = retracted(&changes);
    let happened = folded(&known, &changes, &gone, Which::Gone);
    let mut all: Vec<Standing> = happened.into_iter().map(Stands::to_standing).collect();
    let corrections = changes.iter().filter(|entry| gone.contains(&entry.id));
    all.extend(corrections.filter_map(|entry| Standing::as_written(entry)));
    all.sort_by_key(|entry| entry.at);
    all
}

/// Ids that do not stand: the last retraction or restoration of each that itself stands decides.
/// `changes` are in the order in which they were written.
fn retracted<'a>(changes: &[&'a Entry]) -> HashSet<&'a EntryId> {
    let (mut decided, mut gone) = (HashSet::new(), HashSet::new());
    // From the end: whether a record stands is known before what it says counts.
    for entry in changes.iter().rev() {
        let (of, is_gone) = match &entry.body {
            _ if gone.contains(&entry.id) => continue,
            Body::Retract { of } => (of, true),
            Body::Restore { of } => (of, false),
            Body::Happened(_) | Body::Correct { .. } => continue,
        };
        if decided.insert(of) && is_gone {
            gone.insert(of);
        }
    }
    gone
}

/// The record that `undo` takes back: this device's last record by sequence that says something
/// and still stands. Corrections count (undoing one brings the first words back), and so do
/// plans, and the word that a plan was not done; other retractions do not.
pub(super) fn last_to_undo<'a>(entries: &'a [Entry], device: &str) -> Option<&'a Entry> {
    let retracted = taken_back(entries);
    entries
        .iter()
        .filter(|e| e.id.device == device && !retracted.contains(&e.id))
        .filter(|e| says_something(e))
        .max_by_key(|e| e.id.sequence)
}

/// Nobody empties a tank or drives the same way twice within the hour.
const SERVICE_APART: i64 = 60;
/// Two people shower one after the other, and each may log their own: only uses that are logged
/// at nearly the same moment are doubted.
const USES_APART: i64 = 10;

/// Pairs that may be the same thing logged twice: the same words from two devices, within ten
/// minutes for a use, within an hour for a fill, an emptying, a drive or a charge. Never what does
/// no harm when it is said twice: readings, notes, weather, who is aboard, where the van stands,
/// a closed day. No entry is in two pairs. Indices into `standing`, earlier first.
pub fn possible_twins(standing: &[Standing]) -> Vec<(usize, usize)> {
    let mut twins: Vec<(usize, usize)> = Vec::new();
    let mut paired: HashSet<usize> = HashSet::new();
    for (second, later) in standing.iter().enumerate() {
        let Some(apart) = minutes_apart(&later.event) else { continue };
        let near = standing[..second].iter().enumerate().rev();
        let mut near =
            near.take_while(|(_, earlier)| (later.at - earlier.at).num_seconds() <= apart * 60);
        let twin = near.find(|(first, earlier)| {
            earlier.event == later.event
                && earlier.id.device != later.id.device
                && !paired.contains(first)
        });
        if let Some((first, _)) = twin {
            paired.extend([first, second]);
            twins.push((first, second));
        }
    }
    twins
}

/// How near in minutes two equal events have to be to be doubted; `None` for those that never are.
fn minutes_apart(event: &Event) -> Option<i64> {
    match event {
        Event::Use { .. } => Some(USES_APART),
        Event::Fill { .. } | Event::Empty { .. } | Event::Drive(_) | Event::Charge { .. } => {
            Some(SERVICE_APART)
        }
        Event::Level { .. }
        | Event::Spent { .. }
        | Event::Camp(_)
        | Event::Crew(_)
        | Event::DayClosed
        | Event::Note(_)
        | Event::Outlook(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::lines::line_to_redo;
    use crate::domain::quantity::{Amount, Quantity};
    use crate::domain::tests::{crew, empty};
    use crate::domain::unit::Unit;
    use proptest::prelude::*;

    fn at(minute: i64) -> Moment {
        "2026-06-01T08:00:00+02:00".parse::<Moment>().unwrap() + chrono::Duration::minutes(minute)
    }

    fn entry(device: &str, sequence: u64, body: Body) -> Entry {
        let id = EntryId { device: device.into(), sequence, salt: 1 };
        let moment = at(sequence as i64);
        Entry { id, at: moment, recorded: moment, note: None, body }
    }

    fn id(device: &str, sequence: u64) -> EntryId {
        EntryId { device: device.into(), sequence, salt: 1 }
    }

    #[test]
    fn a_retracted_correction_brings_the_first_words_back() {
        let mut entries = vec![
            entry("a", 1, Body::Happened(crew(2))),
            entry("a", 2, Body::Correct { of: id("a", 1), event: crew(3) }),
        ];
        assert_eq!(standing(&entries, at(9))[0].event, crew(3));
        assert_eq!(last_to_undo(&entries, "a").unwrap().id, id("a", 2));
        entries.push(entry("a", 3, Body::Retract { of: id("a", 2) }));
        assert_eq!(standing(&entries, at(9))[0].event, crew(2));
        assert_eq!(line_to_redo(&entries, "a"), [&id("a", 2)]);
        assert_eq!(last_to_undo(&entries, "a").unwrap().id, id("a", 1));
        entries.push(entry("a", 4, Body::Restore { of: id("a", 2) }));
        assert_eq!(standing(&entries, at(9))[0].event, crew(3));
        assert!(line_to_redo(&entries, "a").is_empty());
        // As known before the correction was written, it does not exist.
        assert_eq!(standing(&entries, at(1))[0].event, crew(2));
    }

    #[test]
    fn the_same_dump_from_two_phones_may_be_a_twin() {
        let dump = || empty("grey");
        let entries = vec![
            entry("a", 1, Body::Happened(dump())),
            entry("b", 20, Body::Happened(dump())),
            entry("b", 200, Body::Happened(dump())),
        ];
        assert_eq!(possible_twins(&standing(&entries, at(999))), vec![(0, 1)]);
    }

    /// Taken back at 12:05, put back after the clock was set back by an hour.
    #[test]
    fn what_a_device_wrote_later_counts_whatever_its_clock_said() {
        let mut entries = vec![
            entry("a", 1, Body::Happened(crew(2))),
            entry("a", 2, Body::Retract { of: id("a", 1) }),
            entry("a", 3, Body::Restore { of: id("a", 1) }),
        ];
        entries[2].recorded = at(-60);
        assert_eq!(standing(&entries, at(9)).len(), 1);
        assert_eq!(last_to_undo(&entries, "a").unwrap().id, id("a", 1));
        entries.push(entry("a", 4, Body::Correct { of: id("a", 1), event: crew(3) }));
        entries.push(entry("a", 5, Body::Correct { of: id("a", 1), event: crew(4) }));
        entries[4].recorded = at(-50);
        assert_eq!(standing(&entries, at(9))[0].event, crew(4));
    }

    fn dishes() -> Event {
        let once = Quantity::new(Amount::from_milli(1000).unwrap(), Unit::Time);
        Event::Use { activity: "dishes".into(), count: once }
    }

    #[test]
    fn uses_are_twins_only_when_nearly_at_once() {
        let two = |minutes: u64| {
            let entries = [
                entry("a", 1, Body::Happened(dishes())),
                entry("b", 1 + minutes, Body::Happened(dishes())),
            ];
            possible_twins(&standing(&entries, at(999))).len()
        };
        assert_eq!([two(0), two(10), two(11), two(40)], [1, 1, 0, 0]);
    }

    #[test]
    fn each_entry_has_one_twin_at_most_and_readings_have_none() {
        let says = |device: &str, minute, event| entry(device, minute, Body::Happened(event));
        let entries = [
            says("a", 1, dishes()),
            says("b", 2, dishes()),
            says("b", 3, dishes()),
            says("a", 4, crew(2)),
            says("b", 4, crew(2)),
            says("a", 5, Event::DayClosed),
            says("b", 5, Event::DayClosed),
            says("a", 6, Event::Note("rain".into())),
            says("b", 6, Event::Note("rain".into())),
        ];
        assert_eq!(possible_twins(&standing(&entries, at(999))), vec![(0, 1)]);
    }

    proptest! {
        /// Any sequence of entries, then k undos, folds to the prefix without the last k; and as
        /// many redos bring all of it back.
        #[test]
        fn undo_takes_back_from_the_end(count in 1u64..12, undos in 0u64..12) {
            let undos = undos.min(count);
            let mut entries: Vec<Entry> =
                (1..=count).map(|n| entry("a", n, Body::Happened(crew(n as i64)))).collect();
            let whole = standing(&entries, at(999));
            for n in 0..undos {
                let of = last_to_undo(&entries, "a").unwrap().id.clone();
                entries.push(entry("a", count + 1 + n, Body::Retract { of }));
            }
            prop_assert_eq!(&standing(&entries, at(999))[..], &whole[..(count - undos) as usize]);
            for n in 0..undos {
                let of = line_to_redo(&entries, "a")[0].clone();
                entries.push(entry("a", count + undos + 1 + n, Body::Restore { of }));
            }
            prop_assert_eq!(standing(&entries, at(999)), whole);
        }

        /// The union is a set: order and duplicates of the files make no difference.
        #[test]
        fn order_of_arrival_makes_no_difference(shuffle in any::<u64>()) {
            let mut entries = vec![
                entry("a", 1, Body::Happened(crew(2))),
                entry("b", 1, Body::Happened(crew(4))),
                entry("b", 2, Body::Correct { of: id("a", 1), event: crew(5) }),
                entry("a", 3, Body::Correct { of: id("a", 1), event: crew(6) }),
                entry("a", 4, Body::Retract { of: id("b", 1) }),
            ];
            let reference = standing(&entries, at(999));
            let mut state = shuffle;
            for i in (1..entries.len()).rev() {
                state = state.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
                entries.swap(i, (state >> 33) as usize % (i + 1));
            }
            entries.extend(entries.clone());
            prop_assert_eq!(standing(&entries, at(999)), reference);
        }
    }
}
