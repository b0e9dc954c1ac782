//! The answer of one evening: what both fronts show and neither computes.

use super::practice::WORTH_A_LOOK;
pub use super::season::OddSeason;
pub use crate::belief::electric::Cause;
pub use crate::belief::watch::Unexplained;
pub use crate::domain::estimate::{Estimate, PastReading};
use crate::domain::{Direction, Moment, Per, Plan, Unit};
use crate::mechanism::coefficient::Meaning;
use chrono::NaiveDate;

/// How many hours ahead the lives run, from when, how many, with which seed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// The moment that counts as now.
    pub at: Moment,
    /// Seed of every draw.
    pub seed: u64,
    /// Number of lives, at least 1.
    pub lives: usize,
    /// Hours ahead.
    pub horizon_hours: usize,
    /// Whether to keep each stock's fan of levels (the stock screen wants it, others do not).
    pub with_fans: bool,
}

impl Options {
    /// The usual evening: 2,000 lives over 30 days, seed 1, no fans.
    pub fn at(at: Moment) -> Options {
        Options { at, seed: 1, lives: 2000, horizon_hours: 720, with_fans: false }
    }
}

impl Default for Options {
    /// The same, until the moment is known.
    fn default() -> Options {
        Options::at(Moment::default())
    }
}

/// The quantiles that are shown and scored, in hours from `at`; `None` past the horizon.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Quantiles {
    /// 5 %.
    pub p05: Option<f64>,
    /// 10 %: nine in ten lives last longer.
    pub p10: Option<f64>,
    /// 25 %.
    pub p25: Option<f64>,
    /// 50 %.
    pub p50: Option<f64>,
    /// 75 %.
    pub p75: Option<f64>,
    /// 90 %.
    pub p90: Option<f64>,
    /// 95 %.
    pub p95: Option<f64>,
}

impl Quantiles {
    /// Whether the limit is reached by now in half of the lives.
    pub fn is_reached(&self) -> bool {
        self.p50.is_some_and(|hours| hours <= 0.0)
    }
}

/// Levels that the lives hold at one moment ahead, in the stock's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FanPoint {
    /// Hours from `at`.
    pub hour: f64,
    /// Level that one life in ten is below.
    pub p10: f64,
    /// Median level.
    pub p50: f64,
    /// Level that one life in ten is above.
    pub p90: f64,
}

/// A night on which a stock that recovers comes near its limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dip {
    /// Hours from `at` of that day's lowest median level.
    pub hour: f64,
    /// Share of lives that have met the limit by then, `[0, 1]`.
    pub out: f64,
    /// How near: the tenth-percentile distance to the limit as a share of capacity.
    pub room: f64,
}

/// How cold the van may get although it is heated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cold {
    /// Index of the stock that heat is made of; of several the one that lacks most often.
    pub stock: usize,
    /// How many hours ahead were looked at.
    pub hours_ahead: usize,
    /// Share of lives in which the van is at least once 2 K colder than wanted because its
    /// sources of heat give no more, or have no fuel but its reserve.
    pub share: f64,
    /// Expected hours of that, over all lives.
    pub hours: f64,
    /// Share of lives that are cold and in which the fuel met its limit within that time.
    pub no_fuel: f64,
}

/// A night on which a stock may freeze where it stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frost {
    /// Index of the stock.
    pub stock: usize,
    /// The civil day on which that night ends.
    pub morning: NaiveDate,
    /// Chance that it is colder than the stock bears for four hours or more.
    pub chance: f64,
    /// The temperature below which it freezes, in degrees Celsius.
    pub limit_c: f64,
}

/// One stock's future.
#[derive(Debug, Clone, PartialEq)]
pub struct StockForecast {
    /// Name, as in the rig.
    pub name: String,
    /// Unit of level, capacity and limit.
    pub unit: Unit,
    /// Which way it runs.
    pub runs: Direction,
    /// What it holds when full.
    pub capacity: f64,
    /// The level that forces a stop.
    pub limit: f64,
    /// Level now.
    pub level: Estimate,
    /// Hours to the limit if nobody services it and habits go on; 0 where it is met already.
    pub hours: Quantiles,
    /// Share of lives in which the limit is not met within the horizon.
    pub beyond_horizon: f64,
    /// Share of lives in which this stock is the first to meet its limit.
    pub binding: f64,
    /// The stock that warms the van when this one is at its limit, which forces no stop then; `binding`
    /// is 0 where there is one.
    pub stood_in_by: Option<String>,
    /// What moves it in a day, all together, over the first three days as people live now, in the
    /// stock's unit; empty and full do not stop it.
    pub per_day: f64,
    /// Nights near the limit, only for stocks that recover (a battery under panels).
    pub dips: Vec<Dip>,
    /// Levels ahead, every six hours; empty unless asked for.
    pub fan: Vec<FanPoint>,
}

