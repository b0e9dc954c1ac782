use super::*;
use crate::domain::counts::Counts;
use crate::domain::entry::{Body, Entry, EntryId, Event, IMPORT, Spot};
use crate::domain::journal::{Standing, standing};
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::remembered::{is_bygone, stock_told};
use crate::domain::rig::Rig;
use crate::domain::timeline::Timeline;
use crate::domain::unit::Unit;
use crate::store::line;
use chrono::Duration;
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::path::Path;

fn at(hour: i64) -> Moment {
    "2026-03-01T06:00:00+02:00".parse::<Moment>().unwrap() + Duration::hours(hour)
}

/// What a record says, by three small numbers.
fn event(kind: u8, what: u8) -> Event {
    let stock = ["fresh", "grey", "diesel"][usize::from(what % 3)].to_string();
    let count = Quantity::new(Amount::from_milli(1000).unwrap(), Unit::Time);
    match kind % 8 {
        0 => Event::Crew(Amount::from_milli(i64::from(what % 3) * 1000).unwrap()),
        1 => Event::Camp(Spot::Named(format!("cove {}", what % 4))),
        2 => Event::Fill { stock, amount: None, after: None },
        3 => Event::Empty { stock, amount: None, after: None },
        4 => Event::Note("fog".into()),
        _ => Event::Use { activity: "shower".into(), count },
    }
}

/// Records of two devices and of an exchange file, over forty days: uses, fills, crews and camps,
/// plans up to two days ahead, corrections, retractions, and clocks that jump back a week.
fn entries() -> impl Strategy<Value = Vec<Entry>> {
    let record = (0..8_u8, any::<u8>(), 0..12_i64, 0..20_u8, 0..8_u8, any::<prop::sample::Index>());
    let step = (0..3_usize, 1..30_i64, 0..40_u8);
    prop::collection::vec((record, step), 5..60).prop_map(|rows| {
        let (mut all, mut hours): (Vec<Entry>, _) = (Vec::new(), [0_i64; 3]);
        for ((kind, what, late, shift, change, which), (device, later, jump)) in rows {
            hours[device] += if jump == 0 { -170 } else { later };
            let (hour, sequence) = (hours[device], all.len() as u64);
            let ahead = if shift < 3 { i64::from(shift) * 20 + 5 } else { -late };
            let event = event(kind, what);
            let of = all.get(which.index(all.len().max(1))).map(|entry| entry.id.clone());
            // Rows of exchange files only say what happened.
            let body = match (of.filter(|_| device < 2), change) {
                (Some(of), 0) => Body::Correct { of, event },
                (Some(of), 1) => Body::Retract { of },
                (Some(of), 2) => Body::Restore { of },
                _ => Body::Happened(event),
            };
            let id = match device {
                // As imports do: the number says nothing about the order.
                2 => EntryId { device: IMPORT.into(), sequence: sequence * 7919 % 101, salt: 2 },
                _ => EntryId { device: ["ada", "nell"][device].into(), sequence, salt: 1 },
            };
            let (recorded, at) = (at(hour), at(hour + ahead));
            all.push(Entry { id, at, recorded, note: None, body });
        }
        all
    })
}

fn source(entries: &[Entry]) -> SourceFile {
    let lines: Vec<String> =
        entries.iter().map(|entry| line::write(entry, None).unwrap()).collect();
    SourceFile { file: "journal/ada.ron".into(), bytes: lines.join("\n").into(), own: true }
}

fn told(standing: &[Standing], entries: &[Entry]) -> BTreeSet<String> {
    let stands = |entry: &&Entry| standing.iter().any(|s| s.id == entry.id && s.is_fact());
    let told = entries.iter().filter(stands).filter_map(|s| stock_told(&s.body));
    told.map(String::from).collect()
}

