//! Lives through trips in a world and holds forecasts against many futures of each evening.

use super::super::trips::dice::Dice;
use super::super::trips::knobs::Knobs;
use super::super::trips::spreadsheet;
use super::super::trips::trial::{Answer, oracle, ours};
use super::super::trips::trip::{Origin, Trip};
use super::tally::{Table, Three};
use super::told::{self, Told};
use rayon::prelude::*;
use waystock::forecast::answer::Options;

/// Seeds of the trips that the forecaster may be tuned on, and of those that it is reported on.
pub const TUNE: u64 = 500_000;
pub const REPORT: u64 = 700_000;

/// How much work a run may do.
#[derive(Clone, Copy, Debug)]
pub struct Effort {
    /// Seed of the first trip, and how many trips.
    pub first: u64,
    pub trips: u64,
    /// Evenings of each trip, as far apart as they can be.
    pub evenings: usize,
    /// Futures that each evening is held against. They share the weather that came.
    pub futures: usize,
    /// Lives of the forecast, and futures that the oracle dreams up.
    pub lives: usize,
    pub oracle_lives: usize,
}

/// Everything that came true, added up.
/// What the forecaster is `told` it need not learn.
pub fn table(knobs: &Knobs, effort: Effort, told: &[Told]) -> Table {
    (effort.first..effort.first + effort.trips)
        .into_par_iter()
        .map(|seed| of_trip(&Trip::set(seed, knobs), effort, told))
        .reduce(Table::default, |a, b| a.merged(&b))
}

fn of_trip(trip: &Trip, effort: Effort, told: &[Told]) -> Table {
    let (mut table, count) = (Table::default(), trip.origins.len());
    let evenings = effort.evenings.min(count);
    for n in 0..evenings {
        // The middle ones of so many equal parts.
        let origin = &trip.origins[(2 * n + 1) * count / (2 * evenings)];
        of_evening((trip, origin), effort, told, &mut table);
    }
    table
}

fn of_evening((trip, origin): (&Trip, &Origin), effort: Effort, told: &[Told], table: &mut Table) {
    let options = Options { lives: effort.lives, ..Options::at(origin.at) };
    let ours = match told {
        [] => ours(&waystock::forecast::evening(&trip.rig, &trip.entries, options)),
        told => told::answer(trip, origin, options, told),
    };
    let sheet = spreadsheet::sheet(&trip.van, &trip.entries, origin.at);
    let oracle = oracle(trip, origin, effort.oracle_lives);
    let three = |of: &dyn Fn(&Answer) -> [f64; 7], sheet: [f64; 7]| Three {
        ours: of(&ours),
        sheet,
        oracle: of(&oracle),
    };
    let next = three(&|answer| answer.next, sheet.next);
    for future in 0..effort.futures {
        let mut dice = Dice::new(trip.seed, 5_000_000 + (origin.hour * 1000 + future) as u64);
        let truth = trip.continuation(&origin.state, &mut dice);
        table.next.add(truth.iter().copied().fold(f64::INFINITY, f64::min), &next);
        for (stock, tank) in trip.van.tanks.iter().enumerate() {
            let said = three(&|answer| answer.stocks[stock], sheet.hours[stock]);
            table.stock_mut(tank.role).add(truth[stock], &said);
        }
    }
}
