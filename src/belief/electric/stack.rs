//! The draws laid out side by side, and one hour of all of them.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::uses::{DayUses, Placed};
use super::{Draw, Lines, climate_values};
use crate::belief::past::PastHour;
use crate::domain::flow::Driver;
use crate::mechanism::Mechanism;
use crate::mechanism::climate::Kit;
use crate::mechanism::climate::lanes::{DayLanes, FlowLanes, LANES, Lane, ValueLanes};
use crate::mechanism::driver::{Source, person_hour_share};
use pulp::{Arch, Simd, WithSimd};

/// The draws laid out side by side, as an hour's step wants them.
pub(super) struct Stack {
    capacity: f32,
    rows: Vec<Row>,
}

/// [`LANES`] draws.
struct Row {
    level_wh: Lane,
    values: ValueLanes,
    /// Per line of [`Lines`]: energy per unit of its source.
    lines: Vec<Lane>,
    sun: Lane,
    load: Lane,
    /// Per activity, the day's departure from what its count asks for.
    occurred: Vec<Lane>,
    day: DayLanes,
    /// Clearness that `day` was laid out for; none after the sun's swing changed.
    clearness: Option<f64>,
}

impl Stack {
    pub fn of(draws: &[Draw], mechanism: &Mechanism, flows: &Lines, capacity: f64) -> Stack {
        let row = |_: &[Draw]| Row {
            level_wh: [0.0; LANES],
            values: ValueLanes::of(std::iter::empty()),
            lines: Vec::new(),
            sun: [1.0; LANES],
            load: [1.0; LANES],
            occurred: vec![[1.0; LANES]; mechanism.parts.activities.len()],
            day: DayLanes::default(),
            clearness: None,
        };
        let rows = draws.chunks(LANES).map(row).collect();
        let mut stack = Stack { capacity: capacity as f32, rows };
        stack.take_draws(draws, mechanism, flows);
        stack
    }

    pub fn take_levels(&mut self, draws: &[Draw]) {
        for (row, draws) in self.rows.iter_mut().zip(draws.chunks(LANES)) {
            row.level_wh.iter_mut().zip(draws).for_each(|(l, draw)| *l = draw.level_wh as f32);
        }
    }

    pub fn take_draws(&mut self, draws: &[Draw], mechanism: &Mechanism, flows: &Lines) {
        self.take_levels(draws);
        for (row, draws) in self.rows.iter_mut().zip(draws.chunks(LANES)) {
            let values = draws.iter().map(|draw| climate_values(mechanism, &draw.coefficients));
            row.values = ValueLanes::of(values);
            row.lines = (0..flows.lines.len())
                .map(|line| {
                    let mut lane = [0.0; LANES];
                    for (cell, draw) in lane.iter_mut().zip(draws) {
                        *cell = flows.each(line, &draw.coefficients) as f32;
                    }
                    lane
                })
                .collect();
        }
    }

    pub fn put_levels(&self, draws: &mut [Draw]) {
        for (row, draws) in self.rows.iter().zip(draws.chunks_mut(LANES)) {
            draws.iter_mut().zip(row.level_wh).for_each(|(draw, l)| draw.level_wh = l.into());
        }
    }

    /// A new day's departures of sun and loads.
    pub fn swing(&mut self, mut draw: impl FnMut() -> [f64; 2]) {
        for row in &mut self.rows {
            for l in 0..LANES {
                let [sun, load] = draw();
                (row.sun[l], row.load[l]) = (sun as f32, load as f32);
            }
            row.clearness = None;
        }
    }

    /// A new day's departures of what each activity took, from their spreads.
    pub fn swing_activities(&mut self, spreads: &[f64], mut draw: impl FnMut(f64) -> f64) {
        for row in &mut self.rows {
            for (lane, sd) in row.occurred.iter_mut().zip(spreads) {
                match *sd > 0.0 {
                    true => lane.iter_mut().for_each(|cell| *cell = draw(*sd) as f32),
                    false => lane.fill(1.0),
                }
            }
        }
    }

