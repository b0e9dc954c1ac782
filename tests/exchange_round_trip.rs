//! Nothing is lost or doubled between a journal and its exchange files, whatever it says.

#[path = "fixtures/words_rig.rs"]
mod words_rig;

use proptest::prelude::*;
use std::path::Path;
use std::sync::Arc;
use waystock::domain::entry::{After, Body, ChargeSource, Entry, EntryId, Event, Spot};
use waystock::domain::journal::{Standing, standing};
use waystock::domain::outlook::DayWeather;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::exchange::{new_entries, read, write_csv, write_jsonl, write_outlook_csv};
use waystock::logline::Vocabulary;
use waystock::store::data_folder::DataFolder;
use waystock::store::real_disk::RealDisk;
use words_rig::{moment, now};

const HEADER: &str = "at,kind,what,amount,unit,step,after,note,recorded";
const AT: &str = "2026-05-10T08:00:00+02:00";

fn vocabulary() -> Vocabulary {
    Vocabulary::new(&words_rig::rig(), words_rig::zone())
}

fn amounts(most: i64) -> impl Strategy<Value = Amount> {
    (0..=most * 1000).prop_map(|milli| Amount::from_milli(milli).unwrap())
}

fn of(most: i64, units: &'static [Unit]) -> impl Strategy<Value = Quantity> {
    (amounts(most), prop::sample::select(units)).prop_map(|(a, u)| Quantity::new(a, u))
}

fn texts() -> impl Strategy<Value = String> {
    prop_oneof![any::<String>(), "['=+@,\"\t\r\n -]{1,4}[a-z ]{0,3}", "[a-z ,]{0,20}",]
        .prop_filter("a note says something, within its limit", |text| {
            !text.trim().is_empty() && text.len() < 2000
        })
}

fn events() -> impl Strategy<Value = Event> {
    use Unit::{
        Hour, Kilometre, Litre, Mile, Millilitre, Minute, Percent, Time, UsGallon, WattHour,
    };
    let level = of(80, &[Percent, Litre, Millilitre]);
    let step = prop::option::of(0.001f64..1.0);
    prop_oneof![
        of(40, &[Time]).prop_map(|count| Event::Use { activity: "shower".into(), count }),
        of(40, &[Minute, Hour]).prop_map(|count| Event::Use { activity: "work".into(), count }),
        (level, step)
            .prop_map(|(reading, step)| { Event::Level { stock: "fresh".into(), reading, step } }),
        (
            prop::option::of(of(20, &[Percent, Litre, UsGallon])),
            prop::option::of(prop_oneof![
                Just(After::Full),
                of(50, &[Percent, Litre]).prop_map(After::Level)
            ]),
        )
            .prop_map(|(amount, after)| Event::Fill {
                stock: "fresh".into(),
                amount,
                after
            }),
        (prop::option::of(of(9, &[Percent, Litre])), prop::option::of(of(9, &[Percent, Litre])))
            .prop_map(|(amount, after)| Event::Empty { stock: "grey".into(), amount, after }),
        of(900, &[Hour, Minute, Kilometre, Mile]).prop_map(Event::Drive),
        (of(900, &[Hour, WattHour]), any::<bool>()).prop_map(|(amount, shore)| {
            let source = if shore { ChargeSource::Shore } else { ChargeSource::Generator };
            Event::Charge { source, amount }
        }),
        "['=+@-]{0,2}[A-Z][a-z,\" ]{0,12}[a-z]".prop_map(|name| Event::Camp(Spot::Named(name))),
        (-90.0f64..90.0, -180.0f64..180.0)
            .prop_map(|(latitude, longitude)| { Event::Camp(Spot::At { latitude, longitude }) }),
        amounts(9).prop_map(Event::Crew),
        Just(Event::DayClosed),
        texts().prop_map(Event::Note),
    ]
}

