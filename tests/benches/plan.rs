//! What plans cost: a stretch's verdict, its table of options, and schedules of stops.
//!
//! `cargo bench --bench plan`; on all cores, as the dashboard runs them.

#![allow(missing_docs, reason = "criterion's macros make public items")]

mod demo;

use criterion::{Criterion, criterion_group, criterion_main};
use demo::Demo;
use std::time::Duration;
use waystock::domain::place::Place;
use waystock::plan::Basis;
use waystock::plan::answer::Request;
use waystock::plan::case::Case;
use waystock::plan::stops::answer::TripRequest;
use waystock::plan::stops::{Onward, stops};
use waystock::plan::stretch;

/// The demo with twice as many places: the same ones again, a little way off.
fn twenty_places() -> Demo {
    let mut demo = Demo::read();
    let places = &mut demo.contents.rig.places;
    let more: Vec<Place> = places
        .iter()
        .map(|place| Place {
            name: format!("beyond {}", place.name),
            latitude: place.latitude + 0.1,
            ..place.clone()
        })
        .collect();
    places.extend(more);
    demo
}

fn basis(demo: &Demo) -> Basis<'_> {
    Basis {
        rig: &demo.contents.rig,
        standing: &demo.standing,
        beliefs: &demo.beliefs,
        now: demo.options.at,
    }
}

fn stretches(c: &mut Criterion) {
    let demo = Demo::read();
    let basis = basis(&demo);
    let mut group = c.benchmark_group("stretch");
    for lives in [2000, 10_000] {
        let asked = Request { lives, ..Request::here_for(6) };
        group.bench_function(format!("first look, 6 nights, {lives} lives"), |b| {
            b.iter(|| stretch::first_look(&basis, &asked));
        });
        group.bench_function(format!("verdict, 6 nights, {lives} lives"), |b| {
            b.iter(|| stretch::verdict(&basis, &asked));
        });
        let case = Case::of(&basis, &asked, 0);
        group.bench_function(format!("probability, 6 nights, {lives} lives"), |b| {
            b.iter(|| case.limits());
        });
    }
    for nights in [3, 6] {
        let asked = Request::here_for(nights);
        let (answer, case, outcome) = stretch::verdict(&basis, &asked);
        group.bench_function(format!("table, {nights} nights"), |b| {
            b.iter(|| {
                let mut answer = answer.clone();
                stretch::advise(&basis, &mut answer, &case, &outcome);
                answer
            });
        });
    }
    group.finish();
}

fn trips(c: &mut Criterion) {
    let demo = twenty_places();
    let basis = basis(&demo);
    let mut group = c.benchmark_group("stops, 20 places");
    for days in [14, 30, 45] {
        let asked = TripRequest {
            days,
            confidence: 0.9,
            crew: None,
            lives: 2000,
            seed: 1,
            against: vec![],
        };
        group.bench_function(format!("{days} days"), |b| {
            b.iter(|| stops(&basis, &asked, &|_| Onward::GoOn));
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
