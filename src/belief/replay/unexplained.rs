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
/// nothing explains, from `since` on. Returns what the readings make of each, with its stock.
pub fn unexplained(past: &Past, habits: &[Habit], since: Moment) -> Vec<(usize, Estimate)> {
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
    let mut begun = false;
    for entry in &past.entries {
        if !begun && entry.at > since {
            begun = true;
            replay.advance(since);
            replay.apply();
            for (stock, coefficient) in &watched {
                let sd = UNEXPLAINED * mechanism.stocks()[*stock].capacity;
                replay.joint.reset(count + coefficient, Estimate { mean: 0.0, sd });
            }
        }
        replay.advance(entry.at);
        replay.take(entry.at, &entry.event);
    }
    watched.into_iter().map(|(stock, c)| (stock, replay.joint.estimate(count + c))).collect()
}
