//! Every reader, fed with mutations of good input: cut, doubled, spliced, flipped and stuffed with
//! what breaks parsers; `WAYSTOCK_HOSTILE=100` runs a hundred times as many. The same checks with
//! coverage to guide them are under `tests/fuzz`.

#![allow(clippy::disallowed_methods, reason = "good input is read from the demo and the fixtures")]

#[path = "fuzz/readers.rs"]
mod readers;

#[path = "fixtures/lines_understood.rs"]
mod lines_understood;

use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use std::path::Path;
use waystock::store;

/// Bytes that parsers trip over.
const STUFFING: &[&[u8]] = &[
    b"\0",
    b"\n",
    b"\r",
    b"\"",
    b"\\",
    b"((((((((((((((((",
    b"[[[[[[[[[[[[[[[[",
    b"Some(",
    b"/*",
    b"*/",
    b"//",
    b",",
    b":",
    b"-",
    b"1e999",
    b"-0",
    b"NaN",
    b"inf",
    b"9223372036854775807",
    b"99999999999999999999999999",
    b"2026-02-30",
    b"\xEF\xBB\xBF",
    b"\xE2\x80\xAE",
    b"\xF0\x9F\x9A\x90",
    b"\xFF",
    b"\x1b[2J",
    b"<!DOCTYPE x [<!ENTITY a \"b\">]>",
    b"&a;",
    b"=1+1",
];

/// One change of the input: where (as a share), which, and how much.
type Change = (f64, u8, usize);

fn changed(seed: &[u8], changes: &[Change]) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for (where_, kind, amount) in changes {
        let at = (where_ * bytes.len() as f64) as usize;
        let end = (at + amount % 64).min(bytes.len());
        match kind % 6 {
            0 => bytes.truncate(at),
            1 => drop(bytes.drain(at..end)),
            2 => {
                let copy = bytes[at..end].to_vec();
                bytes.splice(at..at, copy);
            }
            3 if at < bytes.len() => bytes[at] ^= 1 << (amount % 8),
            4 => {
                let from = amount % (bytes.len() + 1);
                let copy = bytes[from..(from + 24).min(bytes.len())].to_vec();
                bytes.splice(at..end, copy);
            }
            _ => drop(bytes.splice(at..at, STUFFING[amount % STUFFING.len()].iter().copied())),
        }
    }
    bytes
}

/// Feeds `reader` the seeds, and many mutations of them.
fn feed(cases: u32, seeds: &[Vec<u8>], reader: fn(&[u8])) {
    assert!(!seeds.is_empty());
    seeds.iter().for_each(|seed| reader(seed));
    let change = (0.0..1.0_f64, any::<u8>(), any::<usize>());
    let input = (0..seeds.len(), prop::collection::vec(change, 1..6));
    let more: u32 = std::env::var("WAYSTOCK_HOSTILE").map_or(1, |times| times.parse().unwrap());
    let config = Config { cases: cases * more, failure_persistence: None, ..Config::default() };
    let told = TestRunner::new(config).run(&input, |(seed, changes)| {
        reader(&changed(&seeds[seed], &changes));
        Ok(())
    });
    told.unwrap_or_else(|failure| panic!("{failure}"));
}

fn read(path: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap()
}

/// The demo's journals, a few hundred lines each.
fn journals() -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/journal");
    let files = std::fs::read_dir(folder).unwrap().map(|file| std::fs::read(file.unwrap().path()));
    files.map(Result::unwrap).collect()
}

fn lines_of(bytes: &[u8]) -> Vec<Vec<u8>> {
    bytes.split(|b| *b == b'\n').filter(|line| !line.is_empty()).map(<[u8]>::to_vec).collect()
}

#[test]
fn lines_of_a_journal() {
    let lines: Vec<Vec<u8>> = journals().iter().flat_map(|file| lines_of(file)).collect();
    feed(4000, &lines, readers::journal_line);
    // Past the checksum, too: what a damaged line cannot show.
    let bare = |line: &Vec<u8>| line[..line.len() - 16].to_vec();
    let resealed = |bytes: &[u8]| {
        let crc = format!(",crc:0x{:08x})", crc32fast::hash(bytes));
        readers::journal_line(&[bytes, crc.as_bytes()].concat());
    };
    feed(8000, &lines.iter().map(bare).collect::<Vec<_>>(), resealed);
}

