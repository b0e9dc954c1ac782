//! The electric store, as weighted draws run hour by hour through the remembered weather.
//!
//! A battery under panels is full by noon on a good day, and a clamp is exactly where a
//! linearised filter breaks. A few hundred draws of panel factor, loads and level are run through
//! the same hours instead, and corrected together at each reading.

mod stack;

use super::Innovation;
use super::past::Past;
use super::unlogged::Unlogged;
use crate::domain::entry::{After, Event};
use crate::domain::estimate::Estimate;
use crate::domain::quantity::Quantity;
use crate::mechanism::Mechanism;
use crate::mechanism::climate::{ClimateValues, Kit};
use crate::mechanism::coefficient::Nature;
use crate::mechanism::driver::Source;
use chrono::Duration;
use rand::{Rng, RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use stack::Stack;

/// One draw of everything electric.
#[derive(Debug, Clone, PartialEq)]
pub struct Draw {
    /// Stored energy now, in Wh.
    pub level_wh: f64,
    /// Values of all coefficients (only the electric ones differ between draws).
    pub coefficients: Vec<f64>,
    /// Weight; all weights sum to 1.
    pub weight: f64,
}

/// How many draws are kept.
const DRAWS: usize = 256;
/// Days of the past that the draws are run through.
const DAYS: i64 = 42;
/// Spread of one day's unlogged loads. Common practice, no source.
const LOAD: f64 = 0.12;

/// Error of a charge reading beyond its step, as a share of capacity (a monitor drifts with
/// temperature and load). Common practice, no source.
const READING_SD: f64 = 0.012;
/// How far a coefficient wanders in a day, as a share of itself: old evidence fades.
const WANDER: f64 = 0.012;

/// Weighted mean and standard deviation of something that draws hold.
pub fn weighted(draws: &[Draw], of: impl Fn(&Draw) -> f64) -> Estimate {
    let mean: f64 = draws.iter().map(|d| d.weight * of(d)).sum();
    let variance: f64 = draws.iter().map(|d| d.weight * (of(d) - mean).powi(2)).sum();
    Estimate { mean, sd: variance.max(0.0).sqrt() }
}

/// Climate values of a draw's coefficients.
pub fn climate_values(mechanism: &Mechanism, coefficients: &[f64]) -> ClimateValues {
    let value = |index: Option<usize>| index.map_or(0.0, |i| coefficients[i]);
    ClimateValues {
        panel_factor: value(mechanism.climate.panels),
        fridge_w: value(mechanism.climate.fridge),
        standing_w: value(mechanism.climate.standing),
        loss_w_per_k: value(mechanism.climate.heat_loss),
    }
}

/// Runs the draws through the past. `known` holds the joint belief's mean and spread of every
/// coefficient, from which those that are not electric are taken; `unlogged` tells what an
/// hour may hide. Empty without a battery.
pub fn run(
    past: &Past,
    mechanism: &Mechanism,
    known: &[Estimate],
    unlogged: &Unlogged,
    seed: u64,
) -> (Vec<Draw>, Vec<Innovation>) {
    let Some(electric) = mechanism.electric else { return (Vec::new(), Vec::new()) };
    let mut misfits: Vec<Innovation> = Vec::new();
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed ^ 0x6261_7474_6572_7921);
    let capacity = mechanism.stocks()[electric].capacity;
    let mut draws = first_draws(mechanism, known, capacity, &mut random);
    let kit = Kit::of(mechanism);
    let skip =
        ((past.hours.len() as i64 - DAYS * 24).max(0) as usize).max(since_kit(past, electric));
    let start = past.from + Duration::hours(skip as i64);
    // A journal that begins on the hour has its first entry at the start itself.
    let mut entries = past.entries.iter().filter(|e| e.at > start || skip == 0).peekable();
    let flows = Lines::of(mechanism, electric);
    // The others play no part here.
    let wandering: Vec<usize> = (0..mechanism.coefficients.len())
        .filter(|index| mechanism.stocks_moved_by(*index).contains(&electric))
        .collect();
    let mut stack = Stack::of(&draws, mechanism, &flows, capacity);
    for (index, hour) in past.hours.iter().enumerate().skip(skip) {
        if hour.hour == 0 || index == skip {
            stack.swing(|| [factor(super::knob("SUN",1.0)*hour.sun_sd, &mut random), factor(super::knob("LOAD", LOAD), &mut random)]);
            let doubts = occurrence_doubts(past, index, unlogged);
            stack.swing_activities(&doubts, |sd| factor(sd, &mut random));
            for draw in &mut draws {
                for index in &wandering {
                    draw.coefficients[*index] *= factor(super::knob("WANDER", WANDER), &mut random);
                }
            }
            stack.put_levels(&mut draws);
            stack.take_draws(&draws, mechanism, &flows);
        }
        let begins = past.from + Duration::hours(index as i64);
        let part = ((past.now - begins).num_seconds() as f64 / 3600.0).clamp(0.0, 1.0);
        let mut counts = unlogged.amounts(hour);
        for used in &past.used[index] {
            counts[used.activity] += used.amount / part.max(1e-9);
        }
        stack.hour(&kit, &flows, hour, &counts, part);
        while let Some(entry) = entries.next_if(|e| e.at <= begins + Duration::hours(1)) {
            stack.put_levels(&mut draws);
            if let Some((off, sd)) = misfit(&entry.event, mechanism, electric, &draws) {
                let since = misfits.last().map_or(entry.at, |before| before.at);
                misfits.push(Innovation { at: entry.at, since, off, sd });
            }
            take(&entry.event, mechanism, electric, &flows, &wandering, &mut draws, &mut random);
            match entry.event {
                // A reading may have replaced the draws.
                Event::Level { .. } => stack.take_draws(&draws, mechanism, &flows),
                _ => stack.take_levels(&draws),
            }
        }
    }
    stack.put_levels(&mut draws);
    // On the first evening there may be no hour between the first word and now.
    for entry in entries {
        take(&entry.event, mechanism, electric, &flows, &wandering, &mut draws, &mut random);
    }
    (draws, misfits)
}

