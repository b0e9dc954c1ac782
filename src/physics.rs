//! What sun, cold, batteries and hot water do, as plain functions of numbers.
//!
//! One formula family per file, each with its source. Nothing here knows a rig, a journal or a
//! probability: callers pass numbers with units in their names and draw the uncertain ones
//! themselves. Start at [`sun`] for light, [`heat`] for fuel, [`battery`] for charge.

pub mod battery;
pub mod day_cycle;
pub mod fridge;
pub mod heat;
pub mod panel;
pub mod practice;
pub mod real;
pub mod sky;
pub mod sun;
pub mod water;

#[cfg(test)]
pub(crate) mod check {
    /// Fails unless `got` lies within `tolerance` of `want`, naming the row.
    #[track_caller]
    pub fn near(row: &str, got: f64, want: f64, tolerance: f64) {
        let off = (got - want).abs();
        assert!(off <= tolerance, "{row}: got {got}, want {want} within {tolerance}, off by {off}");
    }
}
