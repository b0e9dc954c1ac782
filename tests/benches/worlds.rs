//! How good dates are in worlds that break an assumption.
//!
//!     cargo bench --bench worlds                    every world
//!     cargo bench --bench worlds -- out bursty-4    these
//!     cargo bench --bench worlds -- list            what they are
//!
//! Then `--half NAME` (report; or tune, which the forecaster may be tuned on), `--trips N` (200),
//! `--evenings N` of each (2), `--lives N` of a forecast (400), `--oracle N` (96), and
//! `--told levels,amounts,rates,regularity,days,weather`: these the forecaster need not learn.
//!
//! For the next stop and each stock, over twelve futures of each evening: how many truths have a
//! date from ours for P10, for P50 and for P90, within 30 days; of these the share later than P50 (wanted
//! 50 %), inside P10 to P90 (80 %) and before P10 (10 %); the same three of an oracle, which knows
//! everything but the dice: it misses them by chance alone; the mean width of P10 to P90 in days,
//! and the oracle's; the CRPS in days, a careful spreadsheet's and the oracle's,
//! and ours over each. The last line counts the rows whose shares are as wanted. Trips have much in common between
//! their evenings: over 200 trips a share has a standard error of two to three points.
#![allow(clippy::disallowed_macros, clippy::disallowed_methods, reason = "a command that prints")]

#[allow(dead_code, unused_imports, reason = "the trips are shared with the tests")]
#[path = "../trips"]
mod trips {
    pub mod diary;
    pub mod dice;
    pub mod front_door;
    pub mod honesty;
    pub mod knobs;
    pub mod living;
    pub mod rig_text;
    pub mod score;
    pub mod sky;
    pub mod spreadsheet;
    pub mod trial;
    pub mod trip;
    pub mod van;
}
#[allow(dead_code, reason = "the worlds are shared with the tests")]
#[path = "../worlds"]
mod worlds {
    pub mod kinds;
    pub mod run;
    pub mod tally;
    pub mod told;
}

#[allow(dead_code, reason = "some benchmarks have options without a word behind them")]
mod words;

use words::Words;
use worlds::kinds::{World, all};
use worlds::run::{Effort, REPORT, TUNE, table};
use worlds::tally::{HEAD, in_band};
use worlds::told::Told;

fn main() {
    let words = Words::given();
    let first = match words.after("--half").unwrap_or("report") {
        "report" => REPORT,
        "tune" => TUNE,
        other => panic!("--half: found {other:?}, expected tune or report"),
    };
    let named = words.asked();
    if named == ["list"] {
        all().iter().for_each(|world| println!("{:18} {}", world.name, world.about));
        return;
    }
    let effort = Effort {
        first,
        trips: words.number("--trips", 200) as u64,
        evenings: words.number("--evenings", 2),
        futures: 12,
        lives: words.number("--lives", 400),
        oracle_lives: words.number("--oracle", 96),
    };
    let worlds = all();
    for name in &named {
        assert!(worlds.iter().any(|w| w.name == *name), "there is no world {name:?}: try list");
    }
    let told = words.after("--told").map_or(Vec::new(), |names| {
        let told = |name| Told::named(name).unwrap_or_else(|| panic!("--told: found {name:?}"));
        names.split(',').map(told).collect()
    });
    println!("{effort:?} {told:?}\n{HEAD}");
    let asked = |world: &&World| named.is_empty() || named.contains(&world.name);
    let mut tables = Vec::new();
    for world in worlds.iter().filter(asked) {
        let table = table(&world.knobs, effort, &told);
        println!("{}: {}\n{}", world.name, world.about, table.text());
        tables.push(table);
    }
    println!("{}", in_band(&tables));
}
