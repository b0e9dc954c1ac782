//! What is kept back of a stock, and what cannot be drawn from it, beside what it holds. Ranges of
//! single numbers are seen to where they are read.

use super::finding::{Fault, Path, note, written};
use crate::domain::rig::Rig;
use crate::domain::stock::{Direction, Stock};

pub(super) fn check(rig: &Rig, faults: &mut Vec<Fault>) {
    for (path, parts) in written(rig) {
        for (i, one) in parts.stocks.iter().enumerate() {
            stock(one, &path.field("stocks").item(i), faults);
        }
    }
}

fn stock(stock: &Stock, path: &Path, faults: &mut Vec<Fault>) {
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
