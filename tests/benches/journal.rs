//! How long a journal of 60,000 entries (eight years at twenty a day) takes to read from its
//! bytes: checksums, fields, union. One thread.
//!
//! `cargo bench --bench journal`

#![allow(missing_docs, reason = "criterion's macros make public items")]

use chrono::Duration;
use criterion::{Criterion, criterion_group, criterion_main};
use waystock::domain::entry::{Body, Entry, EntryId, Event};
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::store::{journal, line};

const ENTRIES: u64 = 60_000;

fn entry(n: u64) -> Entry {
    let start: Moment = "2026-04-03T07:00:00+02:00".parse().expect("a valid time");
    let at = start + Duration::minutes(72 * n as i64);
    let amount = |milli: u64, unit| {
        Quantity::new(Amount::from_milli(milli as i64).expect("a small amount"), unit)
    };
    let event = match n % 4 {
        0 => Event::Level {
            stock: "fresh".into(),
            reading: amount(n % 100 * 1000, Unit::Percent),
            step: Some(0.25),
        },
        1 => Event::Use { activity: "toilet solids".into(), count: amount(1000, Unit::Use) },
        _ => Event::Use { activity: "shower".into(), count: amount(2000, Unit::Time) },
    };
    let id =
        EntryId { device: "kalumo-3f9a".into(), sequence: n, salt: (n * 2_654_435_761) as u32 };
    let recorded = at + Duration::minutes((n % 3) as i64);
    Entry { id, at, recorded, note: None, body: Body::Happened(event) }
}

fn read(c: &mut Criterion) {
    let mut bytes = Vec::new();
    for n in 0..ENTRIES {
        let line = line::write(&entry(n), None).expect("an ordinary entry");
        bytes.extend_from_slice(line.as_bytes());
        bytes.push(b'\n');
    }
    let source = journal::SourceFile { file: "journal/kalumo-3f9a.ron".into(), bytes, own: true };
    let sources = [source];
    c.bench_function("read 60,000 entries", |b| {
        b.iter(|| {
            let journal = journal::read(&sources);
            assert_eq!(journal.entries.len() as u64, ENTRIES);
            journal
        });
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20);
    targets = read
}
criterion_main!(benches);
