//! How much memory 100,000 lives take: less than 64 MiB, all told.
//!
//! The only test of this program, since the peak is that of the whole process.

#![cfg(target_os = "linux")]
#![allow(clippy::disallowed_macros, clippy::disallowed_methods, reason = "a test program")]

#[path = "benches/demo.rs"]
mod demo;

use waystock::forecast::lives;
use waystock::forecast::passages::{first_passages, quantiles};
use waystock::forecast::scene::Scene;

#[test]
fn a_hundred_thousand_lives_fit() {
    let demo::Demo { contents, standing, options, beliefs } = demo::Demo::read();
    let scene = Scene::of(&contents.rig, &standing, &beliefs, &options);
    let before = peak_mib();
    let lives = lives::run(&beliefs, &scene, options.seed, 100_000);
    let (first, _) = first_passages(&lives.passages);
    let (shown, peak) = (quantiles(&first), peak_mib());
    println!("P10 {:?} h; {peak:.1} MiB at the peak, {before:.1} before", shown.p10);
    // What they hold themselves: three numbers of 8 bytes a stock.
    let held = (3 * 8 * contents.rig.parts.stocks.len() * lives.count) as f64 / 1_048_576.0;
    assert!(peak > held, "{peak} MiB cannot be all: the lives alone hold {held}");
    assert!(peak < 64.0, "{peak} MiB");
}

/// The most that this process ever had in memory, in MiB.
fn peak_mib() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").expect("Linux tells");
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).expect("a peak");
    let kib: f64 = line.trim().trim_end_matches("kB").trim().parse().expect("a number of KiB");
    kib / 1024.0
}
