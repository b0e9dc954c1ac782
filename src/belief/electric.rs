//! The electric store, as weighted draws run hour by hour through the remembered weather.
//!
//! A battery under panels is full by noon on a good day, and a clamp is exactly where a
//! linearised filter breaks. A few hundred draws of panel factor, loads and level are run through
//! the same hours instead, and corrected together at each reading.

mod cause;
mod chance;
mod pin;
mod stack;
mod uses;

pub use cause::{Cause, told_apart};

use super::Innovation;
use super::past::Past;
use super::unlogged::Unlogged;
use crate::domain::entry::{After, Event};
use crate::domain::estimate::Estimate;
use crate::domain::quantity::Quantity;
use crate::domain::time::Moment;
use crate::mechanism::Mechanism;
use crate::mechanism::climate::{ClimateValues, Kit};
use crate::mechanism::coefficient::Nature;
use crate::mechanism::driver::{DRIVERS, Source, position};
use chance::factors;
use chrono::Duration;
use pin::{GaugeErrors, Reading};
use rand::{Rng, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use stack::{Amounts, Stack};
use uses::{DayUses, Leanings, Manner};

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
/// A number for each draw.
type Each<T = f64> = [T; DRAWS];
/// Days of the past that the draws are run through.
const DAYS: i64 = 42;
/// Spread of one day's unlogged loads. Common practice, no source.
const LOAD: f64 = 0.12;

/// Spread of what a day's drives and charges bring. Common practice, no source.
const RUN: f64 = 0.15;

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
    ClimateValues::of(mechanism, |i| coefficients[i])
}

/// The draws while they are run, what they hold side by side. All of them weigh the same.
struct Draws {
    level_wh: Each,
    /// Per coefficient of the mechanism.
    coefficients: Vec<Each>,
}

impl Draws {
    fn each(&self) -> Vec<Draw> {
        let draw = |d: usize| Draw {
            level_wh: self.level_wh[d],
            coefficients: self.coefficients.iter().map(|each| each[d]).collect(),
            weight: 1.0 / DRAWS as f64,
        };
        (0..DRAWS).map(draw).collect()
    }
}

/// What the draws are run through.
pub struct Ground<'a> {
    /// The past.
    pub past: &'a Past<'a>,
    /// The rig in place now.
    pub mechanism: &'a Mechanism,
    /// The joint belief's mean and spread of every coefficient, from which those that are not
    /// electric are taken.
    pub known: &'a [Estimate],
    /// What an hour may hide.
    pub unlogged: &'a Unlogged<'a>,
    /// Of all that the draws differ in.
    pub seed: u64,
}

/// Runs the draws through the past. Empty without a battery.
pub fn run(ground: &Ground) -> (Vec<Draw>, Vec<Innovation>) {
    run_with(ground, None)
}

