//! Scores the forecast on simulated trips that it has never seen, beside a spreadsheet and an
//! oracle.
//!
//! The world behind the trips shares no code with the forecast and knows more than its model:
//! moods, weekdays, people who shower every second day, hot days, wind, wrong rig files. The
//! plain run is small. `WAYSTOCK_TRIPS=60 cargo test --release --test trips -- --nocapture
//! scores` prints the whole table over that many trips; `WAYSTOCK_TRIPS_SET=held-out` takes the
//! trips that no one tunes against, `=other` a differently built simulator's, `WAYSTOCK_TRIPS_WITHOUT=all` adds what is lost without
//! learning, outlook, steps or gauges, `WAYSTOCK_TRIPS_ROWS=1` a line per evening and stock,
//! `WAYSTOCK_TRIPS_FRONT_DOOR=1` asks the real program, through exchange files and JSON.
#![allow(clippy::disallowed_methods, reason = "the size of the run comes from the environment")]
#![allow(clippy::disallowed_macros, reason = "the table is printed")]

mod trips {
    pub mod diary;
    pub mod dice;
    pub mod front_door;
    pub mod honesty;
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
use trips::honesty::{Honesty, shower_error};
use trips::score::middle;
use trips::table::Table;
use trips::trial::{Effort, Trial, Without, trials};
use trips::trip::{OTHER, Trip};
use trips::van::Gauge;
use waystock::forecast::answer::{Learned, Options};

/// Seeds of the trips that the estimation may be tuned against, and of those that it may not.
const TUNING: u64 = 1000;
const HELD_OUT: u64 = 9000;

fn run(first: u64, count: u64, effort: Effort, without: Without) -> (Vec<Trial>, Honesty) {
    let each = (first..first + count).into_par_iter();
    let all: Vec<(Trip, Vec<Trial>)> = each
        .map(|seed| {
            let trip = Trip::new(seed);
            let trials = trials(&trip, effort, without);
            (trip, trials)
        })
        .collect();
    let mut honesty = Honesty::default();
    for (trip, trials) in &all {
        if let Some(last) = trials.last() {
            honesty.add(trip, &last.learned);
        }
    }
    (all.into_iter().flat_map(|(_, trials)| trials).collect(), honesty)
}

fn asked(name: &str) -> Option<String> {
    std::env::var(name).ok()
}

/// The set asked for, its first seed, and how many trips if the run is a large one.
fn size() -> (&'static str, u64, Option<u64>) {
    let count = asked("WAYSTOCK_TRIPS").and_then(|n| n.parse::<u64>().ok());
    match asked("WAYSTOCK_TRIPS_SET").as_deref() {
        Some("held-out") => ("held-out", HELD_OUT, count),
        Some("other") => ("other simulator's", OTHER, count),
        Some("other tuning") => ("other simulator's tuning", OTHER + 5_000, count),
        _ => ("tuning", TUNING, count),
    }
}

/// The forecast beats a careful spreadsheet by a wide margin, is not far from the best that
/// anyone could say, and knows how sure it is. The bounds leave room for the luck of a small run.
#[test]
fn scores() {
    let (name, first, count) = size();
    let front_door = asked("WAYSTOCK_TRIPS_FRONT_DOOR").is_some();
    let effort = match count {
        Some(_) => Effort { front_door, lives: 2000, oracle_lives: 200, origins: usize::MAX },
        None => Effort { front_door, lives: 400, oracle_lives: 50, origins: 6 },
    };
    let (trials, honesty) = run(first, count.unwrap_or(4), effort, Without::Nothing);
    let table = Table::of(&trials);
    println!("{} evenings of the {name} set, {} lives", trials.len(), effort.lives);
    println!("{}", table.text());
    if count.is_some() {
        println!("{}\n{}", Table::kinds(&trials), Table::worst(&trials));
        println!("{}", honesty.text());
    }
    if asked("WAYSTOCK_TRIPS_ROWS").is_some() {
        println!("{}\n{}", Table::rows(&trials), honesty.lines());
    }
    let (sheet, oracle) = table.next.ratios();
    assert!(sheet < 0.75, "{sheet:.2} of the spreadsheet's CRPS for the next stop");
    assert!(oracle < 2.5, "{oracle:.2} of the oracle's CRPS for the next stop");
    assert!(table.all_stocks().ratios().0 < 0.7, "all stocks beside the spreadsheet");
    assert!(table.right(0) >= 0.7, "{:.2} of the binding stocks right", table.right(0));
    let coverage = table.next.ours.coverage();
    assert!((0.5..=0.97).contains(&coverage), "P10 to P90 holds {coverage:.2}");
    assert!(table.next.ours.late() <= 0.25, "{:.2} late", table.next.ours.late());
    assert!(honesty.share() > 0.6, "{:.2} of what was learned holds", honesty.share());
}

/// Whether the truth of every single thing learned lies in its stated 80 % interval four times in
/// five: over many trips, at the end of each. Run only when a size is asked for.
#[test]
fn coefficients() {
    let (name, first, Some(count)) = size() else { return };
    let each = (first..first + count).into_par_iter();
    let all: Vec<(Trip, Vec<Learned>)> = each
        .map(|seed| {
            let trip = Trip::new(seed);
            let at = trip.origins.last().map_or(trip.entries[0].at, |origin| origin.at);
            let options = Options { lives: 1, ..Options::at(at) };
            let evening = waystock::forecast::evening(&trip.rig, &trip.entries, options);
            (trip, evening.learned)
        })
        .collect();
    let mut honesty = Honesty::default();
    all.iter().for_each(|(trip, learned)| honesty.add(trip, learned));
    println!("{count} trips of the {name} set\n{}", honesty.text());
    if asked("WAYSTOCK_TRIPS_ROWS").is_some() {
        println!("{}", honesty.lines());
    }
}

/// Litres per shower are learned from coarse gauges alone, better than the handbook has them.
#[test]
fn litres_per_shower_are_learned() {
    let (name, first, count) = size();
    let (quarters, eighths) = (Gauge::Step(0.25), Gauge::Step(0.125));
    for (gauge, evenings) in [(quarters, 20), (eighths, 10)] {
        let found: Vec<(f64, f64)> = (first..first + count.unwrap_or(24))
            .into_par_iter()
            .filter_map(|seed| shower_error(seed, gauge, gauge, evenings))
            .collect();
        let learned = middle(found.iter().map(|f| f.0).collect());
        let handbook = middle(found.iter().map(|f| f.1).collect());
        println!(
            "litres per shower, {gauge:?}, {evenings} evenings, {} trips of the {name} set: \
             median error {:.0} %, handbook {:.0} %",
            found.len(),
            100.0 * learned,
            100.0 * handbook
        );
        assert!(learned < handbook, "{learned:.2} is no better than {handbook:.2}");
    }
}

/// What is written to exchange files, imported by the program and asked of its JSON is what the
/// library answers.
#[test]
fn the_front_door_gives_the_same_answer() {
    let trip = Trip::new(TUNING);
    let effort = Effort { front_door: false, lives: 200, oracle_lives: 0, origins: 2 };
    let inside = trials(&trip, effort, Without::Nothing);
    let outside = trials(&trip, Effort { front_door: true, ..effort }, Without::Nothing);
    assert_eq!(inside.len(), 2);
    let near =
        |a: &[f64; 7], b: &[f64; 7]| a.iter().zip(b).all(|(a, b)| a == b || (a - b).abs() < 0.002);
    for (inside, outside) in inside.iter().zip(&outside) {
        let (ours, door) = (&inside.ours, &outside.ours);
        assert_eq!(ours.binding, door.binding);
        assert!(near(&ours.next, &door.next), "{:?} {:?}", ours.next, door.next);
        for (stock, door) in ours.stocks.iter().zip(&door.stocks) {
            assert!(near(stock, door), "{stock:?} {door:?}");
        }
    }
}

/// What each source of knowledge is worth: run only when asked for.
#[test]
fn without() {
    let (name, first, count) = size();
    let (Some(count), Some(_)) = (count, asked("WAYSTOCK_TRIPS_WITHOUT")) else { return };
    let effort = Effort { front_door: false, lives: 1000, oracle_lives: 0, origins: usize::MAX };
    println!("without: next stop CRPS, coverage, right; all stocks CRPS ({name} set)");
    use Without::{Gauges, Learning, Nothing, Outlook, Steps};
    for left_out in [Nothing, Learning, Outlook, Steps, Gauges] {
        let table = Table::of(&run(first, count, effort, left_out).0);
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
