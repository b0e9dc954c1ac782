//! What things are: quantities, stocks, activities, the rig, entries, and the journal's fold.
//!
//! Pure and free of serde, files and clocks: on-disk forms live in `store`, and time is an
//! argument. Nothing here knows about probability; see `belief` for what is uncertain.

pub mod ahead;
pub mod counts;
pub mod entry;
pub mod estimate;
pub mod fault;
pub mod flow;
pub mod gate;
pub mod journal;
pub mod lines;
pub mod mapping;
pub mod outlook;
pub mod plans;
pub mod quantity;
pub mod remembered;
pub mod rig;
pub mod search;
pub mod stock;
pub mod time;
pub mod timeline;
pub mod unit;
pub mod wish;

#[cfg(test)]
mod tests;
