use super::*;
use crate::domain::entry::{After, Body, ChargeSource, EntryId, Event, Spot};
use crate::domain::outlook::DayWeather;
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::time::Moment;
use crate::domain::unit::{Unit, UnitSystem};
use crate::store::journal::{self, SourceFile};
use chrono::{DateTime, FixedOffset, NaiveDate};
use proptest::prelude::*;

/// The line of an entry that is saved alone.
fn write(entry: &Entry) -> Result<String, String> {
    super::write(entry, None)
}

fn moment() -> impl Strategy<Value = Moment> {
    // From the year 0 to the end of 9999 in UTC, less a day for offsets.
    let seconds = -62_167_132_800_i64..253_402_214_400;
    let nanos = prop_oneof![4 => Just(0_u32), 1 => 0..1_000_000_000_u32];
    (seconds, nanos, -18 * 60..=18 * 60).prop_map(|(seconds, nanos, minutes)| {
        let offset = FixedOffset::east_opt(minutes * 60).unwrap();
        DateTime::from_timestamp(seconds, nanos).unwrap().with_timezone(&offset)
    })
}

fn id() -> impl Strategy<Value = EntryId> {
    ("[a-z0-9-]{1,64}", any::<u64>(), any::<u32>()).prop_map(|(device, sequence, salt)| EntryId {
        device,
        sequence,
        salt,
    })
}

fn text() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z ]{0,12}",
        any::<String>(),
        "[\"\\\\\r\n\t,:(){}\u{0}\u{7f}\u{85}\u{202e}]{0,9}"
    ]
}

fn amount() -> impl Strategy<Value = Amount> {
    (0..=1_000_000_000_000_i64).prop_map(|m| Amount::from_milli(m).unwrap())
}

fn unit() -> impl Strategy<Value = Unit> {
    let known: Vec<Unit> = Unit::known_words()
        .flat_map(|w| [UnitSystem::Metric, UnitSystem::Imperial].map(|s| Unit::from_word(w, s)))
        .flatten()
        .collect();
    let own = text().prop_filter("a known word", |word| !Unit::known_words().any(|w| w == word));
    prop_oneof![4 => proptest::sample::select(known), 1 => own.prop_map(Unit::Own)]
}

fn quantity() -> impl Strategy<Value = Quantity> {
    (amount(), unit()).prop_map(|(amount, unit)| match unit {
        Unit::Percent => Quantity::new(thousandths(amount.milli() % 100_001), unit),
        _ => Quantity::new(amount, unit),
    })
}

fn thousandths(milli: i64) -> Amount {
    Amount::from_milli(milli).unwrap()
}

/// An amount in one of a few units.
fn measured(units: &[Unit]) -> impl Strategy<Value = Quantity> + use<> {
    let unit = proptest::sample::select(units.to_vec());
    (amount(), unit).prop_map(|(amount, unit)| Quantity { amount, unit })
}

fn maybe<T: std::fmt::Debug + Clone>(
    some: impl Strategy<Value = T>,
) -> impl Strategy<Value = Option<T>> {
    proptest::option::of(some)
}

fn event() -> impl Strategy<Value = Event> {
    let after = prop_oneof![Just(After::Full), quantity().prop_map(After::Level)];
    let source = prop_oneof![Just(ChargeSource::Shore), Just(ChargeSource::Generator)];
    prop_oneof![
        (text(), quantity()).prop_map(|(activity, count)| Event::Use { activity, count }),
        (text(), quantity(), maybe(0.0001..=1.0)).prop_map(|(stock, reading, step)| Event::Level {
            stock,
            reading,
            step
        }),
        (text(), maybe(quantity()), maybe(after)).prop_map(|(stock, amount, after)| Event::Fill {
            stock,
            amount,
            after
        }),
        (text(), maybe(quantity()), maybe(quantity()))
            .prop_map(|(stock, amount, after)| Event::Empty { stock, amount, after }),
        measured(&[Unit::Hour, Unit::Minute, Unit::Kilometre, Unit::Mile]).prop_map(Event::Drive),
        (source, measured(&[Unit::Hour, Unit::WattHour, Unit::KilowattHour, Unit::AmpHour]))
            .prop_map(|(source, amount)| Event::Charge { source, amount }),
        text().prop_map(|name| Event::Camp(Spot::Named(name))),
        (-90.0..=90.0, -180.0..=180.0)
            .prop_map(|(latitude, longitude)| Event::Camp(Spot::At { latitude, longitude })),
        (0..=1_000_000_i64).prop_map(|people| Event::Crew(thousandths(people))),
        Just(Event::DayClosed),
        text().prop_map(Event::Note),
        weather().prop_map(Event::Outlook),
    ]
}