/// Per activity, how far the day from hour `first` on may be off what its count asks for,
/// relative: one meal is not the next, and what nobody logged is as random as a Poisson law.
fn occurrence_doubts(past: &Past, first: usize, unlogged: &Unlogged) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); past.parts.activities.len()];
    let rest = 24 - past.hours[first].hour;
    for index in first..(first + rest).min(past.hours.len()) {
        let hour = &past.hours[index];
        for (activity, amount) in unlogged.amounts(hour).into_iter().enumerate() {
            sums[activity].0 += amount;
            sums[activity].1 += unlogged.variance(activity, amount, hour);
        }
        for used in &past.used[index] {
            sums[used.activity].0 += used.amount;
            sums[used.activity].1 += unlogged.occurrence_variance(used.activity, used.amount);
        }
    }
    let relative = |(amount, variance): &(f64, f64)| match *amount > 0.0 {
        true => variance.sqrt() / amount,
        false => 0.0,
    };
    sums.iter().map(relative).collect()
}

/// The hour of the past from which the present battery and its kit are in place: what was read
/// on an older one says nothing about this one.
fn since_kit(past: &Past, electric: usize) -> usize {
    let store = &past.parts.stocks[electric].name;
    let today = past.zone.date(past.now);
    let touches = |change: &&crate::domain::rig::Change| {
        change.from <= today
            && (change.parts.electrics.is_some()
                || change.parts.stocks.iter().any(|stock| stock.name == *store))
    };
    let last = past.rig.changes.iter().filter(touches).map(|change| change.from).max();
    last.map_or(0, |day| {
        let begins = past.zone.moment(day.and_time(chrono::NaiveTime::MIN));
        let hours = crate::domain::time::hours_between(past.from, begins).max(0.0) as usize;
        hours.min(past.hours.len())
    })
}

/// Multiplies by this: one plus noise.
fn factor<R: Rng>(sd: f64, random: &mut R) -> f64 {
    let z: f64 = StandardNormal.sample(random);
    (1.0 + sd * z).max(0.05)
}

