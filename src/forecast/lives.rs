//! The lives: drawn, then run forward, all stocks together.
//!
//! Lives are run in small groups, a lane each, so that the inner loops run over lives and become
//! vector instructions. Which stocks there are, what moves them and where they bind is data from
//! the mechanism: no stock is special here, but for the two places where sun and cold come in.

mod clock;
mod effects;
mod group;
mod happenings;
mod plan;

pub use group::COLD_HOURS;

use super::draw::Drawer;
use super::draw::Row;
use super::scene::Scene;
use super::tracks::{self, Track, TrackLives};
use crate::belief::Beliefs;
use crate::mechanism::climate::lanes::{LANES, Lane};
use group::Group;
pub(super) use group::met;
use plan::Plan;
use pulp::{Arch, Scalar, Simd, WithSimd};
use rayon::prelude::*;

/// What the lives came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Lives {
    /// Number of lives.
    pub count: usize,
    /// Hours to the limit, `[stock][life]`; infinite where it is not met within the horizon.
    pub passages: Vec<Vec<f64>>,
    /// Levels at the start, `[stock][life]`.
    pub first: Vec<Vec<f64>>,
    /// Levels every [`FAN_STEP`] hours; empty unless asked for.
    pub fans: Fans,
    /// Lowest level of the electric store per day ahead, `[day][life]`, up to the day by which more
    /// than half of the lives have met its limit; empty without one.
    pub lowest: Vec<Vec<f32>>,
    /// Level after three days (or at the horizon), `[stock][life]`.
    pub third_day: Vec<Vec<f64>>,
    /// Hours of the next five days in which the heater cannot keep the van within 2 K of what is
    /// wanted, `[life]`; zeros without a heater.
    pub cold_hours: Vec<f32>,
}

/// Hours between the points of a fan.
pub const FAN_STEP: usize = 6;

/// Levels of every stock in every life, point by point.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fans {
    points: usize,
    stocks: usize,
    count: usize,
    /// Per group of lives, as the group laid them down: a row per point and stock.
    groups: Vec<Vec<Lane>>,
}

impl Fans {
    /// Number of points; the first lies [`FAN_STEP`] hours ahead. 0 where no fans were asked for.
    pub fn points(&self) -> usize {
        self.points
    }

    /// Levels of a stock at a point, life by life, in its unit.
    pub fn levels(&self, point: usize, stock: usize) -> impl Iterator<Item = f32> + '_ {
        let row = point * self.stocks + stock;
        self.groups.iter().flat_map(move |rows| rows[row]).take(self.count)
    }

    /// Level of a stock at a point in one life, in its unit.
    pub fn level(&self, point: usize, stock: usize, life: usize) -> f64 {
        self.groups[life / LANES][point * self.stocks + stock][life % LANES].into()
    }
}
/// Groups that are run before their results are put away: enough for many threads, few enough to
/// be small beside the results.
const BATCH: usize = 64;

/// Draws and runs `count` lives as [`run`] does, and carries the levels of `tracks` along.
pub fn run_tracks(
    beliefs: &Beliefs,
    scene: &Scene,
    seed: u64,
    count: usize,
    tracks: &[Track],
) -> Vec<TrackLives> {
    let plan = Plan::of(beliefs, scene, false, tracks);
    let drawer = Drawer::of(beliefs, seed);
    let stocks = beliefs.mechanism.stocks().len();
    let mut all: Vec<TrackLives> = tracks.iter().map(|_| TrackLives::none(stocks, count)).collect();
    let groups = count.div_ceil(LANES);
    for batch in (0..groups).step_by(BATCH) {
        let done: Vec<tracks::TrackSet> = (batch..(batch + BATCH).min(groups))
            .into_par_iter()
            .map(|group| {
                Live { plan: &plan, drawer: &drawer, seed, group, kept: true }.run().tracks
            })
            .collect();
        done.iter().for_each(|set| set.put_away(&mut all, count));
    }
    for track in &mut all {
        forget_after(&mut track.passages, &scene.leaves);
    }
    all
}

/// Draws and runs `count` lives. The same seed gives the same lives on any number of threads.
pub fn run(beliefs: &Beliefs, scene: &Scene, seed: u64, count: usize, with_fans: bool) -> Lives {
    run_by(&Plan::of(beliefs, scene, with_fans, &[]), seed, count, |live| live.run())
}

/// [`run`] with the vectors that every processor of the kind has, and with the electric store kept
/// to the end, to check that wider ones, and leaving it alone, change nothing.
pub fn run_narrow(beliefs: &Beliefs, scene: &Scene, seed: u64, count: usize) -> Lives {
    let plan = Plan::of(beliefs, scene, false, &[]);
    run_by(&plan, seed, count, |live| Live { kept: true, ..live }.run_narrow())
}

