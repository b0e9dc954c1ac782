//! What must hold of every reader for any bytes at all: no panic, no endless loop, and what was
//! read means the same when it is written and read again. The fuzz targets beside this file feed
//! them for hours; `tests/hostile_bytes.rs` feeds them mutations of good files in every test run.

use chrono::{DateTime, FixedOffset};
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::LazyLock;
use waystock::domain::place::Place;
use waystock::domain::rig::Rig;
use waystock::exchange;
use waystock::logline::{self, Vocabulary};
use waystock::plan::calendar::{self, CalendarStop};
use waystock::store::device::{remembered, written};
use waystock::store::journal::{self, SourceFile};
use waystock::store::line::{self, Beside, LineRead};
use waystock::store::reader::RigFault;
use waystock::store::{maps_file, places_file, rig_file, settings_file, templates};
use waystock::text::safe::safe;

fn now() -> DateTime<FixedOffset> {
    "2026-05-11T20:40:00+01:00".parse().expect("a moment")
}

static RIG: LazyLock<Rig> = LazyLock::new(|| {
    let text = templates::find("family").expect("a template of that name").text;
    rig_file::parse(text, Path::new("rig.ron")).expect("the template is a rig")
});

static WORDS: LazyLock<Vocabulary> = LazyLock::new(|| Vocabulary::new(&RIG, RIG.zone(now())));

/// One line of a journal: an entry that was read is written and read back the same.
pub fn journal_line(bytes: &[u8]) {
    if let LineRead::Entry(entry, _) = line::read(bytes) {
        let again = line::write(&entry, None).expect("what was read can be written");
        assert_eq!(line::read(again.as_bytes()), LineRead::Entry(entry, Beside::default()));
    }
}

/// Files of a journal, parted by a zero byte: their order makes no difference to what is read.
pub fn journal_files(bytes: &[u8]) {
    let source = |(n, bytes): (usize, &[u8])| SourceFile {
        file: format!("journal/device-{n}.ron"),
        bytes: bytes.to_vec(),
        own: n == 0,
    };
    let mut sources: Vec<SourceFile> =
        bytes.split(|b| *b == 0).take(8).enumerate().map(source).collect();
    let entries = journal::read(&sources).entries;
    assert!(entries.is_sorted_by(|a, b| a.id < b.id), "each entry once, in order");
    sources.reverse();
    assert_eq!(journal::read(&sources).entries, entries);
}

/// The memory of a device, as it is and with every line's checksum made right: written in short, it
/// says the same, each name once. What any line promises is never more than can be counted on from.
pub fn memory(bytes: &[u8]) {
    let sealed = |body: &[u8]| {
        [body, format!(",crc:0x{:08x})\n", crc32fast::hash(body)).as_bytes()].concat()
    };
    let lines = bytes.split(|b| *b == b'\n');
    let right: Vec<u8> =
        lines.map(|line| &line[..line.len().saturating_sub(16)]).flat_map(sealed).collect();
    for bytes in [bytes, &right] {
        let all = remembered(bytes);
        assert_eq!(remembered(written(&all).as_bytes()), all);
        let names: BTreeSet<&str> = all.iter().map(|device| device.name.as_str()).collect();
        assert_eq!(names.len(), all.len(), "each name once");
        assert!(all.iter().all(|device| device.promised.checked_add(1 << 32).is_some()));
    }
}

/// A hand-written file that is refused: every fault lies within the text.
fn refused_within<T>(bytes: &[u8], read: impl Fn(&str) -> Result<T, Vec<RigFault>>) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    if let Err(faults) = read(text) {
        assert!(!faults.is_empty());
        let lines = text.lines().count().max(1) + 1;
        for fault in faults {
            assert!(fault.line <= lines, "line {} of {lines}: {fault}", fault.line);
        }
    }
}

/// A rig.
pub fn rig_file(bytes: &[u8]) {
    refused_within(bytes, |text| rig_file::parse(text, Path::new("rig.ron")));
}

/// Settings.
pub fn settings_file(bytes: &[u8]) {
    refused_within(bytes, |text| settings_file::parse(text, Path::new("settings.ron")));
}

/// Maps of other machines' rows.
pub fn maps_file(bytes: &[u8]) {
    refused_within(bytes, |text| maps_file::parse(text, Path::new("maps.ron"), &RIG));
}

/// Rows of other machines: importing them on top of themselves adds nothing.
pub fn machine_rows(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let maps = maps_file::parse(maps_file::EXAMPLE, Path::new("maps.ron"), &RIG);
    for map in maps.expect("the example is whole") {
        if let Ok(read) = exchange::read_mapped(text, &map, &WORDS, RIG.zone(now())) {
            let imported = read.imported();
            assert_eq!(exchange::new_entries(&imported, &imported.entries), []);
        }
    }
}

/// Places: a place that was read is written and read back with the same name, point and note.
pub fn places_file(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let file = Path::new("places.ron");
    for place in places_file::parse(text, file).into_iter().flatten() {
        let written = format!("(format: 1, places: [{}])", places_file::written(&place));
        let again = places_file::parse(&written, file).unwrap_or_else(|e| panic!("{e:?}"));
        let kept = |p: &Place| (p.name.clone(), p.latitude, p.longitude, p.note.clone());
        assert_eq!(again.iter().map(kept).collect::<Vec<_>>(), [kept(&place)]);
    }
}

/// An exchange file: importing it on top of itself adds nothing.
pub fn exchange_file(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    if let Ok(imported) = exchange::read(text, &WORDS) {
        assert_eq!(exchange::new_entries(&imported, &imported.entries), []);
    }
}

/// Waypoints: the points are on the globe.
pub fn gpx(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    for place in exchange::gpx::read(text).into_iter().flatten() {
        assert!(place.latitude.abs() <= 90.0 && place.longitude.abs() <= 180.0);
    }
}

/// A line of words: the echo of what was understood is understood, and echoes the same.
pub fn log_line(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match logline::parse(text, &WORDS, now()) {
        Ok(said) => {
            let echo = logline::echo(&said, &WORDS, now());
            let again = logline::parse(&echo, &WORDS, now())
                .unwrap_or_else(|why| panic!("the echo `{echo}` of `{text}` is refused: {why}"));
            assert_eq!(logline::echo(&again, &WORDS, now()), echo);
        }
        Err(why) => assert!(why.start <= why.end && why.end <= text.chars().count().max(why.start)),
    }
}

/// Text from outside in a calendar adds no property, and no line is too long; on a terminal it
/// moves no cursor.
pub fn outside_text(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    assert!(!safe(&text).chars().any(|c| c.is_control()));
    let stop = CalendarStop {
        key: "next".into(),
        from: now(),
        to: now() + chrono::Duration::hours(1),
        title: text.to_string(),
        place: Some(text.to_string()),
        point: None,
        about: text.to_string(),
    };
    let calendar = calendar::write(&text, now(), &[stop]);
    assert_eq!(calendar.matches('\r').count(), calendar.matches("\r\n").count());
    assert_eq!(calendar.matches('\n').count(), calendar.matches("\r\n").count());
    let lines: Vec<&str> = calendar.split_terminator("\r\n").collect();
    assert!(lines.iter().all(|line| line.len() <= 75), "{calendar}");
    // Unfolded, there are as many properties as we wrote: 5 around the event, 11 with it.
    let properties = lines.iter().filter(|line| !line.starts_with(' ')).count();
    assert_eq!(properties, 6 + 12, "{calendar}");
}
