//! Exchange files: what rows mean, which cells are refused and how, what export writes.

#[path = "fixtures/words_rig.rs"]
mod words_rig;

use waystock::domain::entry::{After, Body, ChargeSource, Entry, EntryId, Event, Spot};
use waystock::domain::journal::{Standing, standing};
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::unit::Unit;
use waystock::exchange::{new_entries, read, write_csv, write_jsonl, write_outlook_csv};
use waystock::logline::Vocabulary;
use words_rig::{moment, now};

const HEADER: &str = "at,kind,what,amount,unit,step,after,note,recorded";
const AT: &str = "2026-05-10T08:00:00+02:00";

fn vocabulary() -> Vocabulary {
    Vocabulary::new(&words_rig::rig(), words_rig::zone())
}

fn quantity(milli: i64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_milli(milli).unwrap(), unit)
}

fn entries(text: &str) -> Vec<Entry> {
    read(text, &vocabulary()).unwrap_or_else(|why| panic!("{text}: {}", why[0])).entries
}

fn faults(text: &str) -> Vec<String> {
    let faults = read(text, &vocabulary()).expect_err(text);
    faults.iter().map(ToString::to_string).collect()
}

fn event(entry: &Entry) -> &Event {
    match &entry.body {
        Body::Happened(event) => event,
        other => panic!("an import only says what happened: {other:?}"),
    }
}

#[test]
fn every_kind_of_row() {
    let (litres, percent) =
        (|milli| quantity(milli, Unit::Litre), |milli| quantity(milli, Unit::Percent));
    let used = |activity: &str, count| Event::Use { activity: activity.into(), count };
    let level = |stock: &str, reading, step| Event::Level { stock: stock.into(), reading, step };
    let fill = |stock: &str, amount, after| Event::Fill { stock: stock.into(), amount, after };
    let empty = |stock: &str, amount, after| Event::Empty { stock: stock.into(), amount, after };
    let to = |level| Some(After::Level(level));
    let rows = [
        ("use,shower,2,times,,,,", used("shower", quantity(2000, Unit::Time))),
        ("use,Showers,1,,,,,", used("shower", quantity(1000, Unit::Time))),
        ("use,loo,1,times,,,,", used("toilet solids", quantity(1000, Unit::Use))),
        ("use,work,90,min,,,,", used("work", quantity(90_000, Unit::Minute))),
        ("level,fresh,60,%,0.25,,,", level("fresh", percent(60_000), Some(0.25))),
        ("level,waste water,33.125,L,,,,", level("grey", litres(33_125), None)),
        ("level,fresh,10,gal,,,,", level("fresh", quantity(10_000, Unit::UsGallon), None)),
        ("level,fresh,9000,mL,,,,", level("fresh", quantity(9_000_000, Unit::Millilitre), None)),
        ("level,battery,1.5,kWh,,,,", level("battery", quantity(1500, Unit::KilowattHour), None)),
        ("level,battery,90,Ah,,,,", level("battery", quantity(90_000, Unit::AmpHour), None)),
        ("level,clean clothes,4,sets,,,,", {
            level("clean clothes", quantity(4000, Unit::Own("sets".into())), None)
        }),
        ("fill,fresh,40,L,,full,,", fill("fresh", Some(litres(40_000)), Some(After::Full))),
        ("fill,fresh,,,,,,", fill("fresh", None, None)),
        ("fill,fresh,,,,80%,,", fill("fresh", None, to(percent(80_000)))),
        ("fill,fresh,40,L,,80,,", fill("fresh", Some(litres(40_000)), to(litres(80_000)))),
        ("fill,fresh,,,,80,,", fill("fresh", None, to(litres(80_000)))),
        ("fill,fresh,,%,,80,,", fill("fresh", None, to(percent(80_000)))),
        ("empty,grey,,,,,,", empty("grey", None, None)),
        ("empty,grey,30,L,,5 L,,", empty("grey", Some(litres(30_000)), Some(litres(5000)))),
        ("drive,hours,1.5,h,,,,", Event::Drive(quantity(1500, Unit::Hour))),
        ("drive,distance,80,mi,,,,", Event::Drive(quantity(80_000, Unit::Mile))),
        ("charge,shore,6,h,,,,", {
            Event::Charge { source: ChargeSource::Shore, amount: quantity(6000, Unit::Hour) }
        }),
        ("charge,generator,800,Wh,,,,", {
            let amount = quantity(800_000, Unit::WattHour);
            Event::Charge { source: ChargeSource::Generator, amount }
        }),
        ("camp,Heron spit,,,,,,", Event::Camp(Spot::Named("Heron spit".into()))),
        ("camp,\"-33.5,151.25\",,,,,,", {
            Event::Camp(Spot::At { latitude: -33.5, longitude: 151.25 })
        }),
        ("crew,aboard,3,people,,,,", Event::Crew(Amount::from_milli(3000).unwrap())),
        ("crew,aboard,0,,,,,", Event::Crew(Amount::ZERO)),
        ("day,closed,,,,,,", Event::DayClosed),
        ("note,,,,,,tap drips,", Event::Note("tap drips".into())),
    ];
    for (row, expected) in rows {
        let read = entries(&format!("{HEADER}\r\n{AT},{row}\r\n"));
        assert_eq!(read.len(), 1, "{row}");
        assert_eq!(event(&read[0]), &expected, "{row}");
        assert_eq!((read[0].at, read[0].recorded), (moment(AT), moment(AT)), "{row}");
        assert_eq!(read[0].note, None, "{row}");
    }
}