fn run_by(plan: &Plan, seed: u64, count: usize, live: impl Fn(Live) -> Group + Sync) -> Lives {
    let drawer = Drawer::of(plan.beliefs, seed);
    let mut lives = Lives::none(plan, count);
    let mut left: Vec<usize> = Vec::new();
    let groups = count.div_ceil(LANES);
    let group_of =
        |group: usize, kept: bool| live(Live { plan, drawer: &drawer, seed, group, kept });
    for batch in (0..groups).step_by(BATCH) {
        let done: Vec<Group> = (batch..(batch + BATCH).min(groups))
            .into_par_iter()
            .map(|group| group_of(group, false))
            .collect();
        left.extend(done.iter().map(|group| group.left));
        done.into_iter().for_each(|group| lives.take(group));
    }
    forget_after(&mut lives.passages, &plan.scene.leaves);
    if let Some(s) = plan.electric {
        lives.lowest.truncate(days_told(&lives.passages[s], plan.hours.len()));
        // Hardly ever: of a group that left its store alone before, its whole way is asked for.
        let told = lives.lowest.len() * 24;
        for group in (0..groups).filter(|group| left[*group] < told) {
            lives.put_lowest(group, &group_of(group, true));
        }
    }
    lives
}

/// Days up to the one by which more than half of the lives have met a limit.
fn days_told(passages: &[f64], hours: usize) -> usize {
    let days = hours.div_ceil(24);
    let out = |day: &usize| {
        let ends = ((day + 1) * 24).min(hours) as f64;
        2 * passages.iter().filter(|met| **met <= ends).count() > passages.len()
    };
    (0..days).find(out).map_or(days, |day| day + 1)
}

/// A stock that is gone no longer binds.
fn forget_after(passages: &mut [Vec<f64>], leaves: &[f64]) {
    for (passages, leaves) in passages.iter_mut().zip(leaves).filter(|(_, at)| at.is_finite()) {
        passages.iter_mut().filter(|p| **p >= *leaves).for_each(|p| *p = f64::INFINITY);
    }
}

/// A group to be run.
#[derive(Clone, Copy)]
struct Live<'a> {
    plan: &'a Plan<'a>,
    drawer: &'a Drawer<'a>,
    seed: u64,
    group: usize,
    /// Whether the electric store is run to the end, whatever became of it.
    kept: bool,
}

impl Live<'_> {
    /// Runs it with the widest vectors that this processor knows. What comes out does not depend
    /// on them: they do the same operations, only more at a time, and none is fused or reordered.
    fn run(self) -> Group {
        Arch::new().dispatch(self)
    }

    fn run_narrow(self) -> Group {
        self.with_simd(Scalar)
    }
}

impl WithSimd for Live<'_> {
    type Output = Group;

    // What is compiled once more for wide vectors is what is inlined here.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> Group {
        Group::live(self.plan, self.drawer, self.seed, self.group * LANES, self.kept)
    }
}

impl Lives {
    fn none(plan: &Plan, count: usize) -> Lives {
        let stocks = plan.stocks.len();
        let room = || vec![Vec::with_capacity(count); stocks];
        let points = if plan.with_fans { plan.hours.len() / FAN_STEP } else { 0 };
        let days = plan.electric.map_or(0, |_| plan.hours.len().div_ceil(24));
        Lives {
            count,
            passages: room(),
            first: room(),
            third_day: room(),
            fans: Fans { points, stocks, count, groups: Vec::new() },
            lowest: vec![Vec::with_capacity(count); days],
            cold_hours: Vec::with_capacity(count),
        }
    }

    /// Puts a group behind those already there, up to the number of lives asked for.
    fn take(&mut self, group: Group) {
        let width = LANES.min(self.count - self.cold_hours.len());
        let rows = |all: &mut [Vec<f64>], rows: &[Row]| {
            all.iter_mut().zip(rows).for_each(|(all, row)| all.extend_from_slice(&row[..width]));
        };
        let lanes = |all: &mut [Vec<f32>], rows: &[Lane]| {
            all.iter_mut().zip(rows).for_each(|(all, row)| all.extend_from_slice(&row[..width]));
        };
        rows(&mut self.passages, &group.passage);
        rows(&mut self.first, &group.first);
        rows(&mut self.third_day, &group.third_day);
        lanes(&mut self.lowest, &group.lowest);
        if self.fans.points > 0 {
            self.fans.groups.push(group.fans);
        }
        self.cold_hours.extend_from_slice(&group.cold_hours[..width]);
    }

    /// Puts a group's lowest levels in the place of those it came with.
    fn put_lowest(&mut self, number: usize, group: &Group) {
        let from = number * LANES;
        let width = LANES.min(self.count - from);
        for (all, row) in self.lowest.iter_mut().zip(&group.lowest) {
            all[from..from + width].copy_from_slice(&row[..width]);
        }
    }
}