/// The next forced stop.
#[derive(Debug, Clone, PartialEq)]
pub struct NextStop {
    /// Hours to the first limit met.
    pub hours: Quantiles,
    /// P10: be at a stop by then and nine times in ten nothing has run out.
    pub by: Option<Moment>,
    /// P50.
    pub likely: Option<Moment>,
    /// Index of the stock that binds most often, if any binds within the horizon.
    pub binding: Option<usize>,
    /// Share of lives in which one binds within the horizon.
    pub chance: f64,
}

/// What lies ahead.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// The moment that counts as now.
    pub at: Moment,
    /// How far the lives ran, in hours.
    pub horizon_hours: usize,
    /// How many lives.
    pub lives: usize,
    /// Seed of every draw.
    pub seed: u64,
    /// Each stock, in the rig's order.
    pub stocks: Vec<StockForecast>,
    /// The first limit met.
    pub next: NextStop,
    /// Whether heat keeps up; `None` without a source of it.
    pub cold: Option<Cold>,
    /// First likely night of frost of each stock that stands in it.
    pub frosts: Vec<Frost>,
}

impl Forecast {
    /// The first stock whose level is no number, after which nothing of the forecast can be
    /// trusted; `None` when all are.
    pub fn unknown(&self) -> Option<&str> {
        let unknown =
            |stock: &&StockForecast| !(stock.level.mean.is_finite() && stock.level.sd.is_finite());
        self.stocks.iter().find(unknown).map(|stock| stock.name.as_str())
    }

    /// The stock to drive for, whose band starts first; `None` where none meets its limit in sight.
    pub fn foremost(&self) -> Option<&StockForecast> {
        let first = &self.stocks[*self.by_urgency().first()?];
        Some(first).filter(|stock| stock.hours.p10.is_some() && stock.stood_in_by.is_none())
    }

    /// Indices of the stocks in order of urgency: those that force a stop first; earliest P10 first,
    /// then P50, then the larger share of lives in which it binds, then the rig's order.
    pub fn by_urgency(&self) -> Vec<usize> {
        let key = |i: &usize| {
            let stock = &self.stocks[*i];
            let far = |q: Option<f64>| q.unwrap_or(f64::INFINITY);
            let stood_in = f64::from(u8::from(stock.stood_in_by.is_some()));
            (stood_in, far(stock.hours.p10), far(stock.hours.p50), -stock.binding)
        };
        let mut order: Vec<usize> = (0..self.stocks.len()).collect();
        order.sort_by(|a, b| key(a).partial_cmp(&key(b)).unwrap_or(std::cmp::Ordering::Equal));
        order
    }
}

/// What a journal can teach.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lesson {
    /// A number that flows depend on.
    Coefficient(Meaning),
    /// How often people do something.
    Habit {
        /// Plural of the activity.
        plural: String,
        /// Whether its rate is of a person's day, or of the van's.
        per: Per,
    },
}

/// What was learned about one coefficient, habit or factor, beside what the rig file says.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedValue {
    /// What it is.
    pub what: Lesson,
    /// Unit in words (`L`, `times`, or empty for a factor).
    pub unit: String,
    /// Stocks it moves, by name.
    pub stocks: Vec<String>,
    /// What the rig file says.
    pub reference: Estimate,
    /// What the journal makes of it.
    pub learned: Estimate,
    /// How much evidence: occurrences logged (or days, for base use).
    pub occurrences: f64,
    /// How many readings, fills and empties bore on it.
    pub readings: usize,
}

/// Something the crew should know this evening.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// Name of the stock that it is about, if one.
    pub stock: Option<String>,
    /// What it is.
    pub matter: Matter,
    /// When a plan was to see to the stock of which nobody has said whether it was done; it may
    /// explain what does not fit.
    pub open_plan: Option<Moment>,
}

impl Notice {
    /// A notice that no plan bears on.
    pub fn new(stock: Option<String>, matter: Matter) -> Notice {
        Notice { stock, matter, open_plan: None }
    }