#[test]
fn a_plan_and_a_remark_come_through() {
    let row = "2026-06-01T10:00:00+02:00,drive,hours,2,h,,,over the pass,2026-05-10T08:00:00+02:00";
    let read = entries(&format!("{HEADER}\n{row}\n"));
    assert!(read[0].is_plan());
    assert_eq!(read[0].note.as_deref(), Some("over the pass"));
}

/// A row with one mistake, on line 2 of a file, and the whole message.
#[test]
fn mistakes_are_named() {
    let near = "use, level, fill, empty, spent, drive, charge, camp, crew, day, note";
    let rows: &[(&str, &str)] = &[
        (
            "used,shower,1,times",
            &format!("column 2 (kind): found `used`, expected one of {near} (near: use)"),
        ),
        (
            "use,shwer,1,times",
            "column 3 (what): found `shwer`, expected an activity of the rig (near: shower)",
        ),
        ("use,fresh,1,times", "column 3 (what): found `fresh`, expected an activity of the rig"),
        ("level,shower,60,%", "column 3 (what): found `shower`, expected a stock of the rig"),
        (
            "level,fersh,60,%",
            "column 3 (what): found `fersh`, expected a stock of the rig (near: fresh)",
        ),
        ("level,,60,%", "column 3 (what): found nothing, expected a stock of the rig"),
        (
            "level,fresh,,%",
            "column 4 (amount): found nothing, expected a plain decimal number like 8.5",
        ),
        (
            "level,fresh,6e1,%",
            "column 4 (amount): found `6e1`, expected a plain decimal number like 8.5",
        ),
        (
            "level,fresh,\"6,5\",%",
            "column 4 (amount): found `6,5`, expected a plain decimal number like 8.5",
        ),
        (
            "level,fresh,NaN,%",
            "column 4 (amount): found `NaN`, expected a plain decimal number like 8.5",
        ),
        (
            "level,fresh,inf,%",
            "column 4 (amount): found `inf`, expected a plain decimal number like 8.5",
        ),
        (
            "level,fresh,٦,%",
            "column 4 (amount): found `٦`, expected a plain decimal number like 8.5",
        ),
        (
            "level,fresh,10000000000,L",
            "column 4 (amount): found `10000000000`, expected a number within a thousand million",
        ),
        ("level,fresh,-1,L", "column 4 (amount): found `-1`, expected 0 or more"),
        ("level,fresh,101,%", "column 4 (amount): found `101`, expected 0 to 100 %"),
        ("level,fresh,60,", "column 5 (unit): found nothing, expected a unit, like % or L"),
        (
            "level,fresh,60,litrs",
            "column 5 (unit): found `litrs`, expected a unit, like % or L (near: litres, liters, litre)",
        ),
        ("level,fresh,60,kg", "column 5 (unit): found `kg`, expected % or L, as fresh is measured"),
        ("use,shower,4,min", "column 5 (unit): found `min`, expected times, as shower is counted"),
        (
            "level,fresh,60,%,0",
            "column 6 (step): found `0`, expected a fraction of the capacity above 0, up to 1, like 0.25",
        ),
        (
            "level,fresh,60,%,25%",
            "column 6 (step): found `25%`, expected a fraction of the capacity above 0, up to 1, like 0.25",
        ),
        (
            "fill,grey,20,L",
            "column 3 (what): found `grey`, expected a stock that runs down (or kind `empty`)",
        ),
        (
            "empty,battery,200,Wh",
            "column 3 (what): found `battery`, expected a stock that is no battery (kind `level` tells how much is left)",
        ),
        (
            "spent,grey,20,L",
            "column 3 (what): found `grey`, expected a stock that runs down (or kind `empty`)",
        ),
        (
            "fill,fresh,20,L,,brim",
            "column 7 (after): found `brim`, expected a level, like 80% or 12 L, in plain decimals",
        ),
        (
            "fill,fresh,20,L,,80 kg",
            "column 7 (after): found `80 kg`, expected % or L, as fresh is measured",
        ),
        (
            "empty,grey,,,,-3",
            "column 7 (after): found `-3`, expected a level, like 80% or 12 L, in plain decimals",
        ),
        ("drive,miles,3,mi", "column 3 (what): found `miles`, expected `hours` or `distance`"),
        ("drive,hours,3,km", "column 5 (unit): found `km`, expected h or min"),
        ("drive,distance,3,h", "column 5 (unit): found `h`, expected km or mi"),
        ("charge,sun,3,h", "column 3 (what): found `sun`, expected `shore` or `generator`"),
        ("charge,shore,3,L", "column 5 (unit): found `L`, expected h or Wh"),
        (
            "camp,,,",
            "column 3 (what): found nothing, expected a place's name, or \"latitude,longitude\"",
        ),
        (
            "camp,\"95,10\",,",
            "column 3 (what): found `95,10`, expected a latitude within 90 and a longitude within 180 degrees",
        ),
        ("crew,people,3,", "column 3 (what): found `people`, expected `aboard`"),
        ("crew,aboard,5000,", "column 4 (amount): found `5000`, expected at most 1000 people"),
        ("crew,aboard,3,L", "column 5 (unit): found `L`, expected `people`"),
        ("day,open,,", "column 3 (what): found `open`, expected `closed`"),
        ("note,,,,,,,", "column 8 (note): found nothing, expected the note's text"),
    ];
    for (row, expected) in rows {
        let text = format!("{HEADER}\r\n{AT},{row}\r\n");
        assert_eq!(faults(&text), [format!("line 2, {expected}")], "{row}");
    }
}

