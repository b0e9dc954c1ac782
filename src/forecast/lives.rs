//! The lives: sample paths of a Monte Carlo run, drawn, then run forward, all stocks together.
//!
//! Lives are run in small groups, a lane each, so that the inner loops run over lives and become
//! vector instructions. Which stocks there are, what moves them and where they bind is data from
//! the mechanism: no stock is special here, but for the two places where sun and cold come in.
//!
//! # Why it is quick
//!
//! - Inner loops run over 32 lives and are compiled once more for AVX2 and for AVX-512
//!   (`GroupTask` as `WithSimd`). What shall be, must be inlined there; a closure given to
//!   `for_each` is not. Rows must be plain local arrays: where two might overlap, the compiler adds
//!   lives one by one. Nothing is fused or reordered: narrow ones give the same bytes.
//! - Whatever moves a stock one way is summed by the day, and hours are walked only on the day of a
//!   passage. A stock whose limit all 32 lives have met is summed no more (`group`).
//! - Once three quarters of 32 lives have met the battery's limit, and cold is no longer counted, it
//!   is drawn for the others only; once all have, only fuel burnt for heat is worked out. How low it
//!   gets is told up to the day by which half of all lives are out: groups that left lives alone
//!   before are run again, which hardly ever happens.
//! - Of what is left, most is drawing occurrences (`occurrences`).
//!
//! Tried without gain: occurrences drawn for 32 lives in step, with the ends of lives' loops
//! unguessed, into rows by the clock's slots; a list of occurrences with their hours, searched by
//! the day; one or two lives walked alone on the day of their passage; knowing in the battery's hour
//! that the fuel is out, which would cost a second walk of the fuel by the hour.

mod clock;
mod days;
mod effects;
mod grid;
mod group;
mod occurrences;
mod one_stock;
mod renewal;
mod setup;
mod state;

pub(super) use grid::COLD_HOURS;
pub use grid::FAN_STEP;
pub use one_stock::OneStock;

use super::Options;
use super::sampler::{Row, Sampler};
use super::scene::Scene;
use super::variants::{Variant, VariantLives};
use crate::belief::Beliefs;
use crate::mechanism::climate::lanes::{LANES, Lane};
use group::{GroupTask, Store};
use occurrences::Buffers;
use pulp::{Arch, Simd, WithSimd};
use rayon::prelude::*;
use setup::{Extras, RunSetup};
use state::Group;
use std::borrow::Cow;
use std::ops::Range;

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
    /// Hours of the next five days in which heat cannot keep the van within 2 K of what is wanted,
    /// `[life]`; zeros without a source of heat.
    pub cold_hours: Vec<f32>,
}

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

/// Draws and runs `count` lives as [`run`] does, and carries the levels of `variants` along.
pub fn run_variants(
    beliefs: &Beliefs,
    scene: &Scene,
    seed: u64,
    count: usize,
    variants: &[Variant],
) -> Vec<VariantLives> {
    let setup = RunSetup::of(beliefs, scene, Extras::Variants(variants));
    let sampler = Sampler::of(beliefs, seed);
    let run = Batch::of(&setup, &sampler, count);
    let none = VariantLives::none(setup.stocks.len(), count);
    let mut all = vec![none; variants.len()];
    run.groups(Store::RunToEnd, run_wide, |group| group.variants.put_away(&mut all, count));
    for variant in &mut all {
        forget_after(&mut variant.passages, &scene.leaves);
        forget_stood_in(&mut variant.passages, &scene.stood_in);
    }
    all
}

/// Draws and runs `count` lives. The same seed gives the same lives on any number of threads.
pub fn run(beliefs: &Beliefs, scene: &Scene, seed: u64, count: usize) -> Lives {
    run_more(beliefs, scene, seed, 0..count)
}

/// The lives with these numbers among those of a seed; the first is a multiple of 32.
pub fn run_more(beliefs: &Beliefs, scene: &Scene, seed: u64, numbers: Range<usize>) -> Lives {
    let setup = RunSetup::of(beliefs, scene, Extras::Passages);
    let sampler = Sampler::of(beliefs, seed);
    let run = Batch { from: numbers.start / LANES, ..Batch::of(&setup, &sampler, numbers.len()) };
    run.lives(Store::LeaveWhenMet, run_wide)
}

/// The same lives as [`run`] gives, but for rounding, and their fans.
pub fn run_with_fans(beliefs: &Beliefs, scene: &Scene, seed: u64, count: usize) -> Lives {
    let setup = RunSetup::of(beliefs, scene, Extras::Fans);
    Batch::of(&setup, &Sampler::of(beliefs, seed), count).lives(Store::RunToEnd, run_wide)
}

