//! Sun and cold, hour by hour: what is burnt for heat, and what moves the electric store.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use crate::domain::heating::TENDED_DAY_SD;
use crate::forecast::lives::effects::{BaseFlows, Effects};
use crate::forecast::lives::grid::{BLOCK, COLD_HOURS};
use crate::forecast::lives::occurrences::Occurrences;
use crate::forecast::lives::setup::RunSetup;
use crate::forecast::lives::state::Group;
use crate::forecast::sampler::{
    CLEARNESS, GroupDraw, LASTING, Sampler, TENDING, WARMTH, antithetic,
};
use crate::mechanism::climate::ClimateValues;
use crate::mechanism::climate::lanes::{DayLanes, FuelLanes, LANES, Lane, ValueLanes};
use crate::weather::ahead::WeatherAnomaly;
use std::ops::Range;

/// The weather of a group of lives, and what it came to in each hour of the block at hand.
pub(super) struct Climate<'a> {
    setup: &'a RunSetup<'a>,
    sampler: &'a Sampler<'a>,
    /// Number of the first life.
    from: usize,
    pub values: ValueLanes,
    anomaly: WeatherAnomaly<LANES>,
    /// The civil day at hand, and its number; none before the first.
    day: DayLanes,
    number: Option<usize>,
    /// Units burnt of each fuel, hour by hour.
    burnt: Vec<Lane>,
    /// Units of each that are left to be burnt in the block; empty where nobody asks.
    left: Vec<Lane>,
    /// Heat that is wanted of all sources, in W, and what moves the electric store, in Wh at the
    /// cells.
    pub asked_w: Vec<Lane>,
    pub net_wh: Vec<Lane>,
}

/// What moves the electric store besides sun and cold.
pub(super) struct OtherMoves<'a> {
    pub setup: &'a RunSetup<'a>,
    pub effects: &'a Effects,
    pub occurrences: &'a Occurrences<'a>,
    pub base: &'a BaseFlows,
    /// Its index among the stocks.
    pub store: usize,
}

impl OtherMoves<'_> {
    /// Uses, plans and base use of an hour, and what comes from outside, in Wh at the cells.
    #[inline(always)]
    pub(super) fn in_hour(&self, hour: usize) -> Lane {
        let mut moved = *self.occurrences.electric(hour);
        for (source, amount) in self.setup.planned_in(&(hour..hour + 1)) {
            if let Some(per_time) = self.effects.of_planned(self.setup, *source, self.store) {
                for l in 0..LANES {
                    moved[l] += (per_time[l] * amount) as f32;
                }
            }
        }
        let base_wh = self.base.moved(self.store, &self.setup.base, hour);
        let outside_wh = self.setup.outside[hour].1;
        for l in 0..LANES {
            moved[l] = moved[l] + base_wh[l] as f32 + outside_wh;
        }
        moved
    }
}