    /// What the uses placed up to an hour of the past have moved each draw by, in Wh.
    pub fn used_up(
        &self,
        flows: &Lines,
        uses: &DayUses,
        hour: usize,
    ) -> impl Iterator<Item = f64> + use<> {
        let mut sums = vec![0.0; self.rows.len() * LANES];
        for placed in uses.placed.iter().filter(|placed| placed.hour <= hour) {
            let source = Source::Activity(placed.activity);
            for (r, (row, amounts)) in self.rows.iter().zip(&placed.rows).enumerate() {
                let occurred = &row.occurred[placed.activity];
                for (line, _) in row.lines.iter().zip(&flows.lines).filter(|(_, l)| l.0 == source) {
                    for l in 0..LANES {
                        sums[r * LANES + l] += f64::from(amounts[l] * line[l] * occurred[l]);
                    }
                }
            }
        }
        sums.into_iter()
    }

    /// Takes what was used in some draws only.
    pub fn use_up(&mut self, flows: &Lines, placed: &Placed) {
        let source = Source::Activity(placed.activity);
        for (row, amounts) in self.rows.iter_mut().zip(&placed.rows) {
            let occurred = &row.occurred[placed.activity];
            for (line, _) in row.lines.iter().zip(&flows.lines).filter(|(_, l)| l.0 == source) {
                for l in 0..LANES {
                    let level = row.level_wh[l] + amounts[l] * line[l] * occurred[l];
                    row.level_wh[l] = level.clamp(0.0, self.capacity);
                }
            }
        }
    }

    /// Moves all draws by a part of one hour that hides those amounts of each activity.
    pub fn hour(&mut self, kit: &Kit, flows: &Lines, hour: &PastHour, hidden: &[f64], part: f64) {
        Arch::new().dispatch(OneHour { stack: self, kit, flows, hour, hidden, part });
    }

    #[inline(always)]
    fn step(&mut self, kit: &Kit, flows: &Lines, hour: &PastHour, hidden: &[f64], part: f64) {
        let shared = kit.shared(hour.hour, hour.aboard, hour.weather.outside_c, &hour.sun);
        let amounts: Vec<(f32, Option<usize>)> =
            flows.lines.iter().map(|line| amount(line.0, hour, hidden)).collect();
        let mut climate = FlowLanes::default();
        for row in &mut self.rows {
            let clearness = hour.weather.clearness;
            if row.clearness != Some(clearness) {
                row.clearness = Some(clearness);
                (0..LANES).for_each(|l| row.day.put(l, 0.0, clearness * f64::from(row.sun[l])));
            }
            kit.hour_lanes(&shared, &row.day, &row.values, &mut climate);
            let (mut base_wh, mut used_wh) = ([0.0; LANES], [0.0; LANES]);
            for ((amount, activity), line) in amounts.iter().zip(&row.lines) {
                match activity {
                    _ if *amount == 0.0 => {}
                    Some(activity) => {
                        let occurred = &row.occurred[*activity];
                        for l in 0..LANES {
                            used_wh[l] += amount * line[l] * occurred[l];
                        }
                    }
                    None => (0..LANES).for_each(|l| base_wh[l] += amount * line[l]),
                }
            }
            let mut net_wh = [0.0; LANES];
            for l in 0..LANES {
                let loads_wh = (base_wh[l] - climate.load_wh[l]) * row.load[l];
                net_wh[l] = loads_wh + used_wh[l];
            }
            kit.settle(&climate, &mut net_wh);
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
    hidden: &'a [f64],
    part: f64,
}

impl WithSimd for OneHour<'_> {
    type Output = ();

    // What is compiled once more for wide vectors is what is inlined here.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        self.stack.step(self.kit, self.flows, self.hour, self.hidden, self.part);
    }
}

/// How much of a source an hour holds, and of which activity; base use is of none.
fn amount(source: Source, hour: &PastHour, hidden: &[f64]) -> (f32, Option<usize>) {
    match source {
        Source::Driver(Driver::PersonDay) => {
            ((hour.aboard * person_hour_share(hour.hour)) as f32, None)
        }
        Source::Driver(Driver::Day) => (1.0 / 24.0, None),
        Source::Activity(index) => (hidden[index] as f32, Some(index)),
        _ => (0.0, None),
    }
}