fn first_draws<R: Rng>(
    mechanism: &Mechanism,
    known: &[Estimate],
    capacity: f64,
    random: &mut R,
) -> Vec<Draw> {
    (0..DRAWS)
        .map(|_| {
            let mut coefficients: Vec<f64> = known.iter().map(|k| k.mean).collect();
            for (index, coefficient) in mechanism.coefficients.iter().enumerate() {
                let z: f64 = StandardNormal.sample(random);
                let value = match (coefficient.electric_only, coefficient.nature) {
                    (true, Nature::Positive { spread }) => coefficient.mean * (spread * z).exp(),
                    (true, Nature::Share { spread }) => coefficient.mean + spread * z,
                    (false, _) => known[index].mean + known[index].sd * z,
                };
                coefficients[index] = coefficient.sensible(value);
            }
            let level_wh = random.random_range(0.2..1.0) * capacity;
            Draw { level_wh, coefficients, weight: 1.0 / DRAWS as f64 }
        })
        .collect()
}

/// Linear flows into the electric store.
struct Lines {
    /// `(source, coefficient, share, scale)`.
    lines: Vec<(Source, usize, Option<usize>, f64)>,
}

impl Lines {
    fn of(mechanism: &Mechanism, electric: usize) -> Lines {
        let lines = mechanism.flows.iter().filter(|flow| flow.stock == electric);
        Lines { lines: lines.map(|f| (f.source, f.coefficient, f.share, f.scale)).collect() }
    }

    /// Energy per unit of a line's source.
    fn each(&self, line: usize, coefficients: &[f64]) -> f64 {
        let (_, coefficient, share, scale) = self.lines[line];
        scale * coefficients[coefficient] * share.map_or(1.0, |s| coefficients[s])
    }

    /// Energy of so much of a source.
    fn of_source(&self, source: Source, amount: f64, coefficients: &[f64]) -> f64 {
        let lines = (0..self.lines.len()).filter(|line| self.lines[*line].0 == source);
        lines.map(|line| amount * self.each(line, coefficients)).sum()
    }

    fn moved_by(&self, source: Source) -> bool {
        self.lines.iter().any(|line| line.0 == source)
    }
}

/// How far a reading lies from what the draws expect of it, and the standard deviation of that.
fn misfit(
    event: &Event,
    mechanism: &Mechanism,
    electric: usize,
    draws: &[Draw],
) -> Option<(f64, f64)> {
    let stock = &mechanism.stocks()[electric];
    let volts = mechanism.parts.volts();
    let Event::Level { stock: name, reading, step } = event else { return None };
    let value = super::replay::in_unit(reading, stock, volts).filter(|_| *name == stock.name)?;
    let (low, high) = super::replay::reading_interval(stock, value, reading, *step, volts);
    let level = weighted(draws, |draw| draw.level_wh);
    let own = (high - low).powi(2) / 12.0 + (super::knob("READING", READING_SD) * stock.capacity).powi(2);
    Some((0.5 * (low + high) - level.mean, level.sd.hypot(own.sqrt())))
}

/// Applies one entry to every draw.
fn take<R: Rng>(
    event: &Event,
    mechanism: &Mechanism,
    electric: usize,
    lines: &Lines,
    taught: &[usize],
    draws: &mut [Draw],
    random: &mut R,
) {
    let stock = &mechanism.stocks()[electric];
    let volts = mechanism.parts.volts();
    let in_wh = |quantity: &Quantity| super::replay::in_unit(quantity, stock, volts);
    match event {
        Event::Level { stock: name, reading, step } if *name == stock.name => {
            let Some(value) = in_wh(reading) else { return };
            let (low, high) = super::replay::reading_interval(stock, value, reading, *step, volts);
            pin(draws, taught, (low, high), super::knob("READING", READING_SD) * stock.capacity, stock.capacity, random);
        }
        Event::Fill { stock: name, after, .. } if *name == stock.name => {
            let level = match after {
                Some(After::Full) | None => Some(stock.capacity),
                Some(After::Level(level)) => in_wh(level),
            };
            if let Some(level) = level {
                draws.iter_mut().for_each(|draw| draw.level_wh = level);
            }
        }
        Event::Charge { amount, .. } if in_wh(amount).is_some() => {
            let added = in_wh(amount).unwrap_or(0.0);
            draws.iter_mut().for_each(|d| d.level_wh = (d.level_wh + added).min(stock.capacity));
        }
        other => {
            // Logged uses are spread over their day already: see `Past::used`.
            let (source, amount) = match super::replay::exposure_of(other, &mechanism.parts) {
                Some((Source::Activity(_), _)) | None => return,
                Some(driven) => driven,
            };
            if !lines.moved_by(source) {
                return;
            }
            for draw in draws.iter_mut() {
                let spread = factor(0.15, random);
                let change = lines.of_source(source, amount, &draw.coefficients);
                draw.level_wh = (draw.level_wh + change * spread).clamp(0.0, stock.capacity);
            }
        }
    }
}

