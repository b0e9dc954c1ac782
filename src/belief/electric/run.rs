//! The ensemble run through the remembered past, hour by hour, from reading to reading.

use super::assimilate::EnergyReading;
use super::ensemble::{DaySpreads, Ensemble, EnsembleHour, Member};
use super::fault::FaultOnset;
use super::members::mean;
use super::uses::{DayUses, TimingBias, UsePlacement};
use crate::belief::evidence::{Innovation, at_once, in_unit, levels_read};
use crate::belief::kit::{self, BatteryEra};
use crate::belief::past::Past;
use crate::belief::practice::{ENSEMBLE_DAYS, RUN_SD};
use crate::belief::unlogged::Unlogged;
use crate::domain::{After, Estimate, Event, Moment, Standing};
use crate::mechanism::Mechanism;
use crate::mechanism::coefficient::Coefficient;
use crate::mechanism::driver::{Exposure, position};
use chrono::Duration;
use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;

/// What an ensemble is run through.
pub struct RunInputs<'a> {
    /// The past.
    pub past: &'a Past<'a>,
    /// The rig in place now.
    pub mechanism: &'a Mechanism,
    /// Mean and standard deviation of every coefficient in the joint belief, from which those
    /// that are not electric are taken.
    pub known: &'a [Estimate],
    /// What an hour may hide.
    pub unlogged: &'a Unlogged<'a>,
    /// Of all that the members differ in.
    pub seed: u64,
}

/// What a run through the past leaves behind; nothing without a battery.
#[derive(Default)]
pub struct Ran {
    /// The members now.
    pub members: Vec<Member>,
    /// The innovation of every reading, oldest first.
    pub innovations: Vec<Innovation>,
    /// Mean level at the end of each hour, in Wh; the last one is the hour of now.
    pub levels_wh: Vec<f64>,
}

/// Runs an ensemble through the past.
pub fn run(inputs: &RunInputs) -> Ran {
    run_with(inputs, None)
}

/// [`run`], with a fault from its onset on.
pub(super) fn run_with(inputs: &RunInputs, mut onset: Option<FaultOnset>) -> Ran {
    let (past, mechanism) = (inputs.past, inputs.mechanism);
    let mut eras = mechanism.electric.map_or(Vec::new(), |e| kit::eras(past, mechanism, e));
    if onset.is_some() {
        // A fault is one of the kit that is there now.
        eras.drain(..eras.len().saturating_sub(1));
    }
    let Some(mut run) = Run::begin(inputs, &eras) else { return Ran::default() };
    let mut levels_wh = Vec::new();
    // What was said within half an hour of a full hour is heard there: a gauge that is read at ten
    // past ten knows nothing of what is done until eleven.
    let heard = Duration::minutes(30);
    let start = past.from + Duration::hours(run.first as i64);
    // A journal that begins on the hour has its first entry at the start itself.
    let from_start = run.first == 0;
    let mut entries = past.entries.iter().filter(|e| e.at > start || from_start).peekable();
    while let Some(entry) = entries.next_if(|e| e.at < start + heard) {
        run.take(entry, None);
    }
    for index in run.first..past.hours.len() {
        let begins = past.from + Duration::hours(index as i64);
        if let Some(era) = eras.iter().find(|era| era.first == index && index > run.first) {
            run.refit(&era.mechanism);
        }
        if past.hours[index].hour == 0 || index == run.first {
            run.new_day(index);
        }
        if let Some(FaultOnset { fault, .. }) = onset.take_if(|onset| onset.at <= begins) {
            fault.apply(&mut run.ensemble, inputs.seed);
        }
        run.hour(index, begins);
        while let Some(entry) = entries.next_if(|e| e.at < begins + Duration::hours(1) + heard) {
            run.take(entry, Some(index));
        }
        let members = &run.ensemble.level_wh;
        levels_wh.push(mean(|member| members[member]));
    }
    Ran { members: run.ensemble.members(), innovations: run.innovations, levels_wh }
}

