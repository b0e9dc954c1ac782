//! The draws laid out side by side, and one hour of all of them.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::uses::{DayUses, Placed};
use super::{DRAWS, Draws, Each, Lines};
use crate::belief::past::PastHour;
use crate::domain::flow::Driver;
use crate::mechanism::Mechanism;
use crate::mechanism::climate::lanes::{DayLanes, FlowLanes, LANES, Lane, ValueLanes};
use crate::mechanism::climate::{ClimateValues, Kit};
use crate::mechanism::driver::{Source, person_hour_share, position};
use pulp::{Arch, Simd, WithSimd};

/// Draws come in whole rows.
const _: () = assert!(DRAWS.is_multiple_of(LANES));

/// The draws laid out side by side, as an hour's step wants them.
pub(super) struct Stack {
    capacity: f32,
    rows: Vec<Row>,
    /// How much of each line's source the hour at hand holds.
    amounts: Vec<(f32, Departs)>,
}

/// What an hour holds of what is not the same every day, as if it lasted a whole hour.
#[derive(Clone, Copy)]
pub(super) struct Amounts<'a> {
    /// Per activity.
    pub activities: &'a [f64],
    /// Per driver, in the order of [`DRIVERS`](crate::mechanism::driver::DRIVERS), what runs by
    /// the hour.
    pub run: &'a [f64],
}

/// What a line departs with, from day to day, from what its amount asks for.
#[derive(Clone, Copy)]
enum Departs {
    Loads,
    Runs,
    Activity(usize),
}

/// [`LANES`] draws.
struct Row {
    level_wh: Lane,
    values: ValueLanes,
    /// Per line of [`Lines`]: energy per unit of its source.
    lines: Vec<Lane>,
    sun: Lane,
    load: Lane,
    /// The day's departure of what drives and charges bring.
    runs: Lane,
    /// Per activity, the day's departure from what its count asks for.
    occurred: Vec<Lane>,
    day: DayLanes,
    /// Clearness that `day` was laid out for; none after the sun's swing changed.
    clearness: Option<f64>,
}

impl Stack {
    pub fn of(draws: &Draws, mechanism: &Mechanism, flows: &Lines, capacity: f64) -> Stack {
        let row = || Row {
            level_wh: [0.0; LANES],
            values: ValueLanes::of(std::iter::empty()),
            lines: vec![[0.0; LANES]; flows.lines.len()],
            sun: [1.0; LANES],
            load: [1.0; LANES],
            runs: [1.0; LANES],
            occurred: vec![[1.0; LANES]; mechanism.parts.activities.len()],
            day: DayLanes::default(),
            clearness: None,
        };
        let rows = (0..DRAWS / LANES).map(|_| row()).collect();
        let amounts = Vec::with_capacity(flows.lines.len());
        let mut stack = Stack { capacity: capacity as f32, rows, amounts };
        stack.take_draws(draws, mechanism, flows);
        stack
    }

    pub fn take_levels(&mut self, draws: &Draws) {
        self.lay_out(&draws.level_wh, |row| &mut row.level_wh);
    }

    pub fn take_draws(&mut self, draws: &Draws, mechanism: &Mechanism, flows: &Lines) {
        self.take_levels(draws);
        let values = |draw: usize| ClimateValues::of(mechanism, |i| draws.coefficients[i][draw]);
        for (r, row) in self.rows.iter_mut().enumerate() {
            row.values = ValueLanes::of((r * LANES..(r + 1) * LANES).map(values));
        }
        for line in 0..flows.lines.len() {
            let each = flows.each(line, &draws.coefficients);
            self.lay_out(&each, |row| &mut row.lines[line]);
        }
    }

    pub fn put_levels(&self, draws: &mut Draws) {
        for (row, levels) in self.rows.iter().zip(draws.level_wh.chunks_mut(LANES)) {
            levels.iter_mut().zip(row.level_wh).for_each(|(level, l)| *level = l.into());
        }
    }

    /// A new day's departures of sun and loads.
    pub fn swing(&mut self, sun: &Each, load: &Each) {
        self.lay_out(sun, |row| &mut row.sun);
        self.lay_out(load, |row| &mut row.load);
        self.rows.iter_mut().for_each(|row| row.clearness = None);
    }

    /// A new day's departures of what each activity took, from their spreads.
    pub fn swing_activities(&mut self, spreads: &[f64], mut draw: impl FnMut(f64) -> Each) {
        for (activity, sd) in spreads.iter().enumerate() {
            let each = if *sd > 0.0 { draw(*sd) } else { [1.0; DRAWS] };
            self.lay_out(&each, |row| &mut row.occurred[activity]);
        }
    }

    /// A new day's departures of what drives and charges bring.
    pub fn swing_runs(&mut self, each: &Each) {
        self.lay_out(each, |row| &mut row.runs);
    }

    /// Takes a number for each draw into a lane of the rows, in the lanes' precision.
    fn lay_out(&mut self, each: &Each, lane: impl Fn(&mut Row) -> &mut Lane) {
        for (row, each) in self.rows.iter_mut().zip(each.chunks(LANES)) {
            lane(row).iter_mut().zip(each).for_each(|(cell, value)| *cell = *value as f32);
        }
    }

