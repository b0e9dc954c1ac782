//! A stock: a quantity with a level, a capacity and a limit, and the gauge that shows it.

use super::unit::Unit;

/// Which way a stock runs between services.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// Draining: it is filled at a stop and runs out (fresh water, diesel, battery, food).
    Down,
    /// Filling: it is emptied at a stop and runs full (grey water, toilet containers).
    Up,
}

impl Direction {
    /// The other one.
    pub fn opposite(self) -> Direction {
        if self == Direction::Down { Direction::Up } else { Direction::Down }
    }
}

/// How a stock's level can be read.
#[derive(Debug, Clone, PartialEq)]
pub enum Gauge {
    /// Nothing shows it; people guess, to half of the last digit that they write.
    None,
    /// Shows the nearest multiple of this share of capacity (0.25 = quarters), in `(0, 1]`.
    Step(f64),
    /// Lamps that light when a mark is passed: ascending shares of capacity in `(0, 1]`.
    /// "50 %" then means from 50 % up to the next mark. What is no mark was estimated.
    Ladder(Vec<f64>),
}

/// How far a share may lie from the mark that it means, as people round: 33 for a third.
const OFF_MARK: f64 = 0.01;

/// Half of the least width of a level that was estimated between lamps (0.03 to 0.08): about a
/// tenth of the tank, as finely as people judge a tank by eye. Common practice, no source.
const ESTIMATED: f64 = 0.05;

impl Gauge {
    /// Whether the gauge can show `share`. What it cannot show, or has no gauge, was estimated.
    pub fn shows(&self, share: f64) -> bool {
        match self {
            Gauge::None => false,
            Gauge::Step(_) => true,
            Gauge::Ladder(marks) => {
                let near = |mark: &f64| (mark - share).abs() <= OFF_MARK;
                // Above the last lamp there is nothing to tell "full" by but that all are lit.
                share <= OFF_MARK
                    || marks.iter().any(near)
                    || marks.last().is_some_and(|top| share > *top)
            }
        }
    }

    /// The shares of capacity that a reading of `share` stands for, as `(low, high)` within
    /// `[0, 1]`. `step` is a resolution that the entry itself states, which goes first;
    /// `half_digit` is half of the last digit written, as a share, used when nothing is declared.
    pub fn interval(&self, share: f64, step: Option<f64>, half_digit: f64) -> (f64, f64) {
        let around = |half: f64| ((share - half).clamp(0.0, 1.0), (share + half).clamp(0.0, 1.0));
        if let Some(step) = step {
            return around(step / 2.0);
        }
        match self {
            Gauge::Step(step) => around(step / 2.0),
            Gauge::None => around(half_digit),
            Gauge::Ladder(_) if !self.shows(share) => around(half_digit.max(ESTIMATED)),
            Gauge::Ladder(marks) => {
                let lit = |mark: &&f64| **mark <= share + OFF_MARK;
                let low = marks.iter().rev().find(lit).copied().unwrap_or(0.0);
                let high = marks.iter().find(|mark| !lit(mark)).copied().unwrap_or(1.0);
                (low, high)
            }
        }
    }
}

/// One stock of the rig. All amounts are in the stock's own unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// Its name, as entries and screens write it; unique in the rig, lower case.
    pub name: String,
    /// Other words that mean it in a log line.
    pub also: Vec<String>,
    /// Which way it runs.
    pub runs: Direction,
    /// Unit of its level, and of every amount here.
    pub unit: Unit,
    /// What it holds when full, in its unit; positive.
    pub capacity: f64,
    /// Kept back, in its unit: the reserve of a draining stock, the headroom of a filling one.
    /// At least 0, less than the capacity.
    pub margin: f64,
    /// What jerrycans or spare containers hold besides, in its unit; 0 for none. No level counts it:
    /// a plan says whether to take it along.
    pub spare: f64,
    /// How its level is read.
    pub gauge: Gauge,
    /// What stays in it when it is emptied as far as it goes, in its unit. At least 0, below the limit.
    pub dregs: f64,
    /// Electric energy to draw one unit of it, in Wh (a water pump); 0 for none.
    pub lift_wh: f64,
    /// Set back to its service level whenever the van moves camp (nights here).
    pub reset_by_camp: bool,
    /// Freezes below this outside temperature in degrees Celsius (an unheated tank), and is then
    /// told of ahead; `None` where frost does not reach it.
    pub freezes_below_c: Option<f64>,
}