#[test]
fn times_need_an_offset() {
    let form = "expected a time with its offset, like 2026-06-14T09:30:00+02:00 (RFC 3339)";
    for at in ["2026-05-10T08:00:00", "2026-05-10", "08:00", "2026-13-10T08:00:00Z", "yesterday"] {
        let text = format!("{HEADER}\n{at},day,closed,,\n");
        assert_eq!(faults(&text), [format!("line 2, column 1 (at): found `{at}`, {form}")]);
    }
    let text = format!("{HEADER}\n{AT},day,closed,,,,,,2026-05-10T08:00\n");
    let found = "line 2, column 9 (recorded): found `2026-05-10T08:00`";
    assert_eq!(faults(&text), [format!("{found}, {form}")]);
}

/// The examples of RFC 3339 section 5.8 (from memory), and what section 5.6 allows besides: lower
/// case, the unknown local offset of section 4.3, a leap second.
#[test]
fn the_examples_of_rfc_3339_are_read() {
    let rows = [
        ("1985-04-12T23:20:50.52Z", "1985-04-12T23:20:50.520+00:00"),
        ("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57+00:00"),
        ("1937-01-01T12:00:27.87+00:20", "1937-01-01T11:40:27.870+00:00"),
        ("2026-05-10t08:00:00z", "2026-05-10T08:00:00+00:00"),
        ("2026-05-10T08:00:00-00:00", "2026-05-10T08:00:00+00:00"),
        // Second 60 is its own instant, just after second 59.
        ("1990-12-31T23:59:60Z", "1990-12-31T23:59:60+00:00"),
        ("1990-12-31T15:59:60-08:00", "1990-12-31T23:59:60+00:00"),
    ];
    for (at, utc) in rows {
        let read = entries(&format!("{HEADER}\n{at},day,closed,,\n"));
        assert_eq!(read[0].at.to_utc().to_rfc3339(), utc, "{at}");
    }
    let leap = entries(&format!("{HEADER}\n1990-12-31T23:59:60Z,day,closed,,\n"));
    assert!(leap[0].at > moment("1990-12-31T23:59:59Z"));
    assert!(leap[0].at < moment("1991-01-01T00:00:00Z"));
}