impl<'a> Climate<'a> {
    /// Before the first day.
    #[inline(always)]
    pub(super) fn of(
        setup: &'a RunSetup<'a>,
        sampler: &'a Sampler<'a>,
        draws: &GroupDraw,
        from: usize,
    ) -> Climate<'a> {
        let value =
            |l: usize| ClimateValues::of(&setup.beliefs.mechanism, |i| draws.coefficients[i][l]);
        let lasting = |what| antithetic(&sampler.normals(from, what + LASTING), |z| z);
        Climate {
            values: ValueLanes::of((0..LANES).map(value)),
            anomaly: WeatherAnomaly::begin(lasting(WARMTH), lasting(CLEARNESS)),
            day: DayLanes::default(),
            number: None,
            burnt: vec![[0.0; LANES]; BLOCK * setup.fuels.len()],
            left: Vec::new(),
            asked_w: vec![[0.0; LANES]; BLOCK],
            net_wh: vec![[0.0; LANES]; BLOCK],
            setup,
            sampler,
            from,
        }
    }

    /// How much of each fuel is left as a block begins. One source of heat stands in for another whose
    /// fuel is out, so that of a single fuel nobody asks; nor where the same hours are fed to levels
    /// that differ: what runs out there has met its limit first.
    pub(super) fn know_left(&mut self, group: &Group) {
        let setup = self.setup;
        self.left.clear();
        if setup.fuels.len() < 2 || setup.one_stock().is_some() || !setup.variants().is_empty() {
            return;
        }
        for fuel in &setup.fuels {
            // A battery comes back with the sun.
            let known = fuel.filter(|_| *fuel != setup.electric);
            self.left.push(known.map_or([f32::INFINITY; LANES], |s| {
                group.level[s].map(|level| (level - setup.stocks[s].limit.level) as f32)
            }));
        }
    }

    /// All of it in a block; `home` is 1 where anybody is at home, or 0: then nobody heats. `others`
    /// says what else moves the electric store in an hour.
    #[inline(always)]
    pub(super) fn hours(
        &mut self,
        block: &Range<usize>,
        home: &Lane,
        others: impl Fn(usize) -> Lane,
    ) {
        let setup = self.setup;
        // Local rows: what may overlap with the struct's would be worked out one by one.
        let values = self.values.at_home(home);
        for (place, index) in block.clone().enumerate() {
            self.enter(setup.outside[index].0 as usize);
            let other_wh = others(index);
            let burnt = begin(&mut self.burnt, place, setup.fuels.len());
            let flows = setup.scene.kit.hour_lanes(
                &setup.hours[index],
                (&self.day, &values),
                FuelLanes { burnt, left: &self.left },
                #[inline(always)]
                |l, load_wh, of_store| other_wh[l] - load_wh - of_store,
            );
            take_from(&mut self.left, burnt);
            if index < COLD_HOURS {
                self.asked_w[place] = flows.asked_w;
            }
            self.net_wh[place] = flows.net_wh;
        }
    }

    /// Heat alone, where nobody asks for the electric store any more.
    #[inline(always)]
    pub(super) fn heat(&mut self, block: &Range<usize>, home: &Lane) {
        let (setup, values) = (self.setup, self.values.at_home(home));
        for (place, index) in block.clone().enumerate() {
            self.enter(setup.outside[index].0 as usize);
            let burnt = begin(&mut self.burnt, place, setup.fuels.len());
            let fuels = FuelLanes { burnt, left: &self.left };
            setup.scene.kit.heat_lanes(&setup.hours[index], (&self.day, &values), fuels);
            take_from(&mut self.left, burnt);
        }
    }

    /// Units of a fuel that are burnt in the hour at a place of the block.
    #[inline(always)]
    pub(super) fn burnt(&self, place: usize, fuel: usize) -> &Lane {
        &self.burnt[place * self.setup.fuels.len() + fuel]
    }

    /// Draws the weather of a civil day, on its first hour.
    #[inline(always)]
    fn enter(&mut self, number: usize) {
        if self.number == Some(number) {
            return;
        }
        self.number = Some(number);
        let normals = |what| self.sampler.normals(self.from, what + number as u64);
        let warm = antithetic(&normals(WARMTH), |z| z);
        let clear = antithetic(&normals(CLEARNESS), |z| z);
        let day = &self.setup.scene.days[number];
        let (offset_k, clearness) = self.anomaly.next(day, &warm, &clear);
        self.day.put_all(&offset_k, &clearness);
        if self.setup.tends_a_fire {
            let differs = |z: f64| (1.0 + TENDED_DAY_SD * z).max(0.0);
            self.day.put_tending(&antithetic(&normals(TENDING), differs));
        }
    }
}

/// The rows of what is burnt in the hour at a place of the block, of each fuel, with nothing in them.
#[inline(always)]
fn begin(burnt: &mut [Lane], place: usize, fuels: usize) -> &mut [Lane] {
    let rows = &mut burnt[place * fuels..][..fuels];
    rows.fill([0.0; LANES]);
    rows
}

/// What was burnt in an hour is left no more.
#[inline(always)]
fn take_from(left: &mut [Lane], burnt: &[Lane]) {
    for (left, burnt) in left.iter_mut().zip(burnt) {
        for l in 0..LANES {
            left[l] -= burnt[l];
        }
    }
}
