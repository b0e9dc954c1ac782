//! The ensemble: 256 members, each a possible level, set of coefficients and error of the gauge.
//!
//! It is run through the past an hour at a time, which is one of the two places where belief
//! advances time. The other, the Gaussian replay, sums exposures and moves a whole distribution,
//! which needs flows that are linear. A battery's are not: it is full at noon, cold cells refuse
//! charge, and a high current costs more than it gives. So every member lives through every hour.
//! Readings are taken in `assimilate`.
//!
//! Members lie side by side in whole rows, compiled for wide vectors. Tried without gain: normals
//! drawn evenly over their law (the error that other draws leave is the same), and members put in
//! order of how long they last (rigs that differ in panels would no longer share them).

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::members::{MEMBERS, PerMember, factors, normals, shares};
use super::uses::DayUses;
use crate::belief::past::PastHour;
use crate::belief::practice::{GAUGE_BIAS_KEPT, GAUGE_BIAS_SD, LOAD_SD, MEMBER_WANDER, RUN_SD};
use crate::domain::Estimate;
use crate::mechanism::climate::lanes::{DayLanes, FuelLanes, LANES, Lane, ValueLanes};
use crate::mechanism::climate::{ClimateValues, Kit};
use crate::mechanism::coefficient::{Coefficient, Nature};
use crate::mechanism::driver::{Exposure, Source};
use crate::mechanism::{Flow, Mechanism};
use pulp::{Arch, Simd, WithSimd};
use rand::Rng;

/// Members come in whole rows.
const _: () = assert!(MEMBERS.is_multiple_of(LANES));

/// One member of the ensemble: one possible battery. All are equally likely.
#[derive(Debug, Clone, PartialEq)]
pub struct Member {
    /// Stored energy now, in Wh.
    pub level_wh: f64,
    /// Values of all coefficients, in the mechanism's order; only the electric ones differ
    /// between members.
    pub coefficients: Vec<f64>,
}

/// All members, side by side.
pub(super) struct Ensemble<'a> {
    mechanism: &'a Mechanism,
    kit: Kit,
    /// What an hour burns of each fuel: a buffer.
    burnt: Vec<Lane>,
    /// Linear flows into the store.
    flows: Vec<Flow>,
    /// Coefficients that move the store, and so are taught by its readings.
    taught: Vec<usize>,
    /// Of the store, in Wh.
    pub capacity_wh: f64,
    pub level_wh: PerMember,
    /// How much too much the gauge shows, in Wh: it lasts for days, or the loads would be blamed
    /// for it evening after evening.
    pub gauge_bias_wh: PerMember,
    /// Per coefficient. Private, as `rows` hold what follows from them: see [`Ensemble::teach`].
    coefficients: Vec<PerMember>,
    rows: Vec<MemberRow>,
}

/// What an hour's step wants to know of [`LANES`] members: what follows from their coefficients,
/// and how the day at hand departs from what is expected of it.
struct MemberRow {
    values: ValueLanes,
    /// Per flow: energy in Wh per unit of its source.
    per_unit: Vec<Lane>,
    sun: Lane,
    load: Lane,
    /// What drives and charges bring.
    runs: Lane,
    /// Per activity, what its occurrences take.
    occurred: Vec<Lane>,
    day: DayLanes,
    /// Clearness that `day` was laid out for; none after `sun` changed.
    clearness: Option<f64>,
}

/// How far a day may depart from what is expected of it: relative standard deviations.
pub(super) struct DaySpreads {
    pub sun: f64,
    /// Per activity.
    pub activities: Vec<f64>,
    /// Of drives and charges, on a day that has any.
    pub runs: Option<f64>,
}

/// An hour that all members live through.
pub(super) struct EnsembleHour<'a> {
    pub past: &'a PastHour,
    /// What it holds in every member, as if all of it lay in the past.
    pub exposure: &'a Exposure,
    /// How much of it lies in the past, `[0, 1]`.
    pub part: f64,
    /// Share of it that was lived at home: nobody heats when all are out.
    pub lived: f64,
    /// Its index in the past, and the uses of which some members have a piece in it.
    pub uses: (usize, &'a DayUses),
}