/// The lives that `options` ask for; as soon as `go_on` says no, as many as were run by then. The
/// first two thousand are run in any case.
pub(super) fn run_while(beliefs: &Beliefs, scene: &Scene, options: Options, go_on: GoOn) -> Lives {
    let (wanted, store) = match options.with_fans {
        true => (Extras::Fans, Store::RunToEnd),
        false => (Extras::Passages, Store::LeaveWhenMet),
    };
    let setup = RunSetup::of(beliefs, scene, wanted);
    let sampler = Sampler::of(beliefs, options.seed);
    Batch { go_on, ..Batch::of(&setup, &sampler, options.lives) }.lives(store, run_wide)
}

/// Runs a group with the widest vectors that this processor knows. What comes out does not depend
/// on them: they do the same operations, only more at a time, and none is fused or reordered.
fn run_wide(task: GroupTask) -> Group {
    Arch::new().dispatch(task)
}

impl WithSimd for GroupTask<'_> {
    type Output = Group;

    // What is compiled once more for wide vectors is what is inlined here.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> Group {
        group::live(self)
    }
}

/// Hears how many lives are run, and says whether somebody still wants more of them.
pub type GoOn<'a> = &'a (dyn Fn(usize) -> bool + Sync);

/// Lives to be run.
#[derive(Clone, Copy)]
struct Batch<'a> {
    setup: &'a RunSetup<'a>,
    sampler: &'a Sampler<'a>,
    /// Number of the first group.
    from: usize,
    count: usize,
    go_on: GoOn<'a>,
}

impl<'a> Batch<'a> {
    fn of(setup: &'a RunSetup<'a>, sampler: &'a Sampler<'a>, count: usize) -> Batch<'a> {
        Batch { setup, sampler, from: 0, count, go_on: &|_| true }
    }

    fn task<'r>(&'r self, number: usize, store: Store, room: &'r mut Buffers) -> GroupTask<'r> {
        let number = self.from + number;
        GroupTask { setup: self.setup, sampler: self.sampler, number, store, room }
    }

    /// Runs all groups, some at a time, and hands them to `take` in their order.
    fn groups(
        &self,
        store: Store,
        by: impl Fn(GroupTask) -> Group + Sync,
        mut take: impl FnMut(Group),
    ) {
        let groups = self.count.div_ceil(LANES);
        for batch in (0..groups).step_by(BATCH) {
            let numbers = (batch..(batch + BATCH).min(groups)).into_par_iter();
            let run = |room: &mut Buffers, number| by(self.task(number, store, room));
            let done: Vec<Group> = numbers.map_init(Buffers::default, run).collect();
            done.into_iter().for_each(&mut take);
            if !(self.go_on)(((batch + BATCH) * LANES).min(self.count)) {
                break;
            }
        }
    }

    fn lives(&self, store: Store, by: impl Fn(GroupTask) -> Group + Sync) -> Lives {
        let mut lives = Lives::none(self.setup, self.count);
        let mut left: Vec<usize> = Vec::new();
        self.groups(store, &by, |group| {
            left.push(group.left);
            lives.take(group);
        });
        // As many as were run before somebody said that it is enough.
        lives.count = lives.cold_hours.len();
        lives.fans.count = lives.count;
        forget_after(&mut lives.passages, &self.setup.scene.leaves);
        if let Some(s) = self.setup.electric {
            lives.lowest.truncate(days_told(&lives.passages[s], self.setup.hours.len()));
            // Hardly ever: of a group that left its store alone before, its whole way is asked for.
            let told = lives.lowest.len() * 24;
            for number in (0..left.len()).filter(|number| left[*number] < told) {
                lives.put_lowest(
                    number,
                    &by(self.task(number, Store::RunToEnd, &mut Buffers::default())),
                );
            }
        }
        lives
    }
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

/// A stock that another stands in for does not bind.
fn forget_stood_in(passages: &mut [Vec<f64>], stood_in: &[bool]) {
    for (passages, _) in passages.iter_mut().zip(stood_in).filter(|(_, stood_in)| **stood_in) {
        passages.fill(f64::INFINITY);
    }
}

