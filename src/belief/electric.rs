//! The electric store: an ensemble Kalman filter over hours, run through the remembered weather.
//!
//! A battery under panels is full by noon on a good day, and a clamp is exactly where a
//! linearised filter breaks. A few hundred equally likely members with their own panel factor,
//! loads and level are run through the same hours instead, and corrected together at each
//! reading. Only the hours of a day's uses are chosen between, by resampling: see `assimilate`.

mod assimilate;
mod cause;
mod ensemble;
mod fault;
mod members;
mod run;
mod uses;

pub use cause::Cause;
pub(super) use cause::diagnose;
pub use ensemble::Member;
pub use run::{RunInputs, run};
