//! The past replayed once more, with a change that nothing explains as one more unknown of each
//! stock. What the gauges then make of it is the evidence that `watch` weighs.

use super::Replay;
use crate::belief::habit::Habit;
use crate::belief::past::Past;
use crate::domain::estimate::Estimate;
use crate::domain::flow::Driver;
use crate::domain::time::Moment;
use crate::mechanism::coefficient::{Coefficient, Nature};
use crate::mechanism::driver::Source;
use crate::mechanism::{Flow, Mechanism};

/// How strong an unexplained change may be, as a share of capacity a day.
const UNEXPLAINED: f64 = 0.1;

/// Replays the past with one more unknown per stock that only adds up: a change a day that
/// nothing explains, from a moment on. Returns, for each of these `starts`, what the readings
/// make of each change, with its stock. What lies before a start is replayed once for all.
pub fn unexplained(
    past: &Past,
    habits: &[Habit],
    starts: &[Moment],
) -> Vec<Vec<(usize, Estimate)>> {
    let mut mechanism = Mechanism::of(&past.parts);
    let mut watched: Vec<(usize, usize)> = Vec::new();
    for stock in 0..mechanism.stocks().len() {
        let known = &mechanism.stocks()[stock];
        if mechanism.electric == Some(stock) || known.reset_by_camp {
            continue;
        }
        let (what, unit) = (format!("{} unexplained", known.name), known.unit.word().to_string());
        let source = Source::Driver(Driver::Day);
        let coefficient = mechanism.add(Coefficient::new(
            what,
            unit,
            source,
            0.0,
            Nature::Positive { spread: 0.0 },
        ));
        mechanism.flows.push(Flow { stock, source, coefficient, share: None, scale: 1.0 });
        watched.push((stock, coefficient));
    }
    let mut replay = Replay::begin(past, &mechanism, habits);
    let count = mechanism.stocks().len();
    let mut earliest: Vec<usize> = (0..starts.len()).collect();
    earliest.sort_by_key(|place| starts[*place]);
    let mut found = vec![Vec::new(); starts.len()];
    let mut done = 0;
    for place in earliest {
        let since = starts[place];
        // Entries are in time order.
        let before = past.entries.partition_point(|entry| entry.at <= since);
        for entry in &past.entries[done..before.max(done)] {
            replay.advance(entry.at);
            replay.take(entry.at, &entry.event);
        }
        done = before.max(done);
        if done == past.entries.len() {
            // Nothing was written since: there is nothing to tell a change by.
            let none = |(stock, c): &(usize, usize)| (*stock, replay.joint.estimate(count + c));
            found[place] = watched.iter().map(none).collect();
            continue;
        }
        let mut replay = replay.clone();
        replay.advance(since);
        replay.apply();
        for (stock, coefficient) in &watched {
            let sd = UNEXPLAINED * mechanism.stocks()[*stock].capacity;
            replay.joint.reset(count + coefficient, Estimate { mean: 0.0, sd });
        }
        for entry in &past.entries[done..] {
            replay.advance(entry.at);
            replay.take(entry.at, &entry.event);
        }
        let estimate = |(stock, c): &(usize, usize)| (*stock, replay.joint.estimate(count + c));
        found[place] = watched.iter().map(estimate).collect();
    }
    found
}
