use super::*;
use crate::plan::stops::bound;
use crate::plan::stops::heuristic::Heuristic;
use crate::plan::stops::problem::{Leg, Visit};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use std::cell::Cell;

/// The stocks whose bits are set.
fn set(bits: u64) -> StockSet {
    (0..64).filter(|stock| bits >> stock & 1 == 1).collect()
}

/// Lives lost by a schedule.
fn lost(problem: &Problem, visits: &[usize]) -> usize {
    problem.lost(visits.iter().map(|v| &problem.visits[*v]).map(|v| (v, &v.serves)))
}

/// One life, stocks that last a fixed number of slots after a service.
fn plain(end: usize, limits: &[usize], visits: &[(usize, u64, f64, f64)]) -> Problem {
    let fails = |limit: usize, from: usize, to: usize| vec![u64::from(to > from + limit)];
    Problem {
        slots: end + 1,
        stocks: limits.len(),
        electric: None,
        lives: 1,
        allowed: 0,
        fails: limits
            .iter()
            .map(|limit| {
                (0..end).map(|i| (0..=end).map(|j| fails(*limit, i, j)).collect()).collect()
            })
            .collect(),
        visits: visits
            .iter()
            .map(|(slot, serves, km, cost)| Visit {
                slot: *slot,
                leg: Leg { km: *km, ..Leg::default() },
                serves: set(*serves),
                cost: *cost,
                ..Visit::default()
            })
            .collect(),
        given: vec![StockSet::default(); end + 1],
        used: Vec::new(),
    }
}

fn slots(problem: &Problem) -> Option<Vec<usize>> {
    let found = search(problem, &|| false).unwrap()?;
    assert!(found.exact);
    Some(found.visits.iter().map(|v| problem.visits[*v].slot).collect())
}

/// Every set of visits, at most one a slot: the fewest, then least km, then least cost.
fn exhaustive(problem: &Problem) -> Option<(usize, f64, f64)> {
    let n = problem.visits.len();
    let mut best: Option<(usize, f64, f64)> = None;
    for set in 0u32..1 << n {
        let mut chosen: Vec<usize> = (0..n).filter(|i| set & (1 << i) != 0).collect();
        chosen.sort_by_key(|i| problem.visits[*i].slot);
        let apart = chosen
            .windows(2)
            .all(|pair| problem.visits[pair[0]].slot < problem.visits[pair[1]].slot);
        let back = chosen.windows(2).all(|pair| {
            let [before, after] = [pair[0], pair[1]].map(|visit| problem.visits[visit].away);
            before.1 <= after.0
        });
        let within = chosen.iter().all(|i| problem.visits[*i].slot + 1 < problem.slots);
        if !apart || !back || !within || lost(problem, &chosen) > problem.allowed {
            continue;
        }
        let km = chosen.iter().map(|i| problem.visits[*i].leg.km).sum();
        let cost = problem.cost(&chosen);
        let this = (chosen.len(), km, cost);
        if best.is_none_or(|known| this < known) {
            best = Some(this);
        }
    }
    best
}

#[test]
fn what_is_planned_already_counts_without_a_stop() {
    let mut problem = plain(9, &[4], &[(3, 1, 5.0, 0.0), (7, 1, 5.0, 0.0)]);
    assert_eq!(slots(&problem).unwrap(), [3, 7]);
    problem.given[4] = set(1);
    assert_eq!(slots(&problem).unwrap(), [7]);
    assert_eq!(search(&problem, &|| true), Err(Cancelled));
}

/// Counted by hand: stock 39 lasts three slots of nine and the stop on slot 3 takes it to 6 only,
/// so that both stops are needed; without the stop on slot 6 nothing gets it to the end.
#[test]
fn a_fortieth_stock_counts_as_the_first_does() {
    let mut limits = vec![9; 40];
    limits[39] = 3;
    let fortieth = 1 << 39;
    let visits = [(3, fortieth | 1, 5.0, 0.0), (6, fortieth, 5.0, 0.0), (6, 1, 1.0, 0.0)];
    let mut problem = plain(9, &limits, &visits);
    assert_eq!(slots(&problem), Some(vec![3, 6]));
    assert_eq!(search(&problem, &|| false).unwrap().unwrap().visits, [0, 1]);
    assert_eq!(bound::least_stops(&problem, 9, &|_| true), Ok(Some(2)));
    problem.given[6] = StockSet::from_iter([39]);
    assert_eq!(slots(&problem), Some(vec![3]));
    problem.given[6] = StockSet::default();
    problem.visits.remove(1);
    assert_eq!(slots(&problem), None);
    let (windows, ways) = (windows(&problem, 0), ways(&problem));
    assert_eq!(Reachable::of(&problem, &windows, &ways).unserved(), [39]);
}