/// An ensemble on its way through the past.
struct Run<'a> {
    inputs: &'a RunInputs<'a>,
    /// The rig in place at the hour at hand.
    mechanism: &'a Mechanism,
    electric: usize,
    /// First hour of the past that it is run through.
    first: usize,
    ensemble: Ensemble<'a>,
    /// Uses of the day at hand.
    uses: DayUses,
    timing: TimingBias,
    /// When the store was read.
    readings: Vec<Moment>,
    /// Per activity, how much is done in one go.
    sizes: Vec<f64>,
    /// What the hour at hand holds.
    exposure: Exposure,
    innovations: Vec<Innovation>,
    random: Xoshiro256PlusPlus,
}

impl<'a> Run<'a> {
    fn begin(inputs: &'a RunInputs<'a>, eras: &'a [BatteryEra<'a>]) -> Option<Run<'a>> {
        let RunInputs { past, unlogged, seed, .. } = *inputs;
        let electric = inputs.mechanism.electric?;
        let mut random = Xoshiro256PlusPlus::seed_from_u64(seed ^ 0x6261_7474_6572_7921);
        let activities = past.parts.activities.len();
        let kept = past.hours.len().saturating_sub(24 * ENSEMBLE_DAYS);
        let first = kept.max(eras.first()?.first);
        let mechanism = &eras.iter().rev().find(|era| era.first <= first)?.mechanism;
        let known = known_of(inputs, mechanism);
        let mut run = Run {
            inputs,
            mechanism,
            electric,
            first,
            ensemble: Ensemble::new(mechanism, electric, &known, &mut random),
            uses: DayUses::default(),
            timing: TimingBias::none(activities),
            readings: Vec::new(),
            sizes: (0..activities).map(|activity| unlogged.size(activity)).collect(),
            exposure: mechanism.unexposed(),
            innovations: Vec::new(),
            random,
        };
        let read = past.entries.iter().filter_map(|entry| run.reading(entry));
        run.readings = read.map(|reading| reading.at).collect();
        Some(run)
    }

    /// The kit changes: what is new of it starts anew, all else goes on.
    fn refit(&mut self, mechanism: &'a Mechanism) {
        let known = known_of(self.inputs, mechanism);
        let mut anew = Ensemble::new(mechanism, self.electric, &known, &mut self.random);
        anew.take_over(&self.ensemble, self.electric);
        (self.ensemble, self.mechanism) = (anew, mechanism);
    }

    /// A new day, of which `first` is the first hour.
    fn new_day(&mut self, first: usize) {
        let RunInputs { past, unlogged, .. } = self.inputs;
        let later = past.hours[first + 1..].iter().position(|hour| hour.hour == 0);
        let end = later.map_or(past.hours.len(), |hours| first + 1 + hours);
        let mut runs = past.runs[first..(first + 24).min(past.hours.len())].iter();
        let spreads = DaySpreads {
            sun: past.hours[first].sun_sd,
            activities: occurrence_spreads(past, first..end, unlogged),
            runs: runs.any(|runs| !runs.is_empty()).then_some(RUN_SD),
        };
        self.ensemble.new_day(&spreads, &mut self.random);
        let (readings, timing, sizes) = (&self.readings, &self.timing, &self.sizes);
        let placement = UsePlacement { readings, timing, sizes };
        self.uses = DayUses::of(past, (first, end), &placement, &mut self.random);
    }

    /// An hour of the past, the last of which may only have begun.
    fn hour(&mut self, index: usize, begins: Moment) {
        let past = self.inputs.past;
        let hour = &past.hours[index];
        let part = ((past.now - begins).num_seconds() as f64 / 3600.0).clamp(0.0, 1.0);
        // What is known to lie in the past is all of it, even where the hour has only begun.
        let begun = part.max(1e-9);
        let exposure = &mut self.exposure;
        exposure.clear();
        let hidden = self.inputs.unlogged.amounts(hour);
        let used = hidden.zip(self.uses.shared(index));
        for (amount, (hidden, used)) in exposure.activities.iter_mut().zip(used) {
            *amount = hidden + used / begun;
        }
        let lived = self.inputs.unlogged.lived(hour);
        for (amount, rhythm) in exposure.base.iter_mut().zip(&self.mechanism.rhythms) {
            let share = if rhythm.per_person { lived } else { 1.0 };
            *amount = share * rhythm.in_hour(hour.hour, hour.aboard);
        }
        for run in &past.runs[index] {
            exposure.drivers[position(run.driver)] += run.between(0.0, 1.0) / begun;
        }
        let uses = (index, &self.uses);
        self.ensemble.hour(&EnsembleHour {
            past: hour,
            exposure: &self.exposure,
            part,
            lived,
            uses,
        });
    }

    /// Takes an entry; `index` is the hour of the past that ends when it is heard, if any does.
    fn take(&mut self, entry: &Standing, index: Option<usize>) {
        if let Some(reading) = self.reading(entry) {
            let innovation = self.ensemble.innovation(reading, self.innovations.last());
            self.innovations.push(innovation);
            if let Some(index) = index.filter(|index| self.uses.divided_at(*index)) {
                self.choose_hours(reading, index);
            }
            return self.ensemble.assimilate(reading, &mut self.random);
        }
        let parts = &self.mechanism.parts;
        let stock = &self.mechanism.stocks()[self.electric];
        let in_wh = |quantity| in_unit(quantity, stock, parts.volts());
        match &entry.event {
            Event::Fill { stock: name, after, .. } if *name == stock.name => {
                let level = match after {
                    Some(After::Full) | None => Some(stock.capacity),
                    Some(After::Level(level)) => in_wh(level),
                };
                if let Some(level) = level {
                    self.ensemble.level_wh.fill(level);
                }
            }
            Event::Charge { amount, .. } => {
                let added_wh = in_wh(amount).unwrap_or(0.0);
                self.ensemble.move_levels(|_| added_wh);
            }
            // Logged uses are spread over their day already, and what runs by the hour over its
            // hours: see `Past::uses` and `Past::runs`.
            other => {
                if let Some((source, amount)) = at_once(other, parts) {
                    self.ensemble.drive(source, amount, &mut self.random);
                }
            }
        }
    }

    /// The hours of the day's uses are chosen by a reading, and the levels follow.
    fn choose_hours(&mut self, reading: EnergyReading, index: usize) {
        let activities = self.sizes.len();
        let foreseen = self.uses.shares_by(index, activities);
        let before = self.ensemble.used_by(&self.uses, index);
        self.uses.apply_ancestors(&self.ensemble.resample(reading, &mut self.random));
        self.timing.learn(&foreseen, &self.uses.shares_by(index, activities));
        let after = self.ensemble.used_by(&self.uses, index);
        self.ensemble.move_levels(|m| after[m] - before[m]);
    }

    /// The reading of the store that an entry is, if it is one.
    fn reading(&self, entry: &Standing) -> Option<EnergyReading> {
        let stock = &self.mechanism.stocks()[self.electric];
        let volts = self.mechanism.parts.volts();
        let Event::Level { stock: name, reading, step } = &entry.event else { return None };
        let read = levels_read(stock, reading, *step, volts).filter(|_| *name == stock.name)?;
        Some(EnergyReading { at: entry.at, low: read.low, high: read.high })
    }
}

/// What is known of a mechanism's coefficients: of those that there are now too, what the joint belief
/// says.
fn known_of(inputs: &RunInputs, mechanism: &Mechanism) -> Vec<Estimate> {
    let now = &inputs.mechanism.coefficients;
    let known = |own: &Coefficient| {
        now.iter().position(|c| c.what == own.what).map_or(own.prior(), |place| inputs.known[place])
    };
    mechanism.coefficients.iter().map(known).collect()
}

/// Per activity, the relative standard deviation of what it takes in these hours of the past: one
/// meal is not the next, and what nobody logged is as random as a Poisson law.
fn occurrence_spreads(past: &Past, hours: std::ops::Range<usize>, unlogged: &Unlogged) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); past.parts.activities.len()];
    for index in hours {
        let hour = &past.hours[index];
        for (activity, amount) in unlogged.amounts(hour).enumerate() {
            sums[activity].0 += amount;
            sums[activity].1 += unlogged.variance(activity, amount, hour);
        }
        for used in &past.uses.by_hour[index] {
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