fn journals() -> impl Strategy<Value = Vec<Entry>> {
    // Few different moments, so that order within one is tried as well.
    let entry = (0i64..6, 0i64..3, prop::option::of(texts()), events());
    prop::collection::vec(entry, 0..12).prop_map(|rows| {
        let entry = |(index, (hour, wait, note, event)): (usize, (i64, i64, _, Event))| {
            let at = moment(AT) + chrono::Duration::hours(hour);
            Entry {
                id: EntryId { device: "phone".into(), sequence: index as u64 + 1, salt: 7 },
                at,
                recorded: at + chrono::Duration::hours(wait - 1),
                note: Some(note).filter(|_| !matches!(event, Event::Note(_))).flatten(),
                body: Body::Happened(event),
            }
        };
        rows.into_iter().enumerate().map(entry).collect()
    })
}

/// Seven weeks of two people's journal, through files and into another data folder.
#[test]
fn the_demo_survives_export_and_import() {
    let temporary = tempfile::tempdir().unwrap();
    let state = temporary.path().join("state");
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    let contents = DataFolder::at(&demo, &state, Arc::new(RealDisk)).load().unwrap();
    let now = contents.rig.evening.unwrap();
    let known = Vocabulary::new(&contents.rig, contents.rig.zone(now));
    let journal = contents.journal.entries;
    let stands = standing(&journal, now);
    assert!(stands.len() > 100);

    let other = temporary.path().join("other");
    std::fs::create_dir(&other).unwrap();
    std::fs::copy(demo.join("rig.ron"), other.join("rig.ron")).unwrap();
    let mut other = DataFolder::at(&other, &state, Arc::new(RealDisk));
    for text in [write_csv(&stands), write_outlook_csv(&stands)] {
        let imported = read(&text, &known).unwrap_or_else(|why| panic!("{}", why[0]));
        assert_eq!(imported.warnings, []);
        assert_eq!(new_entries(&imported, &journal), [], "the demo holds all of it");
        let there = other.load().unwrap().journal.entries;
        let added = other.journal.append_imported(&new_entries(&imported, &there)).unwrap();
        assert_eq!(added.len(), imported.entries.len());
        let there = other.load().unwrap().journal.entries;
        assert_eq!(new_entries(&imported, &there), [], "twice adds nothing");
    }
    let there = other.load().unwrap().journal.entries;
    let without_outlooks = |standing: Vec<Standing>| {
        said(standing.into_iter().filter(|s| !matches!(s.event, Event::Outlook(_))).collect())
    };
    assert_eq!(without_outlooks(standing(&there, now)), without_outlooks(stands));
}

#[test]
fn what_is_there_already_is_not_added() {
    let row = format!("{AT},use,shower,1,times,,,,\r\n");
    let one = format!("{HEADER}\r\n{row}");
    let two = format!("{one}{row}");
    let known = vocabulary();
    let [first, both] = [&one, &two].map(|text| read(text, &known).unwrap());
    let mut journal = new_entries(&both, &[]);
    assert_eq!(journal.len(), 2, "two equal showers stay two");
    assert_ne!(journal[0].id, journal[1].id);
    assert!(new_entries(&both, &journal).is_empty(), "twice adds nothing");
    assert!(new_entries(&first, &journal).is_empty());
    // The shorter file first, then the longer: one more.
    journal = new_entries(&first, &[]);
    journal.extend(new_entries(&both, &journal));
    assert_eq!(journal, both.entries);
    // The same instant in another offset is the same row, and so is another word for it.
    let other = format!("{HEADER}\n2026-05-10T06:00:00Z,use,rinse,1.0,x,,,,{AT}\n");
    assert_eq!(new_entries(&read(&other, &known).unwrap(), &journal), []);
    // A different note is a different row.
    let noted = format!("{HEADER}\n{AT},use,shower,1,times,,,cold,\n");
    assert_eq!(new_entries(&read(&noted, &known).unwrap(), &journal).len(), 1);
}

