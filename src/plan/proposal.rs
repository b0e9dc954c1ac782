//! What a crew might change, as data: the words for it stand in `text`.

use crate::domain::{Driver, Moment, Unit};

/// How the name of an activity stands in a proposal: once, and several times.
#[derive(Debug, Clone, PartialEq)]
pub struct Named {
    /// "shower".
    pub one: String,
    /// "showers".
    pub many: String,
}

/// What is proposed. Names are those of the rig.
#[derive(Debug, Clone, PartialEq)]
pub enum Proposal {
    /// One occurrence fewer every two days.
    FewerEveryTwoDays(Named),
    /// Once a day, for each person where people do it each by themselves.
    OnceADay {
        /// The activity.
        activity: Named,
        /// Each person does it by itself.
        each_person: bool,
    },
    /// An hour less of it every day.
    HourLess(Named),
    /// One day in so many without it.
    DayWithout {
        /// The activity.
        activity: Named,
        /// Days of the stretch, whole.
        in_days: f64,
    },
    /// None until the last morning.
    Without(Named),
    /// Each time with a third less of a stock.
    ThirdLess {
        /// The activity.
        activity: Named,
        /// The stock.
        stock: String,
    },
    /// Every second time over a campfire.
    HalfOverFire(Named),
    /// Always over a campfire instead of on the battery.
    OverFire {
        /// The activity.
        activity: Named,
        /// The battery.
        instead_of: String,
    },
    /// On another stock instead of on the battery.
    On {
        /// The activity.
        activity: Named,
        /// The fuel.
        stock: String,
        /// The battery.
        instead_of: String,
    },
    /// The heater set lower, by so many K.
    Cooler(f64),
    /// An hour of a driver once, in the hour that holds this moment.
    RunOn(Driver, Moment),
    /// An hour of a driver every second day.
    RunEverySecondDay(Driver),
    /// Another camp, on this day.
    MoveOn(Moment),
    /// A jerrycan more of a stock that runs down, in L.
    Jerrycan {
        /// The stock.
        stock: String,
        /// How much it holds, in L.
        litres: f64,
    },
    /// A container more for a stock that fills up.
    Container {
        /// The stock.
        stock: String,
        /// How much it holds.
        amount: f64,
        /// L or uses.
        unit: Unit,
    },
}