/// The same; of what is given, something goes wrong at its moment.
fn run_with(ground: &Ground, mut wrong: Option<cause::Begins>) -> (Vec<Draw>, Vec<Innovation>) {
    let Ground { past, mechanism, known, unlogged, seed } = *ground;
    let Some(electric) = mechanism.electric else { return (Vec::new(), Vec::new()) };
    let mut misfits: Vec<Innovation> = Vec::new();
    let mut random = Xoshiro256PlusPlus::seed_from_u64(seed ^ 0x6261_7474_6572_7921);
    let capacity = mechanism.stocks()[electric].capacity;
    let mut draws = first_draws(mechanism, known, capacity, &mut random);
    let mut errors = GaugeErrors::drawn(capacity, &mut random);
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
    let readings = moments_read(past, mechanism, electric);
    let activities = past.parts.activities.len();
    let sizes: Vec<f64> = (0..activities).map(|activity| unlogged.size(activity)).collect();
    let (mut uses, mut leanings) = (DayUses::default(), Leanings::none(activities));
    let mut counts: Vec<f64> = Vec::with_capacity(activities);
    // What was said within half an hour of a full hour is heard there: a gauge that is read at ten
    // past ten knows nothing of what is done until eleven.
    while let Some(entry) = entries.next_if(|e| e.at < start + Duration::minutes(30)) {
        match reading_of(&entry.event, mechanism, electric) {
            Some(reading) => {
                misfits.push(news(&errors, &draws, reading, entry.at, misfits.last()));
                errors.pin(&mut draws, &wandering, reading, &mut random);
            }
            None => take(&entry.event, mechanism, electric, &flows, &mut draws, &mut random),
        }
        stack.take_draws(&draws, mechanism, &flows);
    }
    for (index, hour) in past.hours.iter().enumerate().skip(skip) {
        if hour.hour == 0 || index == skip {
            let (sun, load) = (factors(hour.sun_sd, &mut random), factors(LOAD, &mut random));
            stack.swing(&sun, &load);
            let doubts = occurrence_doubts(past, index, unlogged);
            stack.swing_activities(&doubts, |sd| factors(sd, &mut random));
            if past.runs[index..(index + 24).min(past.hours.len())].iter().any(|r| !r.is_empty()) {
                stack.swing_runs(&factors(RUN, &mut random));
            }
            for index in &wandering {
                let wanders = factors(WANDER, &mut random);
                draws.coefficients[*index].iter_mut().zip(&wanders).for_each(|(c, by)| *c *= by);
            }
            errors.drift(capacity, &mut random);
            stack.put_levels(&mut draws);
            stack.take_draws(&draws, mechanism, &flows);
            let day = (index, end_of_day(past, index));
            let manner = Manner { readings: &readings, leanings: &leanings, sizes: &sizes };
            uses = DayUses::of(past, day, &manner, &mut random);
        }
        let begins = past.from + Duration::hours(index as i64);
        if let Some(wrong) = wrong.take_if(|wrong| wrong.at <= begins) {
            stack.put_levels(&mut draws);
            wrong.befall(&mut draws);
            stack.take_draws(&draws, mechanism, &flows);
        }
        let part = ((past.now - begins).num_seconds() as f64 / 3600.0).clamp(0.0, 1.0);
        counts.clear();
        counts.extend(unlogged.amounts(hour));
        for (count, used) in counts.iter_mut().zip(uses.even(index)) {
            *count += used / part.max(1e-9);
        }
        let mut run = [0.0; DRIVERS.len()];
        for ran in &past.runs[index] {
            run[position(ran.driver)] += ran.between(0.0, 1.0) / part.max(1e-9);
        }
        stack.hour(&kit, &flows, hour, &Amounts { activities: &counts, run: &run }, part);
        for placed in uses.placed.iter().filter(|placed| placed.hours.contains(&index)) {
            stack.use_up(&flows, placed, index);
        }
        while let Some(entry) = entries.next_if(|e| e.at < begins + Duration::minutes(90)) {
            stack.put_levels(&mut draws);
            if let Some(reading) = reading_of(&entry.event, mechanism, electric) {
                misfits.push(news(&errors, &draws, reading, entry.at, misfits.last()));
                if uses.divided_at(index) {
                    let foreseen = uses.shares_by(index, activities);
                    let before = stack.used_up(&flows, &uses, index);
                    uses.reorder(&errors.hours_taken(&draws, reading, &mut random));
                    leanings.learn(&foreseen, &uses.shares_by(index, activities));
                    let after = stack.used_up(&flows, &uses, index);
                    for (draw, level_wh) in draws.level_wh.iter_mut().enumerate() {
                        *level_wh = (*level_wh + after[draw] - before[draw]).clamp(0.0, capacity);
                    }
                }
                errors.pin(&mut draws, &wandering, reading, &mut random);
                stack.take_draws(&draws, mechanism, &flows);
            } else {
                take(&entry.event, mechanism, electric, &flows, &mut draws, &mut random);
                stack.take_levels(&draws);
            }
        }
    }
    stack.put_levels(&mut draws);
    (draws.each(), misfits)
}

/// What a reading says that was not expected; of the first word about a level nothing was.
fn news(
    errors: &GaugeErrors,
    draws: &Draws,
    reading: Reading,
    at: Moment,
    before: Option<&Innovation>,
) -> Innovation {
    let (off, sd) = errors.misfit(draws, reading);
    match before {
        None => Innovation { at, since: at, off: 0.0, sd, likelihood: 1.0 },
        Some(before) => {
            let likelihood = errors.likelihood(draws, reading);
            Innovation { at, since: before.at, off, sd, likelihood }
        }
    }
}

/// When the store was read.
fn moments_read(past: &Past, mechanism: &Mechanism, electric: usize) -> Vec<Moment> {
    let read = |event: &Event| reading_of(event, mechanism, electric).is_some();
    past.entries.iter().filter(|entry| read(&entry.event)).map(|entry| entry.at).collect()
}

/// The hour of the past after the last one of the civil day that begins at hour `first`.
fn end_of_day(past: &Past, first: usize) -> usize {
    let later = past.hours[first + 1..].iter().position(|hour| hour.hour == 0);
    later.map_or(past.hours.len(), |hours| first + 1 + hours)
}

