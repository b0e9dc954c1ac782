//! Tables of alarms over simulated trips.
//!
//!     cargo bench --bench watch -- table        how often sound vans are called wrong, and after
//!                                               how many days each kind of fault is called
//!     cargo bench --bench watch -- causes       how often the battery's alarm names the right cause
//!     cargo bench --bench watch -- recommended  what the recommended reading narrows, beside each
//!                                               fixed one
//!
//! Then `--trips N` (40) and `--set NAME` (held-out; or tuning, other, other-tuning). Thresholds
//! were chosen on the tuning sets; the others were looked at on the way, but not tuned on.
#![allow(clippy::disallowed_macros, clippy::disallowed_methods, reason = "a command that prints")]

#[allow(dead_code, reason = "the trips are shared with the tests")]
#[path = "../trips"]
mod trips {
    pub mod diary;
    pub mod dice;
    pub mod knobs;
    pub mod living;
    pub mod rig_text;
    pub mod sky;
    pub mod trip;
    pub mod van;
}
#[allow(dead_code, reason = "the faults are shared with the tests")]
#[path = "../watches"]
mod watches {
    pub mod faults;
    pub mod looks;
    pub mod seeds;
}

#[allow(dead_code, reason = "some benchmarks have options without a word behind them")]
mod words;

use rayon::prelude::*;
use std::collections::BTreeMap;
use std::ops::Range;
use trips::trip::Trip;
use watches::faults::{Call, FAULTS, Named, begun, called, evenings, median};
use words::Words;

fn main() {
    let words = Words::given();
    let named = words.after("--set").unwrap_or("held-out");
    let first = watches::seeds::first(named);
    let first = first.unwrap_or_else(|| panic!("--set: there is no set {named:?}"));
    let seeds = first..first + words.number("--trips", 40) as u64;
    match words.asked()[..] {
        ["table"] => table(seeds),
        ["causes"] => causes(seeds),
        ["recommended"] => recommended(seeds),
        _ => println!("table, causes or recommended? See the head of tests/benches/watch.rs."),
    }
}

fn recommended(seeds: Range<u64>) {
    let by = watches::looks::narrowed(seeds, 6, 1000);
    println!(
        "{} evenings: recommended narrows by {:.3} (foretold {:.3})",
        by.evenings, by.recommended, by.foretold
    );
    for (role, narrows) in &by.always {
        println!("  always {}: {narrows:.3}", role.name());
    }
}

/// The table: how often a sound van is called wrong, and after how many days a fault is. A fault
/// that is never found within 24 days counts as infinite.
fn table(seeds: Range<u64>) {
    sound(seeds.clone());
    faults(seeds);
}

/// How often sound vans are called wrong.
fn sound(seeds: Range<u64>) {
    let trips = seeds.end - seeds.start;
    let clean: Vec<Vec<Vec<Call>>> = seeds
        .into_par_iter()
        .map(|seed| {
            let trip = Trip::new(seed);
            evenings(&trip).into_iter().map(|at| called(&trip, at)).collect()
        })
        .collect();
    let days: usize = clean.iter().map(Vec::len).sum();
    let lit: usize = clean.iter().flatten().filter(|calls| !calls.is_empty()).count();
    let all: Vec<Call> = clean.iter().flat_map(|calls| begun(calls)).collect();
    let mut by: BTreeMap<String, usize> = BTreeMap::new();
    all.iter().for_each(|call| *by.entry(call.kind()).or_default() += 1);
    let rate = |n: usize| 60.0 * n as f64 / days as f64;
    println!(
        "sound vans: {} alarms in {days} days of {trips} trips, {:.2} in 60 days; one is up on {lit} \
         evenings",
        all.len(),
        rate(all.len())
    );
    for (kind, n) in &by {
        println!("  {kind:24} {n:3}   {:.2} in 60 days", rate(*n));
    }
}

/// After how many days each fault is called.
fn faults(seeds: Range<u64>) {
    println!(
        "{:24} {:>6} {:>7} {:>7} {:>6} {:>9} {:>9}",
        "fault", "median", "within8", "missed", "trips", "told from", "and lag"
    );
    for fault in FAULTS {
        let days = |seed: u64| Some((fault.days(seed)?, fault.days_until_told(seed)?));
        let days: Vec<(f64, f64)> = seeds.clone().into_par_iter().filter_map(days).collect();
        let sorted = |of: &dyn Fn(&(f64, f64)) -> f64| {
            let mut all: Vec<f64> = days.iter().map(of).collect();
            all.sort_by(f64::total_cmp);
            all
        };
        let (found, told) = (sorted(&|d| d.0), sorted(&|d| d.1));
        // A fault that is called before it shows was called by chance.
        let lag = median(&sorted(&|d| (d.0 - d.1).max(0.0)));
        let missed = found.iter().filter(|d| d.is_infinite()).count();
        let soon = found.iter().filter(|d| **d <= 8.0).count();
        let (name, found_at, told_at) = (fault.name, median(&found), median(&told));
        println!(
            "{name:24} {found_at:6} {soon:7} {missed:7} {:6} {told_at:9} {lag:9}",
            found.len()
        );
    }
}

/// How often the battery's alarm names the right cause, when it first lights and a week later.
fn causes(seeds: Range<u64>) {
    for fault in &FAULTS[13..16] {
        let each = seeds.clone().into_par_iter();
        let named: Vec<_> = each.filter_map(|seed| fault.named(seed)).collect();
        let of = |named: Vec<Named>| {
            let count = |what| named.iter().filter(|n| **n == what).count();
            (count(Named::Right), count(Named::Both), count(Named::Wrong))
        };
        let first = of(named.iter().map(|n| n.0).collect());
        let later = of(named.iter().filter_map(|n| n.1).collect());
        println!("{:24} right, both, wrong: {first:?}; a week later {later:?}", fault.name);
    }
}