/// Words of names; see the head of the table.
const CALLED: &str = include_str!("../../assets/called.txt");

/// Whether a stock's name says that it is what a row of `assets/called.txt` is of.
pub fn is_called(name: &str, row: &str) -> bool {
    let rows = CALLED.lines().filter_map(|line| line.split_once(": "));
    let mut words = rows.filter(|(of, _)| *of == row).flat_map(|(_, words)| words.split(", "));
    words.any(|word| name.contains(word))
}

impl Stock {
    /// Whether its name says that it is what a row of `assets/called.txt` is of.
    pub fn is_called(&self, row: &str) -> bool {
        is_called(&self.name, row)
    }

    /// The level that forces a stop, in its unit.
    pub fn limit(&self) -> f64 {
        match self.runs {
            Direction::Down => self.margin,
            Direction::Up => self.capacity - self.margin,
        }
    }

    /// The level that a full service leaves, in its unit: full when draining, dregs when filling.
    pub fn serviced_level(&self) -> f64 {
        match self.runs {
            Direction::Down => self.capacity,
            Direction::Up => self.dregs,
        }
    }

    /// Whether `level`, in its unit, has met the limit.
    pub fn is_out(&self, level: f64) -> bool {
        match self.runs {
            Direction::Down => level <= self.limit(),
            Direction::Up => level >= self.limit(),
        }
    }

    /// Whether `out` taken from a level believed to be `mean`, give or take `sd`, is about all
    /// there was, so that nothing is left; all in the stock's unit. A tenth off always counts as
    /// all, a fifth where the level is no better known. (Our own rule, no source.)
    pub fn is_about_all(&self, out: f64, mean: f64, sd: f64) -> bool {
        out >= mean - sd.clamp(0.1 * mean.max(0.0), 0.2 * mean.max(0.0))
    }
}

#[cfg(test)]
impl Stock {
    /// A stock for tests: no margin, no gauge, and nothing else to it.
    pub(crate) fn plain(name: &str, runs: Direction, unit: Unit, capacity: f64) -> Stock {
        Stock {
            name: name.to_owned(),
            also: Vec::new(),
            runs,
            unit,
            capacity,
            margin: 0.0,
            gauge: Gauge::None,
            dregs: 0.0,
            lift_wh: 0.0,
            reset_by_camp: false,
            freezes_below_c: None,
            spare: 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_is_an_interval() {
        let quarters = Gauge::Step(0.25);
        assert_eq!(quarters.interval(0.5, None, 0.005), (0.375, 0.625));
        assert_eq!(quarters.interval(0.0, None, 0.005), (0.0, 0.125));
        assert_eq!(quarters.interval(0.5, Some(0.1), 0.005), (0.45, 0.55));
        let lamps = Gauge::Ladder(vec![0.25, 0.5, 0.75]);
        assert_eq!(lamps.interval(0.5, None, 0.005), (0.5, 0.75));
        assert_eq!(lamps.interval(0.0, None, 0.005), (0.0, 0.25));
        assert_eq!(lamps.interval(0.75, None, 0.005), (0.75, 1.0));
        assert_eq!(Gauge::None.interval(0.5, None, 0.125), (0.375, 0.625));
    }

    /// Nobody reads 40 % off lamps at quarters: somebody looked, and judged it to a tenth or so.
    #[test]
    fn what_is_no_mark_of_the_lamps_was_estimated() {
        let lamps = Gauge::Ladder(vec![0.33, 0.66, 0.9]);
        let interval = |share, half| lamps.interval(share, None, half);
        let about = |(low, high): (f64, f64), wanted: (f64, f64)| {
            (low - wanted.0).abs() < 1e-9 && (high - wanted.1).abs() < 1e-9
        };
        assert!(about(interval(0.4, 0.005), (0.35, 0.45)) && !lamps.shows(0.4));
        // Said to the nearest fifth, it is no better than that.
        assert!(about(interval(0.4, 0.1), (0.3, 0.5)));
        assert_eq!(interval(1.0 / 3.0, 0.005), (0.33, 0.66));
        assert_eq!((interval(0.0, 0.005), interval(1.0, 0.005)), ((0.0, 0.33), (0.9, 1.0)));
        assert!([0.0, 0.33, 0.9, 1.0].iter().all(|share| lamps.shows(*share)));
    }
}
