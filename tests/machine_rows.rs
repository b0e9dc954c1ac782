//! Rows of other machines: pointers, maps, what is refused and how, and what of a long log is kept.

#[path = "fixtures/words_rig.rs"]
#[allow(dead_code, reason = "the rig is shared with other checks of words")]
mod words_rig;

use proptest::prelude::*;
use serde_json::{Value, json};
use waystock::domain::entry::{Body, Entry, Event};
use waystock::domain::mapping::{Mapped, Mapping, RowForm, TimeForm};
use waystock::domain::unit::Unit;
use waystock::exchange::{Readings, new_entries, pointed, read_mapped};
use waystock::logline::Vocabulary;

/// RFC 6901, section 5: the document and what each of its pointers evaluates to, as printed there.
/// The one that means the whole document, and those of objects and arrays, are no single cell.
#[test]
fn pointers_are_those_of_rfc_6901() {
    let document = json!({
        "foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5,
        "k\"l": 6, " ": 7, "m~n": 8,
    });
    let rows = [
        ("/foo/0", "bar"),
        ("/", "0"),
        ("/a~1b", "1"),
        ("/c%d", "2"),
        ("/e^f", "3"),
        ("/g|h", "4"),
        ("/i\\j", "5"),
        ("/k\"l", "6"),
        ("/ ", "7"),
        ("/m~0n", "8"),
    ];
    for (pointer, expected) in rows {
        let found = pointed(&document, pointer).unwrap();
        assert_eq!(found.as_deref(), Some(expected), "{pointer}");
    }
    assert_eq!(pointed(&document, "").unwrap_err(), document.to_string());
    assert_eq!(pointed(&document, "/foo").unwrap_err(), r#"["bar","baz"]"#);
    assert_eq!(pointed(&document, "/foo/2").unwrap(), None);
    assert_eq!(pointed(&Value::Null, "").unwrap(), None);
}

fn mapping(form: RowForm, at: &str, time: TimeForm, readings: &[(&str, &str, f64)]) -> Mapping {
    let mapped = |(stock, from, factor): &(&str, &str, f64)| Mapped {
        stock: stock.to_string(),
        from: from.to_string(),
        unit: Unit::Percent,
        factor: *factor,
        offset: 0.0,
        step: 0.01,
    };
    let readings = readings.iter().map(mapped).collect();
    Mapping { name: "monitor".into(), form, at: at.into(), time, readings }
}

fn read(text: &str, mapping: &Mapping) -> Result<Readings, Vec<String>> {
    let known = Vocabulary::new(&words_rig::rig(), words_rig::zone());
    read_mapped(text, mapping, &known, words_rig::zone())
        .map_err(|faults| faults.iter().map(ToString::to_string).collect())
}

/// "2026-... fresh 60%", entry by entry.
fn told(readings: &Readings) -> Vec<String> {
    let entry = |(_, entry): &(u64, Entry)| match &entry.body {
        Body::Happened(Event::Level { stock, reading, step: Some(_) }) => {
            format!("{} {stock} {reading}", entry.at.to_rfc3339())
        }
        other => panic!("{other:?}"),
    };
    readings.kept.iter().map(entry).collect()
}

#[test]
fn cells_of_a_table_become_readings() {
    let form = RowForm::Csv { separator: b';' };
    let time = TimeForm::Pattern("%d.%m.%Y %H:%M".into());
    let by = mapping(form, "Time", time, &[("battery", "SOC", 1.0), ("fresh", "Tank", 100.0)]);
    let text =
        "Time;Volt;Tank;SOC\r\n14.06.2026 09:30;13,1;0,5;80,5\r\n14.06.2026 11:00;13,0;;75\n";
    let found = read(text, &by).unwrap();
    assert_eq!((found.rows, found.readings), (2, 3));
    // The clock of the van is two hours ahead of UTC.
    assert_eq!(
        told(&found),
        [
            "2026-06-14T09:30:00+02:00 battery 80.5%",
            "2026-06-14T09:30:00+02:00 fresh 50%",
            "2026-06-14T11:00:00+02:00 battery 75%",
        ]
    );
    assert_eq!(found.first[1].read.len(), 1, "an empty cell is no reading");
    // Read again, it is the same and adds nothing.
    let imported = found.imported();
    assert!(new_entries(&imported, &imported.entries).is_empty());
}

#[test]
fn values_of_json_lines_become_readings() {
    let by =
        mapping(RowForm::JsonLines, "/ts", TimeForm::Unix, &[("fresh", "/tanks/1/level", 100.0)]);
    // 1 781 429 400 s is 2026-06-14 09:30 UTC (GNU date 9.1).
    let text = "{\"ts\":1781429400,\"tanks\":[{},{\"level\":0.25}]}\n\n{\"ts\":1781436600}\n";
    let found = read(text, &by).unwrap();
    assert_eq!(told(&found), ["2026-06-14T11:30:00+02:00 fresh 25%"]);
    let millis = Mapping { time: TimeForm::UnixMillis, ..by.clone() };
    let later =
        read("{\"ts\":\"1781429400000\",\"tanks\":[0,{\"level\":\"1\"}]}", &millis).unwrap();
    assert_eq!(told(&later), ["2026-06-14T11:30:00+02:00 fresh 100%"]);
    let rfc = Mapping { time: TimeForm::Rfc3339, ..by };
    let stamped = "{\"ts\":\"2026-06-14T09:30:00Z\",\"tanks\":[0,{\"level\":0}]}";
    assert_eq!(told(&read(stamped, &rfc).unwrap()), ["2026-06-14T11:30:00+02:00 fresh 0%"]);
}

/// Line, field, what stands there and what would be right; and then nothing counts.
#[test]
fn what_is_refused_says_where_and_why() {
    let csv = |text: &str| {
        let form = RowForm::Csv { separator: b',' };
        read(text, &mapping(form, "time", TimeForm::Rfc3339, &[("fresh", "tank", 1.0)]))
            .unwrap_err()
            .join("\n")
    };
    let at = "2026-06-14T09:30:00+02:00";
    assert_eq!(csv(""), "line 1: found nothing, expected a header row");
    assert_eq!(csv("when,tank\n"), "line 1: found `when, tank`, expected a column `time`");
    assert_eq!(
        csv(&format!("time,tank\n{at},60\nyesterday,50\n{at},1e400\n{at},-3\n{at},---\n")),
        "line 3 (time): found `yesterday`, expected a time such as 2026-06-14T09:30:00+02:00 \
         (RFC 3339)\n\
         line 4 (tank): found `1e400`, expected a plain decimal number like 8.5\n\
         line 5 (tank): found `-3`, expected a number that comes to 0 to 100 %, not to -3%\n\
         line 6 (tank): found `---`, expected a plain decimal number like 8.5"
    );
    let json = |text: &str| {
        let by = mapping(RowForm::JsonLines, "/t", TimeForm::Unix, &[("fresh", "/v", 100.0)]);
        read(text, &by).unwrap_err().join("\n")
    };
    assert!(json("{\"t\":1781429400,\"v\":0.5}\n{oops").starts_with("line 2: found `{oops (key"));
    assert_eq!(
        json("{\"v\":1}"),
        "line 1 (/t): found nothing, expected seconds since 1970, such as 1781429400"
    );
    assert_eq!(
        json("{\"t\":1781429400,\"v\":{\"a\":1}}"),
        "line 1 (/v): found `{\"a\":1}`, expected a number"
    );
}

/// A battery read every minute for 70 days, full at noon and low in the morning: 100,800 rows, of
/// which a handful a day are kept, and no level between them is lost by more than a gauge is off.
#[test]
fn of_a_battery_read_every_minute_a_few_a_day_are_kept() {
    let level = |minute: i64| {
        let day = (minute % 1440) as f64 / 1440.0;
        // 40 % at six, up to 95 % at noon, full until five, then down again.
        let points = [(0.0, 62.0), (0.25, 40.0), (0.5, 95.0), (0.7, 95.0), (1.0, 62.0)];
        let next = points.iter().position(|(at, _)| *at > day).unwrap();
        let ((from, low), (to, high)) = (points[next - 1], points[next]);
        low + (day - from) / (to - from) * (high - low)
    };
    let mut text = String::from("t,soc\n");
    for minute in 0..100_800 {
        text += &format!("{},{:.1}\n", 1_781_388_000 + 60 * minute, level(minute));
    }
    let form = RowForm::Csv { separator: b',' };
    let by = mapping(form, "t", TimeForm::Unix, &[("battery", "soc", 1.0)]);
    let found = read(&text, &by).unwrap();
    assert_eq!((found.rows, found.readings), (100_800, 100_800));
    let kept = found.kept.len();
    assert!((4 * 70..=7 * 70).contains(&kept), "{kept} of them");
}

proptest! {
    /// No bytes make it panic, whatever the form.
    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,80}|[0-9,;\\n\\{\\}\":tv.eE+-]{0,120}") {
        for (form, at, from) in [
            (RowForm::Csv { separator: b';' }, "t", "v"),
            (RowForm::JsonLines, "/t", "/v"),
        ] {
            let by = mapping(form, at, TimeForm::Unix, &[("fresh", from, 1.0)]);
            let _ = read(&text, &by);
            let _ = read(&format!("t;v\n{text}"), &by);
        }
    }
}
