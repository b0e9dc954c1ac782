//! What each source does to the stocks, life by life.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::setup::RunSetup;
use crate::belief::unlogged::day_felt;
use crate::domain::flow::Driver;
use crate::forecast::practice::BASE_DAY;
use crate::forecast::sampler::{GroupDraw, Row};
use crate::mechanism::climate::lanes::LANES;
use crate::mechanism::driver::Source;

/// One source's effect on one stock, per occurrence, in each life.
pub(super) struct Effect {
    pub stock: usize,
    pub per_time: Row,
}

/// What a source does to each stock, in the order in which its flows first name them.
#[inline(always)]
pub(super) fn effects(setup: &RunSetup, draws: &GroupDraw, source: Source) -> Vec<Effect> {
    let mut effects: Vec<Effect> = Vec::new();
    for flow in setup.beliefs.mechanism.flows.iter().filter(|flow| flow.source == source) {
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

/// Effects of all sources.
pub(super) struct Effects {
    pub activities: Vec<Vec<Effect>>,
    /// In the order of [`RunSetup::drivers`].
    drivers: Vec<Vec<Effect>>,
}

impl Effects {
    #[inline(always)]
    pub(super) fn of(setup: &RunSetup, draws: &GroupDraw) -> Effects {
        let activities = setup.beliefs.mechanism.parts.activities.len();
        Effects {
            activities: (0..activities)
                .map(|a| effects(setup, draws, Source::Activity(a)))
                .collect(),
            drivers: setup.drivers.iter().map(|source| effects(setup, draws, *source)).collect(),
        }
    }

    /// What a source that is planned does to a stock, per time, if it moves it.
    pub(super) fn of_planned(
        &self,
        setup: &RunSetup,
        source: Source,
        stock: usize,
    ) -> Option<&Row> {
        let all = match source {
            Source::Activity(a) => self.activities.get(a)?,
            other => &self.drivers[setup.drivers.iter().position(|driver| *driver == other)?],
        };
        all.iter().find(|effect| effect.stock == stock).map(|effect| &effect.per_time)
    }
}

/// Base use, a row per stock: what nobody logs, by the person and by the day.
pub(super) struct BaseFlows {
    /// What a person-day moves on average, and the part of it that varies from day to day.
    per_person_day: Vec<Row>,
    varying_part: Vec<Row>,
    /// What a person-day moves on the day at hand.
    pub today: Vec<Row>,
    /// What a day and an hour move, whoever is aboard.
    pub per_day: Vec<Row>,
    pub per_hour: Vec<Row>,
}

impl BaseFlows {
    #[inline(always)]
    pub(super) fn of(setup: &RunSetup, draws: &GroupDraw) -> BaseFlows {
        let by_stock = |driver: Driver| {
            let mut rows = vec![[0.0; LANES]; setup.stocks.len()];
            for effect in effects(setup, draws, Source::Driver(driver)) {
                rows[effect.stock] = effect.per_time;
            }
            rows
        };
        let (per_person_day, per_day) = (by_stock(Driver::PersonDay), by_stock(Driver::Day));
        BaseFlows {
            varying_part: varying_part(setup, draws),
            today: per_person_day.clone(),
            per_person_day,
            per_hour: per_day.iter().map(|row| row.map(|each| each / 24.0)).collect(),
            per_day,
        }
    }

    /// A new day, from a standard normal draw per life: one day's use is that of all others times
    /// a factor, the same for every stock that it moves, as far as that varies at all.
    #[inline(always)]
    pub(super) fn new_day(&mut self, normals: &Row) {
        let day_factor = normals.map(|z| (1.0 + BASE_DAY * z).max(0.1));
        for (s, today) in self.today.iter_mut().enumerate() {
            let (usual, varying) = (&self.per_person_day[s], &self.varying_part[s]);
            for l in 0..LANES {
                today[l] = usual[l] + varying[l] * (day_factor[l] - 1.0);
            }
        }
    }
}

/// The part of what a person-day does to every stock that varies from day to day, in each life.
/// What the rig file is sure of (food is counted in person-days) hardly differs between days.
fn varying_part(setup: &RunSetup, draws: &GroupDraw) -> Vec<Row> {
    let mechanism = &setup.beliefs.mechanism;
    let source = Source::Driver(Driver::PersonDay);
    let mut rows = vec![[0.0; LANES]; setup.stocks.len()];
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
