//! What each source does to the stocks, life by life.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::setup::RunSetup;
use crate::belief::unlogged::day_felt;
use crate::forecast::sampler::{GroupDraw, Row};
use crate::mechanism::climate::lanes::{LANES, Lane};
use crate::mechanism::driver::Source;

/// One source's effect on one stock, per occurrence, in each life.
pub(super) struct StockEffect {
    pub stock: usize,
    pub per_time: Row,
}

/// What a source does to each stock, in the order in which its flows first name them.
#[inline(always)]
pub(super) fn effects(setup: &RunSetup, draws: &GroupDraw, source: Source) -> Vec<StockEffect> {
    let mut effects: Vec<StockEffect> = Vec::new();
    for flow in setup.beliefs.mechanism.flows.iter().filter(|flow| flow.source == source) {
        let known = effects.iter().position(|effect| effect.stock == flow.stock);
        let known = known.unwrap_or_else(|| {
            effects.push(StockEffect { stock: flow.stock, per_time: [0.0; LANES] });
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
    pub activities: Vec<Vec<StockEffect>>,
    /// In the order of [`RunSetup::drivers`].
    drivers: Vec<Vec<StockEffect>>,
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

/// Base use: what nobody logs, by the person and by the day.
pub(super) struct BaseFlows {
    /// Per stock, what each rhythm that moves it does.
    by_stock: Vec<Vec<BaseEffect>>,
}

/// What a 24th of a person-day or a day of one rhythm moves a stock by.
struct BaseEffect {
    rhythm: usize,
    /// Whether people do it, not the van by itself.
    by_people: bool,
    /// On average, and the part of it that varies from day to day.
    usual: Row,
    varying: Row,
    /// On the day at hand.
    today: Row,
}

impl BaseFlows {
    #[inline(always)]
    pub(super) fn of(setup: &RunSetup, draws: &GroupDraw) -> BaseFlows {
        let mut by_stock: Vec<Vec<BaseEffect>> = Vec::new();
        by_stock.resize_with(setup.stocks.len(), Vec::new);
        for rhythm in 0..setup.base.len() {
            let varying = varying_part(setup, draws, rhythm);
            for effect in effects(setup, draws, Source::Base(rhythm)) {
                let StockEffect { stock, per_time: usual } = effect;
                let varying = varying[stock];
                let [usual, varying] = [usual, varying].map(|row| row.map(|each| each / 24.0));
                let by_people = setup.beliefs.mechanism.rhythms[rhythm].per_person;
                let effect = BaseEffect { rhythm, by_people, usual, varying, today: usual };
                by_stock[stock].push(effect);
            }
        }
        BaseFlows { by_stock }
    }

    /// A new day, from a relative departure and whether anybody is at home (1 or 0), life by life:
    /// one day's use is that of all others times a factor, the same for every stock that it moves,
    /// as far as that varies at all. Only of stocks that are `needed`.
    #[inline(always)]
    pub(super) fn new_day(
        &mut self,
        departures: &Row,
        home: &Lane,
        needed: impl Fn(usize) -> bool,
    ) {
        for (s, effects) in self.by_stock.iter_mut().enumerate() {
            if !needed(s) {
                continue;
            }
            for effect in effects {
                if effect.by_people {
                    let (usual, varying) = (effect.usual, effect.varying);
                    for l in 0..LANES {
                        let departure = departures[l].max(-0.9);
                        effect.today[l] = (usual[l] + varying[l] * departure) * f64::from(home[l]);
                    }
                }
            }
        }
    }

    /// What it moves a stock by, given how many 24ths of each rhythm there are (a place in `held`,
    /// a row per rhythm).
    #[inline(always)]
    pub(super) fn moved(&self, s: usize, held: &[Vec<f64>], place: usize) -> Row {
        let mut sum = [0.0; LANES];
        for effect in &self.by_stock[s] {
            let (amount, today) = (held[effect.rhythm][place], &effect.today);
            for l in 0..LANES {
                sum[l] += today[l] * amount;
            }
        }
        sum
    }
}

/// The part of what a person-day does to every stock that varies from day to day, in each life.
/// What the rig file is sure of (food is counted in person-days) hardly differs between days, and
/// what the van does by itself not at all.
fn varying_part(setup: &RunSetup, draws: &GroupDraw, rhythm: usize) -> Vec<Row> {
    let mechanism = &setup.beliefs.mechanism;
    let mut rows = vec![[0.0; LANES]; setup.stocks.len()];
    if !mechanism.rhythms[rhythm].per_person {
        return rows;
    }
    let source = Source::Base(rhythm);
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