#[test]
fn logged_corrected_and_retracted_entries_count_as_there() {
    let id = |sequence| EntryId { device: "phone".into(), sequence, salt: 9 };
    let record = |sequence, body| Entry {
        id: id(sequence),
        at: moment(AT),
        recorded: moment(AT),
        note: None,
        body,
    };
    let crew = |people: i64| Event::Crew(Amount::from_milli(people * 1000).unwrap());
    let mut journal = vec![
        record(1, Body::Happened(crew(2))),
        record(2, Body::Correct { of: id(1), event: crew(3) }),
        record(3, Body::Happened(Event::DayClosed)),
    ];
    let exported =
        [write_csv(&standing(&journal[..1], now())), write_csv(&standing(&journal, now()))];
    journal.push(record(4, Body::Retract { of: id(3) }));
    for text in exported {
        assert_eq!(new_entries(&read(&text, &vocabulary()).unwrap(), &journal), [], "{text}");
    }
}

/// What an entry says, without who wrote it.
fn said(standing: Vec<Standing>) -> Vec<(Moment, Moment, Option<String>, Event)> {
    standing.into_iter().map(|s| (s.at, s.recorded, s.note, s.event)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Out and into an empty journal: the same entries in the same order; in again: nothing new,
    /// neither there nor in the journal that it came from.
    #[test]
    fn a_journal_survives_export_and_import(journal in journals()) {
        let known = vocabulary();
        let text = write_csv(&standing(&journal, now()));
        let imported = read(&text, &known);
        prop_assert!(imported.is_ok(), "{:?}\n{text}", imported);
        let imported = imported.unwrap();
        prop_assert_eq!(new_entries(&imported, &journal), vec![]);
        let copy = new_entries(&imported, &[]);
        prop_assert_eq!(said(standing(&copy, now())), said(standing(&journal, now())));
        prop_assert_eq!(new_entries(&imported, &copy), vec![]);
        prop_assert_eq!(write_csv(&standing(&copy, now())), text);
        let lines = write_jsonl(&journal);
        prop_assert_eq!(lines.lines().count(), journal.len());
    }

    #[test]
    fn outlooks_survive_export_and_import(
        rows in prop::collection::vec((0i64..9, -30i32..30, 0i32..20, 0u16..1500, 0u16..=1000), 0..9),
    ) {
        let entries: Vec<Entry> = rows.iter().enumerate().map(|(index, row)| {
            let issued = moment(AT) + chrono::Duration::hours(row.0);
            let weather = DayWeather {
                issued,
                date: issued.date_naive(),
                low_c: Some(f64::from(row.1)),
                high_c: Some(f64::from(row.1 + row.2) + 0.5),
                sun_kwh_m2: Some(f64::from(row.3) / 100.0),
                cloud: Some(f64::from(row.4) / 1000.0),
                place: (row.0 > 4).then(|| "-= at, \"here\"".to_string()),
            };
            let id = EntryId { device: "phone".into(), sequence: index as u64, salt: 7 };
            let body = Body::Happened(Event::Outlook(weather));
            Entry { id, at: issued, recorded: issued, note: None, body }
        }).collect();
        let text = write_outlook_csv(&standing(&entries, now()));
        let imported = read(&text, &vocabulary()).unwrap();
        prop_assert_eq!(said(standing(&imported.entries, now())), said(standing(&entries, now())));
        prop_assert_eq!(new_entries(&imported, &entries), vec![]);
    }

    #[test]
    fn any_text_is_a_file_or_refused(text in any::<String>(), row in "[-=',\"\r\na-z0-9:.+ ]{0,60}") {
        let known = vocabulary();
        let _ = read(&text, &known);
        let _ = read(&format!("{HEADER}\n{row}{text}"), &known);
        let _ = read(&format!("{HEADER}\n{AT},level,fresh,{row}"), &known);
        let _ = read(&format!("issued,date,low_c,high_c\n{AT},{row}"), &known);
    }
}