impl<'a> Ensemble<'a> {
    /// Before anything was read: coefficients as the rig file has them or, where other stocks
    /// tell of them, as `known`; any level from a fifth to full. `electric` is the store.
    pub fn new<R: Rng>(
        mechanism: &'a Mechanism,
        electric: usize,
        known: &[Estimate],
        random: &mut R,
    ) -> Ensemble<'a> {
        let capacity_wh = mechanism.stocks()[electric].capacity;
        let flows = mechanism.flows.iter().filter(|flow| flow.stock == electric);
        let level_wh = shares(random).map(|share| (0.2 + 0.8 * share) * capacity_wh);
        let coefficients = first_coefficients(mechanism, known, random);
        let gauge_bias_wh = normals(random).map(|z| GAUGE_BIAS_SD * capacity_wh * z);
        let indices = 0..mechanism.coefficients.len();
        let mut ensemble = Ensemble {
            mechanism,
            kit: Kit::of(mechanism),
            burnt: vec![[0.0; LANES]; mechanism.parts.heat_fuels().len()],
            flows: flows.cloned().collect(),
            taught: indices.filter(|i| mechanism.stocks_moved_by(*i).contains(&electric)).collect(),
            capacity_wh,
            level_wh,
            gauge_bias_wh,
            coefficients,
            rows: Vec::new(),
        };
        let (flows, activities) = (ensemble.flows.len(), mechanism.parts.activities.len());
        ensemble.rows = (0..MEMBERS / LANES).map(|_| MemberRow::plain(flows, activities)).collect();
        ensemble.teach(|_, _| {});
        ensemble
    }

    /// Takes over what another kit of the same battery's members were, where it is the same.
    pub(super) fn take_over(&mut self, before: &Ensemble, electric: usize) {
        let [now, then] = [self.mechanism, before.mechanism].map(|m| &m.stocks()[electric]);
        if now.capacity == then.capacity {
            self.level_wh = before.level_wh;
            self.gauge_bias_wh = before.gauge_bias_wh;
        }
        let mechanism = self.mechanism;
        self.teach(|coefficients, _| {
            for (index, own) in coefficients.iter_mut().enumerate() {
                if let Some(place) = mechanism.goes_on_from(index, before.mechanism) {
                    *own = before.coefficients[place];
                }
            }
        });
    }

    /// The members, one by one.
    pub fn members(&self) -> Vec<Member> {
        let member = |m: usize| Member {
            level_wh: self.level_wh[m],
            coefficients: self.coefficients.iter().map(|each| each[m]).collect(),
        };
        (0..MEMBERS).map(member).collect()
    }

    /// Changes coefficients, which `change` gets with the indices of those that move the store,
    /// and works out anew what follows from them.
    #[inline(always)]
    pub fn teach(&mut self, change: impl FnOnce(&mut [PerMember], &[usize])) {
        change(&mut self.coefficients, &self.taught);
        let (mechanism, coefficients) = (self.mechanism, &self.coefficients);
        let values = |m: usize| ClimateValues::of(mechanism, |i| coefficients[i][m]);
        for (r, row) in self.rows.iter_mut().enumerate() {
            row.values = ValueLanes::of((r * LANES..(r + 1) * LANES).map(values));
        }
        for (place, flow) in self.flows.iter().enumerate() {
            lay_out(&mut self.rows, &per_unit(flow, coefficients), |row| &mut row.per_unit[place]);
        }
    }

    /// A new day: how it departs from what is expected of it is drawn, coefficients wander, and
    /// the gauge drifts (a monitor finds its zero again when the store is full).
    pub fn new_day<R: Rng>(&mut self, spreads: &DaySpreads, random: &mut R) {
        Arch::new().dispatch(
            #[inline(always)]
            || self.begin_day(spreads, random),
        );
    }

    #[inline(always)]
    fn begin_day<R: Rng>(&mut self, spreads: &DaySpreads, random: &mut R) {
        let rows = &mut self.rows;
        lay_out(rows, &factors(spreads.sun, random), |row| &mut row.sun);
        rows.iter_mut().for_each(|row| row.clearness = None);
        lay_out(rows, &factors(LOAD_SD, random), |row| &mut row.load);
        for (activity, sd) in spreads.activities.iter().enumerate() {
            let own = if *sd > 0.0 { factors(*sd, random) } else { [1.0; MEMBERS] };
            lay_out(rows, &own, |row| &mut row.occurred[activity]);
        }
        if let Some(sd) = spreads.runs {
            lay_out(rows, &factors(sd, random), |row| &mut row.runs);
        }
        self.teach(|coefficients, taught| {
            for index in taught {
                let wanders = factors(MEMBER_WANDER, random);
                coefficients[*index].iter_mut().zip(&wanders).for_each(|(c, by)| *c *= by);
            }
        });
        let fresh_sd =
            GAUGE_BIAS_SD * self.capacity_wh * (1.0 - GAUGE_BIAS_KEPT * GAUGE_BIAS_KEPT).sqrt();
        for (bias, z) in self.gauge_bias_wh.iter_mut().zip(normals(random)) {
            *bias = GAUGE_BIAS_KEPT * *bias + fresh_sd * z;
        }
    }

    /// Moves all members by an hour, or by the part of it that lies in the past.
    pub fn hour(&mut self, hour: &EnsembleHour) {
        Arch::new().dispatch(OneHour { ensemble: self, hour });
    }

    #[inline(always)]
    fn step(&mut self, hour: &EnsembleHour) {
        let past = hour.past;
        let shared = self.kit.shared(past.surroundings(), &past.sun);
        let held = |flow: &Flow| hour.exposure.of(flow.source) as f32;
        let held: Vec<f32> = self.flows.iter().map(held).collect();
        let (index, uses) = hour.uses;
        let placed = uses.placed.iter().filter(|placed| placed.hours.contains(&index));
        let placed: Vec<_> = placed.map(|p| (p.activity, p.amounts(index))).collect();
        let (capacity, lived) = (self.capacity_wh as f32, [hour.lived as f32; LANES]);
        let rows = self.rows.iter_mut().zip(self.level_wh.chunks_exact_mut(LANES));
        for (r, (row, level_wh)) in rows.enumerate() {
            row.brighten(past.weather.clearness);
            let (base_wh, used_wh) = row.linear(&self.flows, &held);
            let (load, values) = (row.load, row.values.at_home(&lived));
            self.burnt.fill([0.0; LANES]);
            let (lives, fuels) = ((&row.day, &values), FuelLanes::enough(&mut self.burnt));
            let flows = self.kit.hour_lanes(&shared, lives, fuels, |l, load_wh, of_store| {
                (base_wh[l] - load_wh) * load[l] + used_wh[l] - of_store
            });
            let mut level: Lane = [0.0; LANES];
            for l in 0..LANES {
                level[l] = flows.level_after(l, level_wh[l] as f32, hour.part as f32, capacity);
            }
            for (activity, amounts) in &placed {
                for moved in row.used(&self.flows, *activity, &amounts[r * LANES..]) {
                    for l in 0..LANES {
                        level[l] = (level[l] + moved[l]).clamp(0.0, capacity);
                    }
                }
            }
            for l in 0..LANES {
                level_wh[l] = f64::from(level[l]);
            }
        }
    }

    /// What the uses placed up to an hour of the past have moved each member by, in Wh.
    pub(super) fn used_by(&self, uses: &DayUses, hour: usize) -> PerMember {
        let mut sums = [0.0; MEMBERS];
        for placed in &uses.placed {
            for at in *placed.hours.start()..=hour.min(*placed.hours.end()) {
                let amounts = placed.amounts(at);
                let rows = self.rows.iter().zip(amounts.chunks(LANES));
                for ((row, amounts), sums) in rows.zip(sums.chunks_mut(LANES)) {
                    for moved in row.used(&self.flows, placed.activity, amounts) {
                        sums.iter_mut()
                            .zip(moved)
                            .for_each(|(sum, moved)| *sum += f64::from(moved));
                    }
                }
            }
        }
        sums
    }

    /// Moves the levels by what so much of a source brings at once: a drive told in kilometres.
    pub fn drive<R: Rng>(&mut self, source: Source, amount: f64, random: &mut R) {
        if self.flows.iter().all(|flow| flow.source != source) {
            return;
        }
        let mut changes = [0.0; MEMBERS];
        for flow in self.flows.iter().filter(|flow| flow.source == source) {
            let per_unit = per_unit(flow, &self.coefficients);
            changes.iter_mut().zip(&per_unit).for_each(|(sum, per_unit)| *sum += amount * per_unit);
        }
        let spreads = factors(RUN_SD, random);
        self.move_levels(|m| changes[m] * spreads[m]);
    }

    /// Adds to each member's level what `change` says of it, in Wh, between empty and full.
    pub(super) fn move_levels(&mut self, change: impl Fn(usize) -> f64) {
        for (m, level_wh) in self.level_wh.iter_mut().enumerate() {
            *level_wh = (*level_wh + change(m)).clamp(0.0, self.capacity_wh);
        }
    }
}

