//! What lies behind one stock's dates: what moves it in a day, and what makes the date unsure.

use super::practice::SMALL_DOUBT;
use super::sampler::{GroupDraw, Row, Sampler};
use super::scene::Scene;
use super::{Options, lives};
use crate::belief::Beliefs;
use crate::belief::manner::Manner;
use crate::domain::{Estimate, Moment, Rig, Standing};
use crate::mechanism::climate::lanes::LANES;
use crate::mechanism::climate::{ClimateValues, FuelsOut, Kit, Surroundings};
use crate::mechanism::coefficient::Meaning;
use crate::mechanism::driver::{HOURS_LATER, Source};
use crate::mechanism::held::{Held, Moved, moved};
use std::ops::Range;

/// What is not known well about a stock's date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unknown {
    /// The level now.
    Level,
    /// A coefficient, by its name.
    Coefficient(Meaning),
    /// How often an activity happens, by its plural.
    HowOften(String),
}

/// One reason why the date is unsure.
#[derive(Debug, Clone, PartialEq)]
pub struct DateDoubt {
    /// What is not known well.
    pub what: Unknown,
    /// Share of the date's variance that it explains, `[0, 1]`; shares sum to 1 at most, and what
    /// they leave is chance: the days' dice and the weather.
    pub share: f64,
}

/// What lies behind one stock's dates.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// What moves it a day over the next three days as people live now, the largest first.
    pub movers: Vec<Moved>,
    /// What makes the date unsure, the largest first; those below one part in fifty left out.
    pub doubts: Vec<DateDoubt>,
    /// Coefficients that cannot be told apart, as they always came together so far.
    pub inseparable: Vec<(Meaning, Meaning)>,
    /// What was learned of days and of writing.
    pub days: DaysLearned,
    /// Mean outside temperature over the next three days, degrees Celsius.
    pub outside_c: f64,
    /// Mean share of the clear-sky sun over the next three days.
    pub clearness: f64,
}

/// What was learned of a crew's days and of what it writes, each beside what was assumed before
/// any journal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DaysLearned {
    /// Days of journal that were counted.
    pub counted: usize,
    /// Share of days on which all are out and nothing is used.
    pub out: [Estimate; 2],
    /// Share of uses that nobody writes, on days on which some are written.
    pub unwritten: [Estimate; 2],
    /// How far a day's base use is off the usual, with as many aboard as now: relative standard
    /// deviation.
    pub day_to_day: [f64; 2],
    /// Hours by which things are done later in the day than the rig's hours say.
    pub later_h: [Estimate; 2],
    /// Variance over mean of the daily count of the most regular and of the least regular habit, of
    /// those that were logged: 1 is by chance alone.
    pub regular: Option<[f64; 2]>,
}

impl DaysLearned {
    fn of(beliefs: &Beliefs, now: Moment) -> DaysLearned {
        let Beliefs { manner, habits, timeline, .. } = beliefs;
        let aboard = timeline.aboard(now);
        // Of all uses, not of those that are written; the spread follows the slope.
        let share = |ratio: Estimate| {
            let whole = 1.0 + ratio.mean;
            Estimate { mean: ratio.mean / whole, sd: ratio.sd / (whole * whole) }
        };
        let hours =
            |tilt: Estimate| Estimate { mean: tilt.mean * HOURS_LATER, sd: tilt.sd * HOURS_LATER };
        let activities = &beliefs.mechanism.parts.activities;
        let counted = habits.iter().zip(activities).filter(|(_, what)| !what.is_timed());
        let logged = counted.map(|(habit, _)| habit).filter(|habit| habit.logged > 0.0);
        let logged = logged.map(|habit| habit.fano.mean());
        let least = logged.clone().min_by(f64::total_cmp);
        DaysLearned {
            counted: beliefs.days_counted,
            out: [Manner::ASSUMED.out(), manner.out()],
            unwritten: [share(Manner::ASSUMED.unwritten), share(manner.unwritten)],
            later_h: [Manner::ASSUMED.later, manner.later].map(hours),
            day_to_day: [Manner::ASSUMED.base_day_sd(aboard), manner.base_day_sd(aboard)],
            regular: least.zip(logged.max_by(f64::total_cmp)).map(|(a, b)| [a, b]),
        }
    }
}

/// Hours ahead that the daily rates are averaged over.
const NEAR: usize = 72;

