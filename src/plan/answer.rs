//! What is asked about a stretch, and what is answered. A screen shows these as they are.

use super::change::Change;
use super::proposal::Proposal;
use crate::domain::{Direction, Estimate, Moment, Spot, Unit};

/// Which weather is expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Weather {
    /// The outlook while it lasts, then what is usual.
    #[default]
    Outlook,
    /// What is usual for the season only.
    Typical,
}

/// A stretch that is thought of.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// When it begins; `None` = now.
    pub from: Option<Moment>,
    /// Nights without service, at least 1.
    pub nights: u32,
    /// Where; `None` = where the van stands, or is planned to.
    pub place: Option<Spot>,
    /// Which weather.
    pub weather: Weather,
    /// People aboard throughout; `None` = as the journal says and plans.
    pub crew: Option<f64>,
    /// Everything that can be serviced is, just before it begins.
    pub fill_first: bool,
    /// How sure to be, `(0, 1)`: 0.9 is nine in ten.
    pub confidence: f64,
    /// Number of lives.
    pub lives: usize,
    /// Seed of every draw.
    pub seed: u64,
}

impl Request {
    /// So many nights from now, here, with everything as it is, nine in ten sure.
    pub fn here_for(nights: u32) -> Request {
        Request {
            from: None,
            nights,
            place: None,
            weather: Weather::Outlook,
            crew: None,
            fill_first: false,
            confidence: 0.9,
            lives: 2000,
            seed: 1,
        }
    }
}

/// How one stock fares.
#[derive(Debug, Clone, PartialEq)]
pub struct StockEnd {
    /// Name, as in the rig.
    pub name: String,
    /// Unit of all amounts.
    pub unit: Unit,
    /// Which way it runs.
    pub runs: Direction,
    /// What it holds when full.
    pub capacity: f64,
    /// The level that forces a stop.
    pub limit: f64,
    /// Level when the stretch begins.
    pub start: Estimate,
    /// Level on the last morning, median life; beyond empty or full by what is missing.
    pub end: f64,
    /// How far inside its limit it stays throughout, at the asked confidence, in its unit;
    /// negative by what is short.
    pub margin: f64,
    /// Share of lives in which it meets its limit before the last morning.
    pub out: f64,
    /// Share of lives in which it is the first to meet its limit, whenever that is.
    pub binding: f64,
    /// The stock that warms the van when this one is at its limit, which forces no stop then: it is
    /// never out here, and lasts.
    pub stood_in_by: Option<String>,
    /// Until when it lasts with the asked confidence; `None` past what was looked at.
    pub until: Option<Moment>,
}

/// How long one can stay with one confidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Longest {
    /// Share of lives in which nothing runs out.
    pub confidence: f64,
    /// Whole nights, each ending with its morning.
    pub nights: u32,
    /// The lives did not run further: it may be longer.
    pub or_more: bool,
    /// Moment at which that confidence is used up; `None` past what was looked at.
    pub until: Option<Moment>,
}

/// What to do to one stock before leaving.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Index of the stock.
    pub stock: usize,
    /// At least so much goes in, or comes out, in the stock's unit; rounded up.
    pub amount: f64,
    /// It has to be serviced all the way: filled to the brim, emptied altogether.
    pub whole: bool,
    /// What it takes: `fill`, `empty`, `charge`, or moving to another camp.
    pub kind: StepKind,
    /// For a charge: hours on the hook-up, or driven, that bring it; from the rig's own rates.
    pub hours: Option<(f64, crate::domain::flow::Driver)>,
}

/// What a step before leaving is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepKind {
    /// Fill a stock that runs down.
    Fill,
    /// Empty a stock that fills up.
    Empty,
    /// Charge the battery.
    Charge,
    /// Move to another camp, which starts the count anew.
    Move,
}

/// The least that makes the stretch work, or the most that can be done when it does not.
#[derive(Debug, Clone, PartialEq)]
pub struct Before {
    /// What to do, in the rig's order; empty when nothing helps.
    pub steps: Vec<Step>,
    /// Share of lives without a limit met after these steps.
    pub probability: f64,
    /// Whether that is enough.
    pub works: bool,
}

