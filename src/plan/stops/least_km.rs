//! Less driving than this no schedule has with so many stops: a bound that is proved.
//!
//! The same windows as in [`super::bound`], now with the km of the way to each label. Labels from
//! which some stock alone must still drive so far that nothing is gained over what was found are
//! cut. Where the labels become too many, the least that any of those left must still come to is
//! the bound: every schedule goes through one of them.

use super::labels::{self, Reach};
use super::problem::{Cancelled, Problem};
use super::windows::{self, Reachable, Way, windows};

/// Comparisons of labels after which the bound is read off the labels there are.
const MOST_WORK: usize = 6_000_000;

/// Driving in km that no schedule of at most `most` stops goes below, given that one with
/// `found_km` was found.
///
/// # Errors
/// [`Cancelled`] when `cancelled` says so.
pub(super) fn least_km(
    problem: &Problem,
    most: usize,
    found_km: f64,
    cancelled: &dyn Fn() -> bool,
) -> Result<f64, Cancelled> {
    let (windows, widest) = (windows(problem, problem.allowed), windows::ways(problem));
    let reachable = Reachable::of(problem, &windows, &widest);
    let ways = shortest_ways(problem);
    let ahead = Ahead::of(problem, &reachable, &ways);
    let mut level = vec![reachable.start()];
    let (mut best, mut work) = (found_km, 0);
    for made in 0..=most {
        let ends = level.iter().filter(|label| reachable.ends(label));
        best = ends.fold(best, |best, label| best.min(label.km));
        if made == most || level.is_empty() {
            break;
        }
        let mut next: Vec<Reach> = Vec::new();
        for (n, label) in level.iter().enumerate() {
            if cancelled() {
                return Err(Cancelled);
            }
            if work > MOST_WORK {
                let left = level[n..].iter().chain(&next).map(|l| l.km + ahead.of_label(l));
                return Ok(left.fold(best, f64::min));
            }
            reachable.onward(label, &ways, most - made - 1, |reached| {
                // What cannot end below the best known proves nothing more.
                if reached.km + ahead.of_label(&reached) < best - 1e-9 {
                    work += next.len() + 1;
                    labels::keep(&mut next, reached, Reach::covers);
                }
            });
        }
        level = next;
    }
    Ok(best)
}

/// The ways at each slot without those that another one makes pointless: as much for no more km.
fn shortest_ways(problem: &Problem) -> Vec<Vec<Way>> {
    let covers = |a: &Way, b: &Way| a.serves.covers(&b.serves) && a.km <= b.km;
    let each = problem.useful_visits().into_iter().map(|visits| {
        let mut ways: Vec<Way> = Vec::new();
        for visit in visits.into_iter().map(|v| &problem.visits[v]) {
            let way = Way { serves: windows::at_most_served(problem, visit), km: visit.leg.km };
            labels::keep(&mut ways, way, covers);
        }
        ways
    });
    each.collect()
}

/// What each stock alone must still drive, by the slot until which it lasts: `[stock][until]`.
struct Ahead(Vec<Vec<f64>>);

impl Ahead {
    fn of(problem: &Problem, reachable: &Reachable, ways: &[Vec<Way>]) -> Ahead {
        let end = problem.end();
        let of_stock = |stock: usize| {
            let mut km = vec![f64::INFINITY; end + 1];
            km[end] = 0.0;
            for until in (0..end).rev() {
                for (slot, ways) in ways.iter().enumerate().take(end.min(until + 1)).skip(1) {
                    let reached = reachable.lasts(stock, slot);
                    if reached <= until {
                        continue;
                    }
                    let paid = ways.iter().filter(|way| way.serves.has(stock));
                    let way = match problem.given[slot].has(stock) {
                        true => 0.0,
                        false => paid.map(|way| way.km).fold(f64::INFINITY, f64::min),
                    };
                    km[until] = km[until].min(way + km[reached]);
                }
            }
            km
        };
        Ahead((0..problem.stocks).map(of_stock).collect())
    }

    fn of_label(&self, label: &Reach) -> f64 {
        let of = label.until.iter().zip(&self.0).map(|(until, km)| km[usize::from(*until)]);
        of.fold(0.0, f64::max)
    }
}
