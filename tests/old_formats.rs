//! Every form of the journal that was ever written opens for ever. A fixture is never edited;
//! its checksums were computed by another program (zlib's CRC-32).

use std::path::Path;
use std::sync::Arc;
use waystock::domain::entry::{After, Body, ChargeSource, Entry, Event, Spot};
use waystock::domain::outlook::DayWeather;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::unit::Unit;
use waystock::store::folder::Folder;
use waystock::store::journal::{FindingKind, Journal};
use waystock::store::real_disk::RealDisk;

fn load() -> Journal {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/journal-v1");
    let nowhere = dir.join("no-state");
    Folder::open(&dir, &nowhere, Arc::new(RealDisk)).load().unwrap()
}

fn quantity(milli: i64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_milli(milli).unwrap(), unit)
}

fn entry(id: &str, at: &str, recorded: &str, note: Option<&str>, body: Body) -> Entry {
    let moment = |text: &str| text.parse().unwrap();
    let (at, recorded) = (moment(at), moment(if recorded.is_empty() { at } else { recorded }));
    Entry { id: id.parse().unwrap(), at, recorded, note: note.map(String::from), body }
}

/// What the first device's file says, in the order of ids: device, number.
fn expected() -> Vec<Entry> {
    let happened =
        |id: &str, at: &str, event: Event| entry(id, at, "", None, Body::Happened(event));
    let dishes =
        |milli| Event::Use { activity: "dishes".into(), count: quantity(milli, Unit::Time) };
    let generator = "sivalu-41d0-9-66666666";
    vec![
        happened(
            "import-1-0f0f0f0f",
            "2026-09-30T08:00:00+00:00",
            Event::Level {
                stock: "gas".into(),
                reading: quantity(2000, Unit::Own("bottles".into())),
                step: None,
            },
        ),
        happened(
            "sivalu-41d0-1-3a5f0c11",
            "2026-10-02T17:40:00+02:00",
            Event::Camp(Spot::Named("Heron meadow".into())),
        ),
        entry(
            "sivalu-41d0-2-90aa7e02",
            "2026-10-02T17:40:00+02:00",
            "2026-10-02T17:45:30.250+02:00",
            None,
            Body::Happened(Event::Crew(Amount::from_milli(2000).unwrap())),
        ),
        happened(
            "sivalu-41d0-3-0000000f",
            "2026-10-02T18:00:00+02:00",
            Event::Level {
                stock: "fresh".into(),
                reading: quantity(62_500, Unit::Percent),
                step: Some(0.125),
            },
        ),
        entry(
            "sivalu-41d0-4-11111111",
            "2026-10-02T20:15:00+02:00",
            "",
            Some("with Rika's \"big\" pot\n\u{1b}[1m"),
            Body::Happened(dishes(1000)),
        ),
        happened(
            "sivalu-41d0-5-22222222",
            "2026-10-03T09:30:00+02:00",
            Event::Fill {
                stock: "fresh".into(),
                amount: Some(quantity(43_200, Unit::Litre)),
                after: Some(After::Full),
            },
        ),
        happened(
            "sivalu-41d0-6-33333333",
            "2026-10-03T09:40:00+02:00",
            Event::Fill {
                stock: "diesel".into(),
                amount: None,
                after: Some(After::Level(quantity(18_000, Unit::Litre))),
            },
        ),
        happened(
            "sivalu-41d0-7-44444444",
            "2026-10-03T09:50:00+02:00",
            Event::Empty {
                stock: "grey".into(),
                amount: Some(quantity(12_000, Unit::ImperialGallon)),
                after: Some(quantity(5000, Unit::Percent)),
            },
        ),
        happened(
            "sivalu-41d0-8-55555555",
            "2026-10-03T11:00:00+02:00",
            Event::Drive(quantity(41_500, Unit::Mile)),
        ),
        happened(
            generator,
            "2026-10-03T19:00:00+02:00",
            Event::Charge { source: ChargeSource::Generator, amount: quantity(1500, Unit::Hour) },
        ),
        happened(
            "sivalu-41d0-10-77777777",
            "2026-10-03T21:00:00+02:00",
            Event::Camp(Spot::At { latitude: 46.781_25, longitude: -7.5 }),
        ),
        happened("sivalu-41d0-11-88888888", "2026-10-03T23:00:00+02:00", Event::DayClosed),
        happened(
            "sivalu-41d0-12-99999999",
            "2026-10-03T23:01:00+02:00",
            Event::Note("frost on the step; Äpfel 3 kg".into()),
        ),
        happened(
            "sivalu-41d0-13-aaaaaaaa",
            "2026-10-03T23:02:00+02:00",
            Event::Outlook(DayWeather {
                issued: "2026-10-03T18:00:00+02:00".parse().unwrap(),
                date: "2026-10-05".parse().unwrap(),
                low_c: Some(-1.5),
                high_c: Some(9.0),
                sun_kwh_m2: Some(2.4),
                cloud: Some(0.65),
                place: Some("Heron meadow".into()),
            }),
        ),
        entry(
            "sivalu-41d0-14-bbbbbbbb",
            "2026-10-03T20:10:00+02:00",
            "2026-10-03T23:03:00+02:00",
            None,
            Body::Correct { of: "sivalu-41d0-4-11111111".parse().unwrap(), event: dishes(2000) },
        ),
        entry(
            "sivalu-41d0-15-cccccccc",
            "2026-10-03T23:04:00+02:00",
            "",
            None,
            Body::Retract { of: generator.parse().unwrap() },
        ),
        entry(
            "sivalu-41d0-16-dddddddd",
            "2026-10-03T23:05:00+02:00",
            "",
            None,
            Body::Restore { of: generator.parse().unwrap() },
        ),
    ]
}

#[test]
fn format_1_reads_as_it_was_written() {
    let journal = load();
    let ours = |entry: &&Entry| entry.id.device != "bekita-9e03";
    let read: Vec<Entry> = journal.entries.iter().filter(ours).cloned().collect();
    for (read, expected) in read.iter().zip(expected()) {
        assert_eq!(*read, expected);
        assert_eq!(read.at.offset(), expected.at.offset(), "{}", read.id);
    }
    assert_eq!(read.len(), expected().len());
    assert!(!journal.read_only);
}

#[test]
fn damage_and_novelties_in_format_1_are_reported_in_place() {
    let journal = load();
    let found: Vec<(FindingKind, &str, u64)> =
        journal.findings.iter().map(|f| (f.kind, f.file.as_str(), f.line)).collect();
    let file = "journal/bekita-9e03.ron";
    assert_eq!(
        found,
        [
            (FindingKind::Damaged, file, 2),
            (FindingKind::Unknown, file, 3),
            (FindingKind::Unknown, file, 4),
            (FindingKind::Arriving, file, 5),
        ]
    );
    let counts: Vec<(&str, u64, u64)> =
        journal.files.iter().map(|f| (f.file.as_str(), f.good, f.skipped)).collect();
    let copy = "journal/sivalu-41d0 (second copy).ron";
    assert_eq!(counts, [(file, 2, 3), (copy, 3, 0), ("journal/sivalu-41d0.ron", 17, 0)]);
    let from_other: Vec<u64> = journal
        .entries
        .iter()
        .filter(|e| e.id.device == "bekita-9e03")
        .map(|e| e.id.sequence)
        .collect();
    assert_eq!(from_other, [1, 4]);
}
