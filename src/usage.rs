//! Where it goes: what used up each stock, week by week, beside the usual and beside what was
//! foretold; the battery's day by the hour; what a trip came to.
//!
//! Nothing here is measured apart. The same exposures and coefficients that move the levels are
//! summed by cause ([`crate::mechanism::held`]), with what is believed of them now. Where readings
//! say more than that, the difference is told as what nothing explains.
//!
//! [`account::accounts`] is quick enough for a screen. [`foretold::foretold`] and
//! [`trip::forced`] repeat past evenings, which takes some milliseconds for each.

pub mod account;
pub mod battery;
mod era;
pub mod foretold;
pub mod spent;
pub mod trip;

// The face of this folder: what is named most often, by its short path.
pub use account::{Account, StockUse, accounts};
pub use battery::{BatteryDay, BatteryHour};
pub use foretold::UseBand;
pub use spent::Spent;
pub use trip::{Forced, PastVisit, Totals};