#[test]
fn files_of_a_journal() {
    let heads: Vec<Vec<u8>> =
        journals().iter().map(|file| file[..file.len().min(4000)].to_vec()).collect();
    let mut seeds = heads.clone();
    seeds.push(heads.join(&0));
    feed(300, &seeds, readers::journal_files);
}

#[test]
fn memories() {
    let line = |body: &str| format!("{body},crc:0x{:08x})\n", crc32fast::hash(body.as_bytes()));
    let first = line("(v:1,device:\"kalumo-3f9a\",promised:12,length:0,tail:0");
    let second = line("(v:1,device:\"dinuta-01bc\",promised:3,length:512,tail:4027431614");
    let seeds = [first.clone() + &second, second + &first + "(v:1,device:\"kalu"];
    feed(4000, &seeds.map(Into::into), readers::memory);
}

#[test]
fn rigs() {
    let texts = store::templates::TEMPLATES.iter().map(|t| t.text.into());
    let mut seeds: Vec<Vec<u8>> = texts.collect();
    seeds.extend([read("demo/rig.ron"), read("tests/fixtures/rig/full.ron")]);
    feed(400, &seeds, readers::rig_file);
}

#[test]
fn places() {
    feed(2000, &[read("demo/places.ron")], readers::places_file);
}

#[test]
fn settings_and_maps() {
    let both = [store::settings_file::EXAMPLE, store::maps_file::EXAMPLE].map(|text| text.into());
    feed(1000, &both, readers::settings_file);
    feed(1000, &both, readers::maps_file);
}

#[test]
fn rows_of_other_machines() {
    let cells =
        "Time;State of charge;Note\n11.05.2026 08:00:00;71;\n11.05.2026 09:30:00;68,5;wet\n";
    let json =
        "{\"ts\": 1778486400, \"levels\": [0.71, 0.2]}\n{\"ts\": 1778490000, \"levels\": [1, 0]}\n";
    feed(3000, &[cells.into(), json.into()], readers::machine_rows);
}

#[test]
fn exchange_files() {
    let journal = "at,kind,what,amount,unit,step,after,note,recorded\n\
        2026-05-01T08:00:00+01:00,use,shower,2,times,,,\"after, rain\",\n\
        2026-05-01T20:00:00+01:00,level,fresh,75,%,0.25,,,2026-05-01T21:00:00+01:00\n\
        2026-05-02T09:00:00+01:00,fill,fresh,,,,full,,\n\
        2026-05-02T10:00:00+01:00,camp,\"55.1,-3.2\",,,,,,\n";
    let outlook = "issued,date,low_c,high_c,sun_kwh_m2,cloud,place\n\
        2026-05-01T07:00:00+01:00,2026-05-01,4,11.5,3.2,0.6,\n";
    feed(4000, &[journal.into(), outlook.into()], readers::exchange_file);
}

#[test]
fn waypoints() {
    let gpx = "<?xml version=\"1.0\"?><gpx version=\"1.1\"><wpt lat=\"55.1\" lon=\"-3.2\">\
        <name>Quarry &amp; tap</name><desc><![CDATA[water]]></desc></wpt></gpx>";
    feed(4000, &[gpx.into()], readers::gpx);
}

#[test]
fn lines_of_words() {
    let understood = lines_understood::UNDERSTOOD.iter().map(|row| row.0.into());
    let mut seeds: Vec<Vec<u8>> = understood.collect();
    seeds.push("2 showers, dishes, fresh 60%, filled diesel 20 L, yesterday 21:00".into());
    feed(8000, &seeds, readers::log_line);
}

#[test]
fn text_from_outside() {
    let seeds = ["Quarry tap\nBEGIN:VEVENT\r\nUID:x;,\\n", "\u{e9}".repeat(100).leak()];
    feed(3000, &seeds.map(|seed| seed.into()), readers::outside_text);
}
