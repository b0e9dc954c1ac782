//! Less driving than this no schedule has with so many stops: a bound that is proved.
//!
//! The same windows as in [`super::bound`] (no schedule that loses few enough lives uses an
//! interval that alone loses more), now with the km of the way to each label. Labels from which
//! some stock alone must still drive so far that nothing is gained over what was found are cut.
//! Where the labels become too many, the least that any of those left must still come to is the
//! bound: every schedule goes through one of them.

use super::bound::{Fewest, masks, windows};
use super::search::{Cancelled, Problem, useful_visits};

/// Comparisons of labels after which the bound is read off the labels there are.
const MOST_WORK: usize = 6_000_000;

/// A way to a slot: until when each stock lasts from there, km driven.
struct Label {
    slot: usize,
    until: Vec<u16>,
    km: f64,
}

/// Driving in km that no schedule of at most `most` stops goes below, given that one with
/// `found_km` was found.
///
/// # Errors
/// [`Cancelled`] when `cancelled` says so.
pub fn least_km(
    problem: &Problem,
    most: usize,
    found_km: f64,
    cancelled: &dyn Fn() -> bool,
) -> Result<f64, Cancelled> {
    let windows = windows(problem, problem.allowed);
    let masks = masks(problem);
    let fewest = Fewest::of(problem, &windows, &masks);
    let ways = ways(problem);
    let ahead = Ahead::of(problem, &fewest, &ways);
    let end = problem.slots - 1;
    let first: Vec<u16> = windows.iter().map(|of| of[0]).collect();
    let mut level = vec![Label { slot: 0, until: first, km: 0.0 }];
    let (mut best, mut work) = (found_km, 0);
    for made in 0..=most {
        for label in &level {
            if label.km < best && fewest.carried(&label.until, label.slot, end).is_some() {
                best = label.km;
            }
        }
        if made == most || level.is_empty() {
            break;
        }
        let mut next: Vec<Label> = Vec::new();
        for (n, label) in level.iter().enumerate() {
            if cancelled() {
                return Err(Cancelled);
            }
            if work > MOST_WORK {
                let left = level[n..].iter().chain(&next).map(|l| l.km + ahead.of_label(l));
                return Ok(left.fold(best, f64::min));
            }
            for (slot, ways) in ways.iter().enumerate().take(end).skip(label.slot + 1) {
                let Some(there) = fewest.carried(&label.until, label.slot, slot) else { break };
                for (mask, km) in ways {
                    let mut until = there.clone();
                    let given = problem.given.get(slot).copied().unwrap_or(0);
                    fewest.serve(&mut until, mask | given, slot);
                    let reached = Label { slot, until, km: label.km + km };
                    let few = usize::from(fewest.needed(&reached.until)) < most - made;
                    if few && reached.km + ahead.of_label(&reached) < best - 1e-9 {
                        work += next.len() + 1;
                        keep(&mut next, reached);
                    }
                }
            }
        }
        level = next;
    }
    Ok(best)
}

/// Services and km of the visits at each slot, those left out that others there make pointless.
fn ways(problem: &Problem) -> Vec<Vec<(u32, f64)>> {
    let all = useful_visits(problem).into_iter();
    let each = all.map(|visits| {
        let mut ways: Vec<(u32, f64)> = Vec::new();
        for visit in visits.into_iter().map(|v| &problem.visits[v]) {
            let (mask, km) = (visit.serves, visit.km);
            if !ways.iter().any(|(m, k)| m & mask == mask && *k <= km) {
                ways.retain(|(m, k)| mask & m != *m || km > *k);
                ways.push((mask, km));
            }
        }
        ways
    });
    each.collect()
}

fn keep(labels: &mut Vec<Label>, new: Label) {
    let covers = |a: &Label, b: &Label| {
        a.slot <= b.slot && a.km <= b.km && a.until.iter().zip(&b.until).all(|(x, y)| x >= y)
    };
    if !labels.iter().any(|label| covers(label, &new)) {
        labels.retain(|label| !covers(&new, label));
        labels.push(new);
    }
}

/// What each stock alone must still drive, by the slot until which it lasts: `[stock][until]`.
struct Ahead(Vec<Vec<f64>>);

impl Ahead {
    fn of(problem: &Problem, fewest: &Fewest, ways: &[Vec<(u32, f64)>]) -> Ahead {
        let end = problem.slots - 1;
        let of_stock = |stock: usize| {
            let mut km = vec![f64::INFINITY; end + 1];
            km[end] = 0.0;
            for until in (0..end).rev() {
                for (slot, ways) in ways.iter().enumerate().take(end.min(until + 1)).skip(1) {
                    let reached = fewest.lasts(stock, slot);
                    if reached <= until {
                        continue;
                    }
                    let given = problem.given.get(slot).copied().unwrap_or(0) >> stock & 1 == 1;
                    let paid = ways.iter().filter(|(mask, _)| mask >> stock & 1 == 1);
                    let way = paid.map(|(_, km)| *km).fold(f64::INFINITY, f64::min);
                    let way = if given { 0.0 } else { way };
                    km[until] = km[until].min(way + km[reached]);
                }
            }
            km
        };
        Ahead((0..problem.stocks).map(of_stock).collect())
    }

    fn of_label(&self, label: &Label) -> f64 {
        let of = label.until.iter().zip(&self.0).map(|(until, km)| km[usize::from(*until)]);
        of.fold(0.0, f64::max)
    }
}