/// RFC 4180 section 2, rule by rule, and the byte order mark and LF endings that programs add.
#[test]
fn tables_are_read_as_rfc_4180_says() {
    let note = |text: &str| match event(&entries(text)[0]) {
        Event::Note(note) => note.clone(),
        other => panic!("{other:?}"),
    };
    let row = |note: &str| format!("{HEADER}\r\n{AT},note,,,,,,{note},");
    assert_eq!(note(&format!("{}\r\n", row("plain"))), "plain");
    assert_eq!(note(&row("no end of line")), "no end of line");
    assert_eq!(note(&format!("{}\r\n", row("\"a, b\""))), "a, b");
    assert_eq!(note(&format!("{}\r\n", row("\"he said \"\"no\"\"\""))), "he said \"no\"");
    assert_eq!(note(&format!("{}\r\n", row("\"two\r\nlines\""))), "two\r\nlines");
    assert_eq!(note(&row("  blanks are part of a cell ")), "  blanks are part of a cell ");
    assert_eq!(note(&format!("\u{feff}{}\n", row("mark"))), "mark");
    assert_eq!(note(&row("lf").replace("\r\n", "\n")), "lf");
    // Quoted headers and times, a blank line, and the columns in another order.
    let text = format!("\"kind\",\"at\",what,unit,amount\n\nuse,\"{AT}\",shower,times,1\n");
    assert_eq!(entries(&text).len(), 1);
}

#[test]
fn faults_of_the_table_itself() {
    let rows = [
        ("", "line 1: found nothing, expected a header row: "),
        ("\r\n\r\n", "line 1: found nothing, expected a header row: "),
        ("a;b;c\n", "line 1: found `a;b;c`, expected a header row: "),
        ("at,kind,what,amount\n", "line 1: found `at,kind,what,amount`, expected a column `unit`"),
        (
            "at,kind,what,amount,unit,at\n",
            "line 1, column 6 (at): found `at`, expected this column once",
        ),
        (
            "at,kind,what,amount,unit\nx,y\n",
            "line 2: found `2 cells`, expected 5, as the header has",
        ),
        (
            "at,kind,what,amount,unit\n1,2,3,4,5,6\n",
            "line 2: found `6 cells`, expected 5, as the header has",
        ),
        (
            "at,kind,what,amount,unit\na,\"b\nc,d,e\n",
            "line 2, column 2: found `a quote that is never closed`, expected a closing quote",
        ),
        (
            "at,kind,what,amount,unit\na,\"b\"c,d,e\n",
            "line 2, column 2: found `text after a closing quote`, \
             expected a comma or the line's end",
        ),
        (
            "at,kind,what,amount,unit\na,b\"c,d,e,f\n",
            "line 2, column 2: found `\"`, expected quotes around the whole cell, doubled inside it",
        ),
    ];
    for (text, begins) in rows {
        let found = faults(text);
        assert!(found[0].starts_with(begins), "{text:?}: {}", found[0]);
        assert_eq!(found.len(), 1);
    }
    let long = format!("{HEADER}\n{AT},note,,,,,,{},\n", "x".repeat(16 * 1024 + 1));
    assert!(faults(&long)[0].ends_with("expected at most 16384 bytes"), "{:?}", faults(&long));
}

