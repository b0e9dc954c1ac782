//! What was foretold of a span when it began: the band of use that the lives of then came to.

use crate::belief;
use crate::domain::{Direction, Entry, Moment, Rig, Stock, hours_between, journal};
use crate::forecast::lives::FAN_STEP;
use crate::forecast::passages::select;
use crate::forecast::scene::Scene;
use crate::forecast::variants::LevelChange;
use crate::forecast::{Options, lives};

/// How much larger a stock is made, so that no life fills or empties it: what is asked is how much
/// would be used, not until when it lasts.
const ROOM: f64 = 64.0;

/// A band of use, in the stock's unit.
#[derive(Debug, Clone, PartialEq)]
pub struct UseBand {
    /// The stock's name.
    pub stock: String,
    /// Nine futures in ten use more.
    pub p10: f64,
    /// Half of them do.
    pub p50: f64,
    /// One in ten does.
    pub p90: f64,
}

/// What was foretold of a span when it began, from what was known then: a band for each stock of
/// then, but for counted nights and the battery, whose sun and loads have no one sum. `options` are
/// the moment that counts as now, the seed, and how many lives. Takes some milliseconds.
pub fn foretold(
    rig: &Rig,
    entries: &[Entry],
    (from, to): (Moment, Moment),
    options: Options,
) -> Vec<UseBand> {
    let hours = hours_between(from, to).max(0.0);
    let points = (hours / FAN_STEP as f64).round() as usize;
    if points == 0 {
        return Vec::new();
    }
    let known = journal::standing(entries, from);
    let mut beliefs = belief::learn(rig, &known, from, options.seed);
    let horizon_hours = points * FAN_STEP;
    let options = Options { at: from, horizon_hours, with_fans: true, ..options };
    let electric = beliefs.mechanism.electric;
    let asked = |(index, stock): &(usize, Stock)| !stock.reset_by_camp && electric != Some(*index);
    let stocks: Vec<(usize, Stock)> =
        beliefs.mechanism.stocks().iter().cloned().enumerate().filter(asked).collect();
    let mut scene = Scene::of(rig, &known, &beliefs, &options);
    for (index, stock) in &stocks {
        let large = ROOM * stock.capacity;
        beliefs.mechanism.parts.stocks[*index].capacity = large;
        scene.puts.push((0, *index, LevelChange::To(0.5 * large)));
    }
    let lives = lives::run_with_fans(&beliefs, &scene, options.seed, options.lives);
    let last = lives.fans.points().min(points) - 1;
    let band = |(index, stock): &(usize, Stock)| {
        let began = (0.5 * ROOM * stock.capacity) as f32;
        let sign = if stock.runs == Direction::Down { -1.0 } else { 1.0 };
        let used = lives.fans.levels(last, *index).map(|level| sign * (level - began));
        let [p10, p50, p90] = select(used, [0.1, 0.5, 0.9]).map(|amount| amount.unwrap_or(0.0));
        UseBand { stock: stock.name.clone(), p10, p50, p90 }
    };
    stocks.iter().map(band).collect()
}
