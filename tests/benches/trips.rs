//! Tables over simulated trips: how good the forecast is, and what each source is worth.
//!
//!     cargo bench --bench trips -- scores        the score table beside spreadsheet and oracle
//!     cargo bench --bench trips -- coefficients  how often the truth of each thing learned lies in its stated
//!                                                80 % interval, at the end of each trip
//!     cargo bench --bench trips -- without       what is lost without learning, outlook, steps or gauges
//!
//! Then, in any order: `--trips N` (60), `--set NAME` (held-out; or tuning, other, other-tuning,
//! scattered), `--rows` for a line per evening and stock or per thing learned, `--front-door` to
//! ask the real program through exchange files and JSON. Coefficients want 400 trips: 60 leave
//! five in a hundred to luck.
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
    pub mod sets;
    pub mod sky;
    pub mod spreadsheet;
    pub mod table;
    pub mod trial;
    pub mod trip;
    pub mod van;
}

mod words;

use rayon::prelude::*;
use trips::honesty::Honesty;
use trips::sets::Set;
use trips::table::Table;
use trips::trial::{Effort, Without};
use trips::trip::Trip;
use waystock::forecast::answer::{LearnedValue, Options};
use words::Words;

/// What was asked.
struct Asked {
    set: Set,
    trips: u64,
    rows: bool,
    front_door: bool,
}

fn main() {
    let words = Words::given();
    let named = words.after("--set").unwrap_or("held-out");
    let Some(set) = Set::ALL.into_iter().find(|set| set.name() == named) else {
        panic!("--set: found {named:?}, expected one of {:?}", Set::ALL.map(Set::name))
    };
    let trips = words.number("--trips", 60) as u64;
    let asked =
        Asked { set, trips, rows: words.has("--rows"), front_door: words.has("--front-door") };
    match words.asked()[..] {
        ["scores"] => scores(&asked),
        ["coefficients"] => coefficients(&asked),
        ["without"] => without(&asked),
        _ => println!("scores, coefficients or without? See the head of tests/benches/trips.rs."),
    }
}

fn scores(asked: &Asked) {
    let effort = Effort {
        front_door: asked.front_door,
        lives: 2000,
        oracle_lives: 200,
        origins: usize::MAX,
    };
    let (trials, honesty) = asked.set.run(asked.trips, effort, Without::Nothing);
    let table = Table::of(&trials);
    println!("{} evenings of the {} set, {} lives", trials.len(), asked.set.name(), effort.lives);
    println!("{}\n{}\n{}", table.text(), Table::kinds(&trials), Table::worst(&trials));
    println!("{}", honesty.text());
    if asked.rows {
        println!("{}\n{}", Table::rows(&trials), honesty.lines());
    }
}

fn coefficients(asked: &Asked) {
    let each = asked.set.seeds(asked.trips).into_par_iter();
    let all: Vec<(Trip, Vec<LearnedValue>)> = each
        .map(|seed| {
            let trip = asked.set.trip(seed);
            let at = trip.origins.last().map_or(trip.entries[0].at, |origin| origin.at);
            let options = Options { lives: 1, ..Options::at(at) };
            let evening = waystock::forecast::evening(&trip.rig, &trip.entries, options);
            (trip, evening.learned)
        })
        .collect();
    let mut honesty = Honesty::default();
    all.iter().for_each(|(trip, learned)| honesty.add(trip, learned));
    println!("{} trips of the {} set\n{}", asked.trips, asked.set.name(), honesty.text());
    if asked.rows {
        println!("{}", honesty.lines());
    }
}

fn without(asked: &Asked) {
    use Without::{Gauges, Learning, Nothing, Outlook, Steps};
    let effort = Effort { front_door: false, lives: 1000, oracle_lives: 0, origins: usize::MAX };
    println!(
        "without: next stop CRPS, coverage, right; all stocks CRPS ({} set)",
        asked.set.name()
    );
    for left_out in [Nothing, Learning, Outlook, Steps, Gauges] {
        let table = Table::of(&asked.set.run(asked.trips, effort, left_out).0);
        println!(
            "{:9} {:.3} d  {:.0} %  {:.0} %   {:.3} d",
            format!("{left_out:?}"),
            table.next.ours.mean_crps(),
            100.0 * table.next.ours.coverage(),
            100.0 * table.right(0),
            table.all_stocks().ours.mean_crps()
        );
    }
}
