//! Looking back on the demo's own journal.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use waystock::domain::entry::{Body, Entry, EntryId, Event};
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::unit::Unit;
use waystock::forecast::hindsight::{HISTORY_DAYS, Hindsight, Luck, Settings, Unjudged, hindsight};
use waystock::store::data_folder::DataFolder;
use waystock::store::real_disk::RealDisk;

fn demo() -> (Rig, Vec<Entry>) {
    let state = tempfile::tempdir().unwrap();
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    let contents = DataFolder::at(&dir, state.path(), Arc::new(RealDisk)).load().unwrap();
    (contents.rig, contents.journal.entries)
}

fn look(rig: &Rig, entries: &[Entry]) -> Hindsight {
    let now = rig.evening.unwrap();
    let settings = Settings { evenings: 12, lives: 100, ..Settings::at(now) };
    hindsight(rig, entries, settings, &AtomicBool::new(false)).unwrap()
}

#[test]
fn every_evening_is_judged_or_counted_as_not() {
    let (rig, entries) = demo();
    let looked = look(&rig, &entries);
    assert_eq!(looked.evenings.len(), 12);
    let first = entries.iter().map(|e| e.at).min().unwrap();
    for evening in &looked.evenings {
        assert!((evening.at - first).num_days() >= HISTORY_DAYS);
        assert!(evening.at < rig.evening.unwrap());
        assert!(evening.came.from <= evening.came.to);
    }
    for stock in &looked.stocks {
        for record in [&stock.levels, &stock.dates] {
            let tally = &record.tally;
            assert_eq!(tally.judged + record.unjudged.all(), 12, "{}", stock.name);
            let shares = tally.shares.sooner + tally.shares.inside + tally.shares.later;
            assert!((shares - tally.judged as f64).abs() < 1e-9, "{}", stock.name);
        }
    }
    assert!(looked.stocks.iter().all(|stock| stock.name != "nights here"));
    let water = looked.stocks.iter().find(|stock| stock.name == "fresh").unwrap();
    assert!(water.levels.tally.judged >= 6, "{water:?}");
    // Same inputs, same answer, whichever thread takes which evening.
    assert_eq!(look(&rig, &entries), looked);
}

/// An entry written down today changes what is known to have come, not what was said before.
#[test]
fn what_was_written_later_did_not_exist_then() {
    let (rig, mut entries) = demo();
    let before = look(&rig, &entries);
    let now = rig.evening.unwrap();
    let reading = Quantity::new(Amount::from_milli(2_000).unwrap(), Unit::Percent);
    let event = Event::Level { stock: "fresh".into(), reading, step: Some(0.02) };
    entries.push(Entry {
        id: EntryId { device: "shelf".into(), sequence: 1, salt: 9 },
        at: before.evenings[5].at + chrono::Duration::hours(7),
        recorded: now,
        note: None,
        body: Body::Happened(event),
    });
    let after = look(&rig, &entries);
    for (was, is) in before.evenings.iter().zip(&after.evenings) {
        assert_eq!(was.said, is.said);
    }
    assert!(before.evenings[5].came.to.is_infinite());
    assert_eq!(after.evenings[5].came.to, 7.0);
    let fresh = |looked: &Hindsight| looked.stocks.iter().find(|s| s.name == "fresh").cloned();
    let (was, is) = (fresh(&before).unwrap(), fresh(&after).unwrap());
    assert!(is.dates.met > was.dates.met);
    assert!(is.levels.tally.shares.sooner > was.levels.tally.shares.sooner);
}

#[test]
fn it_stops_when_asked_to_and_says_nothing_without_history() {
    let (rig, entries) = demo();
    let settings = Settings::at(rig.evening.unwrap());
    assert_eq!(hindsight(&rig, &entries, settings, &AtomicBool::new(true)), None);
    let early = Settings::at(entries.iter().map(|e| e.at).min().unwrap());
    let looked = hindsight(&rig, &entries, early, &AtomicBool::new(false)).unwrap();
    assert!(looked.evenings.is_empty());
    assert_eq!(looked.misjudged, None);
}

/// What was emptied tells of the stock that it was emptied of, and of no other.
#[test]
fn an_emptying_tells_of_one_stock() {
    let (rig, mut entries) = demo();
    let before = look(&rig, &entries);
    entries.push(Entry {
        id: EntryId { device: "shelf".into(), sequence: 1, salt: 9 },
        at: before.evenings[5].at + chrono::Duration::hours(2),
        recorded: rig.evening.unwrap(),
        note: None,
        body: Body::Happened(Event::Empty { stock: "grey".into(), amount: None, after: None }),
    });
    let after = look(&rig, &entries);
    let record = |looked: &Hindsight, name: &str| {
        let stock = looked.stocks.iter().find(|stock| stock.name == name).unwrap();
        (stock.levels.clone(), stock.dates.clone())
    };
    assert_ne!(record(&before, "grey"), record(&after, "grey"));
    for name in ["fresh", "liquids", "solids", "diesel"] {
        assert_eq!(record(&before, name), record(&after, name), "{name}");
    }
}

#[test]
fn all_that_was_not_judged_is_counted() {
    let unjudged = Unjudged { out_already: 1, beyond_horizon: 2, nothing_told: 4 };
    assert_eq!(unjudged.all(), 7);
}

/// Bands that share no truth are as so many throws of a coin that shows heads in 0.8. Quantiles of
/// the binomial law at 0.05 and 0.95; where two or five share a truth, of the beta-binomial law
/// with that correlation. Computed with Python's math.comb and math.lgamma.
#[test]
fn luck_alone_is_binomial_and_wider_where_truths_are_shared() {
    for (bands, shared, low, high) in [
        (20, 1.0, 13, 19),
        (40, 1.0, 28, 36),
        (201, 1.0, 151, 170),
        (20, 2.0, 11, 20),
        (20, 5.0, 8, 20),
        (20, 10.0, 3, 20),
        (40, 3.0, 24, 38),
    ] {
        assert_eq!(Luck::of(bands, shared), Some(Luck { low, high }), "{bands} {shared}");
    }
    // Where all share one truth they hold together or miss together.
    assert_eq!(Luck::of(10, 10.0).unwrap().high, 10);
    assert_eq!(Luck::of(0, 1.0), None);
}
