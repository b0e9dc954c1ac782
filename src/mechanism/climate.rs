//! What sun and cold do to the stocks in one hour: panels, fridge, heater, standing draws.
//!
//! These are the flows that are not linear in anything: a heater has nothing to do above the
//! wanted temperature, cold cells refuse charge. Everything uncertain about them is a
//! coefficient like any other. Replay, lives, plans and what is told of a stock all go through
//! [`Kit`], whose formulas are [`crate::physics`]'s.
//!
//! Some effects are simple on purpose:
//!
//! - People aboard open windows once it is warmer inside than they like
//!   ([`aired_c`](crate::physics::heat::aired_c)); nobody airs a van left alone.
//! - What sources of heat draw, fans and starts together, is one factor.
//! - What is said within half an hour of a full hour moves the battery at that hour.
//! - A season's mean cloud lets through what skies that are mostly clear or mostly covered do
//!   ([`mean_cloud_factor`](crate::physics::sky::mean_cloud_factor)).
//! - A battery's capacity follows the mean current of each hour
//!   ([`drain_wh`](crate::physics::battery::drain_wh)), so short peaks cost less than a curve of
//!   single discharges says.
//! - Light feeds the hour's loads first; what is left goes through the battery.
//! - Panels have air behind them. One that is glued to the roof runs hotter, which its factor
//!   learns.
//! - Frost warns of a stock but takes nothing out of use.
//! - A source of heat whose fuel is out gives way to the next, to the hour; what else than heat takes
//!   of that fuel is heard of a day later. A battery that heats is never out.
//! - A life whose only fuel for heat is out goes on as warm as before, heaters' draw included; its
//!   cold hours are counted, battery and fridge do not notice. That touches only
//!   hours after the fuel has met its own limit, so it cannot change what binds first or when the
//!   next stop is forced. The battery's own later dates would move a little either way: no fan, a
//!   cooler fridge, but cells that may refuse charge. Fuel is summed by the day and the battery
//!   stepped by the hour, so knowing the hour would cost a second walk.
//! - A kit change ahead takes stocks away on its day; parts that it brings wait until then.

mod kit;
pub mod lanes;
mod light;
mod values;
mod warming;

pub use kit::{Kit, KitHour};
pub use light::LightHour;
pub use values::{ClimateValues, FuelsOut, HourFlows, HourWeather, Surroundings};