impl Lives {
    /// The passages that force a stop: all of [`Lives::passages`], but those of stocks that others
    /// stand in for.
    pub fn forcing(&self, scene: &Scene) -> Cow<'_, [Vec<f64>]> {
        if !scene.stood_in.contains(&true) {
            return Cow::Borrowed(&self.passages);
        }
        let mut forcing = self.passages.clone();
        forget_stood_in(&mut forcing, &scene.stood_in);
        Cow::Owned(forcing)
    }

    /// The same, of lives of which nothing else is wanted.
    pub fn into_forcing(mut self, scene: &Scene) -> Vec<Vec<f64>> {
        forget_stood_in(&mut self.passages, &scene.stood_in);
        self.passages
    }

    fn none(setup: &RunSetup, count: usize) -> Lives {
        let stocks = setup.stocks.len();
        let room = || vec![Vec::with_capacity(count); stocks];
        let days = setup.electric.map_or(0, |_| setup.hours.len().div_ceil(24));
        Lives {
            count,
            passages: room(),
            first: room(),
            third_day: room(),
            fans: Fans { points: setup.fan_points(), stocks, count, groups: Vec::new() },
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

#[cfg(test)]
mod tests {
    //! The lives against a plainer way to run them.

    use super::*;
    use crate::belief;
    use crate::domain::standing;
    use crate::store::data_folder::DataFolder;
    use crate::store::real_disk::RealDisk;
    use pulp::Scalar;
    use std::path::Path;
    use std::sync::Arc;

    /// [`run`] with the vectors that every processor of the kind has, and with the electric store run
    /// to the end.
    fn run_narrow(beliefs: &Beliefs, scene: &Scene, seed: u64, count: usize) -> Lives {
        let setup = RunSetup::of(beliefs, scene, Extras::Passages);
        Batch::of(&setup, &Sampler::of(beliefs, seed), count)
            .lives(Store::RunToEnd, |task| task.with_simd(Scalar))
    }

    /// An evening a day and a half before a stop that the battery forces most often (invented).
    fn near_stop() -> (Beliefs, Scene) {
        let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/near_stop");
        let mut folder = DataFolder::at(&dir, &dir.join("not-there"), Arc::new(RealDisk));
        let contents = folder.load().unwrap();
        let options = Options::at(contents.rig.evening.unwrap());
        let standing = standing(&contents.journal.entries, options.at);
        let beliefs = belief::learn(&contents.rig, &standing, options.at, 1);
        let scene = Scene::of(&contents.rig, &standing, &beliefs, &options);
        (beliefs, scene)
    }

    /// Wide vectors do the same operations, only more of them at a time: the bytes are the same on
    /// processors that have none. The narrow run also takes the whole hour of sun and cold to the end,
    /// where the other, once its battery is left alone, works out heat and nothing else.
    #[test]
    fn wide_vectors_and_heating_alone_change_nothing() {
        let (beliefs, scene) = near_stop();
        let wide = run(&beliefs, &scene, 5, 500);
        let fuel = beliefs.mechanism.heat_fuels()[0].unwrap();
        let left_alone = 24.0 * (wide.lowest.len() + 5) as f64;
        let late = wide.passages[fuel].iter().filter(|met| met.is_finite() && **met > left_alone);
        assert!(late.count() > 100, "too few burn fuel long after the battery");
        assert_eq!(wide, run_narrow(&beliefs, &scene, 5, 500));
    }

    /// A toilet's uses are counted in uses: whatever fills it is a whole number of them, while what a
    /// shower takes of the water is not.
    #[test]
    fn what_is_counted_in_itself_is_drawn_as_a_count() {
        let (beliefs, scene) = near_stop();
        let place = |name: &str| {
            let stocks = beliefs.mechanism.stocks();
            stocks.iter().position(|stock| stock.name == name).unwrap()
        };
        let (solids, fresh) = (place("solids"), place("fresh"));
        let setup = |stock| RunSetup::of(&beliefs, &scene, Extras::OneStock(stock));
        let whole = |stock| {
            let (setup, mut all, mut whole) = (setup(stock), 0, 0);
            let sampler = Sampler::of(&beliefs, 5);
            Batch::of(&setup, &sampler, 64).groups(Store::RunToEnd, run_wide, |group| {
                let moved = group.changes.iter().flatten().filter(|change| **change != 0.0);
                for change in moved {
                    all += 1;
                    whole += usize::from((change - change.round()).abs() < 1e-5);
                }
            });
            (whole, all)
        };
        let (counts, all) = whole(solids);
        assert!(all > 1000 && counts == all, "{counts} of {all}");
        let (counts, all) = whole(fresh);
        assert!(counts < all / 10, "{counts} of {all}");
    }

    /// The battery is left alone once a group of lives has met its limit; of how low it gets, nothing
    /// is told beyond the day by which half of all lives have. Where that day never comes, as with a
    /// battery that is taken out before, groups that left it alone are asked again.
    #[test]
    fn leaving_the_battery_alone_changes_nothing_that_is_told() {
        let (beliefs, mut scene) = near_stop();
        let battery = beliefs.mechanism.electric.unwrap();
        let soon = run(&beliefs, &scene, 5, 500);
        assert!((1..10).contains(&soon.lowest.len()), "{}", soon.lowest.len());
        scene.leaves[battery] = 40.0;
        let gone = run(&beliefs, &scene, 5, 500);
        assert_eq!(gone.lowest.len(), 30);
        assert!(gone.lowest.iter().flatten().all(|level| level.is_finite()));
        assert_eq!(gone, run_narrow(&beliefs, &scene, 5, 500));
    }
}