type Warmth = (Option<f64>, Option<f64>);
type Sky = (Moment, NaiveDate, Warmth, Option<f64>, Option<f64>, Option<String>);

fn weather() -> impl Strategy<Value = DayWeather> {
    let date = (0..3_000_000_i32).prop_map(|n| NaiveDate::from_num_days_from_ce_opt(n).unwrap());
    let warmth = (maybe(-60.0..=60.0), maybe(-60.0..=60.0));
    (moment(), date, warmth, maybe(0.0..=12.0), maybe(0.0..=1.0), maybe(text())).prop_map(
        |(issued, date, (low, high), sun_kwh_m2, cloud, place): Sky| {
            let silent = [low, high, sun_kwh_m2, cloud].iter().all(Option::is_none);
            DayWeather {
                issued,
                date,
                low_c: low.map(|low: f64| high.map_or(low, |high| low.min(high))),
                high_c: high
                    .map(|high: f64| low.map_or(high, |low| high.max(low)))
                    .or(silent.then_some(3.0)),
                sun_kwh_m2,
                cloud,
                place,
            }
        },
    )
}

fn entry() -> impl Strategy<Value = Entry> {
    let body = prop_oneof![
        6 => event().prop_map(Body::Happened),
        2 => (id(), event()).prop_map(|(of, event)| Body::Correct { of, event }),
        1 => id().prop_map(|of| Body::Retract { of }),
        1 => id().prop_map(|of| Body::Restore { of }),
    ];
    let recorded = prop_oneof![Just(None), moment().prop_map(Some)];
    (id(), moment(), recorded, maybe(text()), body).prop_map(|(id, at, recorded, note, body)| {
        Entry { id, at, recorded: recorded.unwrap_or(at), note, body }
    })
}

