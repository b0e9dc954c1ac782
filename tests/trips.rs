//! Scores the forecast on simulated trips that it has never seen, beside a spreadsheet and an
//! oracle.
//!
//! The world behind the trips shares no code with the forecast and knows more than its model:
//! moods, weekdays, people who shower every second day, hot days, wind, wrong rig files. It does
//! share four figures with it, so that on most sets these assumptions hold by construction: how
//! an outlook's error grows with its lead, how long warm and cold spells last, how far gauges and
//! guesses are off, and that some 7 % of uses are never written down. The scattered set draws
//! each of them anew for every trip.
//!
//! `cargo bench --bench trips -- scores --trips 60 --set held-out` prints the whole table over as
//! many trips as asked.
#![allow(clippy::disallowed_methods, reason = "exchange files are written as an outsider would")]
#![allow(clippy::disallowed_macros, reason = "measured figures are printed")]

#[allow(dead_code, reason = "the trips are shared with the benches, which print more of them")]
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

use rayon::prelude::*;
use trips::honesty::shower_error;
use trips::score::{Tally, middle};
use trips::sets::Set;
use trips::table::Table;
use trips::trial::{Effort, Without, trials};
use trips::trip::Trip;
use trips::van::Gauge;

/// Trips of each set in a plain run. Over their evenings a share has a standard error of some
/// 2.5 points, as evenings of one trip have much in common.
const TRIPS: u64 = 40;

/// What a forecast has to keep to be worth more than a spreadsheet: three standard errors of 40
/// trips from what is wanted, 80 % inside and 10 % late. Says what it breaks.
fn broken(next: &Tally) -> Vec<String> {
    let (coverage, late) = (next.coverage(), next.late());
    let bounds = [
        ((0.72..=0.90).contains(&coverage), format!("P10 to P90 holds {coverage:.3}")),
        (late <= 0.15, format!("{late:.3} come before P10")),
    ];
    bounds.into_iter().filter(|(kept, _)| !kept).map(|(_, what)| what).collect()
}

/// The forecast beats a careful spreadsheet by a wide margin, is not far from the best that
/// anyone could say, and knows how sure it is; the spreadsheet does not.
fn check(set: Set) {
    let effort = Effort { front_door: false, lives: 400, oracle_lives: 24, origins: 4 };
    let (trials, honesty) = set.run(TRIPS, effort, Without::Nothing);
    let table = Table::of(&trials);
    println!("{} evenings of the {} set\n{}", trials.len(), set.name(), table.text());
    println!("{:.3} of what was learned holds", honesty.share());
    let name = set.name();
    assert_eq!(broken(&table.next.ours), [""; 0], "{name}");
    assert!(!broken(&table.next.sheet).is_empty(), "{name}: a spreadsheet is as honest");
    let (sheet, oracle) = table.next.ratios();
    assert!(sheet < 0.65, "{name}: {sheet:.2} of the spreadsheet's CRPS for the next stop");
    assert!(oracle < 2.3, "{name}: {oracle:.2} of the oracle's CRPS for the next stop");
    let all = table.all_stocks().ratios().0;
    assert!(all < 0.6, "{name}: {all:.2} of the spreadsheet's CRPS for all stocks");
    let right = [0, 1].map(|who| table.right(who));
    assert!(right[0] >= right[1], "{name}: {right:.2?} of the binding stocks right");
    assert!(honesty.share() > 0.7, "{name}: {:.2} of what was learned holds", honesty.share());
}

#[test]
fn scores_on_trips_that_nobody_tunes_against() {
    check(Set::HeldOut);
}

#[test]
fn scores_on_the_other_simulators_trips() {
    check(Set::Other);
}

#[test]
fn scores_where_no_figure_of_the_world_is_the_forecasters_own() {
    check(Set::Scattered);
}

/// Litres per shower are learned from coarse gauges alone, better than the handbook has them.
#[test]
fn litres_per_shower_are_learned() {
    let (quarters, eighths) = (Gauge::Step(0.25), Gauge::Step(0.125));
    for (gauge, evenings) in [(quarters, 20), (eighths, 10)] {
        let found: Vec<(f64, f64)> = Set::HeldOut
            .seeds(72)
            .into_par_iter()
            .filter_map(|seed| shower_error(seed, gauge, gauge, evenings))
            .collect();
        let learned = middle(found.iter().map(|f| f.0).collect());
        let handbook = middle(found.iter().map(|f| f.1).collect());
        assert!(
            learned < handbook,
            "{gauge:?}, {evenings} evenings: median error {learned:.2}, the handbook's {handbook:.2}"
        );
    }
}

/// What is written to exchange files, imported by the program and asked of its JSON is what the
/// library answers.
#[test]
fn the_front_door_gives_the_same_answer() {
    let trip = Trip::new(Set::Tuning.first());
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
