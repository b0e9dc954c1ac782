//! What each source does to the stocks, life by life.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::plan::Plan;
use crate::belief::unlogged::day_felt;
use crate::domain::flow::Driver;
use crate::forecast::draw::{GroupDraw, Row};
use crate::mechanism::climate::lanes::LANES;
use crate::mechanism::driver::Source;

/// One source's effect on one stock, per occurrence, in each life.
pub(super) struct Effect {
    pub stock: usize,
    pub per_time: Row,
}

/// The effects of a source that is planned.
pub(super) fn effects_of<'s>(
    activities: &'s [Vec<Effect>],
    drivers: &'s [Vec<Effect>],
    plan: &Plan,
    source: Source,
) -> &'s [Effect] {
    match source {
        Source::Activity(a) => activities.get(a).map_or(&[], |effects| effects),
        other => {
            let place = plan.drivers.iter().position(|driver| *driver == other);
            place.map_or(&[], |place| &drivers[place])
        }
    }
}

/// What a driver does to every stock, in each life.
#[inline(always)]
pub(super) fn by_stock(plan: &Plan, draws: &GroupDraw, driver: Driver) -> Vec<Row> {
    let mut rows = vec![[0.0; LANES]; plan.stocks.len()];
    for effect in effects(plan, draws, Source::Driver(driver)) {
        rows[effect.stock] = effect.per_time;
    }
    rows
}

/// What a source does to each stock, per occurrence, in each life.
#[inline(always)]
pub(super) fn effects(plan: &Plan, draws: &GroupDraw, source: Source) -> Vec<Effect> {
    let mut effects: Vec<Effect> = Vec::new();
    for flow in plan.beliefs.mechanism.flows.iter().filter(|flow| flow.source == source) {
        let known = effects.iter().position(|effect| effect.stock == flow.stock);
        let known = known.unwrap_or_else(|| {
            effects.push(Effect { stock: flow.stock, per_time: [0.0; LANES] });
            effects.len() - 1
        });
        let row = &mut effects[known].per_time;
        let each = &draws.coefficients[flow.coefficient];
        match flow.share.map(|share| &draws.coefficients[share]) {
            Some(share) => {
                for l in 0..LANES {
                    row[l] += flow.scale * each[l] * share[l];
                }
            }
            None => {
                for l in 0..LANES {
                    row[l] += flow.scale * each[l];
                }
            }
        }
    }
    effects
}

/// The part of what a person-day does to every stock that swings from day to day, in each life.
/// What the rig file is sure of (food is counted in person-days) hardly differs between days.
pub(super) fn swinging(plan: &Plan, draws: &GroupDraw) -> Vec<Row> {
    let mechanism = &plan.beliefs.mechanism;
    let source = Source::Driver(Driver::PersonDay);
    let mut rows = vec![[0.0; LANES]; plan.stocks.len()];
    for flow in mechanism.flows.iter().filter(|flow| flow.source == source) {
        let known = &mechanism.coefficients[flow.coefficient];
        let felt = day_felt(known.sd() / known.mean.max(1e-12));
        for l in 0..LANES {
            let share = flow.share.map_or(1.0, |s| draws.coefficients[s][l]);
            rows[flow.stock][l] +=
                felt * flow.scale * draws.coefficients[flow.coefficient][l] * share;
        }
    }
    rows
}
