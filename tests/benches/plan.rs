//! What plans cost: a stretch's verdict, its table of options, and schedules of stops.
//!
//! `cargo bench --bench plan`; on all cores, as the dashboard runs them.

#![allow(missing_docs, reason = "criterion's macros make public items")]

use criterion::{Criterion, criterion_group, criterion_main};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use waystock::belief::{self, Beliefs};
use waystock::domain::journal::{Standing, standing};
use waystock::domain::rig::{Place, Rig};
use waystock::domain::time::Moment;
use waystock::plan::answer::Request;
use waystock::plan::case::Case;
use waystock::plan::stops::answer::TripRequest;
use waystock::plan::stops::stops;
use waystock::plan::stretch;
use waystock::store::data_folder::DataFolder;
use waystock::store::real_disk::RealDisk;

/// The demo's own evening, read and learned once.
struct Demo {
    rig: Rig,
    standing: Vec<Standing>,
    now: Moment,
    beliefs: Beliefs,
}

impl Demo {
    fn read() -> Demo {
        let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
        let state = dir.join("not-there");
        let contents =
            DataFolder::at(&dir, &state, Arc::new(RealDisk)).load().expect("the demo folder");
        let now = contents.rig.evening.expect("the demo names its evening");
        let standing = standing(&contents.journal.entries, now);
        let beliefs = belief::learn(&contents.rig, &standing, now, 1);
        Demo { rig: contents.rig, standing, now, beliefs }
    }

    /// The demo with twice as many places: the same ones again, a little way off.
    fn twenty_places() -> Demo {
        let mut demo = Demo::read();
        let more: Vec<Place> = demo
            .rig
            .places
            .iter()
            .map(|place| Place {
                name: format!("beyond {}", place.name),
                latitude: place.latitude + 0.1,
                ..place.clone()
            })
            .collect();
        demo.rig.places.extend(more);
        demo
    }
}

fn stretches(c: &mut Criterion) {
    let demo = Demo::read();
    let mut group = c.benchmark_group("stretch");
    for lives in [2000, 10_000] {
        let asked = Request { lives, ..Request::nights(6) };
        group.bench_function(format!("verdict, 6 nights, {lives} lives"), |b| {
            b.iter(|| stretch::verdict(&demo.rig, &demo.standing, &demo.beliefs, demo.now, &asked));
        });
        let case = Case::of(&demo.rig, &demo.standing, &demo.beliefs, demo.now, &asked, 0);
        group.bench_function(format!("probability, 6 nights, {lives} lives"), |b| {
            b.iter(|| case.limits());
        });
    }
    for nights in [3, 6] {
        let asked = Request::nights(nights);
        let (answer, case, outcome) =
            stretch::verdict(&demo.rig, &demo.standing, &demo.beliefs, demo.now, &asked);
        group.bench_function(format!("table, {nights} nights"), |b| {
            b.iter(|| {
                let mut answer = answer.clone();
                stretch::advise(&mut answer, &case, &outcome);
                answer
            });
        });
    }
    group.finish();
}

fn trips(c: &mut Criterion) {
    let demo = Demo::twenty_places();
    let mut group = c.benchmark_group("stops, 20 places");
    for days in [10, 30, 45] {
        let asked = TripRequest { days, confidence: 0.9, crew: None, lives: 2000, seed: 1 };
        group.bench_function(format!("{days} days"), |b| {
            b.iter(|| stops(&demo.rig, &demo.standing, &demo.beliefs, demo.now, &asked, &|| false));
        });
    }
    group.finish();
}

criterion_group! {
    name = plans;
    config = Criterion::default()
        .sample_size(10)
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(3));
    targets = stretches, trips
}
criterion_main!(plans);
