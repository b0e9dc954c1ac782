//! Plans: will a stretch without service work, what would make it work, and which stops a whole
//! trip needs.
//!
//! [`stretch`] answers for one stay. Every option that it names is data, a few
//! [`change::Change`]s of what the forecast runs on, and is judged by running the same lives
//! again with the changes made; there is no second set of formulas. [`stops`] answers for a trip
//! over known places. Pure: time, seed and data are arguments.

mod afford;
pub mod answer;
pub mod before;
pub mod calendar;
pub mod case;
pub mod change;
mod hook_up;
pub mod options;
mod otherwise;
mod practice;
pub mod proposal;
pub mod road;
mod stock_set;
pub mod stops;
pub mod stretch;
pub mod suppose;
mod together;

pub use stops::answer::{Trip, TripRequest};
pub use stops::{Onward, Progress};
pub use suppose::Suppose;

pub use crate::belief::Basis;
pub use answer::{Request, Stretch, Weather};