/// Explains the stock of that index.
pub fn why(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    stock: usize,
    options: Options,
) -> Why {
    let scene = Scene::of(rig, standing, beliefs, &options);
    let near = &scene.hours[..NEAR.min(scene.hours.len())];
    let days: Vec<_> = near.iter().map(|hour| &scene.days[hour.day].sky).collect();
    let mean = |of: fn(&crate::weather::DaySky) -> f64| {
        days.iter().map(|sky| of(sky)).sum::<f64>() / days.len().max(1) as f64
    };
    let name = |index: usize| beliefs.mechanism.coefficients[index].what.clone();
    let named = |(one, other): (usize, usize)| (name(one), name(other));
    Why {
        movers: movers(beliefs, &scene, stock),
        doubts: doubts(beliefs, &scene, stock, options),
        inseparable: beliefs.inseparable(stock).into_iter().map(named).collect(),
        days: DaysLearned::of(beliefs, options.at),
        outside_c: mean(|sky| 0.5 * (sky.low_c + sky.high_c)),
        clearness: mean(|sky| sky.clearness),
    }
}

/// Change of every stock a day, all that moves it together, over the next three days as people live
/// now, in its unit. Empty and full do not stop it.
pub fn per_day(beliefs: &Beliefs, scene: &Scene) -> Vec<f64> {
    let (held, days) = held_near(beliefs, scene);
    let stocks = 0..beliefs.mechanism.stocks().len();
    let all = |stock| ahead(beliefs, &held, stock).iter().map(|moved| moved.amount).sum::<f64>();
    stocks.map(|stock| all(stock) / days).collect()
}

fn movers(beliefs: &Beliefs, scene: &Scene, stock: usize) -> Vec<Moved> {
    let (held, days) = held_near(beliefs, scene);
    let mut movers = ahead(beliefs, &held, stock);
    movers.iter_mut().for_each(|moved| moved.amount /= days);
    movers.retain(|moved| moved.amount.abs() > 1e-9);
    movers
}

fn ahead(beliefs: &Beliefs, held: &Held, stock: usize) -> Vec<Moved> {
    moved(&beliefs.mechanism, held, |index| beliefs.coefficient(index).mean, stock)
}

/// What the next three days hold, and how many days these are where the scene is shorter.
fn held_near(beliefs: &Beliefs, scene: &Scene) -> (Held, f64) {
    let near = NEAR.min(scene.hours.len());
    (held(beliefs, scene, 0..near), (near as f64 / 24.0).max(1e-9))
}

/// What hours ahead hold as people live now: usual uses, base use, what is planned, and the weather
/// that is expected.
pub fn held(beliefs: &Beliefs, scene: &Scene, hours: Range<usize>) -> Held {
    let mechanism = &beliefs.mechanism;
    let values = ClimateValues::of(mechanism, |index| beliefs.coefficient(index).mean);
    let kit: Kit<f64> = Kit::of(mechanism);
    let mut held = Held::none(mechanism);
    let at_home = 1.0 - beliefs.manner.out().mean;
    let out = out_now(beliefs);
    for hour in &scene.hours[hours] {
        for (activity, habit) in beliefs.habits.iter().enumerate() {
            held.exposure.activities[activity] +=
                habit.true_rate().mean * scene.exposure(activity, habit, hour);
        }
        for (amount, rhythm) in held.exposure.base.iter_mut().zip(&mechanism.rhythms) {
            let share = if rhythm.per_person { at_home } else { 1.0 };
            *amount += share * rhythm.in_hour(hour.hour, hour.aboard);
        }
        for (source, amount) in &hour.planned {
            held.exposure.put(*source, *amount);
        }
        held.charged_wh += hour.planned_charge_wh;
        let sky = &scene.days[hour.day].sky;
        let around = Surroundings { out, ..hour.surroundings(sky) };
        let shared = kit.shared(around, &hour.sun);
        let (flows, burnt) = kit.alone(&shared, sky.clearness, &values);
        held.add_climate(&kit, (&flows, &burnt), (1.0, at_home));
    }
    held
}

/// Fuels for heat that are at their limit by now, where another stands in for them.
fn out_now(beliefs: &Beliefs) -> FuelsOut {
    let Beliefs { mechanism, .. } = beliefs;
    let fuels = mechanism.heat_fuels();
    let stands_in = fuels.len() > 1;
    let own = fuels.into_iter().flatten().filter(|_| stands_in);
    own.filter(|fuel| Some(*fuel) != mechanism.electric)
        .filter(|fuel| beliefs.level(*fuel).mean <= mechanism.stocks()[*fuel].limit())
        .fold(FuelsOut::default(), FuelsOut::with)
}

