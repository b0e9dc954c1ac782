//! Waystock: which stock of a self-contained van forces the next stop, by when, and how sure.
//!
//! Read the modules in this order; each hands one value to the next:
//!
//! 1. [`domain`] says what things are: stocks, activities, the rig, entries, the journal.
//! 2. [`physics`] is what sun, cold, batteries and hot water do, as plain functions.
//! 3. [`belief`] turns a rig and a journal into levels, coefficients and habits with spreads.
//! 4. [`forecast`] runs many lives forward hour by hour and finds each stock's passage.
//! 5. [`plan`] asks the same lives other questions: will a stretch work, which stops does a trip
//!    need.
//! 6. [`usage`] says where it all went: by cause, week by week, and what a trip came to.
//! 7. [`logline`] and [`exchange`] turn people's words and other programs' files into entries.
//! 8. [`store`] is the only module that opens files.
//! 9. [`cli`] and [`tui`] are two fronts over the same answers.

pub mod belief;
pub mod cli;
pub mod dashboard;
pub mod domain;
pub mod exchange;
pub mod forecast;
pub mod logline;
pub mod mechanism;
pub mod physics;
pub mod plan;
pub mod setup;
pub mod start;
pub mod store;
pub mod text;
pub mod tui;
pub mod usage;
pub mod weather;

/// An evening makes and forgets hundreds of thousands of small vectors; this allocator takes a
/// tenth off it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;