/// The coefficients that the members begin with.
fn first_coefficients<R: Rng>(
    mechanism: &Mechanism,
    known: &[Estimate],
    random: &mut R,
) -> Vec<PerMember> {
    let first = |(index, coefficient): (usize, &Coefficient)| {
        let panels = mechanism.factors.panels == Some(index);
        normals(random).map(|z| {
            let value = match (coefficient.electric_only, coefficient.nature) {
                // Panels differ by what shades and soils them, not by a factor.
                (_, Nature::Positive { spread }) if panels => {
                    coefficient.mean * (1.0 + spread * z).max(0.3)
                }
                (true, Nature::Positive { spread }) => coefficient.mean * (spread * z).exp(),
                (true, Nature::Share { spread }) => coefficient.mean + spread * z,
                (false, _) => known[index].mean + known[index].sd * z,
            };
            coefficient.sensible(value)
        })
    };
    mechanism.coefficients.iter().enumerate().map(first).collect()
}

/// Energy in Wh per unit of a flow's source, in each member.
#[inline(always)]
fn per_unit(flow: &Flow, coefficients: &[PerMember]) -> PerMember {
    let mut per_unit = coefficients[flow.coefficient];
    per_unit.iter_mut().for_each(|value| *value *= flow.scale);
    if let Some(share) = flow.share {
        per_unit.iter_mut().zip(&coefficients[share]).for_each(|(value, share)| *value *= share);
    }
    per_unit
}

