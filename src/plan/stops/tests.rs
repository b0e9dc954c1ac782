//! Small parts of the search for stops, counted by hand.

use super::prefer::moved;
use super::problem::{Leg, Problem, Visit};
use super::unplanned::nearest;
use super::visits::prices;
use crate::domain::place::Place;
use crate::domain::rig::Parts;
use crate::domain::stock::{Direction, Stock};
use crate::domain::unit::Unit;
use crate::plan::stock_set::StockSet;

/// Two stocks and these visits: slot, place, stocks, km.
fn problem(end: usize, visits: &[(usize, usize, &[usize], f64)]) -> Problem {
    let visit = |(slot, place, stocks, km): &(usize, usize, &[usize], f64)| Visit {
        slot: *slot,
        leg: Leg { place: *place, km: *km, ..Leg::default() },
        serves: stocks.iter().copied().collect(),
        ..Visit::default()
    };
    Problem {
        slots: end + 1,
        stocks: 2,
        electric: None,
        lives: 1,
        allowed: 0,
        fails: Vec::new(),
        visits: visits.iter().map(visit).collect(),
        given: vec![StockSet::default(); end + 1],
        used: Vec::new(),
    }
}

/// Two places at each of slots 1 to 5; of a schedule at 2 and 4 each stop may move to any of the
/// eight visits at slots that the other leaves free, and both or the second alone may come a slot
/// sooner or later.
#[test]
fn every_single_move_and_every_shift_is_tried() {
    let visits: Vec<_> = (2..12).map(|n| (n / 2, n % 2, &[0_usize][..], 10.0)).collect();
    let problem = problem(6, &visits);
    let mut useful: Vec<Vec<usize>> = vec![Vec::new(); 7];
    (0..10).for_each(|visit| useful[problem.visits[visit].slot].push(visit));
    let chosen = [2, 6];
    let others = moved(&problem, &useful, &chosen);
    assert_eq!(others.len(), 8 + 8 + 4);
    let slots = |visits: &[usize]| visits.iter().map(|v| problem.visits[*v].slot).collect();
    let of: Vec<Vec<usize>> = others.iter().map(|visits| slots(visits)).collect();
    assert!(of.iter().all(|slots| slots.is_sorted_by(|a, b| a < b)), "{of:?}");
    for shifted in [[4, 8], [0, 4], [2, 8], [2, 4]] {
        assert!(others.contains(&shifted.to_vec()), "{shifted:?} in {others:?}");
    }
    // A stop on the slot after the first has no sooner slot of its own.
    let close = moved(&problem, &useful, &[2, 4]);
    assert!(
        close.iter().all(|visits| problem.visits[visits[0]].slot < problem.visits[visits[1]].slot)
    );
}

/// Of two that are as near, the one with more to offer.
#[test]
fn the_nearest_place_that_has_it_at_that_time() {
    let problem = problem(
        4,
        &[(2, 0, &[0], 30.0), (2, 1, &[0, 1], 10.0), (3, 2, &[1], 5.0), (3, 1, &[0, 1], 5.0)],
    );
    let found = nearest(&problem);
    let place = |stock: usize, slot: usize| found[stock][slot].map(|visit| visit.leg.place);
    let of = |stock: usize| [1, 2, 3].map(|slot| place(stock, slot));
    assert_eq!((of(0), of(1)), ([None, Some(1), Some(1)], [None, Some(1), Some(1)]));
}

/// What a place does not sell, or gives away, has no price there.
#[test]
fn prices_are_of_what_is_served() {
    let stock = |name: &str| Stock::plain(name, Direction::Down, Unit::Litre, 40.0);
    let parts =
        Parts { stocks: ["diesel", "fresh", "grey"].map(stock).to_vec(), ..Parts::default() };
    let asked = [("fresh", 0.2), ("GREY", 0.0), ("diesel", 1.8), ("tea", 9.0)];
    let prices_of = asked.map(|(name, each)| (name.to_owned(), each));
    let place = Place { prices: prices_of.into_iter().collect(), ..Place::default() };
    let serves: StockSet = [1, 2].into_iter().collect();
    let leg = Leg::default();
    assert_eq!(prices(&[place], &leg, &parts, &serves), [(1, 0.2)]);
}