/// By hand: stock 0 lasts a slot, so that all of slots 1, 2 and 3 are needed. At slot 2 what serves
/// more, or drives less, keeps the van too long for slot 3, or sets out before it is back from slot
/// 1; only the second way there leaves room for both.
#[test]
fn what_takes_too_long_makes_nothing_else_pointless() {
    let way = |better: (u64, f64), away: (f64, f64)| {
        let at_two = [(2, better.0, better.1, 0.0), (2, 1, 1.0, 0.0)];
        let visits = [[(1, 1, 0.0, 0.0)].as_slice(), &at_two, &[(3, 1, 0.0, 0.0)]].concat();
        let mut problem = plain(4, &[1, 9], &visits);
        for visit in &mut problem.visits {
            visit.away = (visit.slot as f64, visit.slot as f64);
        }
        problem.visits[1].away = away;
        search(&problem, &|| false).unwrap().map(|found| found.visits)
    };
    assert_eq!(way((1, 0.0), (2.0, 2.0)), Some(vec![0, 1, 3]));
    for better in [(1, 0.0), (3, 1.0), (3, 0.0)] {
        assert_eq!(way(better, (2.0, 3.5)), Some(vec![0, 2, 3]), "{better:?}");
        assert_eq!(way(better, (0.5, 2.0)), Some(vec![0, 2, 3]), "{better:?}");
    }
}

#[test]
fn a_stock_that_nothing_serves_is_named() {
    let problem = plain(9, &[4, 3], &[(3, 1, 5.0, 0.0), (7, 1, 5.0, 0.0)]);
    assert_eq!(slots(&problem), None);
    let (windows, ways) = (windows(&problem, 0), ways(&problem));
    assert_eq!(Reachable::of(&problem, &windows, &ways).unserved(), [1]);
    assert_eq!(slots(&problem.until(3)), Some(vec![]));
}

/// A small random trip: a few stocks, a few lives with limits of their own, prices here and
/// there. Most do not work.
fn small() -> impl Strategy<Value = Problem> {
    trips(1..9)
}

/// The same with stocks that last so many slots.
fn trips(last: std::ops::Range<usize>) -> impl Strategy<Value = Problem> {
    let visit = (1usize..9, 1u64..16, 0u32..4, 0u32..3, 0u32..6);
    let visits = prop::collection::vec(visit, 1..13);
    let limits = prop::collection::vec(prop::collection::vec(last, 4), 6);
    let used = prop::collection::vec(prop::collection::vec(0u32..3, 10), 4);
    (4usize..10, visits, limits, 0usize..3, 0usize..3, used).prop_map(
        |(end, all, limits, allowed, given, used)| {
            let all: Vec<_> = all.into_iter().filter(|(slot, ..)| *slot < end).collect();
            let visits: Vec<_> = all
                .iter()
                .map(|(slot, serves, km, cost, _)| {
                    (*slot, *serves, f64::from(*km), f64::from(*cost))
                })
                .collect();
            let mut problem = plain(end, &[1, 1, 1, 1], &visits);
            for (visit, (.., price)) in problem.visits.iter_mut().zip(&all) {
                // The first stock that it services has a price in half of the visits.
                if (1..4).contains(price) {
                    visit.prices =
                        visit.serves.iter().take(1).map(|s| (s, f64::from(*price))).collect();
                }
            }
            // Every third visit's drives charge the first stock, as far as a service one to three
            // slots before would have.
            problem.electric = Some(0);
            for (n, visit) in problem.visits.iter_mut().enumerate().filter(|(n, _)| n % 3 == 0) {
                let like = visit.slot.saturating_sub(1 + n % 4) as u16;
                visit.charge = (0..=visit.slot as u16).map(|last| last.max(like)).collect();
            }
            // Some set out so early, or stay so long, that the slot before or after is taken.
            for (n, visit) in problem.visits.iter_mut().enumerate() {
                let (lead, stay) = ([0.0, 0.6, 0.0][n % 3], [0.0, 0.0, 1.2, 0.7][n % 4]);
                visit.away = (visit.slot as f64 - lead, visit.slot as f64 + stay);
            }
            let add_up = |steps: &Vec<u32>| {
                let mut sum = 0.0;
                steps
                    .iter()
                    .take(end + 1)
                    .map(|step| {
                        sum += f64::from(*step);
                        sum
                    })
                    .collect()
            };
            problem.used = used.iter().map(add_up).collect();
            problem.lives = limits.len();
            problem.allowed = allowed;
            problem.given[end / 2] = set(given as u64);
            for stock in 0..4 {
                for from in 0..end {
                    for to in from..=end {
                        let lost = limits
                            .iter()
                            .enumerate()
                            .filter(|(_, life)| to > from + life[stock])
                            .fold(0u64, |bits, (life, _)| bits | 1 << life);
                        problem.fails[stock][from][to] = vec![lost];
                    }
                }
            }
            problem
        },
    )
}