/// Lines are those of the file, whatever stands in cells before; and one bad row stops all.
#[test]
fn a_fault_knows_its_line() {
    for end in ["\n", "\r\n"] {
        let text = [
            HEADER,
            "",
            &format!("{AT},note,,,,,,\"three{end}lines{end}here\","),
            &format!("{AT},level,fresh,60,%,,,fine,"),
            &format!("{AT},level,fresh,6O,%,,,,"),
            &format!("{AT},use,dishes,1,times,,,,"),
            &format!("{AT},level,fresh,50,%,,,\"one{end}two\",later"),
        ]
        .join(end);
        let found = faults(&text);
        assert_eq!(found.len(), 2, "{found:?}");
        assert!(found[0].starts_with("line 7, column 4 (amount): found `6O`"), "{}", found[0]);
        assert!(
            found[1].starts_with("line 10, column 9 (recorded): found `later`"),
            "{}",
            found[1]
        );
    }
}

#[test]
fn odd_but_harmless_things_are_warned_of() {
    let text = format!(
        "at,kind,what,amount,unit,mood\n{AT},level,fresh,90,L,good\n{AT},day,closed,3,L,\n"
    );
    let read = read(&text, &vocabulary()).unwrap();
    let warnings: Vec<String> = read.warnings.iter().map(ToString::to_string).collect();
    assert_eq!(
        warnings,
        [
            "line 1: column `mood` is not known here and ignored",
            "line 2: 90 L is more than fresh holds (88 L); taken as it stands",
            "line 3: `amount` says nothing for the kind `day`: ignored",
            "line 3: `unit` says nothing for the kind `day`: ignored",
        ]
    );
    assert_eq!(read.entries.len(), 2);
}

#[test]
fn outlook_files_are_told_by_their_header() {
    let text = "issued,date,low_c,high_c,sun_kwh_m2,cloud,place\r\n\
                2026-05-10T06:00:00Z,2026-05-11,-2.5,9,4.25,0.4,\r\n\
                2026-05-10T06:00:00Z,2026-05-12,1,7,,,Heron spit\r\n\
                2026-05-10T06:00:00Z,2026-05-13,,7,,,\r\n\
                2026-05-10T06:00:00Z,2026-05-14,,,,0.8,\r\n";
    let read = entries(text);
    let Event::Outlook(row) = event(&read[2]) else { panic!("not an outlook") };
    assert_eq!((row.low_c, row.high_c), (None, Some(7.0)));
    let Event::Outlook(row) = event(&read[0]) else { panic!("not an outlook") };
    assert_eq!((row.low_c, row.high_c, row.sun_kwh_m2), (Some(-2.5), Some(9.0), Some(4.25)));
    assert_eq!((row.cloud, row.place.as_deref()), (Some(0.4), None));
    assert_eq!((read[0].at, read[0].recorded), (row.issued, row.issued));
    assert!(read[0].id < read[1].id);
    let standing = standing(&read, now());
    let again = write_outlook_csv(&standing);
    assert!(
        new_entries(&waystock::exchange::read(&again, &vocabulary()).unwrap(), &read).is_empty()
    );
    let bad = [
        (
            "2026-05-1,1,2,,,",
            "column 2 (date): found `2026-05-1`, expected a date, like 2026-06-14",
        ),
        ("2026-05-11,3,2,,,", "column 4 (high_c): found `2`, expected at least the low"),
        ("2026-05-11,1,2,,60,", "column 6 (cloud): found `60`, expected 0 to 1"),
        ("2026-05-11,1,2,-1,,", "column 5 (sun_kwh_m2): found `-1`, expected 0 to 15"),
        (
            "2026-05-11,,,,,",
            "column 3 (low_c): found nothing, expected a temperature here or under high_c, or sun or \
             cloud",
        ),
    ];
    let header = text.lines().next().unwrap();
    for (row, expected) in bad {
        let found = faults(&format!("{header}\n2026-05-10T06:00:00Z,{row}\n"));
        assert_eq!(found, [format!("line 2, {expected}")], "{row}");
    }
}

/// Ids are part of what devices agree on: these must never change.
#[test]
fn ids_are_the_same_everywhere() {
    let text = format!("{HEADER}\n{AT},use,shower,1,times,,,,\n{AT},use,shower,1,times,,,,\n");
    let ids: Vec<String> = entries(&text).iter().map(|e| e.id.to_string()).collect();
    assert_eq!(ids, IDS);
    assert!(entries(&text).iter().all(|e| e.id.sequence < 1 << 53));
}

/// Computed apart from this program: FNV-1a over the UTC times and canonical cells.
const IDS: [&str; 2] = ["import-6219953504-e37460d9", "import-10514922105-e37463d9"];

