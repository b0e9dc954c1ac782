//! Findings about a rig that its own types cannot rule out: names that point nowhere, a margin
//! larger than the tank, an activity that takes from a stock and gives back more.
//!
//! Ask [`check`] once after reading a rig; everything else trusts a rig without faults.

mod finding;
mod links;
mod margins;
mod names;

pub use finding::{Fault, Path, PathStep};

use super::rig::Rig;

/// Everything that is wrong with `rig`; empty for a rig that the rest of the program can trust.
pub fn check(rig: &Rig) -> Vec<Fault> {
    let mut faults = Vec::new();
    margins::check(rig, &mut faults);
    names::check(rig, &mut faults);
    links::check(rig, &mut faults);
    faults
}

#[cfg(test)]
mod tests;
