//! What lies behind one stock's dates: what moves it in a day, and what makes the date unsure.

use super::answer::Options;
use super::lives;
use super::practice::SMALL_DOUBT;
use super::sampler::{GroupDraw, Row, Sampler};
use super::scene::Scene;
use crate::belief::Beliefs;
use crate::domain::flow::Driver;
use crate::domain::journal::Standing;
use crate::domain::rig::Rig;
use crate::mechanism::climate::lanes::LANES;
use crate::mechanism::climate::{ClimateValues, Kit, heater_fuel};
use crate::mechanism::coefficient::Meaning;
use crate::mechanism::driver::Source;

/// What moves a stock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Moves {
    /// An activity's plural, or a base use, by its name in the rig file.
    Named(String),
    /// The heater, of what it burns.
    Heating,
    /// The sun, of what a battery stores.
    Sun,
    /// Fridge, heater fan and standing draw, of what a battery gives.
    Loads,
}

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

/// One thing that moves the stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Mover {
    /// What it is.
    pub what: Moves,
    /// Change a day over the next three days as people live now, in the stock's unit.
    pub per_day: f64,
}

/// One reason why the date is unsure.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// What is not known well.
    pub what: Unknown,
    /// Share of the date's variance that it explains, `[0, 1]`; shares sum to 1 at most, and what
    /// they leave is chance: the days' dice and the weather.
    pub share: f64,
}

/// What lies behind one stock's dates.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// What moves it, the largest first.
    pub movers: Vec<Mover>,
    /// What makes the date unsure, the largest first; those below one part in fifty left out.
    pub doubts: Vec<Doubt>,
    /// Coefficients that cannot be told apart, as they always came together so far.
    pub inseparable: Vec<(Meaning, Meaning)>,
    /// Mean outside temperature over the next three days, degrees Celsius.
    pub outside_c: f64,
    /// Mean share of the clear-sky sun over the next three days.
    pub clearness: f64,
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
        outside_c: mean(|sky| 0.5 * (sky.low_c + sky.high_c)),
        clearness: mean(|sky| sky.clearness),
    }
}

/// Change of a stock a day, all that moves it together, over the next three days as people live
/// now, in its unit. Empty and full do not stop it.
pub fn per_day(beliefs: &Beliefs, scene: &Scene, stock: usize) -> f64 {
    movers(beliefs, scene, stock).iter().map(|mover| mover.per_day).sum()
}

fn movers(beliefs: &Beliefs, scene: &Scene, stock: usize) -> Vec<Mover> {
    let near = &scene.hours[..NEAR.min(scene.hours.len())];
    let days = (near.len() as f64 / 24.0).max(1e-9);
    let mechanism = &beliefs.mechanism;
    let value = |index: usize| beliefs.coefficient(index).mean;
    let mut movers: Vec<Mover> = Vec::new();
    let mut add = |what: Moves, per_day: f64| match movers.iter_mut().find(|m| m.what == what) {
        Some(known) => known.per_day += per_day,
        None => movers.push(Mover { what, per_day }),
    };
    for flow in mechanism.flows.iter().filter(|flow| flow.stock == stock) {
        let each = flow.scale * value(flow.coefficient) * flow.share.map_or(1.0, value);
        let planned = |source: Source| -> f64 {
            near.iter().flat_map(|h| &h.planned).filter(|(s, _)| *s == source).map(|p| p.1).sum()
        };
        let (name, amount) = match flow.source {
            Source::Activity(a) => {
                let habit = &beliefs.habits[a];
                let usual: f64 = near
                    .iter()
                    .map(|hour| habit.daily_amount(hour.aboard) * scene.shares[a][hour.hour])
                    .sum();
                (mechanism.parts.activities[a].plural.clone(), usual + planned(flow.source))
            }
            Source::Driver(driver) => {
                let amount = match driver {
                    Driver::PersonDay => near.iter().map(|hour| hour.person_days).sum(),
                    Driver::Day => days,
                    _ => planned(flow.source),
                };
                (base_name(beliefs, flow.coefficient), amount)
            }
            Source::Climate => continue,
        };
        add(Moves::Named(name), each * amount / days);
    }
    for (what, per_day) in climate_movers(beliefs, scene, stock) {
        add(what, per_day);
    }
    movers.retain(|mover| mover.per_day.abs() > 1e-9);
    movers.sort_by(|a, b| b.per_day.abs().total_cmp(&a.per_day.abs()));
    movers
}

/// The base use that owns a coefficient, or else the stock that it moves.
fn base_name(beliefs: &Beliefs, coefficient: usize) -> String {
    match &beliefs.mechanism.coefficients[coefficient].what {
        Meaning::Amount { process, .. } | Meaning::Share { process, .. } => process.clone(),
        Meaning::Unexplained { stock } => stock.clone(),
        _ => String::new(),
    }
}

fn climate_movers(beliefs: &Beliefs, scene: &Scene, stock: usize) -> Vec<(Moves, f64)> {
    let mechanism = &beliefs.mechanism;
    let (fuel, electric) = (heater_fuel(mechanism), mechanism.electric);
    if fuel != Some(stock) && electric != Some(stock) {
        return Vec::new();
    }
    let values = ClimateValues::of(mechanism, |i| beliefs.coefficient(i).mean);
    let near = &scene.hours[..NEAR.min(scene.hours.len())];
    let kit: Kit<f64> = Kit::of(mechanism);
    let (mut burnt, mut sun, mut loads) = (0.0, 0.0, 0.0);
    for hour in near {
        let sky = &scene.days[hour.day].sky;
        let outside_c = sky.low_c + (sky.high_c - sky.low_c) * hour.warmth;
        let shared = kit.shared(hour.hour, hour.aboard, outside_c, &hour.sun);
        let flows = kit.alone(&shared, sky.clearness, &values);
        burnt += flows.fuel;
        loads += flows.load_wh;
        sun += kit.light_wh(&flows);
    }
    let days = (near.len() as f64 / 24.0).max(1e-9);
    let mut movers = Vec::new();
    if fuel == Some(stock) {
        movers.push((Moves::Heating, -burnt / days));
    }
    if electric == Some(stock) {
        movers.push((Moves::Sun, sun / days));
        movers.push((Moves::Loads, -loads / days));
    }
    movers
}

/// Squared rank correlation of each drawn quantity with the passage, over the lives.
fn doubts(beliefs: &Beliefs, scene: &Scene, stock: usize, options: Options) -> Vec<Doubt> {
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
    let mut doubts: Vec<Doubt> = Vec::new();
    let mut weigh = |what: Unknown, values: Vec<f64>| {
        let share = correlation(&ranks(&values), &target).powi(2);
        if share >= SMALL_DOUBT {
            doubts.push(Doubt { what, share });
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
