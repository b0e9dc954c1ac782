//! Before you go: the least filling and emptying that makes a stretch work.
//!
//! In each life every stock is short of something, or nothing; what is short depends only on
//! what moves the stock, so it can be read off one run. The steps are chosen as the fewest
//! stocks to see to (least to carry among equals), then the smallest amounts that leave a
//! limit unmet in enough lives jointly. The steps are then run as a track of their own, and that
//! run is what the answer says.

use super::answer::{Before, Step, StepKind};
use super::case::{Case, Outcome};
use super::hook_up;
use crate::domain::{Direction, Stock, Unit};
use crate::forecast::passages;
use crate::forecast::variants::LevelChange;

/// Most stocks whose every combination is tried; a rig with more looks at the neediest.
const MOST_STOCKS: usize = 12;

/// Finds the steps, from the outcome of the stretch as it is.
pub fn before(case: &Case, asis: &Outcome, confidence: f64) -> Before {
    // What comes after the last morning is nothing to this question.
    let case = &case.clone().cut(0, case.lives);
    let stocks = case.beliefs.mechanism.stocks();
    let lives = asis.first.len();
    let short: Vec<Vec<f64>> = asis
        .lives
        .room
        .iter()
        .zip(&case.scene.stood_in)
        .map(|(room, stood_in)| {
            let short = |r: &f64| if *r > 0.0 || *stood_in { 0.0 } else { -r + 1e-9 };
            room.iter().map(short).collect()
        })
        .collect();
    let needy = |s: &usize| short[*s].iter().filter(|d| **d > 0.0).count();
    let mut candidates: Vec<usize> =
        (0..stocks.len()).filter(|s| case.can_be_serviced(*s) && needy(s) > 0).collect();
    // What is full or empty already has nothing to be done to it.
    candidates.retain(|s| free(asis, *s, &stocks[*s]) >= grain(&stocks[*s]));
    candidates.sort_by_key(|s| std::cmp::Reverse(needy(s)));
    candidates.truncate(MOST_STOCKS);
    let puts: Vec<(usize, LevelChange)> = candidates.iter().map(|s| case.service(*s)).collect();
    let serviced = case.limits_of_track(case.track(&puts));
    if serviced.probability < confidence {
        let steps = candidates.iter().map(|s| step(case, *s, f64::INFINITY, asis)).collect();
        return Before { steps, probability: serviced.probability, works: false };
    }
    let bit = |fine: bool, place: usize| u32::from(fine) << place;
    // Per life, bit by bit: the candidates that do as they are, and those that do once serviced;
    // lives in which another stock is short count for nothing.
    let mut fine: Vec<(u32, u32)> = Vec::with_capacity(lives);
    let others: Vec<&Vec<f64>> =
        (0..stocks.len()).filter(|s| !candidates.contains(s)).map(|s| &short[s]).collect();
    for life in (0..lives).filter(|life| others.iter().all(|short| short[*life] <= 0.0)) {
        fine.push(candidates.iter().enumerate().fold((0, 0), |(asis, done), (place, s)| {
            let kept = serviced.lives.passages[*s][life] >= case.until_hours;
            (asis | bit(short[*s][life] <= 0.0, place), done | bit(kept, place))
        }));
    }
    let all = (1u32 << candidates.len()) - 1;
    let works = |chosen: u32| {
        let good = fine.iter().filter(|(asis, done)| asis & !chosen | done & chosen == all);
        good.count() as f64 >= confidence * lives as f64
    };
    let each: Vec<f64> =
        candidates.iter().map(|s| quantile(&short[*s], confidence) / stocks[*s].capacity).collect();
    let within = |chosen: u32| (0..candidates.len()).filter(move |p| chosen & (1 << p) != 0);
    let carried = |chosen: u32| -> f64 { within(chosen).map(|place| each[place]).sum() };
    let mut sets: Vec<u32> = (0..1u32 << candidates.len()).collect();
    sets.sort_by(|a, b| {
        (a.count_ones()).cmp(&b.count_ones()).then(carried(*a).total_cmp(&carried(*b)))
    });
    let set = sets.into_iter().find(|set| works(*set)).unwrap_or(all);
    let chosen: Vec<usize> = within(set).map(|place| candidates[place]).collect();
    sized(case, asis, confidence, &short, chosen)
}