/// A change that a crew would consider, with what it buys.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// What it is.
    pub proposal: Proposal,
    /// The change itself.
    pub changes: Vec<Change>,
    /// Hours that it adds to what is safe at the asked confidence.
    pub hours: f64,
    /// The lives did not run further: it may add more.
    pub or_more: bool,
    /// Share of lives without a limit met, with it.
    pub probability: f64,
    /// What it adds to that share.
    pub gain: f64,
    /// It burns fuel or makes a fire: the cautions belong beside it.
    pub burns: bool,
}

/// The smallest set of choices that makes the stretch work, found by taking the best next one.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// Indices into [`Stretch::choices`].
    pub choices: Vec<usize>,
    /// Share of lives without a limit met, with all of them.
    pub probability: f64,
    /// Hours that they add together.
    pub hours: f64,
    /// Whether that is enough.
    pub works: bool,
}

/// How much of an activity can be afforded, all else as usual.
#[derive(Debug, Clone, PartialEq)]
pub struct Afford {
    /// Index of the activity.
    pub activity: usize,
    /// Its name in the plural.
    pub plural: String,
    /// What is counted.
    pub counted_in: Unit,
    /// What habit expects over the stretch.
    pub usual: f64,
    /// The most that still works, rounded down; `None` when not even none of it works.
    pub most: Option<f64>,
    /// It is not what limits the stretch: more than this was not tried.
    pub or_more: bool,
}

/// What has to be done first for what can be afforded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum AffordAfter {
    /// Nothing: the stretch works as it is.
    #[default]
    Nothing,
    /// The stocks of [`Before::steps`] are serviced all the way first.
    Serviced,
    /// The choices of [`Together`] are made.
    Together,
}

/// What could make it work, each by itself.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Otherwise {
    /// So many nights work as things are.
    pub nights: u32,
    /// So many work when everything is serviced first.
    pub nights_serviced: u32,
    /// One stop on the way, and the share of lives in which it does.
    pub stop: Option<(Moment, String, f64)>,
    /// So many people aboard instead.
    pub people: Option<u32>,
    /// So much more of each stock carried, full or empty: `(stock, amount)` in its unit.
    pub carry: Vec<(usize, f64)>,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stretch {
    /// The moment that counts as now.
    pub at: Moment,
    /// When the stretch begins.
    pub from: Moment,
    /// The last morning, 10:00: the stretch works when no limit is met before it.
    pub until: Moment,
    /// Nights.
    pub nights: u32,
    /// How sure was asked.
    pub confidence: f64,
    /// Number of lives, and their seed.
    pub lives: usize,
    /// Seed of every draw.
    pub seed: u64,
    /// Where the nights are spent.
    pub place: String,
    /// People aboard at the beginning.
    pub aboard: f64,
    /// Whether everything was serviced first.
    pub fill_first: bool,
    /// Hours of hook-up at the place asked for that are counted on, as it begins.
    pub hook_up_hours: Option<f64>,
    /// Share of lives in which no limit is met before the last morning.
    pub probability: f64,
    /// Whether that is at least what was asked.
    pub works: bool,
    /// Until when no limit is met, with the asked confidence; `None` past what was looked at.
    pub safe_until: Option<Moment>,
    /// Index of the stock that is most often the first to meet its limit.
    pub binding: Option<usize>,
    /// Each stock, in the rig's order.
    pub stocks: Vec<StockEnd>,
    /// How long one can stay, at 90, 80 and 50 %.
    pub longest: Vec<Longest>,
    /// What to do before leaving; `None` when the stretch works as it is.
    pub before: Option<Before>,
    /// What buys time, best first.
    pub choices: Vec<Choice>,
    /// The smallest set of those that makes it work; `None` when it works already.
    pub together: Option<Together>,
    /// What could make it work, where nothing of that does.
    pub otherwise: Option<Otherwise>,
    /// How much of each activity can be afforded.
    pub afford: Vec<Afford>,
    /// What that counts on.
    pub afford_after: AffordAfter,
}
