//! What things are: quantities, stocks, activities, the rig, entries, and the journal's fold.
//!
//! Pure and free of serde, files and clocks: on-disk forms live in `store`, and time is an
//! argument. Nothing here knows about probability; see `belief` for what is uncertain.

pub mod ahead;
pub mod counts;
pub mod electrics;
pub mod entry;
pub mod estimate;
pub mod fault;
pub mod flow;
pub mod gate;
pub mod hash;
pub mod heating;
pub mod journal;
pub mod lines;
pub mod mapping;
pub mod often;
pub mod once;
pub mod outlook;
pub mod place;
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

// The face of this folder: what is named most often, by its short path.
pub use counts::Counts;
pub use electrics::{Chemistry, Electrics};
pub use entry::{
    After, Body, ChargeSource, Draft, Entry, EntryId, Event, Happened, IMPORT, KINDS, Spot,
};
pub use estimate::Estimate;
pub use flow::{Activity, BaseUse, Driver, Measure, Move, Per};
pub use journal::{Standing, standing};
pub use often::Often;
pub use once::once_each;
pub use outlook::DayWeather;
pub use place::{Home, Place, TypicalWeather};
pub use plans::{Plan, PlanOutcome};
pub use quantity::{Amount, Quantity};
pub use rig::{KitChange, Parts, Rig};
pub use stock::{Direction, Gauge, Stock, is_called};
pub use time::{Moment, Zone, after_hours, hours_between};
pub use timeline::Timeline;
pub use unit::{Unit, UnitSystem};
