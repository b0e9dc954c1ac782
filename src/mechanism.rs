//! One mechanism: activities, base use and drivers move stocks through flows.
//!
//! [`Mechanism::of`] turns the parts of a rig, which a person writes, into indexed coefficients
//! and linear flows, which history replays and the forecast runs on. A shower is one
//! coefficient (litres) with flows into fresh, grey, the hot-water fuel and the pump's
//! electricity, so learning it anywhere teaches it everywhere. What depends on sun or cold is
//! not linear and is left to [`climate`]; it shares the same coefficients.

pub mod climate;
pub mod coefficient;
pub mod driver;
mod factors;
pub mod held;
mod hours;
mod model;
mod practice;

pub use hours::Rhythm;
pub use model::{Flow, Mechanism};