/// Squared rank correlation of each drawn quantity with the passage, over the lives.
fn doubts(beliefs: &Beliefs, scene: &Scene, stock: usize, options: Options) -> Vec<DateDoubt> {
    let count = options.lives;
    let lives = lives::run(beliefs, scene, options.seed, count);
    let horizon = scene.hours.len() as f64 + 1.0;
    let passages: Vec<f64> = lives.passages[stock].iter().map(|h| h.min(horizon)).collect();
    let target = ranks(&passages);
    let sampler = Sampler::of(beliefs, options.seed);
    let groups: Vec<_> = (0..count).step_by(LANES).map(|from| sampler.group(from)).collect();
    let over = |row: &dyn Fn(&GroupDraw) -> Row| -> Vec<f64> {
        groups.iter().flat_map(row).take(count).collect()
    };
    let mechanism = &beliefs.mechanism;
    let mut doubts: Vec<DateDoubt> = Vec::new();
    let mut weigh = |what: Unknown, values: Vec<f64>| {
        let share = correlation(&ranks(&values), &target).powi(2);
        if share >= SMALL_DOUBT {
            doubts.push(DateDoubt { what, share });
        }
    };
    weigh(Unknown::Level, over(&|g| g.levels[stock]));
    for (index, coefficient) in mechanism.coefficients.iter().enumerate() {
        if mechanism.stocks_moved_by(index).contains(&stock) {
            weigh(Unknown::Coefficient(coefficient.what.clone()), over(&|g| g.coefficients[index]));
        }
    }
    for (a, activity) in mechanism.parts.activities.iter().enumerate() {
        let moves =
            mechanism.flows.iter().any(|f| f.stock == stock && f.source == Source::Activity(a));
        if moves {
            weigh(Unknown::HowOften(activity.plural.clone()), over(&|g| g.rates[a]));
        }
    }
    // Things that are learned together hang together, and each then explains part of the other.
    let all: f64 = doubts.iter().map(|doubt| doubt.share).sum();
    if all > 1.0 {
        doubts.iter_mut().for_each(|doubt| doubt.share /= all);
    }
    doubts.sort_by(|a, b| b.share.total_cmp(&a.share));
    doubts
}

/// Ranks of values; equal ones share the middle of theirs. Ranked in order of appearance, two
/// things that never vary would seem to explain each other altogether.
fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|a, b| values[*a].total_cmp(&values[*b]));
    let mut ranks = vec![0.0; values.len()];
    let mut first = 0;
    for equal in order.chunk_by(|a, b| values[*a] == values[*b]) {
        let middle = first as f64 + 0.5 * (equal.len() - 1) as f64;
        equal.iter().for_each(|index| ranks[*index] = middle);
        first += equal.len();
    }
    ranks
}

/// Pearson correlation; 0 where one side does not vary.
fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len().max(1) as f64;
    let (mean_a, mean_b) = (a.iter().sum::<f64>() / n, b.iter().sum::<f64>() / n);
    let mut sums = (0.0, 0.0, 0.0);
    for (x, y) in a.iter().zip(b) {
        let (dx, dy) = (x - mean_a, y - mean_b);
        sums = (sums.0 + dx * dy, sums.1 + dx * dx, sums.2 + dy * dy);
    }
    let scale = (sums.1 * sums.2).sqrt();
    if scale > 0.0 { sums.0 / scale } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn correlation_of_lines_and_constants() {
        assert!((correlation(&[1.0, 2.0, 3.0], &[2.0, 4.0, 6.0]) - 1.0).abs() < 1e-12);
        assert!((correlation(&[1.0, 2.0, 3.0], &[3.0, 2.0, 1.0]) + 1.0).abs() < 1e-12);
        assert_eq!(correlation(&[1.0, 2.0], &[5.0, 5.0]), 0.0);
        assert_eq!(ranks(&[5.0, 1.0, 3.0]), vec![2.0, 0.0, 1.0]);
        assert_eq!(ranks(&[2.0, 7.0, 2.0, 2.0]), vec![1.0, 3.0, 1.0, 1.0]);
        // What never varies explains nothing, not even something else that never varies.
        assert_eq!(correlation(&ranks(&[4.0; 5]), &ranks(&[9.0; 5])), 0.0);
    }
}