    /// What is wrong, where the notice is an alarm.
    pub fn alarm(&self) -> Option<&Alarm> {
        match &self.matter {
            Matter::Alarm(alarm) => Some(alarm),
            _ => None,
        }
    }
}

/// What a notice says.
#[derive(Debug, Clone, PartialEq)]
pub enum Matter {
    /// Heat may not keep the van warm; the stock is what it is made of.
    StaysCold(Cold),
    /// The stock may freeze where it stands.
    MayFreeze(Frost),
    /// Nothing ever told how full these stocks are, by name.
    NeverRead(Vec<String>),
    /// Something moves the stock, or holds its gauge, that nothing explains.
    Alarm(Alarm),
    /// One reading of the stock was far from what was expected.
    Misfit {
        /// When it was read.
        at: Moment,
        /// When it was read or seen to before, if ever.
        before: Option<Moment>,
        /// The lowest and the highest level that it stands for, in the stock's unit.
        read: (f64, f64),
        /// The level that was expected, in that unit.
        expected: Estimate,
        /// That unit.
        unit: Unit,
        /// What the stock holds when full.
        capacity: f64,
        /// Which way it runs.
        runs: Direction,
        /// What it holds.
        holds: Holds,
    },
    /// So many days of late went by without a word.
    SilentDays(usize),
    /// So many pairs of entries of late may be one thing logged twice.
    PossibleTwins(usize),
}

/// A change that nothing explains, with what its wording hangs on.
#[derive(Debug, Clone, PartialEq)]
pub struct Alarm {
    /// What was seen.
    pub change: Unexplained,
    /// Which way the stock runs.
    pub runs: Direction,
    /// Unit of the stock.
    pub unit: Unit,
    /// What the stock holds when full, in that unit.
    pub capacity: f64,
    /// What it holds.
    pub holds: Holds,
}

/// What a stock holds, as far as it matters to where a crew should look when some is gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Electric charge.
    Charge,
    /// Electric charge, and no panels bring any.
    ChargeWithoutSun,
    /// What the van is warmed with.
    HeatFuel,
    /// What a fire is fed with by hand.
    FedFire,
    /// Anything else.
    Other,
}

/// What a reading is worth: how much of the next stop's band it would take away.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingValue {
    /// Name of the stock.
    pub stock: String,
    /// Whether something shows its level; else people guess.
    pub gauge: bool,
    /// When it is taken.
    pub when: ReadingTime,
    /// Share of the band from P10 to P90 that the reading takes away on average, `[0, 1]`.
    pub narrows: f64,
}

/// When a reading is worth most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadingTime {
    /// Now.
    Tonight,
    /// When the battery is lowest, before the sun is on the panels: an evening's reading tells what a
    /// day took, not how much of it the night did.
    AtBreakfast,
}

/// Everything that one evening's screens show.
#[derive(Debug, Clone, PartialEq)]
pub struct Evening {
    /// What lies ahead.
    pub forecast: Forecast,
    /// Name of the place where the van stands.
    pub place: String,
    /// Nights spent here so far, counting tonight; 0 where the journal does not say since when.
    pub nights_here: u32,
    /// People aboard now.
    pub aboard: f64,
    /// What was learned.
    pub learned: Vec<LearnedValue>,
    /// What the crew should know.
    pub notices: Vec<Notice>,
    /// What a reading of each stock that was not seen to lately, and one of the battery at breakfast,
    /// would take off the next stop's band, the most first.
    pub looks: Vec<ReadingValue>,
    /// Plans ahead, and those whose time has passed without a word, in order of time.
    pub plans: Vec<Plan>,
    /// The next forced stop if the open ones among them were done; `None` where none is open.
    /// The forecast itself counts them as not done.
    pub if_done: Option<NextStop>,
    /// What the rig file expects of the season, where it cannot be.
    pub odd_season: Option<OddSeason>,
    /// Past readings per stock, in the rig's order, oldest first, of the last six weeks.
    pub history: Vec<Vec<PastReading>>,
}

impl Evening {
    /// The reading that would sharpen the next stop's band most, if one is worth taking.
    pub fn worth_a_look(&self) -> Option<&ReadingValue> {
        self.looks.first().filter(|look| look.narrows >= WORTH_A_LOOK)
    }

    /// Past readings of a stock, oldest first, of the last six weeks.
    pub fn readings(&self, stock: &str) -> &[PastReading] {
        let index = self.forecast.stocks.iter().position(|other| other.name == stock);
        index.and_then(|index| self.history.get(index)).map_or(&[], Vec::as_slice)
    }
}