/// Of an amount below 0, a day whose high is below its low, and a drive of so many litres.
#[test]
fn what_no_way_in_takes_is_damage_in_a_journal() {
    let start = r#"(v:1,id:"a-1-00000001",at:"2026-06-01T08:00:00+02:00""#;
    for (rest, place, why) in [
        (r#",kind:"use",what:"dishes",amount:-1000,unit:"times""#, "amount", "from 0 up"),
        (r#",kind:"level",what:"fresh",amount:100001,unit:"%""#, "amount", "at most 100 %"),
        (r#",kind:"fill",what:"fresh",after:-5,after_unit:"L""#, "after", "from 0 up"),
        (r#",kind:"drive",amount:5000,unit:"L""#, "unit", "a time or a distance"),
        (r#",kind:"crew",amount:-2000"#, "amount", "0 to 1000 people"),
    ] {
        let line = seal(format!("{start}{rest}"));
        let column = line.find(&format!("{place}:")).unwrap() as u64 + 1;
        let LineRead::Damaged(at, message) = read(line.as_bytes()) else { panic!("{line}") };
        assert_eq!(at, column, "{line}");
        assert!(message.contains(why), "{message}");
    }
}

/// What the fast reader makes of a line.
fn fast(line: &str) -> Option<(Record<'_>, u32)> {
    let mut record = Record::default();
    record.fill(&line[..line.len() - SEAL]).map(|()| (record, 0))
}

/// Offsets count: the same instant in another offset is another civil day.
fn offsets(entry: &Entry) -> (FixedOffset, FixedOffset) {
    (*entry.at.offset(), *entry.recorded.offset())
}

proptest! {
    #[test]
    fn what_is_written_reads_back(entry in entry()) {
        let line = write(&entry).unwrap();
        prop_assert!(!line.chars().any(char::is_control), "one line of visible text");
        let LineRead::Entry(back, Beside { unknown: 0, more: None }) = read(line.as_bytes()) else {
            return Err(TestCaseError::fail(line));
        };
        prop_assert_eq!(offsets(&back), offsets(&entry));
        prop_assert_eq!(back, entry);
    }

    #[test]
    fn both_readers_agree_on_what_we_write(entry in entry()) {
        let line = write(&entry).unwrap();
        prop_assert!(fast(&line).is_some(), "the fast reader reads it: {}", line);
        prop_assert_eq!(fast(&line), any_form(&line).ok());
    }

    /// Mangled lines: where the fast reader sees a record, `ron` sees the same one.
    #[test]
    fn the_fast_reader_is_never_more_generous(
        entry in entry(), at in any::<proptest::sample::Index>(), with in "[-+0-9a-fx_.,:()\"\\\\ \n]{0,3}",
        cut in 0_usize..3,
    ) {
        let mut body = write(&entry).unwrap();
        body.truncate(body.len() - SEAL);
        let marks: Vec<usize> = body.char_indices().map(|(i, _)| i).collect();
        let from = marks[at.index(marks.len())];
        let to = *marks.iter().find(|i| **i >= from + cut).unwrap_or(&body.len());
        body.replace_range(from..to, &with);
        let line = seal(body);
        if let Some(fast) = fast(&line) {
            prop_assert_eq!(Some(fast), any_form(&line).ok(), "{}", line);
        }
    }

    #[test]
    fn nothing_makes_the_reader_panic(body in "\\PC{0,80}", raw in any::<Vec<u8>>()) {
        read(&raw);
        read(seal(body).as_bytes());
        read(seal("[".repeat(1000)).as_bytes());
        read(seal("(a:Some(".repeat(1000)).as_bytes());
    }

    /// Files in any order, any of them twice, cut into any parts: one journal.
    #[test]
    fn files_in_any_order_are_one_journal(
        entries in proptest::collection::vec(entry(), 1..12),
        places in proptest::collection::vec((0..4_usize, 0..4_usize), 12),
        turn in 0..4_usize,
    ) {
        let mut files = vec![String::new(); 4];
        for (entry, (first, second)) in entries.iter().zip(places) {
            for file in [first, second] {
                files[file] += &(write(entry).unwrap() + "\n");
            }
        }
        let source = |(number, text): (usize, &String)| {
            SourceFile { file: format!("{number}.ron"), bytes: text.clone().into(), own: false }
        };
        let mut sources: Vec<SourceFile> = files.iter().enumerate().map(source).collect();
        let reference = journal::read(&sources);
        let mut ids: Vec<&EntryId> = entries.iter().map(|e| &e.id).collect();
        ids.sort();
        ids.dedup();
        prop_assert_eq!(reference.entries.iter().map(|e| &e.id).collect::<Vec<_>>(), ids);
        sources.rotate_left(turn);
        sources.extend(sources.clone());
        prop_assert_eq!(journal::read(&sources).entries, reference.entries);
    }
}

fn usual() -> Entry {
    Entry {
        id: "lotima-09cc-7-00c0ffee".parse().unwrap(),
        at: "2026-11-03T18:05:00+01:00".parse().unwrap(),
        recorded: "2026-11-03T18:05:00+01:00".parse().unwrap(),
        note: None,
        body: Body::Happened(Event::Crew(Amount::from_milli(2000).unwrap())),
    }
}

#[test]
fn other_ron_and_unknown_fields_are_read() {
    let start = r#"( v : 1, id: "lotima-09cc-7-00c0ffee", at: "2026-11-03T18:05:00+01:00""#;
    let tight = r#"(v:1,id:"lotima-09cc-7-00c0ffee",at:"2026-11-03T18:05:00+01:00""#;
    let rows = [
        (format!(r#"{start}, kind: "crew", amount: Some(2000)"#), 0),
        (format!(r##"{tight},kind:r#"crew"#,amount:2_000"##), 0),
        (format!(r#"{start}, kind: "crew", amount: 2000 /* all of us */, mood: [1, (a: "b")]"#), 1),
        (format!(r#"{tight},kind:"crew",amount:2000,mood:"glad",tries:3,wet:true"#), 3),
        (format!(r#"{tight},kind:"crew",amount:2000,mood:"a,crc:0x00000000)""#), 1),
    ];
    for (body, unknown) in rows {
        let line = seal(body);
        assert_eq!(
            read(line.as_bytes()),
            LineRead::Entry(usual(), Beside { unknown, more: None }),
            "{line}"
        );
        assert_eq!(
            read(format!("{line}\r").as_bytes()),
            LineRead::Entry(usual(), Beside { unknown, more: None })
        );
    }
}

#[test]
fn faults_are_placed() {
    let tight = r#"(v:1,id:"lotima-09cc-7-00c0ffee",at:"2026-11-03T18:05:00+01:00""#;
    let id_and_at = tight.len() as u64;
    let rows: [(String, u64, &str); 9] = [
        (format!(r#"{tight},kind:"crew""#), 1, "amount is missing"),
        (
            format!(r#"{tight},kind:"crew",amount:9000000000000"#),
            id_and_at + 14,
            "amount cannot be",
        ),
        (format!(r#"{tight},kind:"camp",latitude:91.0,longitude:0.0"#), id_and_at + 14, "latitude"),
        (format!(r#"{tight},kind:"camp",latitude:NaN,longitude:0.0"#), id_and_at + 14, "latitude"),
        (
            format!(r#"{tight},kind:"level",what:"x",amount:1,unit:"L",step:1e999"#),
            id_and_at + 42,
            "step",
        ),
        (format!(r#"{tight},kind:"use",what:"x",amount:1.5,unit:"L""#), 0, ""),
        (format!(r#"{tight},kind:"crew",amount:1,amount:2"#), 0, "amount"),
        (
            r#"(v:1,id:"../../x-1-00000001",at:"2026-11-03T18:05:00+01:00",kind:"day""#.into(),
            6,
            "id",
        ),
        (
            r#"(v:1,id:"a-1-00000001",at:"2026-11-03T18:05:00",kind:"day""#.into(),
            24,
            "at cannot be",
        ),
    ];
    for (body, column, words) in rows {
        let LineRead::Damaged(found, why) = read(seal(body.clone()).as_bytes()) else {
            panic!("{body} was read");
        };
        assert!(why.contains(words), "{body}: {why}");
        assert!(column == 0 || found == column, "{body}: column {found}, {why}");
    }
    let unknown = seal(format!(r#"{tight},kind:"teleport""#));
    assert_eq!(read(unknown.as_bytes()), LineRead::UnknownKind("teleport".into()));
    assert_eq!(read(seal("(v:9,x:[[]]".into()).as_bytes()), LineRead::Newer(9));
    // A newer version is believed only when its checksum holds.
    assert!(matches!(read(b"(v:9,x:1,crc:0x00000000)"), LineRead::Damaged(9, _)));
}

#[test]
fn what_cannot_be_kept_is_refused() {
    let mut entry = usual();
    entry.note = Some("x".repeat(LONGEST));
    assert!(write(&entry).unwrap_err().contains("at most 65536"));
    let outlook = |low_c: f64| DayWeather {
        issued: entry.at,
        date: entry.at.date_naive(),
        low_c: Some(low_c),
        high_c: Some(4.0),
        sun_kwh_m2: None,
        cloud: None,
        place: None,
    };
    for low_c in [f64::NAN, f64::INFINITY, 1e9] {
        let body = Body::Happened(Event::Outlook(outlook(low_c)));
        assert!(write(&Entry { note: None, body, ..entry.clone() }).is_err(), "{low_c}");
    }
    let unit = Unit::Own("L".into());
    let body = Body::Happened(Event::Drive(Quantity::new(Amount::ZERO, unit)));
    assert!(write(&Entry { body, ..usual() }).is_err(), "it would come back as litres");
}