/// Random trips that are tried; built with `WAYSTOCK_CASES=10000`, so many.
fn cases() -> u32 {
    option_env!("WAYSTOCK_CASES").and_then(|cases| cases.parse().ok()).unwrap_or(2000)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(cases()))]

    /// Stops, driving and cost are those of trying every set of visits: up to twelve of them.
    #[test]
    fn agrees_with_trying_everything(problem in small()) {
        let found = search(&problem, &|| false).unwrap();
        if let Some(found) = &found {
            prop_assert!(found.exact);
            prop_assert!(lost(&problem, &found.visits) <= problem.allowed);
            prop_assert_eq!(lost(&problem, &found.visits), found.lost);
            prop_assert_eq!(problem.cost(&found.visits), found.cost);
        }
        let found = found.map(|f| (f.visits.len(), f.km, f.cost));
        prop_assert_eq!(found, exhaustive(&problem));
    }

    /// Surer never needs fewer stops, and a longer trip never fewer.
    #[test]
    fn surer_and_longer_never_need_less(problem in small()) {
        let stops = |p: &Problem| {
            search(p, &|| false).unwrap().map_or(usize::MAX, |found| found.visits.len())
        };
        let surer = Problem { allowed: problem.allowed.saturating_sub(1), ..problem.clone() };
        prop_assert!(stops(&surer) >= stops(&problem));
        prop_assert!(stops(&problem.until(problem.slots - 2)) <= stops(&problem));
    }
}

/// The bounds for long trips never say more than the optimum, in stops or in km; the beam never
/// finds less, and nothing where nothing works. Both kinds of trip are met often.
#[test]
fn bounds_and_beams_stand_on_their_sides_of_the_optimum() {
    let config = ProptestConfig { cases: 3000, failure_persistence: None, ..Default::default() };
    let (works, fails) = (Cell::new(0), Cell::new(0));
    let mut runner = TestRunner::new(config);
    let checked = runner.run(&prop_oneof![small(), trips(4..9)], |problem| {
        let bound = bound::least_stops(&problem, usize::MAX, &|_| true).unwrap();
        let (windows, ways) = (windows(&problem, problem.allowed), ways(&problem));
        let reachable = Reachable::of(&problem, &windows, &ways);
        let heuristic = Heuristic::of(&problem);
        let optimum = exhaustive(&problem);
        let counted = if optimum.is_some() { &works } else { &fails };
        counted.set(counted.get() + 1);
        if let Some((stops, ..)) = optimum {
            prop_assert!(bound.is_some_and(|bound| bound <= stops), "{bound:?} {stops}");
        } else {
            prop_assert_eq!(search(&problem, &|| false).unwrap(), None);
        }
        for most in 0..problem.slots {
            let beam = heuristic.beam(most, &reachable, &|| false).unwrap();
            let Some(mut visits) = beam else { continue };
            let kept = heuristic.local_search(&mut visits);
            prop_assert_eq!(kept, lost(&problem, &visits));
            let fewer = optimum.is_none_or(|(stops, ..)| visits.len() < stops);
            prop_assert!(kept > problem.allowed || !fewer);
        }
        Ok(())
    });
    checked.unwrap();
    let (works, fails) = (works.get(), fails.get());
    assert!(works >= 900 && fails >= 900, "{works} work, {fails} do not");
}

