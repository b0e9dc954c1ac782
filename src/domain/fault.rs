//! Findings about a rig that its own types cannot rule out: names that point nowhere, a margin
//! larger than the tank, an activity that takes from a stock and gives back more.
//!
//! Ask [`check`] once after reading a rig; everything else trusts a rig without faults.

mod finding;
mod links;
mod names;

pub use finding::{Fault, Path, PathStep};

use super::rig::Rig;
use super::stock::{Direction, Stock};
use finding::{note, written};

/// Everything that is wrong with `rig`; empty for a rig that the rest of the program can trust.
pub fn check(rig: &Rig) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (path, parts) in written(rig) {
        for (i, stock) in parts.stocks.iter().enumerate() {
            margins(stock, &path.field("stocks").item(i), &mut faults);
        }
    }
    names::check(rig, &mut faults);
    links::check(rig, &mut faults);
    faults
}

/// What is kept back of a stock, and what cannot be drawn from it, beside what it holds.
fn margins(stock: &Stock, path: &Path, faults: &mut Vec<Fault>) {
    let margin = match stock.runs {
        Direction::Down => "keep",
        Direction::Up => "headroom",
    };
    if stock.capacity > 0.0 && stock.margin >= stock.capacity {
        note(faults, path.field(margin), stock.margin, "less than the capacity");
    }
    match stock.runs {
        Direction::Down if stock.dregs > stock.margin => {
            let expected = "at most what is kept (dregs cannot be drawn, so keep includes them)";
            note(faults, path.field("dregs"), stock.dregs, expected);
        }
        Direction::Up if stock.dregs > 0.0 && stock.dregs >= stock.limit() => {
            let expected = "less than the level that counts as full";
            note(faults, path.field("dregs"), stock.dregs, expected);
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests;