/// Rows of one moment keep the order of their file: a reading before the refill after it.
#[test]
fn rows_of_one_moment_keep_their_order() {
    let kinds = ["level,fresh,10,%", "fill,fresh,,", "level,fresh,100,%", "use,dishes,1,times"];
    let rows: Vec<String> = kinds.iter().map(|kind| format!("{AT},{kind}")).collect();
    let read = entries(&format!("{HEADER}\n{}\n", rows.join("\n")));
    let order: Vec<Event> = standing(&read, now()).into_iter().map(|s| s.event).collect();
    let written: Vec<Event> = read.iter().map(|e| event(e).clone()).collect();
    assert_eq!(order, written);
}

#[test]
fn export_is_fixed_to_the_byte() {
    let text = format!(
        "{HEADER}\n{AT},use,shower,2,times,,,\"cold, short\",\n\
         {AT},level,liquids,75,%,0.25,,,\n\
         {AT},fill,fresh,40,L,,80,,\n\
         {AT},camp,\"-33.5,151.2\",,,,,,\n\
         {AT},camp,'=SUM(A1),,,,,,\n\
         {AT},note,,,,,,'+46 is a code,2026-05-11T08:00:00+02:00\n"
    );
    let expected = "at,kind,what,amount,unit,step,after,note,recorded\r\n\
        AT,use,shower,2,times,,,\"cold, short\",AT\r\n\
        AT,level,liquids,75,%,0.25,,,AT\r\n\
        AT,fill,fresh,40,L,,80 L,,AT\r\n\
        AT,camp,\"-33.5,151.2\",,,,,,AT\r\n\
        AT,camp,'=SUM(A1),,,,,,AT\r\n\
        AT,note,,,,,,'+46 is a code,2026-05-11T08:00:00+02:00\r\n";
    let read = entries(&text);
    assert_eq!(event(&read[5]), &Event::Note("+46 is a code".into()));
    assert_eq!(event(&read[4]), &Event::Camp(Spot::Named("=SUM(A1)".into())));
    assert_eq!(write_csv(&standing(&read, now())), expected.replace("AT", AT));
}

#[test]
fn json_lines_give_every_record() {
    let id = |sequence| EntryId { device: "phone".into(), sequence, salt: 0xbadcafe };
    let at = moment(AT);
    let fill = Event::Fill {
        stock: "fresh".into(),
        amount: Some(quantity(40_500, Unit::Litre)),
        after: Some(After::Full),
    };
    let record = |sequence, note: Option<&str>, body| Entry {
        id: id(sequence),
        at,
        recorded: at,
        note: note.map(String::from),
        body,
    };
    let lines = write_jsonl(&[
        record(1, Some("two\nlines"), Body::Happened(fill)),
        record(2, None, Body::Correct { of: id(1), event: Event::DayClosed }),
        record(3, None, Body::Retract { of: id(2) }),
    ]);
    let expected = r#"{"id":"phone-1-0badcafe","at":"AT","recorded":"AT","record":"happened","kind":"fill","stock":"fresh","amount":{"amount":40.5,"unit":"L"},"after":"full","note":"two\nlines"}
{"id":"phone-2-0badcafe","at":"AT","recorded":"AT","record":"correct","of":"phone-1-0badcafe","kind":"day","closed":true}
{"id":"phone-3-0badcafe","at":"AT","recorded":"AT","record":"retract","of":"phone-2-0badcafe"}
"#;
    assert_eq!(lines, expected.replace("AT", AT));
}

/// A unit is what a person writes in the rig file, so a spreadsheet must not take it for a formula
/// either; the amount before it stays a number. Common practice (OWASP, "CSV Injection").
#[test]
fn a_unit_that_looks_like_a_formula_is_marked() {
    let unit = Unit::Own("=SUM(A1)".into());
    let count = Quantity::new(Amount::from_milli(-2500).unwrap(), unit);
    let event = Event::Use { activity: "firewood".into(), count };
    let text = write_csv(&[Standing::supposed(now(), now(), event)]);
    let row = text.lines().nth(1).unwrap();
    assert!(row.contains(",use,firewood,-2.5,'=SUM(A1),"), "{row}");
}