fn rig() -> Rig {
    let text = crate::store::templates::TEMPLATES[0].text;
    crate::store::rig_file::parse(text, Path::new("rig.ron")).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(if cfg!(debug_assertions) { 300 } else { 3000 }))]

    /// What is left out are facts of before, uncorrected; all else is as with all entries: what
    /// stands, what it counts as, who is aboard, where the van stands, which stocks were ever read.
    #[test]
    fn what_is_left_out_changes_nothing_later(
        entries in entries(), since in 0..1200_i64, now in 0..1200_i64,
    ) {
        let (since, now) = (at(since), at(since.max(now)));
        let sources = [source(&entries)];
        let (whole, part) = (read(&sources), read_since(&sources, Some(since)));
        prop_assert_eq!(&whole.files, &part.files);
        prop_assert_eq!(&whole.findings, &part.findings);
        let all = standing(&whole.entries, now);
        let kept = standing(&part.entries, now);
        let mut rest = kept.iter().peekable();
        for entry in &all {
            if rest.next_if_eq(&entry).is_some() {
                continue;
            }
            let record = whole.entries.iter().find(|record| record.id == entry.id).unwrap();
            prop_assert!(is_bygone((record.at, record.recorded), &record.body, since), "{:?} is missing or differs", entry);
            prop_assert_eq!((entry.counts, &entry.corrected_by), (Counts::Fact, &None));
        }
        prop_assert_eq!(rest.next(), None);
        prop_assert_eq!(told(&all, &whole.entries), told(&kept, &part.entries));
        let rig = rig();
        let (one, other) = (Timeline::of(&rig, &all), Timeline::of(&rig, &kept));
        for hour in 0..1400 {
            if at(hour) >= since {
                prop_assert_eq!(one.aboard(at(hour)), other.aboard(at(hour)), "hour {}", hour);
                prop_assert_eq!(one.camp(at(hour)), other.camp(at(hour)));
            }
        }
    }
}

/// Of a hundred showers long ago one is kept, by which people wrote before; counted by hand.
#[test]
fn a_long_past_is_left_out() {
    let used = |n: u64| Entry {
        id: EntryId { device: "ada".into(), sequence: n, salt: 1 },
        at: at(n as i64),
        recorded: at(n as i64),
        note: None,
        body: Body::Happened(event(5, 0)),
    };
    let entries: Vec<Entry> = (0..110).map(used).collect();
    let part = read_since(&[source(&entries)], Some(at(100)));
    assert_eq!(part.entries, entries[99..]);
    assert_eq!(part.files[0].good, 110);
}

/// A group goes on with its own device's next number, and with nothing else.
#[test]
fn a_group_goes_on_with_its_own_next_entry() {
    let entry = |device: &str, sequence: u64| Entry {
        id: EntryId { device: device.into(), sequence, salt: 1 },
        at: at(sequence as i64),
        recorded: at(sequence as i64),
        note: None,
        body: Body::Happened(event(5, 0)),
    };
    let counted = |rows: &[(&str, u64, u32)]| {
        let line = |(device, sequence, more): &(&str, u64, u32)| {
            line::write(&entry(device, *sequence), Some(*more)).unwrap()
        };
        let bytes = rows.iter().map(line).collect::<Vec<_>>().join("\n") + "\n";
        let file = SourceFile { file: "journal/ada.ron".into(), bytes: bytes.into(), own: true };
        read(&[file]).entries.len()
    };
    assert_eq!(counted(&[("ada", 5, 2), ("ada", 6, 1), ("ada", 7, 0)]), 3);
    // Another device's number 6 is not the end of this one's group.
    assert_eq!(counted(&[("ada", 5, 1), ("nell", 6, 0)]), 1);
    // A line that somebody took out by hand is no reason not to count the others.
    assert_eq!(counted(&[("ada", 5, 2), ("ada", 7, 0)]), 2);
    // One that says that more follow than are awaited begins a group of its own.
    assert_eq!(counted(&[("ada", 5, 1), ("ada", 4, 2), ("ada", 6, 0)]), 2);
    // Rows of exchange files have numbers of their own.
    assert_eq!(counted(&[(IMPORT, 70, 1), (IMPORT, 3, 0)]), 2);
    assert_eq!(counted(&[(IMPORT, 70, 2), (IMPORT, 3, 0)]), 1);
}