/// Per activity, how far the day from hour `first` on may be off what its count asks for,
/// relative: one meal is not the next, and what nobody logged is as random as a Poisson law.
fn occurrence_doubts(past: &Past, first: usize, unlogged: &Unlogged) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); past.parts.activities.len()];
    for index in first..end_of_day(past, first) {
        let hour = &past.hours[index];
        for (activity, amount) in unlogged.amounts(hour).enumerate() {
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

fn first_draws<R: Rng>(
    mechanism: &Mechanism,
    known: &[Estimate],
    capacity: f64,
    random: &mut R,
) -> Draws {
    let coefficients = known.iter().map(|known| [known.mean; DRAWS]).collect();
    let level_wh = chance::shares(random).map(|share| (0.2 + 0.8 * share) * capacity);
    let mut draws = Draws { level_wh, coefficients };
    for (index, coefficient) in mechanism.coefficients.iter().enumerate() {
        let panels = mechanism.climate.panels == Some(index);
        draws.coefficients[index] = chance::normals(random).map(|z| {
            let value = match (coefficient.electric_only, coefficient.nature) {
                // Panels differ by what shades and soils them, not by a factor.
                (_, Nature::Positive { spread }) if panels => {
                    coefficient.mean * (1.0 + spread * z).max(0.3)
                }
                (true, Nature::Positive { spread }) => coefficient.mean * (spread * z).exp(),
                (true, Nature::Share { spread }) => coefficient.mean + spread * z,
                (false, _) => known[index].mean + known[index].sd * z,
            };
            coefficient.sensible(value)
        });
    }
    draws
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

    /// Energy per unit of a line's source, in each draw.
    fn each(&self, line: usize, coefficients: &[Each]) -> Each {
        let (_, coefficient, share, scale) = self.lines[line];
        let mut each = coefficients[coefficient];
        each.iter_mut().for_each(|value| *value *= scale);
        if let Some(share) = share {
            each.iter_mut().zip(&coefficients[share]).for_each(|(value, share)| *value *= share);
        }
        each
    }

    /// Energy of so much of a source, in each draw.
    fn of_source(&self, source: Source, amount: f64, coefficients: &[Each]) -> Each {
        let mut sums = [0.0; DRAWS];
        for line in (0..self.lines.len()).filter(|line| self.lines[*line].0 == source) {
            let each = self.each(line, coefficients);
            sums.iter_mut().zip(&each).for_each(|(sum, each)| *sum += amount * each);
        }
        sums
    }

    fn moved_by(&self, source: Source) -> bool {
        self.lines.iter().any(|line| line.0 == source)
    }
}

/// The reading of the store that an event is, if it is one.
fn reading_of(event: &Event, mechanism: &Mechanism, electric: usize) -> Option<Reading> {
    let stock = &mechanism.stocks()[electric];
    let volts = mechanism.parts.volts();
    let Event::Level { stock: name, reading, step } = event else { return None };
    let value = super::replay::in_unit(reading, stock, volts).filter(|_| *name == stock.name)?;
    let (low, high) = super::replay::reading_interval(stock, value, reading, *step, volts);
    Some(Reading { low, high, range: stock.capacity })
}

/// Applies one entry other than a reading to every draw.
fn take<R: Rng>(
    event: &Event,
    mechanism: &Mechanism,
    electric: usize,
    lines: &Lines,
    draws: &mut Draws,
    random: &mut R,
) {
    let stock = &mechanism.stocks()[electric];
    let volts = mechanism.parts.volts();
    let in_wh = |quantity: &Quantity| super::replay::in_unit(quantity, stock, volts);
    match event {
        Event::Fill { stock: name, after, .. } if *name == stock.name => {
            let level = match after {
                Some(After::Full) | None => Some(stock.capacity),
                Some(After::Level(level)) => in_wh(level),
            };
            if let Some(level) = level {
                draws.level_wh.fill(level);
            }
        }
        Event::Charge { amount, .. } if in_wh(amount).is_some() => {
            let added = in_wh(amount).unwrap_or(0.0);
            draws
                .level_wh
                .iter_mut()
                .for_each(|level| *level = (*level + added).min(stock.capacity));
        }
        other => {
            // Logged uses are spread over their day already, and what runs by the hour over its
            // hours: see `Past::used` and `Past::runs`.
            let (source, amount) = match super::replay::exposure_of(other, &mechanism.parts) {
                Some((Source::Driver(driver), amount)) if !driver.is_by_the_hour() => {
                    (Source::Driver(driver), amount)
                }
                _ => return,
            };
            if !lines.moved_by(source) {
                return;
            }
            let changes = lines.of_source(source, amount, &draws.coefficients);
            let spreads = factors(RUN, random);
            for ((level_wh, change), spread) in
                draws.level_wh.iter_mut().zip(&changes).zip(&spreads)
            {
                *level_wh = (*level_wh + change * spread).clamp(0.0, stock.capacity);
            }
        }
    }
}
