//! What we think levels, coefficients and habits are, and how sure: the rig file at first, the
//! journal more and more.
//!
//! [`learn`] replays the journal against the gauges. Stocks that only add up share one joint
//! Gaussian with their coefficients, so that one reading teaches everything it depends on
//! (`replay`). The battery, which clamps at full every sunny day, is carried by an ensemble
//! instead (`electric`). Habits are counted (`habit`). Nothing here knows about the future;
//! `forecast` draws from what is returned. `watch` asks whether something is wrong with the van.

mod basis;
mod beliefs;
pub mod electric;
pub mod evidence;
pub mod habit;
pub mod joint;
mod kit;
mod learn;
pub mod manner;
pub mod normal;
pub mod past;
pub mod practice;
pub mod quantile_table;
pub mod regularity;
mod replay;
pub mod unlogged;
pub mod watch;

pub use basis::Basis;
pub use beliefs::Beliefs;
pub use learn::{learn, learn_from};