/// A search that is given up in the middle stops soon, whatever it is at.
#[test]
fn bounds_are_given_up_when_nobody_waits() {
    let problem = chances(1);
    let told = std::sync::atomic::AtomicUsize::new(0);
    let count = |_| told.fetch_add(1, std::sync::atomic::Ordering::Relaxed) < 3;
    assert_eq!(bound::least_stops(&problem, 8, &count), Err(Cancelled));
    let (windows, ways) = (windows(&problem, problem.allowed), ways(&problem));
    let reachable = Reachable::of(&problem, &windows, &ways);
    assert_eq!(bound::within(&problem, &reachable, &|| true), Err(Cancelled));
}

/// Larger instances: 30 days, four stocks, 20 places. Fewest stops, then least driving, from
/// scipy 1.17.1 (`milp`, two runs: stops first, then km with that many stops).
#[test]
fn larger_trips_agree_with_an_integer_programme() {
    for (seed, visits, stops, km) in [
        (1, 182, 6, 171.0),
        (2, 176, 8, 83.0),
        (3, 176, 6, 74.0),
        (4, 190, 6, 83.0),
        (5, 171, 8, 150.0),
    ] {
        let problem = large(seed);
        assert_eq!(problem.visits.len(), visits);
        let found = search(&problem, &|| false).unwrap().unwrap();
        assert!(found.exact);
        assert_eq!((found.visits.len(), found.km), (stops, km), "seed {seed}");
    }
}

/// A linear congruential generator that is easy to write anywhere.
fn numbers(seed: u64) -> impl FnMut() -> usize {
    let mut state = seed;
    move || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize
    }
}

/// The instance of a seed.
fn large(seed: u64) -> Problem {
    let mut numbers = numbers(seed);
    let mut next = |below: usize| numbers() % below;
    let limits = [4 + next(4), 5 + next(4), 6 + next(5), 9 + next(6)];
    let mut visits = Vec::new();
    for day in 1..30 {
        for _ in 0..20 {
            let (serves, km) = (next(16) as u64, 1 + next(60));
            if next(3) == 0 && serves != 0 {
                visits.push((day, serves, km as f64, 0.0));
            }
        }
    }
    plain(30, &limits, &visits)
}

/// Ten lives with limits of their own, of which one may be lost: 22 days, three stocks, eight
/// places. Fewest stops, then least driving, from scipy 1.17.1 (`milp`: a binary per visit and
/// per life, two runs).
#[test]
fn chances_agree_with_an_integer_programme() {
    for (seed, visits, stops, km) in [
        (1, 57, 8, 158.0),
        (2, 50, 6, 157.0),
        (3, 44, 7, 176.0),
        (4, 56, 5, 123.0),
        (5, 48, 6, 121.0),
        (6, 57, 5, 162.0),
    ] {
        let problem = chances(seed);
        assert_eq!(problem.visits.len(), visits);
        let found = search(&problem, &|| false).unwrap().unwrap();
        assert!(found.exact);
        assert_eq!((found.visits.len(), found.km), (stops, km), "seed {seed}");
        let bound = bound::least_stops(&problem, stops, &|_| true).unwrap().unwrap();
        assert!(bound <= stops && bound + 1 >= stops, "bound {bound} of {stops}");
    }
}

fn chances(seed: u64) -> Problem {
    let mut numbers = numbers(seed);
    let mut next = |below: usize| numbers() % below;
    let end = 22;
    let lives: Vec<[usize; 3]> = (0..10).map(|_| [4 + next(4), 5 + next(4), 7 + next(5)]).collect();
    let mut visits = Vec::new();
    for day in 1..end {
        for _ in 0..8 {
            let (serves, km) = (next(8) as u64, 1 + next(60));
            if next(3) == 0 && serves != 0 {
                visits.push((day, serves, km as f64, 0.0));
            }
        }
    }
    let mut problem = plain(end, &[1, 1, 1], &visits);
    (problem.lives, problem.allowed) = (lives.len(), 1);
    for stock in 0..3 {
        for from in 0..end {
            for to in from..=end {
                let lost = lives.iter().enumerate().filter(|(_, limits)| to > from + limits[stock]);
                problem.fails[stock][from][to] =
                    vec![lost.fold(0, |bits, (life, _)| bits | 1 << life)];
            }
        }
    }
    problem
}