    /// What the uses placed up to an hour of the past have moved each draw by, in Wh.
    pub fn used_up(&self, flows: &Lines, uses: &DayUses, hour: usize) -> Each {
        let mut sums = [0.0; DRAWS];
        for placed in &uses.placed {
            let source = Source::Activity(placed.activity);
            for at in *placed.hours.start()..=hour.min(*placed.hours.end()) {
                let amounts = placed.amounts(at);
                let rows = self.rows.iter().zip(amounts.chunks(LANES)).zip(sums.chunks_mut(LANES));
                for ((row, amounts), sums) in rows {
                    let occurred = &row.occurred[placed.activity];
                    for (line, _) in
                        row.lines.iter().zip(&flows.lines).filter(|(_, l)| l.0 == source)
                    {
                        for l in 0..LANES {
                            sums[l] += f64::from(amounts[l] * line[l] * occurred[l]);
                        }
                    }
                }
            }
        }
        sums
    }

    /// Takes what was used in an hour in some draws only.
    pub fn use_up(&mut self, flows: &Lines, placed: &Placed, hour: usize) {
        let source = Source::Activity(placed.activity);
        let amounts = placed.amounts(hour);
        for (row, amounts) in self.rows.iter_mut().zip(amounts.chunks(LANES)) {
            let occurred = &row.occurred[placed.activity];
            for (line, _) in row.lines.iter().zip(&flows.lines).filter(|(_, l)| l.0 == source) {
                for l in 0..LANES {
                    let level = row.level_wh[l] + amounts[l] * line[l] * occurred[l];
                    row.level_wh[l] = level.clamp(0.0, self.capacity);
                }
            }
        }
    }

    /// Moves all draws by a part of one hour that holds those amounts.
    pub fn hour(&mut self, kit: &Kit, flows: &Lines, hour: &PastHour, held: &Amounts, part: f64) {
        Arch::new().dispatch(OneHour { stack: self, kit, flows, hour, held, part });
    }

    #[inline(always)]
    fn step(&mut self, kit: &Kit, flows: &Lines, hour: &PastHour, held: &Amounts, part: f64) {
        let shared = kit.shared(hour.hour, hour.aboard, hour.weather.outside_c, &hour.sun);
        self.amounts.clear();
        self.amounts.extend(flows.lines.iter().map(|line| amount(line.0, hour, held)));
        let mut moved = FlowLanes::default();
        for row in &mut self.rows {
            let clearness = hour.weather.clearness;
            if row.clearness != Some(clearness) {
                row.clearness = Some(clearness);
                let mut clear = [0.0; LANES];
                for l in 0..LANES {
                    clear[l] = clearness * f64::from(row.sun[l]);
                }
                row.day.put_all(&[0.0; LANES], &clear);
            }
            let (mut base_wh, mut used_wh) = ([0.0; LANES], [0.0; LANES]);
            for (&(amount, departs), line) in self.amounts.iter().zip(&row.lines) {
                let line: Lane = *line;
                let departures = match departs {
                    _ if amount == 0.0 => continue,
                    Departs::Loads => {
                        for l in 0..LANES {
                            base_wh[l] += amount * line[l];
                        }
                        continue;
                    }
                    Departs::Runs => &row.runs,
                    Departs::Activity(activity) => &row.occurred[activity],
                };
                for l in 0..LANES {
                    used_wh[l] += amount * line[l] * departures[l];
                }
            }
            let load = row.load;
            kit.hour_lanes(&shared, &row.day, &row.values, &mut moved, |l, load_wh, _| {
                (base_wh[l] - load_wh) * load[l] + used_wh[l]
            });
            let net_wh = &moved.net_wh;
            for l in 0..LANES {
                let level = row.level_wh[l] + net_wh[l] * part as f32;
                let level = if level < 0.0 { 0.0 } else { level };
                row.level_wh[l] = if level > self.capacity { self.capacity } else { level };
            }
        }
    }
}

/// One hour of all draws, for as wide vectors as the processor knows.
struct OneHour<'a> {
    stack: &'a mut Stack,
    kit: &'a Kit,
    flows: &'a Lines,
    hour: &'a PastHour,
    held: &'a Amounts<'a>,
    part: f64,
}

impl WithSimd for OneHour<'_> {
    type Output = ();

    // What is compiled once more for wide vectors is what is inlined here.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        self.stack.step(self.kit, self.flows, self.hour, self.held, self.part);
    }
}

/// How much of a source an hour holds, and what departs from day to day with it.
fn amount(source: Source, hour: &PastHour, held: &Amounts) -> (f32, Departs) {
    match source {
        Source::Driver(Driver::PersonDay) => {
            ((hour.aboard * person_hour_share(hour.hour)) as f32, Departs::Loads)
        }
        Source::Driver(Driver::Day) => (1.0 / 24.0, Departs::Loads),
        Source::Driver(driver) => (held.run[position(driver)] as f32, Departs::Runs),
        Source::Activity(index) => (held.activities[index] as f32, Departs::Activity(index)),
        Source::Climate => (0.0, Departs::Loads),
    }
}