/// Corrects the draws by a reading, as an ensemble: each draw moves towards what was read, and its
/// coefficients with it as far as they go together with the level over all draws. The clamp at
/// full needs no care: draws that sit there all agree, so nothing is learned from them.
///
/// Evensen, The ensemble Kalman filter, Ocean Dynamics 53 (2003), equations 44 to 54 (from
/// memory), with coefficients in logarithms, and chance correlations cut off.
///
/// `taught` names the coefficients that move the store.
fn pin<R: Rng>(
    draws: &mut [Draw],
    taught: &[usize],
    (low, high): (f64, f64),
    noise_sd: f64,
    range: f64,
    random: &mut R,
) {
    let count = draws.len() as f64;
    let level = weighted(draws, |draw| draw.level_wh);
    let own = (high - low).powi(2) / 12.0 + noise_sd * noise_sd;
    let read = 0.5 * (low + high);
    let whole = level.sd * level.sd + own;
    let off = (read - level.mean).abs() / whole.sqrt();
    if off < BELIEVABLE {
        let least = 2.0 / count.sqrt();
        let gains: Vec<(usize, f64)> = taught
            .iter()
            .map(|index| (*index, gain(draws, *index, level, whole, least)))
            .filter(|(_, gain)| *gain != 0.0)
            .collect();
        for draw in draws.iter_mut() {
            let z: f64 = StandardNormal.sample(random);
            let innovation = read + own.sqrt() * z - draw.level_wh;
            for (index, gain) in &gains {
                draw.coefficients[*index] *= (gain * innovation).clamp(-1.0, 1.0).exp();
            }
            draw.level_wh += level.sd * level.sd / whole * innovation;
        }
    } else {
        // Nothing in the model explains it: believe the gauge about the level, and learn nothing.
        for draw in draws.iter_mut() {
            let z: f64 = StandardNormal.sample(random);
            draw.level_wh = read + own.sqrt() * z;
        }
    }
    for draw in draws.iter_mut() {
        let beyond = (low - 2.0 * noise_sd, high + 2.0 * noise_sd);
        draw.level_wh = draw.level_wh.clamp(beyond.0, beyond.1).clamp(0.0, range);
    }
}

/// Readings farther off than this many standard deviations teach nothing.
const BELIEVABLE: f64 = 6.0;

/// How much the logarithm of a coefficient moves per Wh of innovation.
fn gain(draws: &[Draw], index: usize, level: Estimate, whole: f64, least: f64) -> f64 {
    if draws.iter().any(|draw| draw.coefficients[index] <= 0.0) {
        return 0.0;
    }
    let logs: Vec<f64> = draws.iter().map(|draw| draw.coefficients[index].ln()).collect();
    let (mut mean, mut square, mut together) = (0.0, 0.0, 0.0);
    for (draw, log) in draws.iter().zip(&logs) {
        mean += draw.weight * log;
    }
    for (draw, log) in draws.iter().zip(&logs) {
        let off = draw.weight * (log - mean);
        square += off * (log - mean);
        together += off * (draw.level_wh - level.mean);
    }
    let sd = square.max(0.0).sqrt();
    if sd <= 0.0 || level.sd <= 0.0 {
        return 0.0;
    }
    let correlation = together / (sd * level.sd);
    if correlation.abs() < least { 0.0 } else { together / whole }
}
