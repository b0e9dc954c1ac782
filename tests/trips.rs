//! Scores the forecast on simulated trips that it has never seen, beside a spreadsheet and an
//! oracle.
//!
//! The world behind the trips shares no code with the forecast and knows more than its model:
//! moods, weekdays, people who shower every second day, hot days, wind, wrong rig files. The
//! plain run is small. `WAYSTOCK_TRIPS=60 cargo test --release --test trips -- --nocapture
//! scores` prints the whole table over that many trips; `WAYSTOCK_TRIPS_SET=held-out` takes the
//! trips that no one tunes against, `WAYSTOCK_TRIPS_WITHOUT=all` adds what is lost without
//! learning, outlook, steps or gauges.
#![allow(clippy::disallowed_methods, reason = "the size of the run comes from the environment")]
#![allow(clippy::disallowed_macros, reason = "the table is printed")]

mod trips {
    pub mod diary;
    pub mod dice;
    pub mod living;
    pub mod rig_text;
    pub mod score;
    pub mod sky;
    pub mod spreadsheet;
    pub mod table;
    pub mod trial;
    pub mod trip;
    pub mod van;
}

use rayon::prelude::*;
use trips::table::Table;
use trips::trial::{Effort, Trial, Without, trials};
use trips::trip::Trip;

/// Seeds of the trips that the estimation may be tuned against, and of those that it may not.
const TUNING: u64 = 1000;
const HELD_OUT: u64 = 9000;

fn run(first: u64, count: u64, effort: Effort, without: Without) -> Vec<Trial> {
    let each = (first..first + count).into_par_iter();
    let all: Vec<Vec<Trial>> = each.map(|seed| trials(&Trip::new(seed), effort, without)).collect();
    all.into_iter().flatten().collect()
}

fn asked(name: &str) -> Option<String> {
    std::env::var(name).ok()
}

#[test]
fn scores() {
    let count = asked("WAYSTOCK_TRIPS").and_then(|n| n.parse::<u64>().ok());
    let (name, first) = match asked("WAYSTOCK_TRIPS_SET").as_deref() {
        Some("held-out") => ("held-out", HELD_OUT),
        _ => ("tuning", TUNING),
    };
    let effort = match count {
        Some(_) => Effort { lives: 2000, oracle_lives: 200, origins: usize::MAX },
        None => Effort { lives: 400, oracle_lives: 50, origins: 6 },
    };
    let trials = run(first, count.unwrap_or(4), effort, Without::Nothing);
    let table = Table::of(&trials);
    println!("{} evenings of the {name} set, {} lives", trials.len(), effort.lives);
    println!("{}", table.text());
    let (sheet, _) = table.next.ratios();
    assert!(sheet < 0.8, "{sheet:.2} of the spreadsheet's CRPS for the next stop");
}