/// The smallest amounts for the chosen stocks.
fn sized(
    case: &Case,
    asis: &Outcome,
    confidence: f64,
    short: &[Vec<f64>],
    mut chosen: Vec<usize>,
) -> Before {
    chosen.sort_unstable();
    let stocks = case.beliefs.mechanism.stocks();
    let lives = asis.first.len();
    let others =
        |life: usize| (0..stocks.len()).all(|s| chosen.contains(&s) || short[s][life] <= 0.0);
    let fair: Vec<usize> = (0..lives).filter(|life| others(*life)).collect();
    let enough = |amounts: &[f64]| {
        let good = fair.iter().filter(|life| {
            chosen.iter().zip(amounts).all(|(s, amount)| short[*s][**life] <= *amount)
        });
        good.count() as f64 >= confidence * lives as f64
    };
    // One budget of misses for all, as large as the joint share allows.
    let at = |missed: f64| -> Vec<f64> {
        let up = |s: usize| {
            let grain = grain(&stocks[s]);
            (quantile(&short[s], 1.0 - missed) / grain).ceil() * grain
        };
        chosen.iter().map(|s| up(*s)).collect()
    };
    let (mut low, mut high) = (0.0, 1.0 - confidence);
    for _ in 0..20 {
        let middle = 0.5 * (low + high);
        if enough(&at(middle)) { low = middle } else { high = middle }
    }
    let mut amounts = at(low);
    // Then each as small as the others allow.
    for place in 0..amounts.len() {
        let grain = grain(&stocks[chosen[place]]);
        while amounts[place] >= grain {
            amounts[place] -= grain;
            if !enough(&amounts) {
                amounts[place] += grain;
                break;
            }
        }
    }
    finish(case, asis, confidence, &chosen, amounts)
}

/// Runs the steps; where the top of a tank cuts an amount short, goes on to a whole service.
fn finish(
    case: &Case,
    asis: &Outcome,
    confidence: f64,
    chosen: &[usize],
    mut amounts: Vec<f64>,
) -> Before {
    loop {
        let steps: Vec<Step> =
            chosen.iter().zip(&amounts).map(|(s, amount)| step(case, *s, *amount, asis)).collect();
        let puts: Vec<(usize, LevelChange)> = steps.iter().map(|step| put(case, step)).collect();
        let probability = case.limits_of_track(case.track(&puts)).probability;
        let works = probability >= confidence;
        if works || steps.iter().all(|step| step.whole) {
            return Before { steps, probability, works };
        }
        // Next to a step all the way, what an amount must be depends on the others; a little more is
        // always safe, and all the way is where this ends.
        let stocks = case.beliefs.mechanism.stocks();
        for (amount, s) in amounts.iter_mut().zip(chosen) {
            *amount += (0.05 * stocks[*s].capacity).max(grain(&stocks[*s]));
        }
    }
}

/// What a step does to the level.
pub fn put(case: &Case, step: &Step) -> (usize, LevelChange) {
    let stock = &case.beliefs.mechanism.stocks()[step.stock];
    let put = match (step.whole, stock.runs) {
        (true, _) => LevelChange::To(stock.serviced_level()),
        (false, Direction::Down) => LevelChange::By(step.amount),
        (false, Direction::Up) => LevelChange::By(-step.amount),
    };
    (step.stock, put)
}

fn step(case: &Case, index: usize, amount: f64, asis: &Outcome) -> Step {
    let stock = &case.beliefs.mechanism.stocks()[index];
    let free = free(asis, index, stock);
    let grain = grain(stock);
    let electric = case.beliefs.mechanism.electric == Some(index);
    let kind = match stock.runs {
        _ if stock.reset_by_camp => StepKind::Move,
        _ if electric => StepKind::Charge,
        Direction::Down => StepKind::Fill,
        Direction::Up => StepKind::Empty,
    };
    let whole = amount + 0.5 * grain >= free || kind == StepKind::Move;
    let amount = if whole { (free / grain).floor() * grain } else { amount };
    let charger = case.charger().filter(|_| kind == StepKind::Charge);
    let levels = &asis.lives.first[index];
    let hours = charger.map(|(driver, wh)| match whole {
        true => (hook_up::hours(levels, stock.serviced_level(), wh), driver),
        false => (hook_up::half_hours(amount / wh), driver),
    });
    Step { stock: index, amount, whole, kind, hours }
}

/// How far the mean level at the beginning is from a whole service, in the stock's unit.
fn free(asis: &Outcome, index: usize, stock: &Stock) -> f64 {
    let first = &asis.lives.first[index];
    let mean = first.iter().sum::<f64>() / first.len().max(1) as f64;
    (mean - stock.serviced_level()).abs()
}

/// The amount to which steps are rounded, in the stock's unit.
fn grain(stock: &Stock) -> f64 {
    match stock.unit {
        Unit::WattHour => 50.0,
        Unit::KilowattHour => 0.05,
        Unit::Kilogram => 0.1,
        _ if stock.capacity >= 20.0 => 1.0,
        _ => 0.5,
    }
}

fn quantile(values: &[f64], share: f64) -> f64 {
    passages::quantile(&passages::sorted(values.iter().copied()), share).unwrap_or(0.0)
}
