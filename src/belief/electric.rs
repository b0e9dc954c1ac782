//! The electric store, as weighted draws run hour by hour through the remembered weather.
//!
//! A battery under panels is full by noon on a good day, and a clamp is exactly where a
//! linearised filter breaks. A few hundred draws of panel factor, loads and level are pinned at
//! each reading instead; those that explain the readings gain weight.

use super::normal;
use super::past::{Past, PastHour};
use crate::domain::entry::{After, Event};
use crate::domain::estimate::Estimate;
use crate::domain::quantity::Quantity;
use crate::mechanism::Mechanism;
use crate::mechanism::climate::{ClimateValues, Kit};
use crate::mechanism::coefficient::Nature;
use crate::mechanism::driver::{Source, person_hour_share};
use chrono::Duration;
use rand::{Rng, RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

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
/// Spread of one day's sun around what the record says: 8 % where it was recorded, 30 % where
/// it is assumed. Common practice, no source.
const SUN_KNOWN: f64 = 0.08;
const SUN_ASSUMED: f64 = 0.3;
/// Spread of one day's unlogged loads. Common practice, no source.
const LOAD: f64 = 0.12;

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
/// coefficient, from which those that are not electric are taken; `unlogged` holds, per
/// activity, the amount an hour of each record kind hides. Empty without a battery.
pub fn run(
    past: &Past,
    mechanism: &Mechanism,
    known: &[Estimate],
    hidden: &dyn Fn(&PastHour) -> Vec<f64>,
    seed: u64,
) -> Vec<Draw> {
    let Some(electric) = mechanism.electric else { return Vec::new() };
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed ^ 0x6261_7474_6572_7921);
    let capacity = mechanism.stocks()[electric].capacity;
    let mut draws = first_draws(mechanism, known, capacity, &mut random);
    let kit = Kit::of(mechanism);
    let skip = (past.hours.len() as i64 - DAYS * 24).max(0) as usize;
    let start = past.from + Duration::hours(skip as i64);
    // A journal that begins on the hour has its first entry at the start itself.
    let mut entries = past.entries.iter().filter(|e| e.at > start || skip == 0).peekable();
    let mut swings: Vec<[f64; 2]> = vec![[1.0; 2]; DRAWS];
    let flows = Lines::of(mechanism, electric);
    for (index, hour) in past.hours.iter().enumerate().skip(skip) {
        if hour.hour == 0 || index == skip {
            let sun = if hour.weather_known { SUN_KNOWN } else { SUN_ASSUMED };
            for swing in &mut swings {
                *swing = [factor(sun, &mut random), factor(LOAD, &mut random)];
            }
        }
        let begins = past.from + Duration::hours(index as i64);
        let part = ((past.now - begins).num_seconds() as f64 / 3600.0).clamp(0.0, 1.0);
        let hidden = hidden(hour);
        for (draw, swing) in draws.iter_mut().zip(&swings) {
            let mut weather = hour.weather;
            weather.clearness = (weather.clearness * swing[0]).clamp(0.0, 1.2);
            let values = climate_values(mechanism, &draw.coefficients);
            let climate = kit.hour(hour.hour, hour.aboard, weather, &hour.sun, &values);
            let base = flows.base_wh(&draw.coefficients, hour) * swing[1];
            let activities = flows.activities_wh(&draw.coefficients, &hidden);
            let net = climate.solar_wh - climate.load_wh * swing[1] + base + activities;
            draw.level_wh = (draw.level_wh + net * part).clamp(0.0, capacity);
        }
        while let Some(entry) = entries.next_if(|e| e.at <= begins + Duration::hours(1)) {
            take(&entry.event, mechanism, electric, &flows, &mut draws, &mut random);
        }
    }
    // On the first evening there may be no hour between the first word and now.
    for entry in entries {
        take(&entry.event, mechanism, electric, &flows, &mut draws, &mut random);
    }
    draws
}

/// Multiplies by this: one plus noise, kept positive.
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

    fn sum(&self, coefficients: &[f64], exposure: impl Fn(Source) -> f64) -> f64 {
        self.lines
            .iter()
            .map(|&(source, coefficient, share, scale)| {
                let share = share.map_or(1.0, |s| coefficients[s]);
                exposure(source) * scale * coefficients[coefficient] * share
            })
            .sum()
    }

    fn base_wh(&self, coefficients: &[f64], hour: &PastHour) -> f64 {
        use crate::domain::flow::Driver;
        self.sum(coefficients, |source| match source {
            Source::Driver(Driver::PersonDay) => hour.aboard * person_hour_share(hour.hour),
            Source::Driver(Driver::Day) => 1.0 / 24.0,
            _ => 0.0,
        })
    }

    fn activities_wh(&self, coefficients: &[f64], counts: &[f64]) -> f64 {
        self.sum(coefficients, |source| match source {
            Source::Activity(index) => counts[index],
            _ => 0.0,
        })
    }
}