/// Puts a number for each member into a lane of the rows, in the lanes' precision.
#[inline(always)]
fn lay_out(rows: &mut [MemberRow], each: &PerMember, lane: impl Fn(&mut MemberRow) -> &mut Lane) {
    for (row, each) in rows.iter_mut().zip(each.chunks(LANES)) {
        lane(row).iter_mut().zip(each).for_each(|(cell, value)| *cell = *value as f32);
    }
}

impl MemberRow {
    /// A day like any other, for a rig with so many flows and activities.
    fn plain(flows: usize, activities: usize) -> MemberRow {
        MemberRow {
            values: ValueLanes::of(std::iter::empty()),
            per_unit: vec![[0.0; LANES]; flows],
            sun: [1.0; LANES],
            load: [1.0; LANES],
            runs: [1.0; LANES],
            occurred: vec![[1.0; LANES]; activities],
            day: DayLanes::default(),
            clearness: None,
        }
    }

    /// Lays the sky of a clearness out, unless it is laid out already.
    #[inline(always)]
    fn brighten(&mut self, clearness: f64) {
        if self.clearness != Some(clearness) {
            self.clearness = Some(clearness);
            let mut clear = [0.0; LANES];
            for l in 0..LANES {
                clear[l] = clearness * f64::from(self.sun[l]);
            }
            self.day.put_all(&[0.0; LANES], &clear);
        }
    }

    /// What the linear flows move in an hour, in Wh: by what varies as loads do, and by the rest.
    #[inline(always)]
    fn linear(&self, flows: &[Flow], held: &[f32]) -> (Lane, Lane) {
        let (mut base_wh, mut used_wh) = ([0.0; LANES], [0.0; LANES]);
        for ((flow, &amount), per_unit) in flows.iter().zip(held).zip(&self.per_unit) {
            let per_unit: Lane = *per_unit;
            let factors = match flow.source {
                _ if amount == 0.0 => continue,
                Source::Activity(activity) => &self.occurred[activity],
                Source::Base(_) | Source::Climate => {
                    for l in 0..LANES {
                        base_wh[l] += amount * per_unit[l];
                    }
                    continue;
                }
                Source::Driver(_) => &self.runs,
            };
            for l in 0..LANES {
                used_wh[l] += amount * per_unit[l] * factors[l];
            }
        }
        (base_wh, used_wh)
    }

    /// What amounts of an activity, one for each member of the row, move it by, flow by flow, in
    /// Wh.
    fn used<'a>(
        &'a self,
        flows: &'a [Flow],
        activity: usize,
        amounts: &'a [f32],
    ) -> impl Iterator<Item = Lane> + 'a {
        let own = move |flow: &&Flow| flow.source == Source::Activity(activity);
        let occurred = &self.occurred[activity];
        let flows = self.per_unit.iter().zip(flows).filter(move |(_, flow)| own(flow));
        flows.map(move |(per_unit, _)| {
            std::array::from_fn(|l| amounts[l] * per_unit[l] * occurred[l])
        })
    }
}

/// One hour of all members, for as wide vectors as the processor knows.
struct OneHour<'e, 'a, 'h> {
    ensemble: &'e mut Ensemble<'a>,
    hour: &'h EnsembleHour<'h>,
}

impl WithSimd for OneHour<'_, '_, '_> {
    type Output = ();

    // What is compiled once more for wide vectors is what is inlined here.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        self.ensemble.step(self.hour);
    }
}
