//! What an evening's answer costs, stage by stage, and how the lives' cost grows.
//!
//! `cargo bench --bench forecast`; everything runs on one thread.

#![allow(missing_docs, reason = "criterion's macros make public items")]

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;
use waystock::belief::{self, Beliefs};
use waystock::domain::journal::{Standing, standing};
use waystock::forecast::answer::Options;
use waystock::forecast::scene::Scene;
use waystock::forecast::{evening, lives};
use waystock::store::data_folder::{Contents, DataFolder};
use waystock::store::real_disk::RealDisk;

/// The demo's own evening, read once.
struct Demo {
    contents: Contents,
    standing: Vec<Standing>,
    options: Options,
    beliefs: Beliefs,
}

impl Demo {
    fn read() -> Demo {
        let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
        let state = dir.join("not-there");
        let contents =
            DataFolder::at(&dir, &state, Arc::new(RealDisk)).load().expect("the demo folder");
        let options = Options::at(contents.rig.evening.expect("the demo names its evening"));
        let standing = standing(&contents.journal.entries, options.at);
        let beliefs = belief::learn(&contents.rig, &standing, options.at, options.seed);
        Demo { contents, standing, options, beliefs }
    }

    fn scene(&self, options: &Options) -> Scene {
        Scene::of(&self.contents.rig, &self.standing, &self.beliefs, options)
    }
}

fn one_thread() -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("one thread")
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
        b.iter(|| {
            pool.install(|| lives::run(&demo.beliefs, &scene, options.seed, options.lives, false))
        });
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
    group.finish();
}

/// Cost by lives and by days; the ratio to the first line of each group should be that of sizes.
fn growth(c: &mut Criterion) {
    let demo = Demo::read();
    let pool = one_thread();
    let mut group = c.benchmark_group("growth");
    for lives in [1000, 2000, 4000, 8000] {
        let scene = demo.scene(&demo.options);
        group.bench_with_input(BenchmarkId::new("lives", lives), &lives, |b, lives| {
            b.iter(|| pool.install(|| lives::run(&demo.beliefs, &scene, 1, *lives, false)));
        });
    }
    for days in [15, 30, 60] {
        let scene = demo.scene(&Options { horizon_hours: days * 24, ..demo.options });
        group.bench_with_input(BenchmarkId::new("days", days), &days, |b, _| {
            b.iter(|| pool.install(|| lives::run(&demo.beliefs, &scene, 1, 2000, false)));
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