/// Applies one entry to every draw.
fn take<R: Rng>(
    event: &Event,
    mechanism: &Mechanism,
    electric: usize,
    lines: &Lines,
    draws: &mut Vec<Draw>,
    random: &mut R,
) {
    let stock = &mechanism.stocks()[electric];
    let volts = mechanism.parts.volts();
    let in_wh = |quantity: &Quantity| super::replay::in_unit(quantity, stock, volts);
    match event {
        Event::Level { stock: name, reading, step } if *name == stock.name => {
            let Some(value) = in_wh(reading) else { return };
            let (low, high) = super::replay::reading_interval(stock, value, reading, *step, volts);
            pin(draws, low, high, 0.012 * stock.capacity, stock.capacity, random);
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
            let Some((source, amount)) = super::replay::exposure_of(other, &mechanism.parts) else {
                return;
            };
            for draw in draws.iter_mut() {
                let spread = factor(0.15, random);
                let change =
                    lines.sum(&draw.coefficients, |s| if s == source { amount } else { 0.0 });
                draw.level_wh = (draw.level_wh + change * spread).clamp(0.0, stock.capacity);
            }
        }
    }
}

/// Weighs the draws by how well they explain a reading, then sets each to a level that does.
fn pin<R: Rng>(
    draws: &mut Vec<Draw>,
    low: f64,
    high: f64,
    noise_sd: f64,
    range: f64,
    random: &mut R,
) {
    let flat = 0.02 * ((high - low + noise_sd) / range).min(1.0);
    for draw in draws.iter_mut() {
        let inside = normal::truncated(draw.level_wh, noise_sd.max(1e-6), low, high);
        // A floor of model error (days that differ) keeps one reading from choosing one draw.
        let near = normal::truncated(draw.level_wh, 4.0 * noise_sd, low, high);
        let explains = 0.3 * inside.probability + 0.68 * near.probability;
        draw.weight *= explains + flat;
        let spread = near.variance.sqrt().min(0.5 * (high - low) + noise_sd);
        let z: f64 = StandardNormal.sample(random);
        draw.level_wh = (near.mean + 0.5 * spread * z).clamp(low.max(0.0), high.min(range));
    }
    let sum: f64 = draws.iter().map(|d| d.weight).sum();
    draws.iter_mut().for_each(|d| d.weight /= sum);
    let effective = 1.0 / draws.iter().map(|d| d.weight * d.weight).sum::<f64>();
    if effective < 0.5 * draws.len() as f64 {
        resample(draws, random);
    }
}

/// Systematic resampling, with a little jitter so that copies part again.
fn resample<R: Rng>(draws: &mut Vec<Draw>, random: &mut R) {
    let count = draws.len();
    let centre: Vec<f64> = (0..draws[0].coefficients.len())
        .map(|i| weighted(draws, |draw| draw.coefficients[i]).mean)
        .collect();
    let sd: Vec<f64> =
        (0..centre.len()).map(|i| weighted(draws, |draw| draw.coefficients[i]).sd).collect();
    let offset: f64 = random.random::<f64>() / count as f64;
    let (mut chosen, mut reached, mut from) = (Vec::with_capacity(count), draws[0].weight, 0);
    // Shrinking towards the mean before adding noise keeps the variance what it was
    // (Liu and West, Combined parameter and state estimation, 2001; from memory).
    const KEEP: f64 = 0.98;
    let noise = (1.0f64 - KEEP * KEEP).sqrt();
    for n in 0..count {
        let want = offset + n as f64 / count as f64;
        while reached < want && from + 1 < count {
            from += 1;
            reached += draws[from].weight;
        }
        let mut copy = draws[from].clone();
        copy.weight = 1.0 / count as f64;
        for (i, value) in copy.coefficients.iter_mut().enumerate() {
            let z: f64 = StandardNormal.sample(random);
            let moved = KEEP * *value + (1.0 - KEEP) * centre[i] + noise * sd[i] * z;
            *value = if *value > 0.0 { moved.max(0.1 * *value) } else { moved };
        }
        chosen.push(copy);
    }
    *draws = chosen;
}
