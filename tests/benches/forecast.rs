//! What an evening's answer costs, stage by stage, and how the lives' cost grows.
//!
//! `cargo bench --bench forecast`; everything runs on one thread, but for what says otherwise.

#![allow(missing_docs, reason = "criterion's macros make public items")]

mod demo;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use demo::Demo;
use std::time::Duration;
use waystock::belief;
use waystock::belief::past::Past;
use waystock::belief::watch::alarms;
use waystock::domain::journal::standing;
use waystock::domain::rig::Rig;
use waystock::forecast::answer::Options;
use waystock::forecast::passages::first_passages;
use waystock::forecast::scene::Scene;
use waystock::forecast::sharpen::looks;
use waystock::forecast::variants::{LevelChange, Variant};
use waystock::forecast::why::why;
use waystock::forecast::{evening, lives};

impl Demo {
    fn scene(&self, options: &Options) -> Scene {
        Scene::of(&self.contents.rig, &self.standing, &self.beliefs, options)
    }
}

fn one_thread() -> rayon::ThreadPool {
    threads(1)
}

fn threads(count: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(count).build().expect("threads")
}

fn stages(c: &mut Criterion) {
    let demo = Demo::read();
    let pool = one_thread();
    let entries = &demo.contents.journal.entries;
    let (rig, options) = (&demo.contents.rig, demo.options);
    let mut group = c.benchmark_group("stage");
    group.bench_function("fold", |b| b.iter(|| standing(entries, options.at)));
    group.bench_function("learn", |b| {
        b.iter(|| belief::learn(rig, &demo.standing, options.at, options.seed));
    });
    group.bench_function("scene", |b| b.iter(|| demo.scene(&options)));
    let scene = demo.scene(&options);
    group.bench_function("lives", |b| {
        b.iter(|| pool.install(|| lives::run(&demo.beliefs, &scene, options.seed, options.lives)));
    });
    let lives = lives::run(&demo.beliefs, &scene, options.seed, options.lives);
    let (first, _) = first_passages(&lives.passages);
    group.bench_function("looks", |b| {
        b.iter(|| looks(&demo.beliefs, &lives, &first, options.at));
    });
    let past = Past::of(rig, &demo.standing, options.at);
    group.bench_function("past", |b| b.iter(|| Past::of(rig, &demo.standing, options.at)));
    group.bench_function("watch", |b| b.iter(|| alarms(&past, &demo.beliefs)));
    group.bench_function("why", |b| {
        b.iter(|| pool.install(|| why(rig, &demo.standing, &demo.beliefs, 0, options)));
    });
    group.bench_function("forecast", |b| {
        b.iter(|| pool.install(|| evening::forecast(rig, &demo.standing, &demo.beliefs, options)));
    });
    let fans = Options { with_fans: true, ..options };
    group.bench_function("forecast with fans", |b| {
        b.iter(|| pool.install(|| evening::forecast(rig, &demo.standing, &demo.beliefs, fans)));
    });
    group.bench_function("evening", |b| {
        b.iter(|| pool.install(|| evening(rig, entries, options)));
    });
    let two = threads(2);
    group.bench_function("evening on two threads", |b| {
        b.iter(|| two.install(|| evening(rig, entries, options)));
    });
    // The demo keeps ten stocks; a van without its three own ones keeps seven.
    let seven = without(rig, &["gas", "clean clothes", "nights here"]);
    group.bench_function("evening of seven stocks", |b| {
        b.iter(|| pool.install(|| evening(&seven, entries, options)));
    });
    group.finish();
}

/// The demo's rig without these stocks and what moves them.
fn without(rig: &Rig, stocks: &[&str]) -> Rig {
    let mut rig = rig.clone();
    let parts = &mut rig.parts;
    let kept = |stock: &str| !stocks.contains(&stock);
    parts.stocks.retain(|stock| kept(&stock.name));
    let processes = parts.activities.iter_mut().map(|a| &mut a.moves);
    processes
        .chain(parts.base.iter_mut().map(|b| &mut b.moves))
        .for_each(|moves| moves.retain(|step| kept(&step.stock)));
    parts.activities.retain(|activity| !activity.moves.is_empty());
    parts.base.retain(|base| !base.moves.is_empty());
    rig
}

/// The demo's rig with so many stocks more, each used by everybody every day and by an activity
/// of its own.
fn with_more_stocks(rig: &Rig, more: usize) -> Rig {
    let mut rig = rig.clone();
    let parts = &mut rig.parts;
    let (stock, _) = parts.stock("clean clothes").expect("a known stock");
    let stock = parts.stocks[stock].clone();
    let base = parts.base.iter().find(|base| base.name == "dressing").expect("a known use").clone();
    let activity = parts.activities[0].clone();
    for n in 0..more {
        let name = format!("store {n}");
        let mut dressing = base.clone();
        dressing.name = format!("use {n}");
        dressing.moves.iter_mut().for_each(|step| step.stock.clone_from(&name));
        let mut wash = activity.clone();
        wash.name = format!("wash {n}");
        wash.moves = dressing.moves.clone();
        let mut stock = stock.clone();
        stock.also.clear();
        stock.name = name;
        parts.stocks.push(stock);
        parts.base.push(dressing);
        parts.activities.push(wash);
    }
    rig
}

/// Cost by lives, by days, by stocks and by tracks. Lives and days grow as their sizes do; stocks
/// and tracks by about as much for each.
fn growth(c: &mut Criterion) {
    let demo = Demo::read();
    let pool = one_thread();
    let mut group = c.benchmark_group("growth");
    for lives in [1000, 2000, 4000, 8000] {
        let scene = demo.scene(&demo.options);
        group.bench_with_input(BenchmarkId::new("lives", lives), &lives, |b, lives| {
            b.iter(|| pool.install(|| lives::run(&demo.beliefs, &scene, 1, *lives)));
        });
    }
    for days in [15, 30, 60] {
        let scene = demo.scene(&Options { horizon_hours: days * 24, ..demo.options });
        group.bench_with_input(BenchmarkId::new("days", days), &days, |b, _| {
            b.iter(|| pool.install(|| lives::run(&demo.beliefs, &scene, 1, 2000)));
        });
    }
    for more in [0, 7, 14, 28] {
        let rig = with_more_stocks(&demo.contents.rig, more);
        let options = demo.options;
        let beliefs = belief::learn(&rig, &demo.standing, options.at, options.seed);
        let scene = Scene::of(&rig, &demo.standing, &beliefs, &options);
        group.bench_with_input(BenchmarkId::new("more stocks", more), &more, |b, _| {
            b.iter(|| pool.install(|| lives::run(&beliefs, &scene, 1, 2000)));
        });
    }
    for count in [1, 4, 16] {
        let scene = demo.scene(&Options { horizon_hours: 14 * 24, ..demo.options });
        let track = |n: usize| Variant {
            puts: vec![(12, 0, LevelChange::To(n as f64 * 10.0))],
            mark: Some(240),
            ..Variant::default()
        };
        let tracks: Vec<Variant> = (0..count).map(track).collect();
        group.bench_with_input(BenchmarkId::new("tracks", count), &tracks, |b, tracks| {
            b.iter(|| pool.install(|| lives::run_variants(&demo.beliefs, &scene, 1, 2000, tracks)));
        });
    }
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default()
        .sample_size(20)
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(2));
    targets = stages, growth
}
criterion_main!(benches);
